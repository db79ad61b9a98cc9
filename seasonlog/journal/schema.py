"""The log's tables, and how an older file is brought up to date.

History of `SCHEMA_VERSION`:
1: entry, meta, append-only triggers.
"""

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

from seasonlog.errors import LogError
from seasonlog.journal.database import DamagedLogError, run_script

if TYPE_CHECKING:
    from sqlite_utils import Migrations

SCHEMA_VERSION = 1
"""Stored in the file as user_version."""
APPLICATION_ID = 0x736C6F67
"""Stored in the file as application_id: the letters "slog"."""

SQL = """
-- One row per line of the log, in the order of arrival. The columns beside line and sig repeat fields of the line so
-- that they can be searched; verify compares them.
CREATE TABLE entry (
  pos  INTEGER PRIMARY KEY,
  dev  TEXT    NOT NULL CHECK (length(dev) = 16),
  seq  INTEGER NOT NULL CHECK (seq >= 1),
  hash BLOB    NOT NULL CHECK (length(hash) = 32),
  uid  TEXT    NOT NULL UNIQUE CHECK (length(uid) BETWEEN 1 AND 128),
  hlc  TEXT    NOT NULL CHECK (length(hlc) = 21),
  kind TEXT    NOT NULL CHECK (length(kind) BETWEEN 1 AND 64),
  line BLOB    NOT NULL CHECK (length(line) BETWEEN 2 AND 1000000),
  sig  BLOB    NOT NULL CHECK (length(sig) = 64),
  UNIQUE (dev, seq)
) STRICT;

-- The order that is the same on every device.
CREATE INDEX entry_order ON entry (hlc, dev, seq);

-- A guard rail against mistakes; only the hashes and signatures prove anything.
CREATE TRIGGER entry_never_changes BEFORE UPDATE ON entry
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;
CREATE TRIGGER entry_never_goes BEFORE DELETE ON entry
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;
-- INSERT OR REPLACE deletes without firing the trigger above unless recursive_triggers is on.
CREATE TRIGGER entry_never_replaced BEFORE INSERT ON entry
WHEN EXISTS (SELECT 1 FROM entry WHERE pos = new.pos OR uid = new.uid OR (dev = new.dev AND seq = new.seq))
BEGIN SELECT raise(ABORT, 'the log is append-only'); END;

-- Facts about this file that are no part of the record: views_version.
CREATE TABLE meta (
  name  TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
"""

CORE_TABLES = frozenset({"entry", "meta", "_sqlite_migrations"})
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


def migrations() -> "Migrations":
    """The steps from older versions, in order. Each later version adds one function here and raises user_version."""
    from sqlite_utils import Migrations

    return Migrations("seasonlog")


def upgrade(connection: sqlite3.Connection, steps: "Migrations | None" = None) -> None:
    """Bring an older log up to date, one transaction per step. Loads sqlite-utils; a current log never gets here."""
    from sqlite_utils import Database

    (migrations() if steps is None else steps).apply(Database(connection))
