"""The tables keep to what every SQLite reads alike.

Some SQLite (3.40.1, found here) tells "NULL value in ..." of a sound table without rowids whose primary key's columns
do not stand first, and `verify` would then call a sound log damaged.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

from seasonlog.journal.views import TABLES
from seasonlog.services import audit, recall
from tests.builders import a_book


def test_a_primary_key_stands_first_in_every_table_without_rowids(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False) as book:
        declared = dict(book.db.execute("SELECT name, sql FROM sqlite_schema WHERE type='table'"))
        for name in TABLES:
            if "WITHOUT ROWID" in declared[name]:
                columns = book.db.execute(f"PRAGMA table_info({name})").fetchall()
                key = [number for number, *_, place in sorted(columns, key=lambda c: c[5]) if place]
                assert key == list(range(len(key))), name


def test_a_log_with_a_check_before_use_is_whole(tmp_path: Path) -> None:
    """Held against SQLite's own `integrity_check`, directly and through `verify`."""
    with a_book(tmp_path) as book:
        recall.check(book, "CL-01", "read 10.0 A of 10.0 A", ok=True)
    with closing(sqlite3.connect(book.places.log)) as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert audit.verify_log(book.places, quick=False).ok
