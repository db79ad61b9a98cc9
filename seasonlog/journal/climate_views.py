"""The fold of a site's climate and of the cold snaps raised for it, and of what else moves a calendar's events."""

import json
import sqlite3
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from seasonlog.domain.records import Kind

if TYPE_CHECKING:
    from seasonlog.journal.views import Seen

SCHEMA = """
CREATE TABLE climate (site TEXT PRIMARY KEY, who TEXT NOT NULL, day TEXT NOT NULL, doc TEXT NOT NULL,
  pos INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE cold_snap (site TEXT NOT NULL, season INTEGER NOT NULL, ordinal INTEGER NOT NULL, night TEXT NOT NULL,
  last_night TEXT NOT NULL, raised TEXT NOT NULL, says TEXT NOT NULL, pos INTEGER NOT NULL,
  PRIMARY KEY (site, season, ordinal)) STRICT, WITHOUT ROWID;
"""
TABLES = ("climate", "cold_snap")


def keep_basis(db: sqlite3.Connection, seen: "Seen", what: str, ident: str, facts: object) -> None:
    """Keep what a calendar's events rest on, and count when it changed."""
    db.execute(
        "INSERT INTO calendar_basis VALUES (?,?,0,?,?) ON CONFLICT (what, id) DO UPDATE SET"
        " changes = changes + 1, stamp = excluded.stamp, basis = excluded.basis WHERE basis != excluded.basis",
        (what, ident, seen.wall_ms, _json(facts)),
    )


def snap_id(site: str, season: int, ordinal: int) -> str:
    """What a cold snap is called among the things that events rest on."""
    return f"{site} {season} {ordinal}"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _climate_imported(db: sqlite3.Connection, seen: "Seen") -> None:
    """The newest record of a site counts."""
    site = seen.body["site"]
    db.execute("INSERT OR REPLACE INTO climate VALUES (?,?,?,?,?)",
               (site, seen.who, seen.day, _json(seen.body), seen.pos))  # fmt: skip
    keep_basis(db, seen, "climate", site, [seen.body["used"], seen.body.get("coldest")])


def _cold_snap_raised(db: sqlite3.Connection, seen: "Seen") -> None:
    """The same number again: a later forecast brought the first night forward."""
    body: Mapping[str, Any] = seen.body
    key = (body["site"], body["season"], body["ordinal"])
    db.execute("INSERT OR REPLACE INTO cold_snap VALUES (?,?,?,?,?,?,?,?)",
               (*key, body["night"], body["last_night"], seen.day, body["says"], seen.pos))  # fmt: skip
    keep_basis(db, seen, "cold_snap", snap_id(*key), body["night"])


FOLDS: dict[str, Callable[[sqlite3.Connection, "Seen"], None]] = {
    Kind.CLIMATE_IMPORTED: _climate_imported,
    Kind.COLD_SNAP_RAISED: _cold_snap_raised,
}
