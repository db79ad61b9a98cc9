"""Do the tables that screens read follow from the entries? The entries are folded again in memory and compared.

The chain proves the entries only; somebody could change a table beside them, or a byte of it could rot. Looked at are
the tables, what is kept to take them back for late entries, and how all of them are defined: indexes and triggers, too.
"""

import sqlite3
from collections.abc import Iterator
from dataclasses import replace

from seasonlog.journal import remembered, undo
from seasonlog.journal.schema import CORE_TABLES
from seasonlog.journal.store import Journal
from seasonlog.journal.tables import UnreadableEntryError, applied, fold_again
from seasonlog.journal.views import TABLES, LogViews

_REMEDY = "run `seasonlog rebuild`"


def first_difference(journal: Journal, views: LogViews) -> str:
    """The first difference between the tables kept and the tables folded anew, in words; empty when there is none."""
    kept, fresh = journal.connection, sqlite3.connect(":memory:", isolation_level=None)
    try:
        since = _since(kept)
        if since is None:
            return _unreadable("undo_fold")
        try:
            _fold_anew(journal, views, fresh, since)
        except UnreadableEntryError as error:
            return f"the tables cannot be made again: {error}"
        looked_at = ("undo_fold", *TABLES, *undo.kept_tables(fresh))
        words = (_differs(kept, fresh, table) for table in looked_at)
        if remembered.misleads(kept):
            return f"what is remembered of the newest checkpoints is not what they are; {_REMEDY}"
        return _defined_otherwise(kept, fresh) or next(filter(None, words), "")
    finally:
        fresh.close()


def _unreadable(table: str) -> str:
    return f"table {table} cannot be read; {_REMEDY}"


def _since(kept: sqlite3.Connection) -> int | None:
    """From which place on the tables kept can be taken back, or None when they do not tell."""
    try:
        ((since,),) = kept.execute("SELECT since FROM undo_fold").fetchall()
    except (sqlite3.Error, ValueError):
        return None
    return since if isinstance(since, int) else None


def _fold_anew(journal: Journal, views: LogViews, fresh: sqlite3.Connection, since: int) -> None:
    """The tables anew, with the way back from the same place on: what lies before it costs nothing."""
    fresh.execute("PRAGMA recursive_triggers = ON")  # as the log's writer has it
    fresh.executescript(views.schema)
    fresh.execute("BEGIN")
    watched = False
    for place, stored in enumerate(journal.entries(order="causal"), 1):
        if not watched and place <= since:
            applied(fresh, views, replace(stored, pos=place))
            continue
        if not watched:
            undo.watch(fresh, since)
            watched = True
        fold_again(fresh, views, replace(stored, pos=place))
    if not watched:
        undo.watch(fresh, since)


def _defined_otherwise(kept: sqlite3.Connection, fresh: sqlite3.Connection) -> str:
    try:
        here, wanted = _definitions(kept), _definitions(fresh)
    except (sqlite3.Error, UnicodeDecodeError):
        return f"how the tables are defined cannot be read; {_REMEDY}"
    odd = sorted(here ^ wanted, key=repr)
    return f"{odd[0][0]} {odd[0][1]} is not defined as the views define it; {_REMEDY}" if odd else ""


def _definitions(db: sqlite3.Connection) -> set[tuple[str, str, str, str]]:
    """Kind, name, table and SQL of all that belongs to the views; that of the log itself is looked at by `verify`."""
    rows = db.execute(
        "SELECT type, name, tbl_name, sql FROM sqlite_schema"
        " WHERE sql IS NOT NULL AND tbl_name NOT LIKE 'sqlite~_%' ESCAPE '~'"  # SQLite's own notes, such as statistics
    )
    return {(kind, name, table, sql) for kind, name, table, sql in rows if table not in CORE_TABLES}


def _differs(kept: sqlite3.Connection, fresh: sqlite3.Connection, table: str) -> str:
    try:
        for number, (a, b) in enumerate(_pairs(_rows(kept, table), _rows(fresh, table)), 1):
            if a != b:
                return f"table {table}, row {number}, is not what the entries say; {_REMEDY}"
    except sqlite3.Error:  # a text that is no text any more
        return _unreadable(table)
    return ""


def _rows(db: sqlite3.Connection, table: str) -> Iterator[object]:
    # `table` is one of the fixed names in TABLES, or made from one.
    columns = len(db.execute(f"PRAGMA table_info({table})").fetchall())
    order = ", ".join(str(number) for number in range(1, columns + 1))
    return db.execute(f"SELECT * FROM {table} ORDER BY {order}")  # noqa: S608


def _pairs(kept: Iterator[object], fresh: Iterator[object]) -> Iterator[tuple[object, object]]:
    while True:
        a, b = next(kept, None), next(fresh, None)
        if a is None and b is None:
            return
        yield a, b
