"""The fold of what an audit asks first: each visit in one short row, and instruments recalled, reviewed and checked.

A visit's flags stick: they say that something may be amiss, so that a table of ten thousand towers opens only the
visits that need it. A recall turns the verdicts that rest on an instrument, by their reading or by their limit, to
cannot tell until a review lets them stand, and opens again what a retest with it closed; that is worked out anew from
the tables each time, so the order in which entries arrive does not matter.
"""

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any

from seasonlog.domain import limit_inputs
from seasonlog.domain.records import Kind
from seasonlog.domain.visit_flags import Flag
from seasonlog.journal import finding_views

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

SCHEMA = """
CREATE TABLE proof (tower TEXT NOT NULL, checklist TEXT NOT NULL, season INTEGER NOT NULL, ordinal INTEGER NOT NULL,
  visit TEXT NOT NULL, state TEXT NOT NULL, day TEXT NOT NULL, who TEXT NOT NULL, flags INTEGER NOT NULL,
  bare TEXT NOT NULL, sha256 TEXT NOT NULL, pos INTEGER NOT NULL,
  PRIMARY KEY (tower, checklist, season, ordinal, visit)) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX proof_by_visit ON proof (visit);
CREATE INDEX step_weak ON visit_step (visit, step, verdict) WHERE verdict NOT IN ('pass', 'near_pass');
CREATE TABLE visit_entry (visit TEXT NOT NULL, pos INTEGER NOT NULL, uid TEXT NOT NULL, PRIMARY KEY (visit, pos))
  STRICT, WITHOUT ROWID;
CREATE TABLE tower_since (tower TEXT PRIMARY KEY, day TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE instrument_use (instrument TEXT NOT NULL, visit TEXT NOT NULL, PRIMARY KEY (instrument, visit))
  STRICT, WITHOUT ROWID;
CREATE TABLE recall (recall TEXT PRIMARY KEY, instrument TEXT NOT NULL, since TEXT NOT NULL, who TEXT NOT NULL,
  day TEXT NOT NULL, because TEXT NOT NULL, uid TEXT NOT NULL, pos INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE recall_review (recall TEXT NOT NULL, visit TEXT NOT NULL, outcome TEXT NOT NULL, who TEXT NOT NULL,
  day TEXT NOT NULL, because TEXT NOT NULL, uid TEXT NOT NULL, PRIMARY KEY (recall, visit)) STRICT, WITHOUT ROWID;
CREATE TABLE instrument_check (instrument TEXT NOT NULL, day TEXT NOT NULL, pos INTEGER NOT NULL, ok INTEGER NOT NULL,
  says TEXT NOT NULL, who TEXT NOT NULL, uid TEXT NOT NULL, PRIMARY KEY (instrument, day, pos))
  STRICT, WITHOUT ROWID;
"""
TABLES = (
    "proof", "visit_entry", "tower_since", "instrument_use", "recall", "recall_review", "instrument_check",
)  # fmt: skip

_STANDS = "stands"
_GOOD = ("pass", "near_pass")


def seen_in_visit(db: sqlite3.Connection, seen: "Seen") -> None:
    """Every entry of a visit, so that its whole history is found at once."""
    visit = seen.body.get("visit")
    if visit:
        db.execute("INSERT OR IGNORE INTO visit_entry VALUES (?,?,?)", (visit, seen.pos, seen.uid))


def visit_started(db: sqlite3.Connection, seen: "Seen") -> None:
    """A visit's short row."""
    body = seen.body
    flags = Flag.NONE if body["qualified"] else Flag.UNQUALIFIED
    db.execute(
        "INSERT OR IGNORE INTO proof VALUES (?,?,?,?,?,'open',?,?,?,'',?,?)",
        (body["tower"], body["checklist"], body["season"], body["ordinal"], body["visit"], seen.on, seen.who,
         int(flags), body["sha256"], seen.pos),
    )  # fmt: skip


def visit_closed(db: sqlite3.Connection, seen: "Seen") -> None:
    """How it ended, on which local day."""
    values = (seen.body["outcome"], seen.on, seen.body["visit"])
    db.execute("UPDATE proof SET state=?, day=? WHERE visit=?", values)


def flag(db: sqlite3.Connection, visit: str, flags: Flag) -> None:
    """Set flags of a visit for good."""
    if flags:
        bits = int(flags)
        db.execute("UPDATE proof SET flags = flags | ? WHERE visit=? AND flags & ? != ?", (bits, visit, bits, bits))


def instrument_chosen(db: sqlite3.Connection, seen: "Seen") -> None:
    """Which visits an instrument was taken along on."""
    body = seen.body
    db.execute("INSERT OR IGNORE INTO instrument_use VALUES (?,?)", (body["instrument"], body["visit"]))
    flag(db, body["visit"], Flag.NONE if body["in_calibration"] else Flag.UNCALIBRATED)


def standing(db: sqlite3.Connection, body: Any) -> tuple[str, int]:
    """The day the answer was seen that stands now for a step, and its place; empty and 0 where there is none."""
    sql = (
        "SELECT json_extract(doc, '$.day'), coalesce(json_extract(doc, '$.first_pos'), pos) FROM visit_step"
        " WHERE visit=? AND step=?"
    )
    row = db.execute(sql, (body["visit"], body["step"])).fetchone()
    return (str(row[0] or ""), int(row[1])) if row else ("", 0)


def rests_on(db: sqlite3.Connection, body: Any) -> Sequence[Mapping[str, str]]:
    """The readings that an answer's limit was worked from; entries that do not tell are held against their visit."""
    if "rests_on" in body:
        return tuple(body["rests_on"])
    is_judged = body["limits"] and not body["limits"][0]["missing"]
    for key in limit_inputs.keys(body["quantity"], body["target"]) if is_judged else ():
        sql = "SELECT doc FROM visit_step WHERE visit=? AND step=? AND verdict!='skipped'"
        row = db.execute(sql, (body["visit"], key)).fetchone()
        doc = json.loads(row[0]) if row else None
        if doc is not None and doc["entry"]["target"] in ("", body["target"]):
            named = doc["entry"]["instrument"]
            return (limit_inputs.record(body["visit"], doc["uid"], doc["day"], doc["entry"]),) if named else ()
    return ()


def step_answered(db: sqlite3.Connection, seen: "Seen") -> None:
    """What an answer says about its visit as evidence; a recall of an instrument that it rests on holds for it too."""
    body = seen.body
    flag(db, body["visit"], _of_answer(body))
    if body["quantity"] and not body["instrument"]:
        _bare(db, body["visit"], body["step_id"])
    limit_by = [read["instrument"] for read in seen.rests_on]
    for instrument in limit_by:  # what was read in an earlier visit may have been read with another one
        db.execute("INSERT OR IGNORE INTO instrument_use VALUES (?,?)", (instrument, body["visit"]))
    for instrument in filter(None, dict.fromkeys((body["instrument"], *limit_by))):
        if db.execute("SELECT 1 FROM recall WHERE instrument=?", (instrument,)).fetchone():
            _settle(db, instrument, seen.pos, body["visit"])


def _of_answer(body: Any) -> Flag:
    found = {
        Flag.WEAK: body["verdict"] not in _GOOD,
        Flag.FOUND: "finding" in body,
        Flag.CORRECTED: "corrects" in body,
        Flag.UNQUALIFIED: bool(body.get("unqualified")),
        Flag.AHEAD: bool(body.get("ahead_of")),
    }
    flags = Flag.NONE
    for each, holds in found.items():
        flags |= each if holds else Flag.NONE
    return flags


def _bare(db: sqlite3.Connection, visit: str, step_id: str) -> None:
    """A reading that names no instrument; whether one was wanted is told by the checklist."""
    row = db.execute("SELECT bare FROM proof WHERE visit=?", (visit,)).fetchone()
    known = set(row[0].split()) if row else {step_id}
    if step_id not in known:
        db.execute("UPDATE proof SET bare=? WHERE visit=?", (" ".join(sorted({*known, step_id})), visit))


def tower_recorded(db: sqlite3.Connection, seen: "Seen") -> None:
    """The day a tower came into the register: before it nothing was asked."""
    db.execute("INSERT OR IGNORE INTO tower_since VALUES (?,?)", (seen.body["id"], seen.day))


def _instrument_recalled(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO recall VALUES (?,?,?,?,?,?,?,?)",
        (body["recall"], body["instrument"], body["since"], seen.who, seen.day, body["because"], seen.uid, seen.pos),
    )
    _settle(db, body["instrument"], seen.pos)


def _recall_reviewed(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    for visit in body["visits"] or [""]:
        db.execute(
            "INSERT OR REPLACE INTO recall_review VALUES (?,?,?,?,?,?,?)",
            (body["recall"], visit, body["outcome"], seen.who, seen.day, body["because"], seen.uid),
        )
    row = db.execute("SELECT instrument FROM recall WHERE recall=?", (body["recall"],)).fetchone()
    if row is not None:
        _settle(db, row[0], seen.pos)


def _instrument_checked(db: sqlite3.Connection, seen: "Seen") -> None:
    body = seen.body
    db.execute(
        "INSERT OR IGNORE INTO instrument_check VALUES (?,?,?,?,?,?,?)",
        (body["instrument"], body["on"], seen.pos, int(body["ok"]), body["says"], seen.who, seen.uid),
    )


Doubt = Mapping[str, str]
"""The recall that doubts a reading: its id, `since`, `day`, the instrument, and of what the limit rests on, if on that,
`says`."""
_Recall = tuple[str, str, str]
"""Id, first day that is doubted, day of the recall."""


def _settle(db: sqlite3.Connection, instrument: str, pos: int, visit: str = "") -> None:
    """Turn what rests on an instrument to cannot tell, or back, as its recalls and their reviews stand."""
    sql = (
        "SELECT u.visit, v.tower FROM instrument_use u JOIN visit v ON v.visit=u.visit"
        " WHERE u.instrument=? AND (?='' OR u.visit=?)"
    )
    used = db.execute(sql, (instrument, visit, visit)).fetchall()
    for name, _ in used:
        _settle_visit(db, instrument, name)
    for tower in sorted({tower for _, tower in used}):
        finding_views.settle(db, tower, lambda visit, bases: doubt(db, visit, bases), pos)


def doubt(db: sqlite3.Connection, visit: str, bases: Iterable[Mapping[str, str]]) -> Doubt | None:
    """The recall that doubts a reading of a visit; None where it stands.

    Args:
        db: The log.
        visit: The reading's.
        bases: What it rests on, each with `instrument`, `visit` and `day` it was read: itself first, then what its
            limit was worked from, that with `says`.
    """
    return _doubt(bases, lambda instrument, read_in: _standing(db, instrument, visit, read_in))


def _doubt(bases: Iterable[Mapping[str, str]], standing: Callable[[str, str], list[_Recall]]) -> Doubt | None:
    for base in bases:
        for recall, since, day in standing(base["instrument"], base["visit"]):
            if since <= base["day"]:
                told = {"recall": recall, "since": since, "day": day, "instrument": base["instrument"]}
                return told | ({"says": base["says"]} if "says" in base else {})
    return None


def _standing(db: sqlite3.Connection, instrument: str, visit: str, read_in: str) -> list[_Recall]:
    """The recalls of an instrument that no review has settled for a reading, oldest first.

    Args:
        db: The log.
        instrument: Its id.
        visit: The reading's visit.
        read_in: The visit in which the instrument was read: an earlier one where only the limit rests on it.
    """
    sql = "SELECT recall, since, day FROM recall WHERE instrument=? ORDER BY pos"
    return [each for each in db.execute(sql, (instrument,)).fetchall() if not _stands(db, each[0], visit, read_in)]


def doubted_since(db: sqlite3.Connection, instrument: str, visit: str, day: str) -> str:
    """First day of the recall that doubts a reading of a visit and day; empty where it stands."""
    return next((since for _, since, _ in _standing(db, instrument, visit, visit) if since <= day), "")


def _stands(db: sqlite3.Connection, recall: str, visit: str, read_in: str) -> bool:
    """Whether a review lets a reading stand; one that names its visit goes before one of all."""
    sql = "SELECT visit, outcome FROM recall_review WHERE recall=? AND visit IN (?, ?, '')"
    said = dict(db.execute(sql, (recall, visit, read_in)).fetchall())
    return next((said[name] for name in (visit, read_in, "") if name in said), "") == _STANDS


def _settle_visit(db: sqlite3.Connection, instrument: str, visit: str) -> None:
    standing = cache(lambda named, read_in: _standing(db, named, visit, read_in))
    named = f'"instrument":{json.dumps(instrument, ensure_ascii=False)}'  # as its own, or below what its limit rests on
    sql = "SELECT step, pos, doc FROM visit_step WHERE visit=? AND verdict!='skipped' AND instr(doc, ?)"
    for step, pos, text in db.execute(sql, (visit, named)).fetchall():
        doc = json.loads(text)
        own = {"instrument": doc["entry"]["instrument"], "visit": visit, "day": doc["day"]}
        by = _doubt((own, *doc.get("rests_on", ())), standing)
        if by == doc.get("recalled"):
            continue
        doc.pop("recalled", None)
        verdict = doc["entry"]["verdict"] if by is None else "cannot_tell"
        new = doc if by is None else {**doc, "recalled": by}
        kept = json.dumps(new, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
        db.execute("UPDATE visit_step SET verdict=?, doc=? WHERE visit=? AND step=?", (verdict, kept, visit, step))
        db.execute("UPDATE reading SET verdict=? WHERE pos=?", (verdict, pos))
        flag(db, visit, Flag.WEAK | Flag.RECALLED)


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.INSTRUMENT_RECALLED: _instrument_recalled,
    Kind.RECALL_REVIEWED: _recall_reviewed,
    Kind.INSTRUMENT_CHECKED: _instrument_checked,
}
