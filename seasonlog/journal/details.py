"""Contact details of a register record: read from the file beside the log that its entry names by a salted hash.

A record in the log may hold `kept_apart`: the name of a file with the fields that concern people, as one JSON object.
Whoever asks for the record gets it whole. Where the file is not here (given up, or never brought along) those fields
are not given, and everything else is as it was.
"""

import json
import sqlite3
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from seasonlog.journal.blobs import Blobs, is_name
from seasonlog.journal.database import DamagedLogError

KEY = "kept_apart"
"""Where a record's item names its file: {sha256, keep_until}."""
PRIVATE: Mapping[str, tuple[str, ...]] = {"site": ("access", "emergency_contact")}
"""The fields of each record type that concern people: gate codes, telephone numbers."""
CONTACTS = tuple(field for fields in PRIVATE.values() for field in fields)
SAID = ("name", "words")
"""What is said of a photo or clip: its file's name, and what it shows."""
FOLDER = "details"
"""Beside the log."""
PHOTOS = "attachments"
"""Where photos lie, with what is said of them: it goes where they go."""


def folder_of(db: sqlite3.Connection, name: str = FOLDER) -> Path | None:
    """The folder of the details of the log that a connection reads; None for a log in memory."""
    (_, _, file) = db.execute("PRAGMA database_list").fetchone()
    return Path(file).parent / name if file else None


def whole(db: sqlite3.Connection, item: dict[str, Any]) -> dict[str, Any]:
    """A record's item with the fields that are kept apart, as far as they are here."""
    named = item.pop(KEY, None)
    return item if named is None else {**item, **(read(folder_of(db), named["sha256"]) or {})}


def read(folder: Path | None, name: object, fields: tuple[str, ...] = CONTACTS) -> dict[str, str] | None:
    """These fields of one file; None when it is not here, or damaged: a record is shown without them then."""
    if folder is None or not is_name(name) or not (folder / str(name)).is_file():
        return None
    try:
        return dict(_fields(folder, str(name), fields))
    except DamagedLogError:
        return None


@lru_cache(maxsize=4096)
def _fields(folder: Path, name: str, known: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """What a name stands for never changes: it is the hash of the content."""
    content = Blobs(folder).read(name)
    try:
        doc = json.loads((content or b"{}").decode())
    except (ValueError, RecursionError):
        return ()
    return tuple((k, v) for k, v in doc.items() if k in known and isinstance(v, str)) if isinstance(doc, dict) else ()


def written(fields: Mapping[str, str]) -> bytes:
    """The content of a file."""
    return json.dumps(fields, ensure_ascii=False, sort_keys=True).encode()


def named_by(db: sqlite3.Connection, what: str, ident: str) -> Mapping[str, str] | None:
    """{sha256, keep_until} of the file a record's newest entry names; None when it names none."""
    row = db.execute("SELECT item FROM register_item WHERE what=? AND id=?", (what, ident)).fetchone()
    named = json.loads(row[0]).get(KEY) if row else None
    return named if isinstance(named, dict) else None
