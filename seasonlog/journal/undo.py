"""How view tables go back to an earlier place of the fold: triggers keep what each of its latest entries replaced.

Entries of another device mostly sort a few hours before the newest one held. Folding a year again for them would hold
the log's lock for many seconds; going back those few hours and folding on gives the same tables, whatever a fold does.
(The technique is SQLite's own "Automatic Undo/Redo Using SQLite", with columns kept as they are instead of SQL text.)
"""

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

KEPT = 20_000
"""Latest entries of the fold that can be taken back; for an earlier one all is folded again.

Whoever changes this raises the version of the views: `compare` keeps as much as the tables it looks at.
"""
PRUNE_EVERY = 1_000

SCHEMA = """
CREATE TABLE undo_fold (one INTEGER PRIMARY KEY CHECK (one = 1), place INTEGER, since INTEGER NOT NULL) STRICT;
"""
"""`place`: of the entry being folded, or NULL while nothing is to be kept. `since`: what came later can be undone."""


@dataclass(frozen=True, slots=True)
class _Table:
    """A view table, with its names quoted."""

    name: str
    columns: Sequence[str]
    keys: Sequence[str]

    @property
    def kept(self) -> str:
        """The table of what was replaced."""
        return '"undo_' + self.name[1:]


def watch(connection: sqlite3.Connection, since: int) -> None:
    """From the entry after this place on, keep what the fold replaces; called before that entry is folded.

    Tables without a primary key, and virtual ones, cannot be watched: then nothing is, and every fold is a whole one.
    """
    tables = list(_view_tables(connection))
    connection.execute(SCHEMA)
    if any(not table.keys for table in tables):
        return
    connection.execute("INSERT INTO undo_fold VALUES (1, NULL, ?)", (since,))
    for table in tables:
        for statement in _statements(table):
            connection.execute(statement)


def at(connection: sqlite3.Connection, place: int) -> None:
    """The entry of this place is folded next."""
    connection.execute("UPDATE undo_fold SET place = ? WHERE since < ?", (place, place))
    if place % PRUNE_EVERY == 0:
        _prune(connection, place - KEPT)


def can_go_back(connection: sqlite3.Connection, place: int) -> bool:
    """Whether the tables can be taken back to before the entry of this place."""
    row = connection.execute("SELECT since FROM undo_fold").fetchone()
    return row is not None and place > row[0]


def go_back(connection: sqlite3.Connection, place: int) -> None:
    """The tables as they were before the entry of this place was folded."""
    connection.execute("UPDATE undo_fold SET place = NULL")
    for t in _watched(connection):
        keys, columns = ", ".join(t.keys), ", ".join(t.columns)
        later = f"FROM {t.kept} WHERE undo_place >= ?"
        connection.execute(f"DELETE FROM {t.name} WHERE ({keys}) IN (SELECT {keys} {later})", (place,))  # noqa: S608
        # Of bare columns beside min() SQLite gives those of the row that has the minimum: what stood there first.
        first = f"SELECT {columns}, undo_was, min(undo_place) {later} GROUP BY {keys}"
        connection.execute(f"INSERT INTO {t.name} SELECT {columns} FROM ({first}) WHERE undo_was", (place,))  # noqa: S608
        connection.execute(f"DELETE {later}", (place,))


def kept_tables(connection: sqlite3.Connection) -> list[str]:
    """Names of the tables that hold what was replaced."""
    return [table.kept.strip('"') for table in _watched(connection)]


def _prune(connection: sqlite3.Connection, upto: int) -> None:
    if can_go_back(connection, upto):
        connection.execute("UPDATE undo_fold SET since = ?", (upto,))
        for table in _watched(connection):
            connection.execute(f"DELETE FROM {table.kept} WHERE undo_place <= ?", (upto,))  # noqa: S608


def _watched(connection: sqlite3.Connection) -> Iterator[_Table]:
    names = {name for (name,) in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    return (table for table in _view_tables(connection) if table.kept.strip('"') in names)


def _view_tables(connection: sqlite3.Connection) -> Iterator[_Table]:
    from seasonlog.journal.schema import CORE_TABLES

    found = connection.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite~_%' ESCAPE '~'"
        " AND name NOT LIKE 'undo~_%' ESCAPE '~'"
    ).fetchall()
    for name, sql in found:
        if name not in CORE_TABLES:
            virtual = sql.upper().startswith("CREATE VIRTUAL")
            info = connection.execute("SELECT name, pk FROM pragma_table_info(?)", (name,)).fetchall()
            yield _Table(f'"{name}"', [f'"{c}"' for c, _ in info], [f'"{c}"' for c, pk in info if pk and not virtual])


def _statements(t: _Table) -> Iterator[str]:
    keys = ", ".join(t.keys)
    # No NOT NULL beside the key: the integrity check of SQLite 3.40 then finds faults where there are none.
    yield (
        f"CREATE TABLE {t.kept} (undo_place INTEGER NOT NULL, undo_was INTEGER, {', '.join(t.columns)},"
        f" PRIMARY KEY (undo_place, {keys})) WITHOUT ROWID"
    )
    for event, row, was, columns in (
        ("INSERT", "new", 0, t.keys), ("UPDATE", "old", 1, t.columns), ("DELETE", "old", 1, t.columns),
    ):  # fmt: skip
        values = ", ".join(f"{row}.{column}" for column in columns)
        same = " AND ".join(f"k.{key} = {row}.{key}" for key in t.keys)
        # No conflict clause: that of the statement which set the trigger off would take its place.
        seen = f"SELECT 1 FROM {t.kept} k WHERE k.undo_place = f.place AND {same}"  # noqa: S608
        only = f"f.place IS NOT NULL AND NOT EXISTS ({seen})"
        into = f"{t.kept} (undo_place, undo_was, {', '.join(columns)})"
        keep = f"INSERT INTO {into} SELECT f.place, {was}, {values} FROM undo_fold f WHERE {only}"  # noqa: S608
        yield f'CREATE TRIGGER {t.kept[:-1]}_{event.lower()}" AFTER {event} ON {t.name} BEGIN {keep}; END'
    moved = " OR ".join(f"old.{key} IS NOT new.{key}" for key in t.keys)
    yield (
        f'CREATE TRIGGER {t.kept[:-1]}_key" BEFORE UPDATE ON {t.name} WHEN {moved}'
        " BEGIN SELECT raise(ABORT, 'a fold replaces a row, it does not rename it'); END"
    )
