"""The fold of what lies beside the log: photos and clips, what was given up, and where recording is allowed."""

import json
import sqlite3
from collections.abc import Callable
from typing import TYPE_CHECKING

from seasonlog.domain.records import Kind

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

SCHEMA = """
CREATE TABLE attachment (id TEXT PRIMARY KEY, sha256 TEXT NOT NULL, tower TEXT NOT NULL, visit TEXT NOT NULL,
  who TEXT NOT NULL, wall INTEGER NOT NULL, pos INTEGER NOT NULL, doc TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX attachment_by_tower ON attachment (tower, pos);
CREATE TABLE attachment_erased (id TEXT PRIMARY KEY, who TEXT NOT NULL, day TEXT NOT NULL, because TEXT NOT NULL)
  STRICT, WITHOUT ROWID;
CREATE TABLE detail_discarded (sha256 TEXT PRIMARY KEY, what TEXT NOT NULL, id TEXT NOT NULL, field TEXT NOT NULL,
  who TEXT NOT NULL, day TEXT NOT NULL, because TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE recording (site TEXT PRIMARY KEY, allowed INTEGER NOT NULL, said_by TEXT NOT NULL, until TEXT NOT NULL,
  because TEXT NOT NULL, who TEXT NOT NULL, day TEXT NOT NULL) STRICT, WITHOUT ROWID;
"""
TABLES = ("attachment", "attachment_erased", "detail_discarded", "recording")


def _attached(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    doc = json.dumps(dict(body), ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    db.execute(
        "INSERT OR IGNORE INTO attachment VALUES (?,?,?,?,?,?,?,?)",
        (body["attachment"], body["sha256"], body["tower"], body["visit"], seen.who, seen.wall_ms, seen.pos, doc),
    )


def _erased(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO attachment_erased VALUES (?,?,?,?)",
        (body["attachment"], seen.who, seen.day, body["because"]),
    )


def _discarded(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO detail_discarded VALUES (?,?,?,?,?,?,?)",
        (body["sha256"], body["what"], body["id"], body["field"], seen.who, seen.day, body["because"]),
    )


def _recording(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR REPLACE INTO recording VALUES (?,?,?,?,?,?,?)",
        (body["site"], int(body["allowed"]), body["by"], body["until"], body["because"], seen.who, seen.day),
    )


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.ATTACHED: _attached,
    Kind.ATTACHMENT_ERASED: _erased,
    Kind.DETAIL_DISCARDED: _discarded,
    Kind.RECORDING_ALLOWED: _recording,
}
