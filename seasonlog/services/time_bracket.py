"""Between which moments an entry was written, as checkpoints of other devices tell; its own clock only claims."""

import sqlite3
from typing import NamedTuple

from seasonlog.journal import held
from seasonlog.journal.encoding import Entry
from seasonlog.services.days import moment


class Bracket(NamedTuple):
    """Times in UTC; None where nothing outside the entry tells."""

    not_before_ms: int | None
    """Issue of the newest checkpoint its writer held: the entry names it, so it came later."""
    not_after_ms: int | None
    """Issue of the first checkpoint of another device that counts the entry."""

    @property
    def words(self) -> str:
        """For a person."""
        parts = [
            f"{word} {moment(ms):%Y-%m-%d %H:%M} UTC"
            for word, ms in (("after", self.not_before_ms), ("before", self.not_after_ms))
            if ms is not None
        ]
        return " and ".join(parts) or "no checkpoint of another device brackets it: its time is what its device claims"


class Brackets:
    """The checkpoints of a log, read once."""

    def __init__(self, db: sqlite3.Connection) -> None:
        found = held.checkpoints(db)
        self._issued = {checkpoint.hash.hex(): checkpoint.issued_ms for checkpoint in found}
        self._stated = [
            (checkpoint.issued_ms, checkpoint.by, {dev: size.entries for dev, size in checkpoint.sizes.items()})
            for checkpoint in sorted(found, key=lambda each: each.issued_ms)
        ]

    def of(self, entry: Entry) -> Bracket:
        """The bracket of one entry."""
        counted = (
            issued for issued, by, sizes in self._stated if by != entry.dev and sizes.get(entry.dev, 0) >= entry.seq
        )
        return Bracket(self._issued.get(entry.anchor), next(counted, None))
