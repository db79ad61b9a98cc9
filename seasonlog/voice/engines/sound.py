"""One piece of sound, as all engines exchange it: 16-bit samples, one channel, 16 kHz, as plain bytes."""

from dataclasses import dataclass

RATE_HZ = 16_000
"""What recognisers and voice activity work at [samples per second]."""
BYTES = 2
"""Bytes of one sample."""
LONGEST_S = 30.0
"""The recogniser's window [s]; no phrase of a checklist is longer."""


@dataclass(frozen=True, slots=True)
class Clip:
    """A piece of sound."""

    pcm: bytes
    """Signed 16-bit samples, little end first, one channel, 16 kHz."""

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return len(self.pcm) / (RATE_HZ * BYTES)

    def between(self, start_s: float, end_s: float) -> "Clip":
        """A part of it, from `start_s` to `end_s` [s]; what lies outside is left out."""
        first, last = (max(round(at * RATE_HZ), 0) * BYTES for at in (start_s, end_s))
        return Clip(self.pcm[first:last])
