"""Questions to the views about photos, clips, contact details given up, and where recording is allowed."""

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from seasonlog.domain.attachments import Attachment
from seasonlog.journal import details

_SELECT = (
    "SELECT a.doc, a.who, a.wall, e.who, e.day, e.because FROM attachment a LEFT JOIN attachment_erased e ON e.id=a.id"
)


def _attachment(folder: Path | None, row: Sequence[Any]) -> Attachment:
    text, who, wall, by, day, because = row
    doc = json.loads(text)
    erased = f"on {day} by {by}: {because}" if by is not None else ""
    apart = None if erased else details.read(folder, doc.get("details"), details.SAID)
    return Attachment.of(doc, who, wall, erased, apart)


def attachment(db: sqlite3.Connection, ident: str) -> Attachment | None:
    """One attachment, erased or not."""
    row = db.execute(f"{_SELECT} WHERE a.id=?", (ident,)).fetchone()
    return None if row is None else _attachment(details.folder_of(db, details.PHOTOS), row)


def attachments(db: sqlite3.Connection, *, tower: str = "", visit: str = "") -> list[Attachment]:
    """Attachments of a tower or a visit, or all, oldest first."""
    where, folder = "WHERE (?='' OR a.tower=?) AND (?='' OR a.visit=?)", details.folder_of(db, details.PHOTOS)
    found = db.execute(f"{_SELECT} {where} ORDER BY a.pos", (tower, tower, visit, visit))
    return [_attachment(folder, row) for row in found]


_NAMED = (
    "SELECT sha256, json_extract(doc, '$.details') FROM attachment"
    " WHERE (id IN (SELECT id FROM attachment_erased)) = :erased"
)


def _names(rows: Iterable[Sequence[object]]) -> frozenset[str]:
    return frozenset(name for row in rows for name in row if isinstance(name, str))


def kept_names(db: sqlite3.Connection) -> frozenset[str]:
    """Names of the files that at least one attachment, not erased, still needs: itself, and what is said of it."""
    return _names(db.execute(_NAMED, {"erased": False}))


def photo_names(db: sqlite3.Connection) -> frozenset[str]:
    """Names of the photos and clips themselves, erased or not."""
    return _names(db.execute("SELECT sha256 FROM attachment"))


def erased_names(db: sqlite3.Connection) -> frozenset[str]:
    """Names of the files that no attachment needs any more."""
    return _names(db.execute(_NAMED, {"erased": True})) - kept_names(db)


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
