"""Short builders: a clock that is told the time, ids that are always the same, a log with the sample sites."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from seasonlog import resources
from seasonlog.domain.answers import Raw
from seasonlog.domain.register import Register
from seasonlog.domain.visit import Progress
from seasonlog.services import register as equipment
from seasonlog.services import rounds
from seasonlog.services.demo import healthy
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places

SHARED = Path(__file__).parent.parent.parent / "shared" / "data"
"""Open climate data and hostile inputs, beside the checkout."""
TODAY = date(2026, 9, 15)
"""A Tuesday in the fall, inside the fall enable's window of the northern sample sites."""
QUALIFIED = "Mirel Oduvane"
INSTRUMENTS = {
    "clamp": "CL-01", "voltmeter": "VM-01", "ohmmeter": "OM-01", "insulation": "IN-01", "thermometer": "TH-01",
    "angle": "AN-01", "timer": "TM-01",
}  # fmt: skip


@dataclass
class FixedClock:
    """Shows the time it was told, a second later at every look."""

    now: datetime = datetime(2026, 9, 15, 13, 0, tzinfo=UTC)
    minutes: int = -300
    looks: int = 0

    def wall_ms(self) -> int:
        self.looks += 1
        return int(self.now.timestamp() * 1000) + self.looks * 1000

    def offset_minutes(self) -> int:
        return self.minutes


class FixedBytes:
    """The same random-looking bytes in every run."""

    def __init__(self, seed: str = "") -> None:
        self.seed = seed
        self.count = 0

    def __call__(self, length: int) -> bytes:
        self.count += 1
        return hashlib.shake_256(f"{self.seed}{self.count}".encode()).digest(length)


def around(now: datetime | None = None) -> Surroundings:
    """Fixed clock and fixed ids."""
    return Surroundings(FixedClock(now) if now else FixedClock(), FixedBytes())


@cache
def sample_register() -> Register:
    """All sample sites."""
    return Register.of(equipment.read(sample_files()))


def sample_files() -> list[equipment.HandedIn]:
    files = sorted((f for f in resources.sample_sites().iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return [equipment.HandedIn(f.name, f.read_bytes()) for f in files]


def a_book(
    folder: Path, *, who: str = QUALIFIED, sites: bool = True, surroundings: Surroundings | None = None
) -> Logbook:
    """A log, open for writing, with the sample sites unless told otherwise."""
    book = Logbook.open(Places(folder / "seasonlog.db"), surroundings or around(), who, writing=True)
    if sites:
        equipment.write(book, equipment.preview(Register.of(()), list(sample_register().records())))
    return book


def as_supervisor(book: Logbook) -> Logbook:
    """The same log in the hands of the supervisor of the sample sites."""
    return replace(book, who="Halden Pruskett")


def a_visit(book: Logbook, tower: str = "HOS-1", checklist: str = "fall-enable", on: date = TODAY) -> Progress:
    """A visit just started with good instruments."""
    return rounds.start(book, rounds.Start(tower, checklist, INSTRUMENTS), on)


def answered(book: Logbook, at: Progress, wrong: Mapping[str, Raw] | None = None, until: str = "") -> Progress:
    """Healthy answers to every step, in order, except those named; stops before the step `until`."""
    for instance in at.instances:
        if instance.key == until:
            break
        if at.waits_for(instance.key):
            at = rounds.skip(book, at, instance.key, "its gate is shut")
            continue
        given = (wrong or {}).get(instance.key) or healthy(at, instance, book.today())
        at = rounds.answer(book, at, instance.key, given)
    return at


def hostile(shared: Path, *areas: str) -> list[dict[str, Any]]:
    """Hostile inputs of these areas, as (id, text)."""
    cases = json.loads((shared / "hostile_inputs.json").read_text("utf-8"))["cases"]
    return [case for case in cases if case["area"] in areas]
