"""A season of several devices: visits, duplicates, corrections in parallel, weeks without a link."""

import random
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

from seasonlog.domain.records import Kind, Record
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import devices
from seasonlog.services.logbook import Logbook
from tests.builders import FixedClock
from tests.journal.laptops import START, Laptop, answer

STEPS = ("supply_volts", "line_amps", "probe_plumb_deg")
DEVICES = 8


def the_devices(folder: Path, sites: int, count: int = DEVICES) -> list[Laptop]:
    """An office that began the log with so many sites, and tablets that joined and are enrolled; clocks differ."""
    office, *others = (Laptop(folder, f"d{n}", minutes_off=(n - 2) * 7) for n in range(count))
    office.write(*(_recorded("site", f"S{n}", {"name": f"Site {n}"}) for n in range(sites)))
    office.write(*(_recorded("tower", f"S{n}-1", {"name": f"Tower {n}", "site": f"S{n}"}) for n in range(sites)))
    for other in others:
        other.take(office.export())
        with office.book() as book:
            devices.enrol(book, other.dev, f"tablet {other.name}")
    for other in others:
        other.take(office.export())
    return [office, *others]


def _recorded(what: str, ident: str, fields: dict[str, str]) -> Record:
    return Record(Kind.REGISTER_RECORDED, {"what": what, "id": ident, "item": {"id": ident, **fields}})


def work(laptop: Laptop, rng: random.Random, week: int, towers: list[str]) -> None:
    """One device's week: a visit that others may make too, a correction of what it knows, and small things."""
    assert isinstance(laptop.around.clock, FixedClock)
    laptop.around.clock.now = START + timedelta(days=7 * week + 1, minutes=rng.randrange(-600, 600))
    with laptop.book() as book:
        tower = rng.choice(towers)
        book.write(*_visit(rng, laptop, week, tower))
        for row in _answers_known(book, rng):
            book.write(_corrected(row, rng))
        key = {"tower": tower, "checklist": "fall-enable", "season": 2026, "ordinal": 1}
        book.write(
            rng.choice(
                [
                    Record(Kind.VISIT_CLAIMED, key),
                    Record(Kind.DUE_MOVED, {**key, "to": f"2026-10-{rng.randrange(10, 28)}", "because": ""}),
                    Record(Kind.DUE_DROPPED, {**key, "because": "let out"}),
                    Record(Kind.NOTE_ADDED, {"visit": "", "tower": tower, "step": "", "text": f"week {week}"}),
                    Record(Kind.WINTER_MODE_SET, {"tower": tower, "mode": "drained", "since": "2026-11-01",
                                                  "because": "empty"}),
                ]
            )
        )  # fmt: skip


def _visit(rng: random.Random, laptop: Laptop, week: int, tower: str) -> Iterator[Record]:
    visit = f"V-{laptop.name}-{week}"
    yield Record(
        Kind.VISIT_STARTED,
        {"visit": visit, "tower": tower, "checklist": "fall-enable", "sha256": "0" * 64, "season": 2026, "ordinal": 1,
         "practice": "", "qualified": True},
    )  # fmt: skip
    for step in STEPS:
        bad = rng.random() < 0.3
        found = {"severity": "freeze_risk", "title": step, "parts": [], "unprotected": "", "causes": []}
        more = {"verdict": "fail", "finding": found} if bad else {}
        yield answer(str(rng.randrange(100)), visit=visit, tower=tower, step=step, step_id=step, **more)
    if rng.random() < 0.8:
        yield Record(Kind.VISIT_CLOSED, {"visit": visit, "outcome": "complete", "because": ""})


def _answers_known(book: Logbook, rng: random.Random) -> list[tuple[str, str, str, str]]:
    sql = "SELECT s.visit, v.tower, s.step, json_extract(s.doc, '$.uid') FROM visit_step s JOIN visit v USING (visit)"
    rows = sorted(book.journal.query(sql))
    return rng.sample(rows, min(2, len(rows)))


def _corrected(row: tuple[str, str, str, str], rng: random.Random) -> Record:
    visit, tower, step, uid = row
    return answer(str(rng.randrange(100)), visit=visit, tower=tower, step=step, step_id=step, corrects=uid,
                  because="misread")  # fmt: skip


def a_year(laptops: list[Laptop], weeks: int, towers: list[str], meet: Callable[[random.Random, int], None]) -> None:
    """Every week each works; `meet` says who exchanges in that week."""
    rng = random.Random(20261129)
    for week in range(weeks):
        for laptop in laptops:
            work(laptop, rng, week, towers)
        meet(rng, week)


def all_alike(laptops: list[Laptop]) -> int:
    """Every device has the same tables, which are what its entries say; how many answers contradict each other."""
    first = laptops[0].tables()
    for laptop in laptops:
        with laptop.book() as book:
            assert first_difference(book.journal, LogViews()) == ""
        assert laptop.tables() == first
    assert len(first["visit"]) > len(laptops)
    assert first["finding"]
    return len(first["answer_conflict"])
