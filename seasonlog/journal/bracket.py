"""Between which times a record was written, by what others hold; beside it what the device's own clock claimed.

Not before: the issue of the checkpoint that the entry names as its anchor, if another device issued it. Not after: the
first checkpoint of another device that covers the entry. Each is the claim of the clock of the device that issued it.
An entry whose claimed time lies outside was written by a wrong clock, or not when it says. Nothing here is an alarm:
an honest laptop that hands on late has a wide bracket.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from seasonlog.journal.checkpoint import Checkpoint, instant
from seasonlog.journal.encoding import Entry


@dataclass(frozen=True, slots=True)
class Bracket:
    """When an entry was written, as far as others can tell."""

    wall_ms: int
    """What its own device claimed [ms since 1970 UTC]."""
    not_before_ms: int | None
    """None when it names no checkpoint of another device that is held here."""
    not_before_by: str
    not_after_ms: int | None
    """None when no other device has stated yet that it was there."""
    not_after_by: str

    @property
    def fits(self) -> bool:
        """Whether the claimed time lies inside."""
        low, high = self.not_before_ms, self.not_after_ms
        return (low is None or low <= self.wall_ms) and (high is None or self.wall_ms <= high)

    def __str__(self) -> str:
        low = f"not before {instant(self.not_before_ms)}" if self.not_before_ms is not None else "not before: not known"
        high = f"not after {instant(self.not_after_ms)}" if self.not_after_ms is not None else "not after: not known"
        odd = "" if self.fits else "; the claimed time lies outside: a wrong clock, or not written when it says"
        return f"claimed {instant(self.wall_ms)}; {low}; {high}{odd}"


def bracket(entry: Entry, checkpoints: Sequence[Checkpoint]) -> Bracket:
    """The time bracket of an entry, from the checkpoints held."""
    named = next((c for c in checkpoints if c.hash.hex() == entry.anchor and c.by != entry.dev), None)
    covering = [
        c for c in checkpoints if c.by != entry.dev and entry.dev in c.sizes and c.sizes[entry.dev].entries >= entry.seq
    ]
    first = min(covering, key=lambda c: c.issued_ms, default=None)
    return Bracket(
        entry.wall,
        named.issued_ms if named else None,
        named.by if named else "",
        first.issued_ms if first else None,
        first.by if first else "",
    )
