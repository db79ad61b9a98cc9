"""The fold of what is due and planned: moved, dropped, done, and who is to make it when."""

import json
import sqlite3
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from seasonlog.domain.records import Kind

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

SCHEMA = """
CREATE TABLE planned_visit (tower TEXT NOT NULL, checklist TEXT NOT NULL, season INTEGER NOT NULL,
  ordinal INTEGER NOT NULL, person TEXT NOT NULL, day TEXT NOT NULL, start INTEGER NOT NULL, minutes INTEGER NOT NULL,
  first_day TEXT NOT NULL, last_day TEXT NOT NULL, because TEXT NOT NULL, added TEXT NOT NULL, had TEXT NOT NULL,
  pos INTEGER NOT NULL, PRIMARY KEY (tower, checklist, season, ordinal)) STRICT, WITHOUT ROWID;
CREATE TABLE visit_claim (tower TEXT NOT NULL, checklist TEXT NOT NULL, season INTEGER NOT NULL,
  ordinal INTEGER NOT NULL, dev TEXT NOT NULL, who TEXT NOT NULL, wall INTEGER NOT NULL, pos INTEGER NOT NULL,
  PRIMARY KEY (tower, checklist, season, ordinal, dev, who)) STRICT, WITHOUT ROWID;
CREATE TABLE plan_basis (one INTEGER PRIMARY KEY, text TEXT NOT NULL, away TEXT NOT NULL, pos INTEGER NOT NULL) STRICT;
"""
TABLES = ("planned_visit", "visit_claim", "plan_basis")

_WHERE = "WHERE tower=? AND checklist=? AND season=? AND ordinal=?"


def settle(db: sqlite3.Connection, key: tuple[object, ...], seen: "Seen", **news: object) -> None:
    """Keep what became of a due visit, and that it changed."""
    row = db.execute(f"SELECT moved_to, dropped, done FROM plan {_WHERE}", key).fetchone()  # noqa: S608
    kept: dict[str, object] = dict(zip(("moved_to", "dropped", "done"), row or ("", "", ""), strict=True)) | news
    db.execute(
        "INSERT INTO plan VALUES (?,?,?,?,1,?,?,?,?) ON CONFLICT (tower, checklist, season, ordinal) DO UPDATE SET"
        " changes = changes + 1, stamp = excluded.stamp, moved_to = excluded.moved_to, dropped = excluded.dropped,"
        " done = excluded.done",
        (*key, seen.wall_ms, kept["moved_to"], kept["dropped"], kept["done"]),
    )


def _key(body: Mapping[str, Any]) -> tuple[object, ...]:
    return tuple(body[name] for name in ("tower", "checklist", "season", "ordinal"))


def _due_moved(db: sqlite3.Connection, seen: "Seen") -> None:
    settle(db, _key(seen.body), seen, moved_to=seen.body["to"], dropped="")
    _taken_out(db, seen, f"moved by hand to {seen.body['to']}")


def _due_dropped(db: sqlite3.Connection, seen: "Seen") -> None:
    settle(db, _key(seen.body), seen, dropped=seen.body["because"])
    _taken_out(db, seen, "dropped")


def _taken_out(db: sqlite3.Connection, seen: "Seen", what: str) -> None:
    """A visit that a person moved or dropped stands in nobody's day any more."""
    why = f"{what}: {seen.body['because']}" if seen.body["because"] else what
    sql = f"UPDATE planned_visit SET person='', day='', start=0, minutes=0, because=?, pos=? {_WHERE}"  # noqa: S608
    db.execute(sql, (why, seen.pos, *_key(seen.body)))


def _visit_planned(db: sqlite3.Connection, seen: "Seen") -> None:
    body, key = seen.body, _key(seen.body)
    row = db.execute(f"SELECT day, had FROM planned_visit {_WHERE}", key).fetchone()  # noqa: S608
    day, person = body.get("day", ""), body.get("person", "")
    had = sorted({*(json.loads(row[1]) if row else ()), *([person] if person else [])})
    db.execute(
        "INSERT OR REPLACE INTO planned_visit VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?)",
        (*key, person, day, body.get("start_minute", 0), body.get("minutes", 0), body["first_day"], body["last_day"],
         body["because"], body.get("added", ""), json.dumps(had, ensure_ascii=False), seen.pos),
    )  # fmt: skip
    if day:
        settle(db, key, seen, moved_to=day, dropped="")
    else:
        settle(db, key, seen, **({"moved_to": ""} if row and row[0] else {}))


def _plan_basis_recorded(db: sqlite3.Connection, seen: "Seen") -> None:
    away = json.dumps(seen.body["away"], ensure_ascii=False)
    db.execute("INSERT OR REPLACE INTO plan_basis VALUES (1,?,?,?)", (seen.body["text"], away, seen.pos))


def _visit_claimed(db: sqlite3.Connection, seen: "Seen") -> None:
    """Every claim stands until its person gives it up: of two claims none wins, both are shown."""
    mine = (*_key(seen.body), seen.dev, seen.who)
    db.execute(f"DELETE FROM visit_claim {_WHERE} AND dev=? AND who=?", mine)  # noqa: S608
    if not seen.body.get("given_up"):
        db.execute("INSERT INTO visit_claim VALUES (?,?,?,?,?,?,?,?)", (*mine, seen.wall_ms, seen.pos))


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.DUE_MOVED: _due_moved,
    Kind.DUE_DROPPED: _due_dropped,
    Kind.VISIT_PLANNED: _visit_planned,
    Kind.VISIT_UNPLANNED: _visit_planned,
    Kind.VISIT_CLAIMED: _visit_claimed,
    Kind.PLAN_BASIS_RECORDED: _plan_basis_recorded,
}
