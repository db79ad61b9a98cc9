"""Do the tables that screens read follow from the entries? The entries are folded again in memory and compared.

The chain proves the entries only; somebody could change a table beside them. This names the first row that differs.
"""

import sqlite3
from collections.abc import Iterator
from dataclasses import replace

from seasonlog.journal.store import Journal
from seasonlog.journal.views import TABLES, LogViews


def first_difference(journal: Journal, views: LogViews) -> str:
    """The first difference between the tables kept and the tables folded anew, in words; empty when there is none."""
    fresh = sqlite3.connect(":memory:", isolation_level=None)
    try:
        fresh.executescript(views.schema)
        fresh.execute("BEGIN")
        for place, stored in enumerate(journal.entries(order="causal"), 1):
            views.apply(fresh, replace(stored, pos=place))
        return next((words for table in TABLES if (words := _differs(journal.connection, fresh, table))), "")
    finally:
        fresh.close()


def _differs(kept: sqlite3.Connection, fresh: sqlite3.Connection, table: str) -> str:
    for number, (a, b) in enumerate(_pairs(_rows(kept, table), _rows(fresh, table)), 1):
        if a != b:
            return f"table {table}, row {number}, is not what the entries say; run `seasonlog rebuild`"
    return ""


def _rows(db: sqlite3.Connection, table: str) -> Iterator[object]:
    # `table` is one of the fixed names in TABLES.
    columns = len(db.execute(f"PRAGMA table_info({table})").fetchall())
    order = ", ".join(str(number) for number in range(1, columns + 1))
    return db.execute(f"SELECT * FROM {table} ORDER BY {order}")  # noqa: S608


def _pairs(kept: Iterator[object], fresh: Iterator[object]) -> Iterator[tuple[object, object]]:
    while True:
        a, b = next(kept, None), next(fresh, None)
        if a is None and b is None:
            return
        yield a, b
