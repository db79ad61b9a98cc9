"""Questions to the views about photos, clips, contact details given up, and where recording is allowed."""

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from seasonlog.domain.attachments import Attachment

_SELECT = (
    "SELECT a.doc, a.who, a.wall, e.who, e.day, e.because FROM attachment a LEFT JOIN attachment_erased e ON e.id=a.id"
)


def _attachment(row: Sequence[Any]) -> Attachment:
    doc, who, wall, by, day, because = row
    erased = f"on {day} by {by}: {because}" if by is not None else ""
    return Attachment.of(json.loads(doc), who, wall, erased)


def attachment(db: sqlite3.Connection, ident: str) -> Attachment | None:
    """One attachment, erased or not."""
    row = db.execute(f"{_SELECT} WHERE a.id=?", (ident,)).fetchone()
    return None if row is None else _attachment(row)


def attachments(db: sqlite3.Connection, *, tower: str = "", visit: str = "") -> list[Attachment]:
    """Attachments of a tower or a visit, or all, oldest first."""
    where = "WHERE (?='' OR a.tower=?) AND (?='' OR a.visit=?)"
    return [_attachment(r) for r in db.execute(f"{_SELECT} {where} ORDER BY a.pos", (tower, tower, visit, visit))]


def kept_names(db: sqlite3.Connection) -> frozenset[str]:
    """Names of the files that at least one attachment, not erased, still needs."""
    sql = "SELECT sha256 FROM attachment WHERE id NOT IN (SELECT id FROM attachment_erased)"
    return frozenset(name for (name,) in db.execute(sql))


def erased_names(db: sqlite3.Connection) -> frozenset[str]:
    """Names of the files that no attachment needs any more."""
    sql = "SELECT sha256 FROM attachment WHERE id IN (SELECT id FROM attachment_erased)"
    return frozenset(name for (name,) in db.execute(sql)) - kept_names(db)


def visits_between(db: sqlite3.Connection, first_ms: int, last_ms: int) -> list[str]:
    """Visits that were open at some time between two moments."""
    sql = "SELECT visit FROM visit WHERE started<=? AND (closed=0 OR closed>=?) ORDER BY pos"
    return [str(v) for (v,) in db.execute(sql, (last_ms, first_ms))]


@dataclass(frozen=True, slots=True)
class Recording:
    """What a site said about recording."""

    allowed: bool
    said_by: str
    until: str
    """Last day, or empty."""
    because: str
    who: str
    day: str


def recording(db: sqlite3.Connection, site: str) -> Recording | None:
    """The newest word of a site; None when it never said any."""
    row = db.execute(
        "SELECT allowed, said_by, until, because, who, day FROM recording WHERE site=?", (site,)
    ).fetchone()
    return None if row is None else Recording(bool(row[0]), *row[1:])


def discarded(db: sqlite3.Connection) -> dict[str, str]:
    """Name of the file that held a contact detail -> day, who and why it was given up."""
    rows = db.execute("SELECT sha256, who, day, because FROM detail_discarded")
    return {name: f"on {day} by {who}: {because}" for name, who, day, because in rows}
