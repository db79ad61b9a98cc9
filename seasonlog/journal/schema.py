"""The log's tables, and how an older file is brought up to date.

History of `SCHEMA_VERSION`:
1: entry, meta, append-only triggers.
2: a uid may come from two devices; checkpoints held, with their signatures; entries put aside.
"""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

from seasonlog.errors import LogError
from seasonlog.journal.database import DamagedLogError, run_script

if TYPE_CHECKING:
    from sqlite_utils import Database, Migrations

SCHEMA_VERSION = 2
"""Stored in the file as user_version."""
APPLICATION_ID = 0x736C6F67
"""Stored in the file as application_id: the letters "slog"."""

_ENTRY = """
-- One row per line of the log, in the order of arrival. The columns beside line and sig repeat fields of the line so
-- that they can be searched; verify compares them.
CREATE TABLE entry (
  pos  INTEGER PRIMARY KEY,
  dev  TEXT    NOT NULL CHECK (length(dev) = 16),
  seq  INTEGER NOT NULL CHECK (seq >= 1),
  hash BLOB    NOT NULL CHECK (length(hash) = 32),
  uid  TEXT    NOT NULL CHECK (length(uid) BETWEEN 1 AND 128),
  hlc  TEXT    NOT NULL CHECK (length(hlc) = 21),
  kind TEXT    NOT NULL CHECK (length(kind) BETWEEN 1 AND 64),
  line BLOB    NOT NULL CHECK (length(line) BETWEEN 2 AND 1000000),
  sig  BLOB    NOT NULL CHECK (length(sig) = 64),
  UNIQUE (dev, seq)
) STRICT;

-- The order that is the same on every device.
CREATE INDEX entry_order ON entry (hlc, dev, seq);
-- A device never writes a uid that it sees; two devices that do not see each other may.
CREATE INDEX entry_uid ON entry (uid);

-- A guard rail against mistakes; only the hashes and signatures prove anything.
CREATE TRIGGER entry_never_changes BEFORE UPDATE ON entry
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;
CREATE TRIGGER entry_never_goes BEFORE DELETE ON entry
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;
-- INSERT OR REPLACE deletes without firing the trigger above unless recursive_triggers is on.
CREATE TRIGGER entry_never_replaced BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE pos = new.pos OR (dev = new.dev AND seq = new.seq))
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;
"""

_META = """
-- Facts about this file that are no part of the record: views_version.
CREATE TABLE meta (
  name  TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
"""

_TRUST = """
-- Checkpoints held, in the order they came to be known here: what each device had written, as another one saw it.
CREATE TABLE checkpoint (
  pos    INTEGER PRIMARY KEY,
  hash   BLOB    NOT NULL UNIQUE CHECK (length(hash) = 32),
  by     TEXT    NOT NULL CHECK (length(by) = 16),
  issued INTEGER NOT NULL,
  text   TEXT    NOT NULL
) STRICT;
CREATE TABLE checkpoint_signature (
  hash BLOB NOT NULL CHECK (length(hash) = 32),
  name TEXT NOT NULL,
  sig  BLOB NOT NULL CHECK (length(sig) = 64),
  PRIMARY KEY (hash, name)
) STRICT, WITHOUT ROWID;
-- Signed entries that may not stand in the log: the other branch of a fork, what a revoked device wrote.
CREATE TABLE aside (
  hash BLOB PRIMARY KEY CHECK (length(hash) = 32),
  dev  TEXT    NOT NULL,
  seq  INTEGER NOT NULL,
  line BLOB    NOT NULL,
  sig  BLOB    NOT NULL CHECK (length(sig) = 64),
  why  TEXT    NOT NULL
) STRICT, WITHOUT ROWID;
CREATE TRIGGER checkpoint_never_changes BEFORE UPDATE ON checkpoint
BEGIN SELECT raise(ABORT, 'a checkpoint held is never changed'); END;
CREATE TRIGGER checkpoint_never_goes BEFORE DELETE ON checkpoint
BEGIN SELECT raise(ABORT, 'a checkpoint held is never let go'); END;
"""

SQL = _ENTRY + _META + _TRUST

CORE_TABLES = frozenset({"entry", "meta", "_sqlite_migrations", "checkpoint", "checkpoint_signature", "aside"})
"""Tables of the log itself; every other one belongs to the views and can be made again from the log."""


def build(connection: sqlite3.Connection) -> None:
    """Make the tables in an empty file, inside the caller's transaction."""
    run_script(connection, SQL)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {SCHEMA_VERSION}")


def check(connection: sqlite3.Connection, path: Path) -> bool:
    """Whether the file is a log of this version; False when it is older and has to be brought up to date.

    Raises:
        DamagedLogError: the file is some other database.
        LogError: the log was made by a newer seasonlog.
    """
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if application != APPLICATION_ID or version < 1:
        raise DamagedLogError(f"{path} is not a log of seasonlog")
    if version > SCHEMA_VERSION:
        raise LogError(f"{path} was made by a newer seasonlog (schema {version}); install that version to use it")
    return bool(version == SCHEMA_VERSION)


def odd_definition(connection: sqlite3.Connection) -> str:
    """The first table, index or trigger of the log itself that is not as this version defines it, or empty.

    A trigger that somebody added may change what is written next; one that is gone no longer guards the entries.
    """
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as fresh:
        build(fresh)
        wanted, here = _definitions(fresh), _definitions(connection)
    return next((f"{kind} {name}" for kind, name, *_ in sorted(wanted ^ here, key=repr)), "")


def _definitions(connection: sqlite3.Connection) -> set[tuple[object, ...]]:
    # Lower case, since SQLite compares names so.
    rows = connection.execute("SELECT type, name, lower(tbl_name), sql FROM sqlite_schema WHERE sql IS NOT NULL")
    return {row for row in rows if row[2] in CORE_TABLES - {"_sqlite_migrations"}}


def migrations() -> "Migrations":
    """The steps from older versions, in order. Each later version adds one function here and raises user_version."""
    from sqlite_utils import Migrations

    steps = Migrations("seasonlog")
    steps()(_to_2)
    return steps


def _to_2(db: "Database") -> None:
    """Schema 2: the entries move to a table that lets two devices use one uid; the tables of trust are added."""
    connection = db.conn
    connection.execute("ALTER TABLE entry RENAME TO entry_1")
    for name in ("entry_never_changes", "entry_never_goes", "entry_never_replaced"):
        connection.execute(f"DROP TRIGGER IF EXISTS {name}")
    connection.execute("DROP INDEX IF EXISTS entry_order")
    run_script(connection, _ENTRY)
    connection.execute("INSERT INTO entry SELECT pos, dev, seq, hash, uid, hlc, kind, line, sig FROM entry_1")
    connection.execute("DROP TABLE entry_1")
    run_script(connection, _TRUST)
    connection.execute("PRAGMA user_version = 2")


def upgrade(connection: sqlite3.Connection, steps: "Migrations | None" = None) -> None:
    """Bring an older log up to date, one transaction per step. Loads sqlite-utils; a current log never gets here."""
    from sqlite_utils import Database

    (migrations() if steps is None else steps).apply(Database(connection))
