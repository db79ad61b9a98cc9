"""View tables: made, dropped and folded again from the log. What they hold is the business of the views passed in."""

import sqlite3
from collections.abc import Callable

from seasonlog.errors import LogError
from seasonlog.journal import undo
from seasonlog.journal.database import run_script
from seasonlog.journal.encoding import Entry
from seasonlog.journal.schema import CORE_TABLES
from seasonlog.journal.stored import SELECT, Stored, Views, from_row

Progress = Callable[[int, int], None]
"""Called now and then with how many entries are done and how many there are."""
PROGRESS_EVERY = 1000


def views_version(connection: sqlite3.Connection) -> int | None:
    """Version of the view tables in the file, or None when they are absent or left behind."""
    row = connection.execute("SELECT value FROM meta WHERE name = 'views_version'").fetchone()
    return int(row[0]) if row is not None and str(row[0]).isdecimal() else None


def forget_views(connection: sqlite3.Connection) -> None:
    """Note that entries are written without the view tables, so that the next opener makes them again."""
    connection.execute("DELETE FROM meta WHERE name = 'views_version'")


def rebuild_views(connection: sqlite3.Connection, views: Views, progress: Progress | None = None) -> None:
    """Drop every view table and fold the whole log again, inside the caller's transaction.

    The fold goes in causal order, the same on every device, and numbers the entries in it: what the tables show does
    not depend on which entry came here first.
    """
    _drop_all(connection)
    connection.execute("DELETE FROM meta")  # with all that is remembered of checkpoints: that is made anew, too
    run_script(connection, views.schema)
    (total,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    undo.watch(connection, max(total - undo.KEPT, 0))
    for place, row in enumerate(connection.execute(SELECT + "ORDER BY hlc, dev, seq"), 1):
        fold_again(connection, views, from_row((place, *row[1:])))
        if progress is not None and place % PROGRESS_EVERY == 0:
            progress(place, total)
    connection.execute("INSERT OR REPLACE INTO meta VALUES ('views_version', ?)", (str(views.version),))


def fold(connection: sqlite3.Connection, views: Views, stored: Stored) -> None:
    """Fold one entry, which comes after all that were folded, so that it can be taken back."""
    undo.at(connection, stored.pos)
    views.apply(connection, stored)


class UnreadableEntryError(LogError):
    """An entry is signed well and still says what no fold can read: of a broken program, or of a later one."""


def fold_again(connection: sqlite3.Connection, views: Views, stored: Stored) -> None:
    """Fold an entry that was not written just now, so that it can be taken back."""
    undo.at(connection, stored.pos)
    applied(connection, views, stored)


def applied(connection: sqlite3.Connection, views: Views, stored: Stored) -> None:
    """Fold an entry that was not written just now.

    Raises:
        UnreadableEntryError: it says what this version cannot read.
    """
    try:
        views.apply(connection, stored)
    except _UNREADABLE as error:
        e, what = stored.entry, f"{type(error).__name__}: {error}"
        words = f"this version cannot read entry {e.seq} of device {e.dev}, {e.kind} ({what:.100})"
        raise UnreadableEntryError(f"{words}; install the seasonlog that wrote it") from error


_UNREADABLE = (
    ArithmeticError, AttributeError, LookupError, TypeError, ValueError, sqlite3.IntegrityError,
    sqlite3.ProgrammingError, sqlite3.InterfaceError,
)  # fmt: skip


def bring_up(connection: sqlite3.Connection, views: Views, first: Entry, progress: Progress | None = None) -> None:
    """Bring the tables up to date after entries were added of which this is the first in causal order.

    What was folded after its place is taken back and folded on again with the new ones; when that place is too far
    back, all is folded again. Both give the same tables.
    """
    if views_version(connection) is None:
        rebuild_views(connection, views, progress)
        return
    after = "WHERE (hlc, dev, seq) >= (?, ?, ?)"
    key = (first.hlc, first.dev, first.seq)
    (total,) = connection.execute("SELECT count(*) FROM entry").fetchone()
    (count,) = connection.execute(f"SELECT count(*) FROM entry {after}", key).fetchone()  # noqa: S608
    place = total - count + 1
    if not undo.can_go_back(connection, place):
        rebuild_views(connection, views, progress)
        return
    undo.go_back(connection, place)
    for at, row in enumerate(connection.execute(f"{SELECT}{after} ORDER BY hlc, dev, seq", key), place):
        fold_again(connection, views, from_row((at, *row[1:])))


def _drop_all(connection: sqlite3.Connection) -> None:
    # Search tables (virtual) first: dropping one drops the tables it keeps its index in.
    for kind in ("VIEW", "VIRTUAL TABLE", "TABLE"):
        for name in _names(connection, kind):
            connection.execute(f'DROP {kind.split()[-1]} "{name}"')


def _names(connection: sqlite3.Connection, kind: str) -> list[str]:
    rows = connection.execute(
        "SELECT name FROM sqlite_schema WHERE sql LIKE ? AND name NOT LIKE 'sqlite~_%' ESCAPE '~'",
        (f"CREATE {kind} %",),
    )
    return [name for (name,) in rows if name not in CORE_TABLES]
