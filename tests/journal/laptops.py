"""Real logs in folders of their own, which hand bundles to one another."""

import hashlib
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError
from seasonlog.journal.views import TABLES
from seasonlog.services import bundles, devices
from seasonlog.services.bundles import Looked, Taken
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.builders import FixedBytes, FixedClock

START = datetime(2026, 9, 15, 13, 0, tzinfo=UTC)
Answer = dict[str, Any]


class Laptop:
    """A log of its own in a folder, with its own clock and keys."""

    def __init__(self, folder: Path, name: str, minutes_off: int = 0) -> None:
        self.name = name
        self.at = Places(folder / name / "seasonlog.db")
        self.around = Surroundings(FixedClock(START + timedelta(minutes=minutes_off)), FixedBytes(name))

    def book(self) -> Logbook:
        return Logbook.open(self.at, self.around, f"{self.name} Example", writing=True)

    def write(self, *records: Record) -> None:
        with self.book() as book:
            book.write(*records)

    def note(self, text: str) -> None:
        self.write(Record(Kind.NOTE_ADDED, {"visit": "", "tower": "T-1", "step": "", "text": text}))

    def export(self, **options: bool) -> bytes:
        with self.book() as book:
            return bundles.export(book, **options).data

    def look(self, data: bytes, enrol: str = "") -> Looked:
        return bundles.look(self.at, self.around, data, "x.bundle", enrol=enrol)

    def take(self, data: bytes, enrol: str = "") -> Taken:
        return bundles.take(self.at, self.around, f"{self.name} Example", self.look(data, enrol), enrol=enrol)

    @property
    def dev(self) -> str:
        with self.book() as book:
            return book.journal.device_id

    def tables(self) -> dict[str, list[tuple[Any, ...]]]:
        db = sqlite3.connect(self.at.log)
        try:
            return {t: sorted(map(repr, db.execute(f"SELECT * FROM {t}"))) for t in TABLES}  # type: ignore[misc]
        finally:
            db.close()

    def count(self) -> int:
        with self.book() as book:
            return book.journal.count()


def answer(value: str, **more: Any) -> Record:
    body = {
        "visit": "V-1", "tower": "T-1", "step": "supply_volts", "step_id": "supply_volts", "target": "", "raw": value,
        "value": value, "unit": "V", "quantity": "supply_volts", "verdict": "pass", "says": "", "limits": [],
        "instrument": "",
    }  # fmt: skip
    return Record(Kind.STEP_ANSWERED, body | more)


def enrolled(tmp_path: Path) -> tuple[Laptop, Laptop]:
    """Laptop north began the log; south joined it and is enrolled."""
    north, south = Laptop(tmp_path, "north"), Laptop(tmp_path, "south", minutes_off=7)
    north.note("the log begins")
    south.take(north.export())
    with north.book() as book:
        devices.enrol(book, south.dev, "the south laptop")
    return north, south


def finished(lines: list[bytes]) -> bytes:
    body = b"".join(line + b"\n" for line in lines)
    return body + f"end {len(lines)} {hashlib.sha256(body).hexdigest()}\n".encode()


def refused(laptop: Laptop, data: bytes) -> str:
    before = laptop.at.log.read_bytes() if laptop.at.log.exists() else b""
    with pytest.raises(InputRefusedError) as error:
        laptop.take(data)
    assert (laptop.at.log.read_bytes() if laptop.at.log.exists() else b"") == before
    return str(error.value)
