"""What the store hands out, what it takes, and the hook by which view tables are kept."""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from seasonlog.journal.database import DamagedLogError
from seasonlog.journal.encoding import Entry


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry to be written; the store adds device, number, time, link and signature."""

    kind: str
    """What happened, in the past tense: `step_answered`."""
    body: Mapping[str, Any]
    """The facts; text, whole numbers, booleans, null, lists and objects only."""
    who: str
    """The person, as declared."""
    uid: str | None = None
    """Given by whoever may have to write the same thing twice; a random one when None."""


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry that is in the log."""

    pos: int
    """1, 2, 3 ... in the order of arrival in this file; for a fold, its place in causal order.

    An entry written here comes last in both, so the two differ only after entries of another device were taken in.
    """
    entry: Entry
    """Its fields."""
    hash: bytes
    """SHA-256 link of its line, 32 bytes."""
    line: bytes
    """The canonical bytes."""
    sig: bytes
    """The device's signature, 64 bytes."""


SELECT = "SELECT pos, hash, line, sig FROM entry "
"""Beginning of a query whose rows `from_row` takes."""


def from_row(row: tuple[int, bytes, bytes, bytes]) -> Stored:
    """A stored entry from its row, trusting the bytes; proving them is the work of `verify`."""
    pos, digest, line, sig = row
    try:
        return Stored(pos, Entry(**json.loads(line)), digest, line, sig)
    except (TypeError, ValueError) as error:
        raise DamagedLogError(f"entry {pos} of the log is damaged; run verify, then go back to a copy") from error


class Views(Protocol):
    """Tables folded from the log, kept in the same transaction as the entries they show."""

    @property
    def schema(self) -> str:
        """SQL that makes the empty tables, every statement closed by a semicolon at the end of a line."""
        ...

    @property
    def version(self) -> int:
        """Raised whenever `schema` or the meaning of `apply` changes; the tables are then made again."""
        ...

    def apply(self, connection: sqlite3.Connection, stored: Stored, /) -> None:
        """Fold one entry into the tables, in causal order; `stored.pos` is its place in that order.

        May read and write its own tables, never commits.
        """
        ...
