"""Questions of an audit to the views: all visits at a glance, recalls, checks before use, every entry of one visit."""

import json
import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import partial
from typing import NamedTuple

from seasonlog.journal.stored import SELECT, Stored, from_row


class Proof(NamedTuple):
    """A visit in one row."""

    tower: str
    checklist: str
    season: int
    ordinal: int
    visit: str
    state: str
    day: str
    """Local day it was closed, or started while it is open."""
    who: str
    flags: int
    """`visit_flags.Flag`."""
    bare: str
    """Ids of steps with a reading that names no instrument, blanks between."""
    sha256: str
    """Of its checklist."""
    pos: int
    """Place of its start among the entries."""


_PROOF_OF: Callable[[list[object]], Proof] = partial(tuple.__new__, Proof)
"""As `Proof._make`, in a third of its time: half a million rows are read at once."""
_PROOFS = (
    "SELECT tower, json_group_array(json_array("
    "tower, checklist, season, ordinal, visit, state, day, who, flags, bare, sha256, pos)) FROM proof"
)
"""A tower's visits in one row: one text is taken over in half the time of forty rows of twelve columns."""


def proofs(db: sqlite3.Connection, towers: Collection[str] | None = None) -> Iterator[tuple[str, list[Proof]]]:
    """Each tower with its visits, by checklist, season and number; some towers alone where they are named.

    A tower without a visit is not told.
    """
    if towers is None:
        rows: Iterable[tuple[str, str]] = db.execute(f"{_PROOFS} GROUP BY tower")
    else:
        asked = f"{_PROOFS} WHERE tower=? GROUP BY tower"
        rows = (row for tower in sorted(towers) for row in db.execute(asked, (tower,)))
    return ((tower, [_PROOF_OF(visit) for visit in sorted(json.loads(visits))]) for tower, visits in rows)


def first_season(db: sqlite3.Connection, otherwise: int) -> int:
    """The first season of any visit."""
    (first,) = db.execute("SELECT min(season) FROM proof").fetchone()
    return otherwise if first is None else int(first)


def days_made(db: sqlite3.Connection, tower: str, checklist: str) -> list[str]:
    """Days of all finished visits of a kind on a tower."""
    sql = "SELECT day FROM proof WHERE tower=? AND checklist=? AND state='complete' ORDER BY day"
    return [day for (day,) in db.execute(sql, (tower, checklist))]


def weak_steps(db: sqlite3.Connection) -> Iterator[tuple[str, str, str]]:
    """(visit, step, verdict) of every step that is neither pass nor near pass now, or that two devices dispute."""
    weak = "SELECT visit, step, verdict FROM visit_step WHERE verdict NOT IN ('pass', 'near_pass')"
    disputed = "SELECT visit, step, 'cannot_tell' FROM answer_conflict WHERE decided=''"
    return iter(db.execute(f"{weak} UNION {disputed}"))


def checklists_known(db: sqlite3.Connection) -> list[tuple[str, str]]:
    """(SHA-256, id) of every text of a checklist on record."""
    return db.execute("SELECT sha256, id FROM checklist_text").fetchall()


_RETESTED = """
WITH weak AS (SELECT visit FROM visit_step WHERE verdict NOT IN ('pass', 'near_pass')
  UNION SELECT visit FROM answer_conflict WHERE decided = '')
SELECT DISTINCT again.tower, again.season FROM weak JOIN proof p ON p.visit = weak.visit
JOIN proof again ON again.tower = p.tower AND again.checklist = ? AND again.season = p.season
WHERE again.state = 'complete'
"""


def retested(db: sqlite3.Connection, checklists: Iterable[str]) -> set[tuple[str, int]]:
    """Tower and season of finished visits of these checklists, where another visit had a weak step."""
    return {row for each in checklists for row in db.execute(_RETESTED, (each,))}


class FindingRow(NamedTuple):
    """A finding without its words."""

    tower: str
    step_id: str
    target: str
    id: str
    state: str
    accepted_until: str
    handled: bool
    """A measure, a part, a person, an acceptance or an end is on record."""
    title: str
    entry: str
    """Uid of the answer that opened it."""


_FINDINGS = """
SELECT tower, step_id, target, id, state, json_extract(doc, '$.accepted_until'),
  state NOT IN ('open') OR json_extract(doc, '$.assigned') != '' OR json_array_length(doc, '$.measures') > 0
  OR json_array_length(doc, '$.part_stages') > 0, json_extract(doc, '$.title'), json_extract(doc, '$.entry')
FROM finding ORDER BY pos
"""


def finding_rows(db: sqlite3.Connection) -> Iterator[FindingRow]:
    """Every finding, the one that changed last coming last."""
    for row in db.execute(_FINDINGS):
        yield FindingRow(row[0], row[1], row[2], row[3], row[4], row[5], bool(row[6]), row[7], row[8])


def register_changes(db: sqlite3.Connection) -> dict[str, int]:
    """Tower to the place of the newest change of its own record or of a basin, circuit, trace or source of it."""
    sql = (
        "SELECT CASE what WHEN 'tower' THEN id ELSE parent END, max(pos) FROM register_item"
        " WHERE what IN ('tower','basin','circuit','trace','source') GROUP BY 1"
    )
    return dict(db.execute(sql).fetchall())


def towers_since(db: sqlite3.Connection) -> dict[str, str]:
    """Tower to the day it came into the register."""
    return dict(db.execute("SELECT tower, day FROM tower_since").fetchall())


def retirements(db: sqlite3.Connection) -> list[Stored]:
    """The entry that took each tower out of the register which is not in it now."""
    gone = "WHERE pos IN (SELECT pos FROM register_item WHERE what='tower' AND retired=1)"
    return [from_row(row) for row in db.execute(SELECT + gone).fetchall()]


def unsettled(db: sqlite3.Connection) -> Iterator[tuple[str, str, int, int, str, str]]:
    """(tower, checklist, season, ordinal, moved to, why dropped) of due visits that were moved or dropped."""
    sql = "SELECT tower, checklist, season, ordinal, moved_to, dropped FROM plan WHERE moved_to!='' OR dropped!=''"
    return iter(db.execute(sql))


class Recall(NamedTuple):
    """An instrument's readings are doubted."""

    id: str
    instrument: str
    since: str
    who: str
    day: str
    because: str
    uid: str


class Review(NamedTuple):
    """What a review of a recall says, of one visit or of all."""

    recall: str
    visit: str
    """Empty: of all."""
    outcome: str
    who: str
    day: str
    because: str
    uid: str


def recalls(db: sqlite3.Connection, instrument: str = "") -> list[Recall]:
    """Recalls, oldest first; of one instrument where named."""
    sql = "SELECT recall, instrument, since, who, day, because, uid FROM recall WHERE ?='' OR instrument=? ORDER BY pos"
    return [Recall(*row) for row in db.execute(sql, (instrument, instrument))]


def reviews(db: sqlite3.Connection, recall: str) -> list[Review]:
    """Reviews of a recall."""
    sql = "SELECT recall, visit, outcome, who, day, because, uid FROM recall_review WHERE recall=? ORDER BY visit"
    return [Review(*row) for row in db.execute(sql, (recall,))]


class Relied(NamedTuple):
    """One answer that rests on an instrument, by its reading or by its limit."""

    tower: str
    visit: str
    checklist: str
    step: str
    day: str
    value: str
    """As recorded, JSON."""
    unit: str
    judged: str
    """The verdict when it was made."""
    verdict: str
    """The verdict now."""
    uid: str
    who: str
    judged_at: str
    """Reading of the instrument that its limit was worked from; empty where it was read with it itself."""


_RELIED = """
SELECT v.tower, v.visit, v.checklist, s.step, json_extract(s.doc, '$.day'),
  json_quote(json_extract(s.doc, '$.entry.value')),
  json_extract(s.doc, '$.entry.unit'), json_extract(s.doc, '$.entry.verdict'), s.verdict, json_extract(s.doc, '$.uid'),
  json_extract(s.doc, '$.who'), CASE json_extract(s.doc, '$.entry.instrument') WHEN :i THEN '' ELSE (
    SELECT json_extract(value, '$.says') FROM json_each(s.doc, '$.rests_on')
    WHERE json_extract(value, '$.instrument') = :i) END
FROM instrument_use u JOIN visit v ON v.visit = u.visit JOIN visit_step s ON s.visit = u.visit
WHERE u.instrument = :i AND s.verdict != 'skipped' AND (
  json_extract(s.doc, '$.entry.instrument') = :i AND json_extract(s.doc, '$.day') >= :since
  OR EXISTS (SELECT 1 FROM json_each(s.doc, '$.rests_on') WHERE json_extract(value, '$.instrument') = :i
    AND json_extract(value, '$.day') >= :since))
ORDER BY json_extract(s.doc, '$.day'), v.tower, v.visit, s.pos
"""


def relied_on(db: sqlite3.Connection, instrument: str, since: str) -> list[Relied]:
    """Every answer since a day that rests on an instrument, oldest day first."""
    return [Relied(*row) for row in db.execute(_RELIED, {"i": instrument, "since": since})]


class Before(NamedTuple):
    """A reading that a later one is held against."""

    wall_ms: int
    uid: str
    day: str
    visit: str
    body: Mapping[str, str]
    """Its step, value, unit and instrument; not of three lines."""


_BEFORE = """
SELECT r.wall, r.uid, r.day, s.visit, json_extract(s.doc, '$.entry') FROM reading r JOIN entry e ON e.uid = r.uid
JOIN visit_step s ON s.visit = json_extract(CAST(e.line AS TEXT), '$.body.visit')
  AND s.step = json_extract(CAST(e.line AS TEXT), '$.body.step') AND s.pos = r.pos
WHERE r.tower=? AND r.quantity=? AND r.target=? AND r.wall<? AND r.verdict != 'cannot_tell' ORDER BY r.pos DESC LIMIT 1
"""


def read_before(db: sqlite3.Connection, tower: str, quantity: str, target: str, wall_ms: int) -> Before | None:
    """The newest reading of a quantity on a target before a moment that stands and tells something, of one value."""
    row = db.execute(_BEFORE, (tower, quantity, target, wall_ms)).fetchone()
    if row is None:
        return None
    wall, uid, day, visit, text = row
    body = json.loads(text)
    return Before(wall, uid, day, visit, body) if isinstance(body["value"], str) else None


class Check(NamedTuple):
    """A check of an instrument before use."""

    instrument: str
    day: str
    ok: bool
    says: str
    who: str
    uid: str


def checks(db: sqlite3.Connection, instrument: str = "", day: str = "") -> list[Check]:
    """Checks before use, oldest first; of one instrument or day where named."""
    sql = (
        "SELECT instrument, day, ok, says, who, uid FROM instrument_check WHERE (:i='' OR instrument=:i)"
        " AND (:d='' OR day=:d) ORDER BY day, pos"
    )
    return [
        Check(i, d, bool(ok), says, who, uid)
        for i, d, ok, says, who, uid in db.execute(sql, {"i": instrument, "d": day})
    ]


def entries_of_visit(db: sqlite3.Connection, visit: str) -> list[Stored]:
    """Every entry that belongs to a visit, in causal order."""
    uids = db.execute("SELECT uid FROM visit_entry WHERE visit=? ORDER BY pos", (visit,)).fetchall()
    return [stored for (uid,) in uids for stored in entries_of_uid(db, uid) if stored.entry.body.get("visit") == visit]


def entries_of_uid(db: sqlite3.Connection, uid: str) -> list[Stored]:
    """The entries with a uid: one, or two of devices that did not see each other."""
    rows = db.execute(f"{SELECT}WHERE uid=? ORDER BY hlc, dev, seq", (uid,)).fetchall()
    return [from_row(row) for row in rows]


def entries_of_finding(db: sqlite3.Connection, ident: str, tower: str, step_id: str) -> list[Stored]:
    """Every entry that opened, met, handled or closed a finding, in causal order."""
    sql = (
        f"{SELECT}WHERE (kind LIKE 'finding!_%' ESCAPE '!' OR kind IN ('step_answered', 'fault_found'))"
        " AND (instr(line, CAST(? AS BLOB)) > 0 OR instr(line, CAST(? AS BLOB)) > 0) ORDER BY hlc, dev, seq"
    )
    rows = db.execute(sql, (f'"finding":"{ident}"', f'"step_id":"{step_id}"')).fetchall()
    found = (from_row(row) for row in rows)
    return [s for s in found if s.entry.body.get("finding") == ident or _is_about(s.entry.body, tower, step_id)]


def _is_about(body: Mapping[str, object], tower: str, step_id: str) -> bool:
    return body.get("tower") == tower and body.get("step_id") == step_id


class ReadingRow(NamedTuple):
    """One reading of a series."""

    wall_ms: int
    day: str
    values: tuple[str, ...]
    verdict: str
    low: str | None
    high: str | None
    uid: str
    who: str
    instrument: str
    visit: str


def series(db: sqlite3.Connection, tower: str) -> list[tuple[str, str, int]]:
    """(quantity, target, how many readings) of everything read at a tower."""
    sql = "SELECT quantity, target, count(*) FROM reading WHERE tower=? GROUP BY quantity, target ORDER BY 1, 2"
    return [(str(q), str(t), int(n)) for q, t, n in db.execute(sql, (tower,))]


_READINGS = """
SELECT r.wall, r.day, r.value, r.verdict, r.low, r.high, r.uid, json_extract(CAST(e.line AS TEXT), '$.who'),
  json_extract(CAST(e.line AS TEXT), '$.body.instrument'),
  json_extract(CAST(e.line AS TEXT), '$.body.visit'), json_extract(CAST(e.line AS TEXT), '$.body.step')
FROM reading r JOIN entry e ON e.uid = r.uid WHERE r.tower=? AND r.quantity=? AND r.target=? ORDER BY r.day, r.pos
"""


def readings_of(db: sqlite3.Connection, tower: str, quantity: str, target: str) -> list[ReadingRow]:
    """Every reading of a series, oldest day first; of one that was corrected or repeated in a visit, the last alone."""
    last: dict[tuple[str, str], ReadingRow] = {}
    for *row, step in db.execute(_READINGS, (tower, quantity, target)):
        value = json.loads(row[2])
        values = (value,) if isinstance(value, str) else tuple(value)
        found = ReadingRow(row[0], row[1], values, *row[3:])
        last[found.visit, step] = found
    return list(last.values())
