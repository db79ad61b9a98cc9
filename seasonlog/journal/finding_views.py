"""The fold of findings: which answers open, repeat, close and reopen one, and what is done about it."""

import json
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from seasonlog.domain import finding as findings
from seasonlog.domain.finding import Event, Finding, FindingState
from seasonlog.domain.records import Kind

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

Recalled = Callable[[str, Sequence[Mapping[str, str]]], Mapping[str, str] | None]
"""(visit, what the reading rests on) -> the recall that doubts it, or None (`audit_views.doubt`)."""


def answered(db: sqlite3.Connection, seen: "Seen") -> None:
    """A failed answer opens a finding or is one more of it; a passed one closes it."""
    body, event = seen.body, _event(seen)
    passes = body["verdict"] in ("pass", "near_pass")
    shut = _closed_by(db, body["tower"], body.get("corrects", ""))
    if shut is not None:  # the answer that closed it was wrong: the new one counts in its place
        _keep_finding(db, findings.closed_anew(shut, event) if passes else findings.reopened(shut), seen.pos)
    standing = _open_finding(db, body["tower"], body["step_id"], body["target"])
    if "finding" in body:
        _keep_finding(db, _failed(db, standing, event), seen.pos)
    elif standing is not None and passes and findings.is_answered_by(standing, event):
        _keep_finding(db, findings.closed_by_answer(standing, event), seen.pos)


def _failed(db: sqlite3.Connection, standing: Finding | None, event: Event) -> Finding:
    """The finding of a failed answer: the open one, or a new one; of a correction, the one that its step opened."""
    fresh = findings.opened(event, _site_of(db, event.body["tower"]))
    if "corrects" not in event.body:
        return findings.seen_again(standing, event) if standing else fresh
    row = db.execute("SELECT doc FROM finding WHERE id=?", (fresh.id,)).fetchone()
    known = standing or (findings.reopened(Finding.from_doc(json.loads(row[0]))) if row else None)
    return _unless_passed_since(db, findings.seen_again(known, event) if known else fresh)


def _unless_passed_since(db: sqlite3.Connection, found: Finding) -> Finding:
    """A finding that would stand open, unless another answer that stands has passed since it last failed."""
    other = _passed_since(db, found)
    return findings.closed_by_answer(found, other) if other else found


def taken_back(db: sqlite3.Connection, seen: "Seen") -> None:
    """An answer that was heard or typed wrong is taken back: what it had closed is open again."""
    shut = _closed_by(db, seen.body["tower"], seen.body.get("takes_back", ""))
    if shut is not None:
        _keep_finding(db, _unless_passed_since(db, findings.reopened(shut)), seen.pos)


def _closed_by(db: sqlite3.Connection, tower: str, uid: str) -> Finding | None:
    """The finding that an answer closed, in doubt or not, unless the same step has failed again since."""
    if not uid:
        return None
    row = db.execute(
        "SELECT doc FROM finding WHERE tower=? AND json_extract(doc, '$.retest.entry')=?", (tower, uid)
    ).fetchone()
    shut = Finding.from_doc(json.loads(row[0])) if row else None
    return shut if shut and _may_reopen(db, shut) else None


def _may_reopen(db: sqlite3.Connection, shut: Finding) -> bool:
    """One tower, step and target have at most one open finding."""
    standing = _open_finding(db, shut.tower, shut.step_id, shut.target)
    return standing is None or standing.id == shut.id


def settle(db: sqlite3.Connection, tower: str, recalled: Recalled, pos: int) -> None:
    """Findings closed by a retest stand open again while an instrument it rests on is recalled, and close with that.

    Worked out anew from the tables: another retest that passed since the failure closes a finding as well.

    Args:
        db: The log.
        tower: Whose findings.
        recalled: What doubts a reading; None when it stands.
        pos: Place of the entry that asks for it.
    """
    sql = "SELECT doc FROM finding WHERE tower=? AND json_extract(doc, '$.retest.entry')!='' ORDER BY id"
    for (doc,) in db.execute(sql, (tower,)).fetchall():
        found = Finding.from_doc(json.loads(doc))
        if found.state is FindingState.WITHDRAWN:
            continue
        by = recalled(found.retest["visit"], findings.bases(found.retest))
        fresh = _in_doubt(db, found, by) if by else findings.upheld(found) if found.doubt else found
        if fresh != found:
            _keep_finding(db, fresh, pos)


def _in_doubt(db: sqlite3.Connection, found: Finding, by: Mapping[str, str]) -> Finding:
    other = _passed_since(db, found)
    if other is not None:
        return findings.closed_by_answer(found, other)
    return findings.doubted(found, by) if _may_reopen(db, found) else found


_PASSED = """
SELECT s.visit, s.pos, s.doc FROM visit v JOIN visit_step s ON s.visit = v.visit WHERE v.tower=:tower
  AND s.step IN (:id, :id || '@' || :target) AND s.verdict IN ('pass', 'near_pass')
  AND json_extract(s.doc, '$.entry.target')=:target AND coalesce(json_extract(s.doc, '$.first_pos'), s.pos) >= :at
  AND json_extract(s.doc, '$.day') >= :on ORDER BY s.pos LIMIT 1
"""


def _passed_since(db: sqlite3.Connection, found: Finding) -> Event | None:
    """The first answer that stands and passes since the step last failed."""
    asked = {
        "tower": found.tower, "id": found.step_id, "target": found.target, "at": found.failed_at, "on": found.failed_on,
    }  # fmt: skip
    row = db.execute(_PASSED, asked).fetchone()
    if row is None:
        return None
    visit, pos, text = row
    doc = json.loads(text)
    body = {**doc["entry"], "visit": visit}
    return Event(body, doc["who"], doc["wall_ms"], doc["uid"], doc["day"], pos, doc.get("rests_on", ()))


def _fault_found(db: sqlite3.Connection, seen: "Seen") -> None:
    body, event = seen.body, _event(seen)
    standing = _open_finding(db, body["tower"], body["step_id"], body["target"])
    site = _site_of(db, body["tower"])
    _keep_finding(db, findings.explained(standing, event) if standing else findings.searched_out(event, site), seen.pos)


def _event(seen: "Seen") -> Event:
    return Event(seen.body, seen.who, seen.wall_ms, seen.uid, seen.on, seen.place, seen.rests_on)


def _site_of(db: sqlite3.Connection, tower: str) -> str:
    row = db.execute("SELECT parent FROM register_item WHERE what='tower' AND id=?", (tower,)).fetchone()
    return str(row[0]) if row else ""


def _open_finding(db: sqlite3.Connection, tower: str, step_id: str, target: str) -> Finding | None:
    row = db.execute(
        "SELECT doc FROM finding WHERE tower=? AND step_id=? AND target=? AND state IN ('open','accepted')",
        (tower, step_id, target),
    ).fetchone()
    return Finding.from_doc(json.loads(row[0])) if row else None


def _keep_finding(db: sqlite3.Connection, finding: Finding, pos: int) -> None:
    db.execute(
        "INSERT INTO finding VALUES (?,?,?,?,?,?,?,?,?) ON CONFLICT (id) DO UPDATE SET severity=excluded.severity,"
        " state=excluded.state, pos=excluded.pos, doc=excluded.doc",
        (finding.id, finding.tower, finding.site, finding.step_id, finding.target, str(finding.severity),
         str(finding.state), pos, _json(finding.to_doc())),
    )  # fmt: skip


def _finding_changed(change: Callable[[Finding, Event], Finding]) -> Callable[[sqlite3.Connection, "Seen"], None]:
    def handler(db: sqlite3.Connection, seen: "Seen") -> None:
        row = db.execute("SELECT doc FROM finding WHERE id=?", (seen.body["finding"],)).fetchone()
        if row is not None:
            _keep_finding(db, change(Finding.from_doc(json.loads(row[0])), _event(seen)), seen.pos)

    return handler


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.FAULT_FOUND: _fault_found,
    Kind.FINDING_ASSIGNED: _finding_changed(findings.assigned),
    Kind.FINDING_MEASURE_TAKEN: _finding_changed(findings.measure_taken),
    Kind.FINDING_PART_NOTED: _finding_changed(findings.part_noted),
    Kind.FINDING_ACCEPTED: _finding_changed(findings.accepted),
    Kind.FINDING_CLOSED: _finding_changed(findings.closed),
    Kind.REPAIR_ANSWERED: _finding_changed(findings.repair_answered),
}
