"""The plainest fast code for each job: what the machine itself needs. Never changed together with what it judges."""

import hashlib
import math
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

MINIMAL_APP = """
from textual.app import App
from textual.widgets import Static
class Minimal(App):
    def compose(self):
        yield Static("hello")
    def on_mount(self):
        self.call_after_refresh(self.exit)
Minimal().run(headless=True, size=(80, 24))
"""


def seconds(work: Callable[[], object]) -> float:
    """How long a piece of work takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def python_process(code: str, *words: str) -> Callable[[], object]:
    """A fresh interpreter running some code."""
    return lambda: subprocess.run([sys.executable, "-c", code, *words], capture_output=True, check=True)


def bare_python() -> object:
    """A fresh interpreter that does nothing."""
    return python_process("pass")()


def minimal_app() -> object:
    """A fresh interpreter that shows a minimal Textual app and leaves."""
    return python_process(MINIMAL_APP)()


def raw_log(folder: Path) -> sqlite3.Connection:
    """A table as durable as the log's: WAL, synchronous=FULL."""
    db = sqlite3.connect(folder / "raw.db", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA wal_autocheckpoint = 0")
    db.execute("CREATE TABLE line (pos INTEGER PRIMARY KEY, data BLOB NOT NULL)")
    return db


def raw_commit(db: sqlite3.Connection, data: bytes) -> object:
    """One row, one durable commit."""
    return db.execute("INSERT INTO line (data) VALUES (?)", (data,))


def bare_verify(keys: dict[str, bytes], rows: list[tuple[str, bytes, bytes]]) -> int:
    """Every signature of (device, line, signature) rows checked in a bare loop, with the same library."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    public = {dev: Ed25519PublicKey.from_public_bytes(key) for dev, key in keys.items()}
    for dev, line, sig in rows:
        public[dev].verify(sig, b"seasonlog entry v1\n" + hashlib.sha256(b"\x00" + line).digest())
    return len(rows)


def bare_hashes(path: Path) -> int:
    """Every line of a log read with plain SQLite and hashed in a bare loop."""
    db = sqlite3.connect(path)
    try:
        return sum(
            hashlib.sha256(b"\x00" + line).digest() == digest
            for line, digest in db.execute("SELECT line, hash FROM entry")
        )
    finally:
        db.close()


def tower_year(water_lb: float, ua: float, kw: float, low: float, high: float, air: Sequence[float]) -> float:
    """kWh of a heater between two edges, one air temperature an hour: closed form with exact switching.

    Btu/h degF, degF; the water starts at the upper edge with the heater off.
    """
    tau, gain = water_lb / ua, 3412.141633 * kw / ua
    hour = math.exp(-1.0 / tau)
    water, heating, on = high, False, 0.0
    for outside in air:
        target = outside + gain if heating else outside
        after = target + (water - target) * hour
        if (after < high) if heating else (after > low):
            water, on = after, on + heating
            continue
        left = 1.0
        while left > 0.0:
            target = outside + gain if heating else outside
            edge = high if heating else low
            ahead = (water - target) / (edge - target) if edge != target else 0.0
            span = tau * math.log(ahead) if ahead > 1.0 else left
            if span >= left:
                water, span, edge = target + (water - target) * math.exp(-left / tau), left, None
            on += span if heating else 0.0
            left -= span
            if edge is not None:
                water, heating = edge, not heating
    return kw * on


class PlainEvent(NamedTuple):
    """What one calendar event says."""

    uid: str
    stamp: datetime
    sequence: int
    status: str
    start: datetime
    length: timedelta
    summary: str
    description: str
    location: str
    position_deg: tuple[float, float]
    reminders: Sequence[tuple[str, timedelta]]


def plain_calendar(events: Sequence[PlainEvent]) -> bytes:
    """So many events built and written with the bare calendar library: no zones, no order, no care for hostile text."""
    from icalendar import Alarm, Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//floor//EN")
    calendar.add("version", "2.0")
    for each in events:
        event = Event()
        event.add("summary", each.summary)
        event.add("dtstart", each.start)
        event.add("duration", each.length)
        event.add("dtstamp", each.stamp)
        event.add("uid", each.uid)
        event.add("sequence", each.sequence)
        event.add("description", each.description)
        event.add("geo", each.position_deg)
        event.add("location", each.location)
        event.add("status", each.status)
        for words, before in each.reminders:
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", words)
            alarm.add("trigger", before)
            event.add_component(alarm)
        calendar.add_component(event)
    return calendar.to_ical()


def idempotent_copy(connection: Any, rows: Sequence[Any]) -> None:
    """Rows into a plain table with one primary key: COPY to a temporary one, insert what is not there; 5,000 a time."""
    connection.execute(
        "CREATE TABLE IF NOT EXISTS plain (dev text, seq bigint, prev bytea, hash bytea, line bytea, sig bytea,"
        " PRIMARY KEY (dev, seq))"
    )
    for start in range(0, len(rows), 5000):
        with connection.transaction(), connection.cursor() as cursor:
            cursor.execute("CREATE TEMP TABLE came (LIKE plain) ON COMMIT DROP")
            with cursor.copy("COPY came FROM STDIN (FORMAT BINARY)") as copy:
                copy.set_types(["text", "int8", "bytea", "bytea", "bytea", "bytea"])
                for r in rows[start : start + 5000]:
                    copy.write_row((r.dev, r.seq, r.prev, r.hash, r.line, r.sig))
            cursor.execute("INSERT INTO plain SELECT * FROM came ON CONFLICT DO NOTHING")


def bare_insert(path: Path, rows: Sequence[Any]) -> None:
    """Rows into one table of a database file with plain SQLite, in one durable transaction."""
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE line (dev TEXT, seq INTEGER, line BLOB, sig BLOB, PRIMARY KEY (dev, seq))")
    db.execute("BEGIN")
    db.executemany("INSERT INTO line VALUES (?,?,?,?)", ((r.dev, r.seq, r.line, r.sig) for r in rows))
    db.execute("COMMIT")
    db.close()
