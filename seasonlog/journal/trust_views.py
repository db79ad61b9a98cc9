"""The fold of devices, of forks, and of answers that two devices gave without knowing of each other."""

import json
import sqlite3
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from seasonlog.domain.records import Kind
from seasonlog.domain.visit_flags import Flag
from seasonlog.journal import audit_views

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

SCHEMA = """
CREATE TABLE device (dev TEXT PRIMARY KEY, name TEXT NOT NULL, state TEXT NOT NULL, joined INTEGER NOT NULL,
  who TEXT NOT NULL, because TEXT NOT NULL, entries INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE fork (dev TEXT NOT NULL, seq INTEGER NOT NULL, other TEXT NOT NULL, held TEXT NOT NULL, who TEXT NOT NULL,
  PRIMARY KEY (dev, seq, other)) STRICT, WITHOUT ROWID;
CREATE TABLE answer_conflict (visit TEXT NOT NULL, step TEXT NOT NULL, tower TEXT NOT NULL, answers TEXT NOT NULL,
  decided TEXT NOT NULL, pos INTEGER NOT NULL, PRIMARY KEY (visit, step)) STRICT, WITHOUT ROWID;
"""
TABLES = ("device", "fork", "answer_conflict")


def _joined(db: sqlite3.Connection, seen: "Seen") -> None:
    state = "first" if seen.kind == Kind.LOG_STARTED else "joined"
    db.execute(
        "INSERT INTO device VALUES (?,'',?,?,?,'',0) ON CONFLICT (dev) DO UPDATE SET joined=excluded.joined",
        (seen.dev, state, seen.wall_ms, seen.who),
    )


def _enrolled(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT INTO device VALUES (?,?,'enrolled',0,?,?,0) ON CONFLICT (dev) DO UPDATE SET name=excluded.name,"
        " state=CASE state WHEN 'revoked' THEN state ELSE excluded.state END, who=excluded.who,"
        " because=excluded.because",
        (body["device"], body["name"], seen.who, body.get("because", "")),
    )


def _revoked(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT INTO device VALUES (?,'','revoked',0,?,?,?) ON CONFLICT (dev) DO UPDATE SET state='revoked',"
        " who=excluded.who, because=excluded.because, entries=max(entries, excluded.entries)",
        (body["device"], seen.who, body["because"], body["entries"]),
    )


def _fork_found(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO fork VALUES (?,?,?,?,?)",
        (body["device"], body["seq"], body["other"], body["held"], seen.who),
    )


def answered(db: sqlite3.Connection, seen: "Seen") -> None:
    """Before an answer replaces the one that stands: did whoever gave it know of that one?

    An answer of another device that does not name the standing one as corrected was given in parallel. Both stay; a
    supervisor decides with an answer that names them. A retest stands on its own: it was read later.
    """
    body = seen.body
    key = (body["visit"], body["step"])
    row = db.execute("SELECT answers FROM answer_conflict WHERE visit=? AND step=?", key).fetchone()
    in_conflict: list[Any] = json.loads(row[0]) if row else []
    decides = body.get("decides", ())
    if decides and set(decides) >= set(in_conflict) and in_conflict:
        db.execute("UPDATE answer_conflict SET decided=? WHERE visit=? AND step=?", (seen.uid, *key))
        return
    standing = db.execute("SELECT doc, verdict FROM visit_step WHERE visit=? AND step=?", key).fetchone()
    if standing is None or standing[1] == "skipped" or body.get("retest"):
        return
    doc = json.loads(standing[0])
    if seen.dev == doc["dev"] or body.get("corrects") == doc["uid"]:
        return
    if not in_conflict and (doc["entry"]["value"], standing[1]) == (body["value"], body["verdict"]):
        return  # both say the same: nothing to decide
    standing_uid = doc["uid"]
    audit_views.flag(db, body["visit"], Flag.WEAK)  # it proves nothing until it is decided
    answers = json.dumps([*in_conflict, *(uid for uid in (standing_uid, seen.uid) if uid not in in_conflict)])
    db.execute(
        "INSERT INTO answer_conflict VALUES (?,?,?,?,'',?) ON CONFLICT (visit, step) DO UPDATE SET"
        " answers=excluded.answers, decided='', pos=excluded.pos",
        (*key, body["tower"], answers, seen.pos),
    )


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.LOG_STARTED: _joined,
    Kind.DEVICE_JOINED: _joined,
    Kind.DEVICE_ENROLLED: _enrolled,
    Kind.DEVICE_REVOKED: _revoked,
    Kind.FORK_FOUND: _fork_found,
}
