"""A log with everything a report must tell: two seasons, a correction, a retest, a skip, a change of the register."""

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

from seasonlog.domain.register_records import Device
from seasonlog.services import board, closing, findings, registry, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.rounds import AnswerOptions
from tests.builders import INSTRUMENTS, FixedBytes, FixedClock, a_book, answered

BOSS = "Halden Pruskett"
ON = date(2026, 11, 20)
NASTY = '<script>alert(1)</script> "><img src=x onerror=alert(1)> #strong[x] $x$ =1+1 [bold]'
"""Markup of a page, of a picture, of the PDF's language and of a spreadsheet."""


@dataclass
class Rich:
    """The log, and what was done in it."""

    book: Logbook
    clock: FixedClock
    last_year: str
    this_year: str
    winter: str
    failed: str


def _day(clock: FixedClock, *day: int) -> date:
    clock.now = datetime(*day, 13, 0, tzinfo=UTC)
    return date(*day)


def rich_book(folder: Path) -> Rich:
    """HOS-1 proven in two seasons, HOS-2 with a lost line, all else untouched."""
    clock = FixedClock(datetime(2025, 8, 1, 13, 0, tzinfo=UTC))
    book = a_book(folder, surroundings=Surroundings(clock, FixedBytes("report")))
    last_year = _fall(book, _day(clock, 2025, 9, 9), "HOS-1")
    _fitted(book, _day(clock, 2026, 6, 15))
    this_year = _corrected(book, _day(clock, 2026, 8, 17))
    failed = _lost_line(book, _day(clock, 2026, 9, 1))
    winter = _winter(book, _day(clock, 2026, 10, 26))
    _office(book, _day(clock, *ON.timetuple()[:3]))
    return Rich(book, clock, last_year, this_year, winter, failed)


def _fall(book: Logbook, on: date, tower: str) -> str:
    at = rounds.start(book, rounds.Start(tower, "fall-enable", INSTRUMENTS), on)
    at = closing.sign_off(book, answered(book, at), "Oren Tallis")
    return at.visit.id


def _fitted(book: Logbook, on: date) -> None:
    """A new heater, and a dial that was recorded wrong."""
    register = registry.whole(book.db)
    device = Device(id="HOS-1-heater-2", position="heater", of="HOS-1-H", serial="S-2231", installed=on, reason="new")
    circuit = replace(register.circuits["HOS-1-H"], lamps=3)
    equipment.write(book, equipment.preview(registry.whole(book.db), [circuit, device]), "read again on the roof")


def _corrected(book: Logbook, on: date) -> str:
    """Typed wrong, corrected; a step read again after a repair; a temporary change; a note that is markup."""
    at = rounds.start(book, rounds.Start("HOS-1", "fall-enable", INSTRUMENTS), on)
    at = closing.make_change(book, at, "jumper", "terminals 3 and 4 of the panel")
    at = closing.restore_change(book, at, "T01")
    at = answered(book, at, {"line_amps": ("20.1", "20.2", "20.0"), "bond_ohms": "0.9"})
    at = rounds.answer(book, at, "line_amps", ("21.1", "21.2", "21.0"), AnswerOptions(because="misread by one ampere"))
    at = rounds.answer(book, at, "bond_ohms", "0.2", AnswerOptions(retest=True, note="lug cleaned"))
    rounds.add_note(book, "HOS-1", NASTY, at.visit.id)
    at = closing.sign_off(book, at, "Oren Tallis", "thanks")
    boss = replace_who(book, BOSS)
    closing.review(boss, rounds.progress(boss, at.visit.id), "read through")
    replace_who(book, "Mirel Oduvane")
    return at.visit.id


def replace_who(book: Logbook, who: str) -> Logbook:
    book.who = who
    return book


def _lost_line(book: Logbook, on: date) -> str:
    at = rounds.start(book, rounds.Start("HOS-2", "fall-enable", INSTRUMENTS), on)
    at = answered(book, at, {"line_amps": ("0", "18.7", "18.7")})
    at = closing.sign_off(book, at, closing.NOT_AVAILABLE)
    found = findings.open_findings(book, tower="HOS-2")[0]
    findings.assign(book, found.id, "Mirel Oduvane", date(2026, 9, 8))
    findings.take_measure(book, found.id, "pump kept running", "night engineer", "at once")
    return at.visit.id


def _winter(book: Logbook, on: date) -> str:
    at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), on)
    at = closing.sign_off(book, answered(book, at), "Oren Tallis")
    return at.visit.id


def _office(book: Logbook, on: date) -> None:
    replace_who(book, BOSS)
    wanted = season.DueRequest("HOS-1", "mid-winter", 2)
    season.move(book, wanted, date(2026, 11, 30), "crane on the roof", on)
    found = {"HOS-2": board.covered(book, registry.of_tower(book.db, "HOS-2"), "HOS-2", on)}
    board.write_review(book, found, "HOS-2 waits for a fuse", on)
