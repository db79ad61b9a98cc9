"""Questions a report puts to the entries themselves. Read only."""

import json
import sqlite3
from collections.abc import Collection, Iterator

from seasonlog.domain.records import Kind
from seasonlog.journal.stored import SELECT, Stored, from_row

_OF_KINDS = "WHERE kind IN (SELECT value FROM json_each(?))"
_ORDER = " ORDER BY hlc, dev, seq"


def of_kinds(db: sqlite3.Connection, *kinds: Kind) -> Iterator[Stored]:
    """Every entry of these kinds, in causal order, one at a time."""
    for row in db.execute(SELECT + _OF_KINDS + _ORDER, (json.dumps(kinds),)):
        yield from_row(row)


def about(db: sqlite3.Connection, kinds: Collection[Kind], name: str, idents: Collection[str]) -> list[Stored]:
    """Entries of some kinds whose body names one of these ids, in causal order.

    Args:
        db: The log's tables.
        kinds: Which kinds.
        name: Field of the body that holds the id.
        idents: The ids.
    """
    named = " AND json_extract(CAST(line AS TEXT), ?) IN (SELECT value FROM json_each(?))"
    sql = SELECT + _OF_KINDS + named + _ORDER
    values = (json.dumps(list(kinds)), f"$.body.{name}", json.dumps(list(idents)))
    return [from_row(row) for row in db.execute(sql, values)]


def every_entry(db: sqlite3.Connection) -> Iterator[Stored]:
    """The whole log in causal order, one entry at a time."""
    for row in db.execute(SELECT + _ORDER):
        yield from_row(row)
