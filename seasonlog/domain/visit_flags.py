"""What may be amiss with a visit as evidence, in one whole number. A flag says "look closer", never "it is wrong"."""

from enum import IntFlag


class Flag(IntFlag):
    """Set once, for good."""

    NONE = 0
    UNQUALIFIED = 1
    """Somebody not on record as qualified for energised work started it or answered a live step."""
    UNCALIBRATED = 2
    """An instrument was chosen that was out of calibration."""
    WEAK = 4
    """An answer was once neither pass nor near pass, or a step was skipped."""
    FOUND = 8
    """An answer opened or repeated a finding."""
    CORRECTED = 16
    """An answer was corrected."""
    AHEAD = 32
    """Reported from a file before its gates were answered."""
    RECALLED = 64
    """Something rests on an instrument that was recalled."""
    CHANGED = 128
    """A temporary change was made."""
    SIGNED = 256
    """Signed by whoever did it."""
    REVIEWED = 512
    """Reviewed by another person."""
    MOVED = 1024
    """A signature was made for another record."""


PLAIN = Flag.SIGNED | Flag.REVIEWED | Flag.CORRECTED | Flag.CHANGED
"""Flags that leave nothing to be judged: such a visit breaks no rule that is about its answers."""
