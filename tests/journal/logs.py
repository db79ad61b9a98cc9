"""Small logs to test with: a fixed clock, seeded bytes, and ways to spoil a file behind the store's back."""

import hashlib
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft

NOON = 1_790_000_000_000
"""An instant of September 2026 [ms]."""


@dataclass
class FixedClock:
    """Stands still until it is moved."""

    now: int = NOON
    offset: int = -300

    def wall_ms(self) -> int:
        return self.now

    def offset_minutes(self) -> int:
        return self.offset


@dataclass
class Seeded:
    """Bytes that look random and are the same in every run."""

    seed: str = "tests"
    count: int = field(default=0)

    def __call__(self, size: int) -> bytes:
        self.count += 1
        return hashlib.shake_256(f"{self.seed} {self.count}".encode()).digest(size)


def surroundings(folder: Path, seed: str = "tests", clock: FixedClock | None = None) -> dict[str, Any]:
    """The keyword arguments of `Journal.create` and `Journal.open`."""
    return {"keys_dir": folder / "keys", "clock": clock or FixedClock(), "random_bytes": Seeded(seed)}


def new_log(folder: Path, seed: str = "tests", **more: Any) -> Journal:
    """A log in a folder, holding its first entry."""
    return Journal.create(folder / "seasonlog.db", who="Ada Example", **surroundings(folder, seed), **more)


def note(text: str, uid: str | None = None, who: str = "Ada Example") -> Draft:
    return Draft("note_added", {"text": text}, who, uid)


def notes(count: int) -> list[Draft]:
    return [note(f"note {number}") for number in range(count)]


def closed_log(folder: Path, count: int, seed: str = "tests") -> Path:
    """A log with some notes, at rest: one file, no WAL."""
    with new_log(folder, seed) as journal:
        journal.append(notes(count))
    return folder / "seasonlog.db"


def spoil(path: Path, work: Callable[[sqlite3.Connection], object]) -> None:
    """What somebody with the file and SQLite can do: work without the guard rails, and put them back."""
    connection = sqlite3.connect(path, isolation_level=None)
    kept = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
    for name, _ in kept:
        connection.execute(f"DROP TRIGGER {name}")
    work(connection)
    for _, sql in kept:
        connection.execute(sql)
    connection.close()


def rows(path: Path) -> Sequence[tuple[Any, ...]]:
    """Everything the entry table holds, as plain SQLite reads it."""
    connection = sqlite3.connect(path)
    try:
        return connection.execute("SELECT * FROM entry ORDER BY pos").fetchall()
    finally:
        connection.close()
