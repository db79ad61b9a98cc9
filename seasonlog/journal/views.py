"""The fold: what every entry does to the tables that screens and commands read.

The tables are written in the same transaction as the entry and can be rebuilt from the log alone; both ways give the
same rows (a test proves it). Nothing here decides: verdicts, severities and rules were decided when the entry was
made; the fold only keeps the newest state. A new kind of entry is one function and one line in `_FOLDS`.
"""

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from seasonlog.domain.records import Kind
from seasonlog.domain.visit_flags import Flag
from seasonlog.journal import (
    attachment_views,
    audit_views,
    climate_views,
    details,
    finding_views,
    plan_views,
    trust_views,
)
from seasonlog.journal.stored import Stored

VERSION = 18
"""Raised whenever the tables or the fold change; an older log's views are rebuilt when it is opened for writing."""

SCHEMA = (
    """
CREATE TABLE register_item (what TEXT NOT NULL, id TEXT NOT NULL, parent TEXT NOT NULL, name TEXT NOT NULL,
  item TEXT NOT NULL, retired INTEGER NOT NULL, pos INTEGER NOT NULL, PRIMARY KEY (what, id)) STRICT, WITHOUT ROWID;
CREATE INDEX register_by_parent ON register_item (parent, what, id);
CREATE TABLE checklist_text (sha256 TEXT PRIMARY KEY, id TEXT NOT NULL, text TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE visit (visit TEXT PRIMARY KEY, tower TEXT NOT NULL, checklist TEXT NOT NULL, sha256 TEXT NOT NULL,
  season INTEGER NOT NULL, ordinal INTEGER NOT NULL, state TEXT NOT NULL, who TEXT NOT NULL, started INTEGER NOT NULL,
  closed INTEGER NOT NULL, qualified INTEGER NOT NULL, doc TEXT NOT NULL, pos INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE INDEX visit_by_tower ON visit (tower, checklist, season, pos);
CREATE INDEX visit_by_state ON visit (state, pos);
CREATE TABLE visit_step (visit TEXT NOT NULL, step TEXT NOT NULL, verdict TEXT NOT NULL, pos INTEGER NOT NULL,
  doc TEXT NOT NULL, PRIMARY KEY (visit, step)) STRICT, WITHOUT ROWID;
CREATE TABLE temporary_change (visit TEXT NOT NULL, change TEXT NOT NULL, tower TEXT NOT NULL, what TEXT NOT NULL,
  place TEXT NOT NULL, who TEXT NOT NULL, restored INTEGER NOT NULL, pos INTEGER NOT NULL,
  PRIMARY KEY (visit, change)) STRICT, WITHOUT ROWID;
CREATE TABLE note (pos INTEGER PRIMARY KEY, visit TEXT NOT NULL, tower TEXT NOT NULL, step TEXT NOT NULL,
  who TEXT NOT NULL, wall INTEGER NOT NULL, text TEXT NOT NULL) STRICT;
CREATE INDEX note_by_tower ON note (tower, pos);
CREATE TABLE finding (id TEXT PRIMARY KEY, tower TEXT NOT NULL, site TEXT NOT NULL, step_id TEXT NOT NULL,
  target TEXT NOT NULL, severity TEXT NOT NULL, state TEXT NOT NULL, pos INTEGER NOT NULL, doc TEXT NOT NULL)
  STRICT, WITHOUT ROWID;
CREATE INDEX finding_by_tower ON finding (tower, step_id, target, state);
CREATE INDEX finding_by_state ON finding (state, site);
CREATE TABLE reading (pos INTEGER PRIMARY KEY, tower TEXT NOT NULL, target TEXT NOT NULL, quantity TEXT NOT NULL,
  wall INTEGER NOT NULL, value TEXT NOT NULL, verdict TEXT NOT NULL, low TEXT, high TEXT,
  uid TEXT NOT NULL, day TEXT NOT NULL) STRICT;
CREATE INDEX reading_by_tower ON reading (tower, quantity, target, pos);
CREATE TABLE plan (tower TEXT NOT NULL, checklist TEXT NOT NULL, season INTEGER NOT NULL, ordinal INTEGER NOT NULL,
  changes INTEGER NOT NULL, stamp INTEGER NOT NULL, moved_to TEXT NOT NULL, dropped TEXT NOT NULL,
  done TEXT NOT NULL, PRIMARY KEY (tower, checklist, season, ordinal)) STRICT, WITHOUT ROWID;
CREATE TABLE calendar_basis (what TEXT NOT NULL, id TEXT NOT NULL, changes INTEGER NOT NULL, stamp INTEGER NOT NULL,
  basis TEXT NOT NULL, PRIMARY KEY (what, id)) STRICT, WITHOUT ROWID;
CREATE TABLE winter_mode (pos INTEGER PRIMARY KEY, tower TEXT NOT NULL, mode TEXT NOT NULL, since TEXT NOT NULL,
  because TEXT NOT NULL) STRICT;
CREATE TABLE handover (site TEXT NOT NULL, who TEXT NOT NULL, pos INTEGER NOT NULL, PRIMARY KEY (site, who))
  STRICT, WITHOUT ROWID;
"""
    + plan_views.SCHEMA
    + climate_views.SCHEMA
    + audit_views.SCHEMA
    + attachment_views.SCHEMA
    + trust_views.SCHEMA
)

TABLES = (
    "register_item", "checklist_text", "visit", "visit_step", "temporary_change", "note", "finding", "reading", "plan",
    "calendar_basis", "winter_mode", "handover", *plan_views.TABLES, *climate_views.TABLES,
    *audit_views.TABLES,
    *attachment_views.TABLES,
    *trust_views.TABLES,
)  # fmt: skip

_CALENDAR_FIELDS = {
    "site": (
        "first_freeze", "last_freeze", "time_zone", "name", "access", "emergency_contact", "roof_note", "tighten",
        details.KEY,
    ),
    "tower": ("name", "winter", "site"),
}  # fmt: skip
_PARENTS = ("site", "tower", "of")
"""Fields that name the record a record belongs to, in this order."""


@dataclass(frozen=True, slots=True)
class Seen:
    """An entry as the fold sees it."""

    pos: int
    """Its place in causal order."""
    seq: int
    uid: str
    wall_ms: int
    offset: int
    """Local time minus UTC where it was written, minutes."""
    who: str
    kind: str
    body: Mapping[str, Any]
    hash: str = ""
    """The entry's hash, hex."""
    dev: str = ""
    """The device that wrote it."""
    first_seen: str = ""
    """Of a correction: the day of what it corrects."""
    first_pos: int = 0
    """Of a correction: the place of the first observation."""
    rests_on: Sequence[Mapping[str, str]] = ()
    """Of an answer: the readings its limit was worked from (`limit_inputs.record`)."""

    @property
    def day(self) -> str:
        """The local day, YYYY-MM-DD: an evening on the roof is not tomorrow because UTC says so."""
        return (datetime.fromtimestamp(self.wall_ms / 1000, UTC) + timedelta(minutes=self.offset)).date().isoformat()

    @property
    def on(self) -> str:
        """The day it was seen: for what was entered late, the day told; for a correction, that of what it corrects."""
        told = self.body.get("observed_on") or self.body.get("observed_at", "")[:10] or self.first_seen
        return str(told or self.day)

    @property
    def place(self) -> int:
        """Where what was seen stands among the entries: a correction takes the place of what it corrects."""
        return self.first_pos or self.pos


class LogViews:
    """The views, as the store wants them."""

    schema = SCHEMA
    version = VERSION

    def apply(self, connection: sqlite3.Connection, stored: Stored, /) -> None:
        """Bring the tables up to date with one entry. Unknown kinds (of a newer version) change nothing."""
        handler = _FOLDS.get(stored.entry.kind)
        if handler is not None:
            e = stored.entry
            seen = Seen(stored.pos, e.seq, e.uid, e.wall, e.offset, e.who, e.kind, e.body, stored.hash.hex(), e.dev)
            handler(connection, seen)
            audit_views.seen_in_visit(connection, seen)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _register_recorded(db: sqlite3.Connection, seen: Seen) -> None:
    what, ident, item = seen.body["what"], seen.body["id"], seen.body["item"]
    parent = next((str(item[p]) for p in _PARENTS if p != what and p in item), "")
    db.execute(
        "INSERT INTO register_item VALUES (?,?,?,?,?,0,?) ON CONFLICT (what, id) DO UPDATE SET parent=excluded.parent,"
        " name=excluded.name, item=excluded.item, retired=0, pos=excluded.pos",
        (what, ident, parent, str(item.get("name", "")), _json(item), seen.pos),
    )
    if what == "tower":
        audit_views.tower_recorded(db, seen)
    if what in _CALENDAR_FIELDS:
        climate_views.keep_basis(db, seen, what, ident, [item.get(name) for name in _CALENDAR_FIELDS[what]])


def _register_retired(db: sqlite3.Connection, seen: Seen) -> None:
    db.execute(
        "UPDATE register_item SET retired=1, pos=? WHERE what=? AND id=?",
        (seen.pos, seen.body["what"], seen.body["id"]),
    )


def _checklist_recorded(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    db.execute("INSERT OR IGNORE INTO checklist_text VALUES (?,?,?)", (body["sha256"], body["id"], body["text"]))


def _visit_started(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    doc = _json(
        {
            "instruments": {},
            "uncalibrated": [],
            "signatures": [],
            "closed_words": "",
            "practice": body["practice"],
            "day": seen.on,
            "record": seen.hash,
        }
    )
    db.execute(
        "INSERT OR IGNORE INTO visit VALUES (?,?,?,?,?,?,'open',?,?,0,?,?,?)",
        (body["visit"], body["tower"], body["checklist"], body["sha256"], body["season"], body["ordinal"], seen.who,
         seen.wall_ms, int(body["qualified"]), doc, seen.pos),
    )  # fmt: skip
    audit_views.visit_started(db, seen)


def _change_visit(db: sqlite3.Connection, visit: str, change: Callable[[dict[str, Any]], None]) -> None:
    row = db.execute("SELECT doc FROM visit WHERE visit=?", (visit,)).fetchone()
    if row is not None:
        doc = json.loads(row[0])
        change(doc)
        db.execute("UPDATE visit SET doc=? WHERE visit=?", (_json(doc), visit))


def _instrument_chosen(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body

    def change(doc: dict[str, Any]) -> None:
        doc["instruments"][body["kind"]] = body["instrument"]
        if not body["in_calibration"]:
            doc["uncalibrated"] = sorted({*doc["uncalibrated"], body["instrument"]})
        if "doubt" in body:
            doc["told"] = {**doc.get("told", {}), body["instrument"]: body["doubt"]}

    _change_visit(db, body["visit"], change)
    audit_views.instrument_chosen(db, seen)


def _step_answered(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    if "corrects" in body:
        day, place = audit_views.standing(db, body)
        seen = replace(seen, first_seen=day, first_pos=place)
    seen = replace(seen, rests_on=audit_views.rests_on(db, body))
    trust_views.answered(db, seen)
    told = {k: v for k, v in body.items() if k not in ("visit", "tower", "finding", "rests_on")}
    doc = {"entry": told} | ({"rests_on": seen.rests_on} if seen.rests_on else {}) | _origin(seen)
    db.execute(
        "INSERT OR REPLACE INTO visit_step VALUES (?,?,?,?,?)",
        (body["visit"], body["step"], body["verdict"], seen.pos, _json(doc)),
    )
    if body["quantity"]:
        _reading(db, seen)
    finding_views.answered(db, seen)
    audit_views.step_answered(db, seen)


def _origin(seen: Seen) -> dict[str, Any]:
    return {
        "seq": seen.seq, "uid": seen.uid, "who": seen.who, "wall_ms": seen.wall_ms, "hash": seen.hash, "day": seen.on,
        "dev": seen.dev,
    } | ({"first_pos": seen.first_pos} if seen.first_pos else {})  # fmt: skip


def _reading(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    limit = body["limits"][0] if body["limits"] else {}
    db.execute(
        "INSERT INTO reading VALUES (?,?,?,?,?,?,?,?,?,?,?)",
        (seen.pos, body["tower"], body["target"], body["quantity"], seen.wall_ms, _json(body["value"]), body["verdict"],
         limit.get("low"), limit.get("high"), seen.uid, seen.on),
    )  # fmt: skip


def _step_skipped(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    if "takes_back" in body:
        seen = replace(seen, first_pos=audit_views.standing(db, body)[1])
    doc = {k: v for k, v in body.items() if k not in ("visit", "tower", "step")} | _origin(seen)
    db.execute(
        "INSERT OR REPLACE INTO visit_step VALUES (?,?,'skipped',?,?)",
        (body["visit"], body["step"], seen.pos, _json(doc)),
    )
    finding_views.taken_back(db, seen)
    audit_views.flag(db, body["visit"], Flag.WEAK)


def _note_added(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    db.execute(
        "INSERT INTO note VALUES (?,?,?,?,?,?,?)",
        (seen.pos, body["visit"], body["tower"], body["step"], seen.who, seen.wall_ms, body["text"]),
    )


def _change_made(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO temporary_change VALUES (?,?,?,?,?,?,0,?)",
        (body["visit"], body["change"], body["tower"], body["what"], body["where"], seen.who, seen.pos),
    )
    audit_views.flag(db, body["visit"], Flag.CHANGED)


def _change_restored(db: sqlite3.Connection, seen: Seen) -> None:
    db.execute(
        "UPDATE temporary_change SET restored=1, pos=? WHERE visit=? AND change=?",
        (seen.pos, seen.body["visit"], seen.body["change"]),
    )


def _visit_signed(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    signature = {name: body[name] for name in ("meaning", "name", "words")} | {"wall_ms": seen.wall_ms}
    signature["signs"] = body.get("signs", "")

    def sign(doc: dict[str, Any]) -> None:
        signature["moved"] = body.get("record", doc["record"]) != doc["record"]
        doc["signatures"].append(signature)

    _change_visit(db, body["visit"], sign)
    meaning = Flag.MOVED if signature.get("moved") else _SIGNED.get(body["meaning"], Flag.NONE)
    audit_views.flag(db, body["visit"], meaning)


_SIGNED = {"done_by": Flag.SIGNED, "reviewed_by": Flag.REVIEWED}


def _visit_closed(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    day = seen.on
    _change_visit(db, body["visit"], lambda doc: doc.update(closed_words=body["because"], day=day))
    db.execute("UPDATE visit SET state=?, closed=? WHERE visit=?", (body["outcome"], seen.wall_ms, body["visit"]))
    audit_views.visit_closed(db, seen)
    if body["outcome"] == "complete":
        row = db.execute(
            "SELECT tower, checklist, season, ordinal FROM visit WHERE visit=?", (body["visit"],)
        ).fetchone()
        if row is not None:
            plan_views.settle(db, tuple(row), seen, done=day)


def _winter_mode_set(db: sqlite3.Connection, seen: Seen) -> None:
    body = seen.body
    db.execute(
        "INSERT INTO winter_mode VALUES (?,?,?,?,?)",
        (seen.pos, body["tower"], body["mode"], body["since"], body["because"]),
    )


def _handover_read(db: sqlite3.Connection, seen: Seen) -> None:
    db.execute("INSERT OR REPLACE INTO handover VALUES (?,?,?)", (seen.body["site"], seen.who, seen.pos))


_FOLDS: dict[str, Callable[[sqlite3.Connection, Seen], None]] = {
    Kind.REGISTER_RECORDED: _register_recorded,
    Kind.REGISTER_RETIRED: _register_retired,
    Kind.CHECKLIST_RECORDED: _checklist_recorded,
    Kind.VISIT_STARTED: _visit_started,
    Kind.INSTRUMENT_CHOSEN: _instrument_chosen,
    Kind.STEP_ANSWERED: _step_answered,
    Kind.STEP_SKIPPED: _step_skipped,
    Kind.NOTE_ADDED: _note_added,
    Kind.TEMPORARY_CHANGE_MADE: _change_made,
    Kind.TEMPORARY_CHANGE_RESTORED: _change_restored,
    Kind.VISIT_SIGNED: _visit_signed,
    Kind.VISIT_CLOSED: _visit_closed,
    Kind.WINTER_MODE_SET: _winter_mode_set,
    Kind.HANDOVER_READ: _handover_read,
    **finding_views.FOLDS,
    **plan_views.FOLDS,
    **climate_views.FOLDS,
    **trust_views.FOLDS,
    **audit_views.FOLDS,
    **attachment_views.FOLDS,
}
