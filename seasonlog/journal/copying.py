"""Whole files of logs: copied while they are written to, put in a log's place, and leftovers moved out of the way.

SQLite binds a WAL file to its database by name alone: one that is left over would be played into whatever comes to
stand beside it. So before anything takes a log's place, what bears the names of its parts is moved aside, not deleted.
"""

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from seasonlog.errors import LogError
from seasonlog.journal import schema
from seasonlog.journal.database import open_reader, open_writer, plain_errors, transaction
from seasonlog.journal.keys import sync_folder
from seasonlog.journal.tables import forget_views

_PARTS = ("-wal", "-shm", "-journal", "")
"""What SQLite puts beside a database, and the database; in the order in which they are moved."""


def clear(path: Path) -> None:
    """Remove what an interrupted run left under a working name."""
    for suffix in _PARTS:
        path.with_name(path.name + suffix).unlink(missing_ok=True)


def moved_aside(path: Path) -> str:
    """Move a log and its parts out of the way; the caller holds the lock.

    Returns:
        Where the log lies now, whole with its WAL; empty when there was none, or only leftovers of one.
    """
    here = [suffix for suffix in _PARTS if path.with_name(path.name + suffix).exists()]
    if not here:
        return ""
    names = (path.with_name(f"{path.name}.before-{number}") for number in range(1, 10_000))
    aside = next(n for n in names if not any(n.with_name(n.name + suffix).exists() for suffix in _PARTS))
    for suffix in here:
        path.with_name(path.name + suffix).rename(aside.with_name(aside.name + suffix))
    return str(aside) if "" in here else ""


def put(new: Path, path: Path) -> str:
    """Give a whole new log its place, durably; returns where the one that was there lies now."""
    aside = moved_aside(path)
    new.rename(path)
    sync_folder(path.parent)
    return aside


def copy_of(source: sqlite3.Connection, target: Path) -> Path:
    """Copy an open log by SQLite's own backup into a file that is whole or absent.

    Raises:
        LogError: the target exists, or cannot be written; nothing is left over.
    """
    if target.exists():
        raise LogError(f"{target} is there already; a backup is never written over another file")
    new = target.with_name(target.name + ".new")
    with plain_errors(target):
        clear(new)
        try:
            with closing(sqlite3.connect(new, isolation_level=None)) as copy:
                source.backup(copy)
                copy.execute("PRAGMA journal_mode = DELETE")  # one file, read anywhere without files beside it
            put(new, target)
        except BaseException:
            with suppress(OSError):
                clear(new)
            raise
    return target


def put_in_place(source: Path, path: Path) -> tuple[str, str]:
    """Make a copy the log at a path, brought up to date when it is older; the caller holds that log's lock.

    Returns:
        Id of the log in the copy; and where the log that was there lies now, empty when there was none.

    Raises:
        LogError: it cannot be written, or the log here is open in another program; the log here is as it was.
    """
    with plain_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        new = path.with_name(path.name + ".restored")
        clear(new)
        try:
            log_id = _made(source, new)
            _must_be_closed(path)
        except BaseException:
            with suppress(OSError):
                clear(new)
            raise
        return log_id, put(new, path)


def _made(source: Path, new: Path) -> str:
    from seasonlog.journal.chain import log_of  # not on the start path

    with closing(open_reader(source)) as reader:
        copy_of(reader, new)
    with closing(open_writer(new)) as connection:
        if not schema.check(connection, new):
            schema.upgrade(connection)
        with transaction(connection):
            forget_views(connection)  # only the entries of a copy are proved: its tables are made again from them
        (line,) = connection.execute("SELECT line FROM entry WHERE pos = 1").fetchone()
    return log_of(line)


def _must_be_closed(path: Path) -> None:
    """A program that has the log open would go on writing into the file that was moved aside."""
    if not path.exists():
        return
    mode = ""
    try:
        with closing(open_writer(path)) as connection:
            # Only a connection that is alone may leave WAL mode; the WAL's pages are in the file then.
            connection.execute("PRAGMA busy_timeout = 0")
            (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.DatabaseError as error:  # a damaged log gives way
        is_held = getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
        mode = "busy" if is_held else mode
    except UnicodeDecodeError:
        pass  # damaged names stand in SQLite's complaint
    if mode in ("busy", "wal"):
        words = "is open in another program, which would go on writing to it; close that first, then restore"
        raise LogError(f"{path} {words}")
