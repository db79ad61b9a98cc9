"""Words looked for in everything a person wrote: notes, answers, reasons, findings, temporary changes, photos' words.

A walk over the tables with LIKE: no index to keep, and a part of a word is found as well. ASCII capitals are ignored.
"""

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from seasonlog.journal.attachment_queries import attachments

_FIELDS = ("raw", "note", "because", "says")
"""What of an answer is searched, in this order."""


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing found."""

    what: str
    """note, answer, skipped, finding, change, photo or sound."""
    tower: str
    visit: str
    step: str
    ident: str
    """Finding, change or attachment, or empty."""
    who: str
    wall_ms: int
    text: str


def search_log(db: sqlite3.Connection, words: str, *, tower: str = "", most: int = 200) -> list[Hit]:
    """What contains the words, newest first.

    Args:
        db: The log's tables.
        words: Looked for as they stand.
        tower: Only about this tower.
        most: Of each kind.
    """
    values = {"w": _like(words), "j": _like(json.dumps(words, ensure_ascii=False)[1:-1]), "t": tower, "n": most}
    found = [hit for look in (_notes, _answers, _findings, _changes, _attachments) for hit in look(db, values, words)]
    return sorted(found, key=lambda hit: -hit.wall_ms)


def _like(words: str) -> str:
    return "%" + words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"


_Values = Mapping[str, object]


def _notes(db: sqlite3.Connection, values: _Values, words: str) -> Iterator[Hit]:
    sql = r"""SELECT tower, visit, step, who, wall, text FROM note WHERE (:t='' OR tower=:t) AND text LIKE :w ESCAPE '\'
      ORDER BY pos DESC LIMIT :n"""
    for tower, visit, step, who, wall, text in db.execute(sql, values):
        yield Hit("note", tower, visit, step, "", who, wall, text)


def _answers(db: sqlite3.Connection, values: _Values, words: str) -> Iterator[Hit]:
    sql = r"""SELECT v.tower, s.visit, s.step, s.verdict, s.doc FROM visit_step s JOIN visit v ON v.visit=s.visit
      WHERE (:t='' OR v.tower=:t) AND s.doc LIKE :j ESCAPE '\' ORDER BY s.pos DESC LIMIT :n"""
    for tower, visit, step, verdict, text in db.execute(sql, values):
        doc = json.loads(text)
        said = doc.get("entry", doc)
        hit = next((t for name in _FIELDS if (t := _joined(said.get(name, ""))) and _holds(t, words)), "")
        if hit or _holds(step, words):
            what = "skipped" if verdict == "skipped" else "answer"
            yield Hit(what, tower, visit, step, "", doc["who"], doc["wall_ms"], hit or _joined(said.get("says", "")))


def _joined(value: Any) -> str:
    return value if isinstance(value, str) else " / ".join(map(str, value)) if isinstance(value, Sequence) else ""


def _holds(text: str, words: str) -> bool:
    return words.casefold() in text.casefold()


def _findings(db: sqlite3.Connection, values: _Values, words: str) -> Iterator[Hit]:
    sql = r"""SELECT id, doc FROM finding WHERE (:t='' OR tower=:t) AND doc LIKE :j ESCAPE '\'
      ORDER BY pos DESC LIMIT :n"""
    for ident, text in db.execute(sql, values):
        doc = json.loads(text)
        yield Hit(
            "finding", doc["tower"], doc["visit"], doc["step"], ident, doc["opened_by"], doc["opened_wall_ms"],
            f"{doc['title']}: {doc['says']}",
        )  # fmt: skip


def _changes(db: sqlite3.Connection, values: _Values, words: str) -> Iterator[Hit]:
    sql = r"""SELECT c.tower, c.visit, c.change, c.who, v.started, c.what || ', ' || c.place FROM temporary_change c
      JOIN visit v ON v.visit=c.visit WHERE (:t='' OR c.tower=:t) AND c.what || ', ' || c.place LIKE :w ESCAPE '\'
      ORDER BY c.pos DESC LIMIT :n"""
    for tower, visit, change, who, wall, text in db.execute(sql, values):
        yield Hit("change", tower, visit, "", change, who, wall, text)


def _attachments(db: sqlite3.Connection, values: _Values, words: str) -> Iterator[Hit]:
    """What is said of them lies beside the log, so that all are looked at."""
    known = reversed(attachments(db, tower=str(values["t"])))
    found = (a for a in known if _holds(a.words, words) or _holds(a.name, words))
    for a in islice(found, int(str(values["n"]))):
        yield Hit(a.kind, a.tower, a.visit, a.step, a.id, a.who, a.wall_ms, a.words or a.name)


def visits_with_changes(db: sqlite3.Connection) -> list[str]:
    """Visits in which a temporary change is still in place, oldest change first."""
    sql = "SELECT visit FROM temporary_change WHERE restored=0 GROUP BY visit ORDER BY min(pos)"
    return [str(visit) for (visit,) in db.execute(sql)]
