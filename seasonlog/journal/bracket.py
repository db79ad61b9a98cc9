"""Between which times a record was written, by what others hold; beside it what the device's own clock claimed.

Not before: the issue of the checkpoint that the entry names as its anchor, if another device issued it. Not after: the
first checkpoint of another device that covers the entry. Each is the claim of the clock of the device that issued it.
An entry whose claimed time lies outside was written by a wrong clock, or not when it says. Nothing here is an alarm:
an honest laptop that hands on late has a wide bracket.
"""

from collections.abc import Iterable
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

    @property
    def words(self) -> str:
        """To the minute, for a line of a history; nothing of what its own device claimed."""
        sides = (("after", self.not_before_ms), ("before", self.not_after_ms))
        parts = [f"{word} {instant(ms)[:16].replace('T', ' ')} UTC" for word, ms in sides if ms is not None]
        return " and ".join(parts) or "no checkpoint of another device brackets it: its time is what its device claims"


class Brackets:
    """The checkpoints held, for the brackets of many entries."""

    def __init__(self, checkpoints: Iterable[Checkpoint]) -> None:
        self._in_time = sorted(checkpoints, key=lambda c: c.issued_ms)
        self._named = {c.hash.hex(): c for c in self._in_time}

    def of(self, entry: Entry) -> Bracket:
        """The time bracket of an entry."""
        anchor = self._named.get(entry.anchor)
        named = anchor if anchor is not None and anchor.by != entry.dev else None
        first = next((c for c in self._in_time if c.by != entry.dev and _covers(c, entry)), None)
        return Bracket(
            entry.wall,
            named.issued_ms if named else None,
            named.by if named else "",
            first.issued_ms if first else None,
            first.by if first else "",
        )


def _covers(checkpoint: Checkpoint, entry: Entry) -> bool:
    size = checkpoint.sizes.get(entry.dev)
    return size is not None and size.entries >= entry.seq
