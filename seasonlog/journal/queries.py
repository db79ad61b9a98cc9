"""Questions to the views, answered as values of the domain. Read only; every value is a parameter, never SQL text."""

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from seasonlog.domain.finding import Finding
from seasonlog.domain.instrument_doubt import in_doubt
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Meaning, Saved, Signature, TemporaryChange, Visit, VisitState
from seasonlog.journal import details


@dataclass(frozen=True, slots=True)
class Item:
    """A register record as the log keeps it."""

    what: str
    id: str
    fields: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a trend."""

    wall_ms: int
    value: str | tuple[str, ...]
    verdict: str
    low: str | None
    high: str | None
    target: str


@dataclass(frozen=True, slots=True)
class Note:
    """Words somebody left."""

    tower: str
    visit: str
    step: str
    who: str
    wall_ms: int
    text: str


@dataclass(frozen=True, slots=True)
class Plan:
    """What the log says about one due visit beside its window."""

    tower: str
    checklist: str
    season: int
    ordinal: int
    changes: int
    stamp_ms: int
    moved_to: str
    dropped: str
    done: str
    """Local day it was made, or empty."""


def _items(db: sqlite3.Connection, rows: Sequence[tuple[str, str, str]]) -> list[Item]:
    return [Item(what, ident, details.whole(db, json.loads(item))) for what, ident, item in rows]


_ITEM = "SELECT what, id, item FROM register_item"


def all_items(db: sqlite3.Connection, *, ever: bool = False) -> list[Item]:
    """Every register record, with `ever` also what was retired; in order of type and id."""
    return _items(db, db.execute(f"{_ITEM} WHERE retired<=? ORDER BY what, pos", (ever,)).fetchall())


def shared_items(db: sqlite3.Connection) -> list[Item]:
    """People and instruments."""
    return _items(
        db, db.execute(f"{_ITEM} WHERE retired=0 AND what IN ('instrument','person') ORDER BY what, pos").fetchall()
    )


def item(db: sqlite3.Connection, what: str, ident: str, *, ever: bool = False) -> Item | None:
    """One register record, or None; with `ever` also one that was retired."""
    found = _items(db, db.execute(f"{_ITEM} WHERE what=? AND id=? AND retired<=?", (what, ident, ever)).fetchall())
    return found[0] if found else None


def on_record(db: sqlite3.Connection, what: str, ident: str) -> bool:
    """Whether there is, or ever was, such a register record."""
    return db.execute("SELECT 1 FROM register_item WHERE what=? AND id=?", (what, ident)).fetchone() is not None


def children(db: sqlite3.Connection, parent: str, *kinds: str, ever: bool = False) -> list[Item]:
    """The records of these kinds that belong to one: a site's towers, a tower's basins and circuits, their devices.

    The kinds must be named: a site and its only tower may have the same id.
    """
    found = _items(
        db, db.execute(f"{_ITEM} WHERE parent=? AND retired<=? ORDER BY what, pos", (parent, ever)).fetchall()
    )
    return [item for item in found if item.what in kinds]


def devices_on(db: sqlite3.Connection, tower: str, kinds: Sequence[str], *, ever: bool = False) -> list[Item]:
    """The devices of a tower's parts of these kinds, part by part."""
    sql = (
        "SELECT d.what, d.id, d.item FROM register_item p CROSS JOIN register_item d"  # the parts first, then theirs
        " ON d.parent=p.id AND +d.what='device' WHERE p.parent=? AND p.what IN (SELECT value FROM json_each(?))"
        " AND p.retired<=? AND d.retired<=? ORDER BY p.what, p.pos, d.pos"
    )
    return _items(db, db.execute(sql, (tower, json.dumps(kinds), ever, ever)).fetchall())


def towers_of(db: sqlite3.Connection, site: str) -> list[tuple[str, str]]:
    """Id and name of a site's towers."""
    sql = "SELECT id, name FROM register_item WHERE what='tower' AND parent=? AND retired=0 ORDER BY id"
    return [(str(i), str(n)) for i, n in db.execute(sql, (site,))]


def sites(db: sqlite3.Connection, *, ever: bool = False) -> list[tuple[str, str, int]]:
    """Id, name and number of towers of every site; with `ever` also of those that were retired."""
    sql = (
        "SELECT s.id, s.name, (SELECT count(*) FROM register_item t WHERE t.what='tower' AND t.parent=s.id AND"
        " t.retired=0) FROM register_item s WHERE s.what='site' AND s.retired<=? ORDER BY s.name"
    )
    return [(str(i), str(n), int(c)) for i, n, c in db.execute(sql, (ever,))]


_VISIT = (
    "SELECT visit, tower, checklist, sha256, season, ordinal, state, who, started, closed, qualified, doc FROM visit"
)


def last_used(db: sqlite3.Connection, who: str, among: int = 200) -> dict[str, str]:
    """Kind and id of the instruments of somebody's newest visit; empty where it is not among so many of each state."""
    newest = (
        "SELECT pos, doc FROM (SELECT * FROM visit WHERE state=? ORDER BY pos DESC LIMIT ?) WHERE who=?"
        " ORDER BY pos DESC LIMIT 1"
    )
    found = [row for state in VisitState for row in db.execute(newest, (state, among, who))]
    return dict(json.loads(max(found)[1])["instruments"]) if found else {}


def _visit(row: Sequence[Any]) -> Visit:
    doc = json.loads(row[11])
    return Visit(
        id=row[0], tower=row[1], checklist=row[2], sha256=row[3], season=row[4], ordinal=row[5],
        state=VisitState(row[6]), who=row[7], started_wall_ms=row[8], closed_wall_ms=row[9], qualified=bool(row[10]),
        instruments=doc["instruments"], uncalibrated=frozenset(doc["uncalibrated"]), closed_words=doc["closed_words"],
        signatures=tuple(_signature(s) for s in doc["signatures"]), day=doc["day"], record=doc["record"],
        told=doc.get("told", {}),
    )  # fmt: skip


def _signature(doc: Mapping[str, Any]) -> Signature:
    return Signature(
        Meaning(doc["meaning"]), doc["name"], doc["words"], doc["wall_ms"], signs=doc["signs"], moved=doc["moved"]
    )


def visit(db: sqlite3.Connection, ident: str) -> Visit | None:
    """One visit."""
    row = db.execute(f"{_VISIT} WHERE visit=?", (ident,)).fetchone()
    return _visit(row) if row else None


def visits_of(db: sqlite3.Connection, tower: str, season: int | None = None) -> list[Visit]:
    """A tower's visits, oldest first; of one season where named by its first year."""
    sql = f"{_VISIT} WHERE tower=?1 AND (?2 IS NULL OR season=?2) ORDER BY pos"
    return [_visit(row) for row in db.execute(sql, (tower, season))]


def open_visits(db: sqlite3.Connection) -> list[Visit]:
    """Every visit not closed yet, newest first."""
    return [_visit(row) for row in db.execute(f"{_VISIT} WHERE state='open' ORDER BY pos DESC")]


_DECODE = json.JSONDecoder().raw_decode
"""For the many small documents of a visit, which hold no space around them."""


def answers(db: sqlite3.Connection, visit_id: str) -> dict[str, Saved]:
    """Newest answer or skip of each step of a visit, in the order they were given."""
    rows = db.execute("SELECT step, verdict, pos, doc FROM visit_step WHERE visit=? ORDER BY pos", (visit_id,))
    disputed = {
        step for (step,) in db.execute("SELECT step FROM answer_conflict WHERE visit=? AND decided=''", (visit_id,))
    }
    found = {step: _saved(step, verdict, pos, _DECODE(doc)[0]) for step, verdict, pos, doc in rows}
    return {step: _disputed(saved) if step in disputed else saved for step, saved in found.items()}


def _disputed(saved: Saved) -> Saved:
    """Two devices answered differently: nothing can be told until a supervisor decides."""
    if saved.is_skipped:
        return saved
    says = f"cannot tell: two devices answered differently, a supervisor decides; as it stands: {saved.says}"
    return replace(saved, verdict=Verdict.CANNOT_TELL, says=says)


def standing(db: sqlite3.Connection, visit_id: str, step: str) -> tuple[str, str]:
    """State of a visit and uid of its newest answer to a step: what another process may have changed meanwhile."""
    sql = (
        "SELECT state, (SELECT json_extract(doc, '$.uid') FROM visit_step WHERE visit=:v AND step=:s)"
        " FROM visit WHERE visit=:v"
    )
    row = db.execute(sql, {"v": visit_id, "s": step}).fetchone()
    return (str(row[0]), str(row[1] or "")) if row else ("", "")


class Origin(NamedTuple):
    """Which entry something comes from."""

    seq: int
    uid: str
    who: str
    wall_ms: int
    hash: str = ""
    day: str = ""
    place: int = 0


def _saved(step: str, verdict: str, pos: int, doc: Mapping[str, Any]) -> Saved:
    place = doc.get("first_pos", pos)
    origin = Origin(doc["seq"], doc["uid"], doc["who"], doc["wall_ms"], doc["hash"], doc.get("day", ""), place)
    if verdict == "skipped":
        return skipped(step, doc, origin)
    saved = answered(doc["entry"], origin)
    return _doubted(saved, doc["recalled"]) if "recalled" in doc else saved


def _doubted(saved: Saved, recall: Mapping[str, str]) -> Saved:
    """An answer that rests on a recalled instrument: nothing can be told until a review lets it stand."""
    says, by = f"cannot tell: {in_doubt(recall, saved.says)}", recall["instrument"]
    return replace(saved, verdict=Verdict.CANNOT_TELL, says=says, recalled=recall["recall"], recalled_instrument=by)


def skipped(step: str, doc: Mapping[str, Any], origin: Origin) -> Saved:
    """A step left out, from what its entry says."""
    step_id, _, target = step.partition("@")
    return Saved(
        step, step_id, target, raw="", value="", unit="", verdict=None, says=doc["because"], limits=(), instrument="",
        seq=origin.seq, uid=origin.uid, who=origin.who, wall_ms=origin.wall_ms, hash=origin.hash,
        observed_at=doc.get("observed_at", ""), from_paper=doc.get("from_paper", ""),
        corrects=doc.get("takes_back", ""), day=origin.day, place=origin.place,
    )  # fmt: skip


def answered(body: Mapping[str, Any], origin: Origin) -> Saved:
    """An answer, from its entry's body."""
    return Saved(
        body["step"], body["step_id"], body["target"], _typed(body["raw"]), _typed(body["value"]), body["unit"],
        Verdict(body["verdict"]), body["says"], tuple(body["limits"]), body["instrument"],
        origin.seq, origin.uid, origin.who, origin.wall_ms, body.get("note", ""),
        qualified=not body.get("unqualified", False), observed_at=body.get("observed_at", ""),
        from_paper=body.get("from_paper", ""), corrects=body.get("corrects", ""), hash=origin.hash,
        day=origin.day, place=origin.place,
    )  # fmt: skip


def _typed(value: str | Sequence[str]) -> str | tuple[str, ...]:
    return value if isinstance(value, str) else tuple(value)


def changes(db: sqlite3.Connection, visit_id: str) -> tuple[TemporaryChange, ...]:
    """Temporary changes of a visit, oldest first."""
    sql = "SELECT change, what, place, who, restored FROM temporary_change WHERE visit=? ORDER BY change"
    return tuple(TemporaryChange(c, w, p, who, bool(r)) for c, w, p, who, r in db.execute(sql, (visit_id,)))


def checklist_text(db: sqlite3.Connection, sha256: str) -> str | None:
    """The file a visit was started with, whole."""
    row = db.execute("SELECT text FROM checklist_text WHERE sha256=?", (sha256,)).fetchone()
    return str(row[0]) if row else None


def findings(db: sqlite3.Connection, *, open_only: bool, site: str = "", tower: str = "") -> list[Finding]:
    """Findings, oldest first; of one site or tower where named."""
    state = " AND state IN ('open','accepted')" if open_only else ""
    sql = f"SELECT doc FROM finding WHERE (?='' OR site=?) AND (?='' OR tower=?){state} ORDER BY pos"  # noqa: S608
    return [Finding.from_doc(json.loads(doc)) for (doc,) in db.execute(sql, (site, site, tower, tower))]


def finding(db: sqlite3.Connection, ident: str) -> Finding | None:
    """One finding."""
    row = db.execute("SELECT doc FROM finding WHERE id=?", (ident,)).fetchone()
    return Finding.from_doc(json.loads(row[0])) if row else None


def readings(db: sqlite3.Connection, tower: str, quantity: str, most: int = 200) -> list[Reading]:
    """Newest readings of a quantity at a tower, oldest first."""
    sql = (
        "SELECT wall, value, verdict, low, high, target FROM reading WHERE tower=? AND quantity=?"
        " ORDER BY pos DESC LIMIT ?"
    )
    rows = db.execute(sql, (tower, quantity, most)).fetchall()
    return [Reading(w, _typed(json.loads(v)), verdict, low, high, t) for w, v, verdict, low, high, t in reversed(rows)]


def latest_readings(db: sqlite3.Connection, tower: str, until: str = "9999") -> dict[tuple[str, str], Reading]:
    """The newest reading of each quantity and target, by the day it was read: paper and corrections come later.

    Args:
        db: The log's tables.
        tower: Tower id.
        until: Last local day that counts.
    """
    sql = (
        "SELECT quantity, target, wall, value, verdict, low, high FROM (SELECT *, row_number() OVER"
        " (PARTITION BY quantity, target ORDER BY day DESC, pos DESC) AS nth FROM reading WHERE tower=? AND day<=?)"
        " WHERE nth=1 ORDER BY pos"
    )
    return {
        (q, t): Reading(w, _typed(json.loads(v)), verdict, low, high, t)
        for q, t, w, v, verdict, low, high in db.execute(sql, (tower, until))
    }


def notes_of(db: sqlite3.Connection, tower: str, most: int = 50) -> list[Note]:
    """Newest notes about a tower, newest first."""
    sql = "SELECT tower, visit, step, who, wall, text FROM note WHERE tower=? ORDER BY pos DESC LIMIT ?"
    return [Note(*row) for row in db.execute(sql, (tower, most))]


def plans(db: sqlite3.Connection) -> Iterator[Plan]:
    """Everything moved, dropped or done."""
    sql = "SELECT tower, checklist, season, ordinal, changes, stamp, moved_to, dropped, done FROM plan"
    return (Plan(*row) for row in db.execute(sql))


def calendar_basis(db: sqlite3.Connection) -> dict[tuple[str, str], tuple[int, int]]:
    """(site or tower, id) -> how often its calendar facts changed, and when last."""
    return {(w, i): (c, s) for w, i, c, s in db.execute("SELECT what, id, changes, stamp FROM calendar_basis")}


def winter_modes(db: sqlite3.Connection, tower: str = "") -> dict[str, list[tuple[str, str]]]:
    """Tower -> (since, mode), in the order they were recorded; only of one tower where named."""
    out: dict[str, list[tuple[str, str]]] = {}
    sql = "SELECT tower, since, mode FROM winter_mode WHERE ?='' OR tower=? ORDER BY pos"
    for name, since, mode in db.execute(sql, (tower, tower)):
        out.setdefault(name, []).append((since, mode))
    return out


def handover_pos(db: sqlite3.Connection, site: str, who: str) -> int:
    """Where a person last read a site's handover; 0 when never."""
    row = db.execute("SELECT pos FROM handover WHERE site=? AND who=?", (site, who)).fetchone()
    return int(row[0]) if row else 0


_SEARCH = r"""
SELECT * FROM (SELECT what, id, name FROM register_item
  WHERE retired=0 AND (id LIKE :w ESCAPE '\' OR name LIKE :w ESCAPE '\')
  ORDER BY what!='site', what!='tower', id LIMIT :n)
UNION ALL SELECT * FROM (SELECT 'finding', id, tower || ': ' || json_extract(doc,'$.title') FROM finding
  WHERE id LIKE :w ESCAPE '\' OR tower LIKE :w ESCAPE '\' OR json_extract(doc,'$.title') LIKE :w ESCAPE '\'
    OR json_extract(doc,'$.says') LIKE :w ESCAPE '\'
  ORDER BY pos DESC LIMIT :n)
UNION ALL SELECT * FROM (SELECT 'note', tower, text FROM note WHERE text LIKE :w ESCAPE '\' ORDER BY pos DESC LIMIT :n)
"""
"""Sites and towers before their parts, then findings and notes, newest first; so many of each at most."""


def search(db: sqlite3.Connection, words: str, most: int = 60) -> list[tuple[str, str, str]]:
    """(type, id, text) of register records, findings and notes that contain the words, capitals ignored."""
    like = "%" + words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    return [(str(a), str(b), str(c)) for a, b, c in db.execute(_SEARCH, {"w": like, "n": most // 3})]


_IN_SITE = "tower IN (SELECT id FROM register_item WHERE what='tower' AND parent=?)"


def open_changes_of_site(db: sqlite3.Connection, site: str) -> list[tuple[str, str]]:
    """(tower, words) of every temporary change still in place."""
    sql = f"SELECT tower, what || ', ' || place FROM temporary_change WHERE restored=0 AND {_IN_SITE} ORDER BY pos"  # noqa: S608
    return [(str(t), str(w)) for t, w in db.execute(sql, (site,))]


def findings_since(db: sqlite3.Connection, site: str, pos: int) -> list[Finding]:
    """Findings of a site that changed after an entry."""
    sql = "SELECT doc FROM finding WHERE site=? AND pos>? ORDER BY pos"
    return [Finding.from_doc(json.loads(doc)) for (doc,) in db.execute(sql, (site, pos))]


def visits_since(db: sqlite3.Connection, site: str, pos: int) -> list[Visit]:
    """Visits of a site that were started after an entry."""
    return [_visit(row) for row in db.execute(f"{_VISIT} WHERE {_IN_SITE} AND pos>? ORDER BY pos", (site, pos))]


def notes_since(db: sqlite3.Connection, site: str, pos: int) -> list[Note]:
    """Notes about a site's towers added after an entry."""
    sql = f"SELECT tower, visit, step, who, wall, text FROM note WHERE {_IN_SITE} AND pos>? ORDER BY pos"  # noqa: S608
    return [Note(*row) for row in db.execute(sql, (site, pos))]
