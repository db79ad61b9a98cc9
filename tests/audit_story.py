"""A log of eight winters for what an audit asks: visits made, late and missing, a drift, a new heater, a correction.

One fall enable and one monthly verification are carried out as a person would; the other years hold the same entries
with another day and other readings, so that the log is made in seconds.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register_items import from_item
from seasonlog.services import closing, register, registry, rounds
from seasonlog.services.logbook import Logbook, Surroundings
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, answered

TOWER, HEATER = "HOS-1", "HOS-1-H"
FIRST, LAST = 2018, 2026
MOHM = {2018: "95", 2019: "93", 2020: "96", 2021: "94", 2022: "88", 2023: "74", 2024: "61", 2025: "47", 2026: "33"}
"""The new heater's insulation falls year by year; the old one's did not."""
AMPS = {2018: "20.9", 2019: "21.0", 2020: "20.8", 2021: "21.1", 2022: "20.9", 2023: "21.2", 2024: "20.8", 2025: "21.0",
        2026: "20.9"}  # fmt: skip
MISSED, LATE, WINTERS = 2021, 2022, (11, 12, 1)
NEW_HEATER = "2022-09-14"
"""The day the sample register gives the heater that is in place now."""


Told = list[tuple[str, dict[str, object]]]


def told(folder: Path, checklist: str, on: datetime, tower: str = TOWER) -> Told:
    """Kind and body of every entry of one healthy visit."""
    with a_book(folder, surroundings=Surroundings(FixedClock(on), FixedBytes(checklist))) as book:
        before = book.journal.count()
        at = answered(book, a_visit(book, tower, checklist, on.date()))
        closing.sign_off(book, at, "Oren Tallis")
        rows = book.db.execute("SELECT kind, line FROM entry WHERE pos>? ORDER BY pos", (before,)).fetchall()
    return [(kind, json.loads(line)["body"]) for kind, line in rows]


def again(book: Logbook, visit: Told, name: str, changes: Mapping[str, object], read: Mapping[str, object]) -> None:
    """The same visit on the clock's day.

    Args:
        book: The log.
        visit: What `told` gave.
        name: Id of the new visit.
        changes: Facts of its start.
        read: Step key to another value.
    """
    records = []
    for kind, body in visit:
        own = dict(body)
        if "visit" in own:
            own["visit"] = name
        if kind == Kind.VISIT_STARTED:
            own |= changes
        if kind == Kind.STEP_ANSWERED and own["step"] in read:
            own |= {"value": read[str(own["step"])], "raw": read[str(own["step"])]}
        own.pop("signs", None), own.pop("record", None)
        records.append(Record(Kind(kind), own))
    book.write(*records)


def story(folder: Path) -> Logbook:
    """Eight winters at the hospital's first tower, open for writing on 15 September 2026."""
    fall = told(folder / "fall", "fall-enable", datetime(2018, 9, 1, 13, tzinfo=UTC))
    winter = told(folder / "winter", "mid-winter", datetime(2018, 11, 1, 13, tzinfo=UTC))
    clock = FixedClock(datetime(2018, 7, 20, 13, tzinfo=UTC))
    book = a_book(folder / "log", surroundings=Surroundings(clock, FixedBytes("story")))
    fit(book, "H-OLD", installed="2015-05-01", removed=NEW_HEATER, warranty_end="2022-12-31", reason="sheath cracked",
        maker="Invented Heat Works", serial="77")  # fmt: skip
    for year in range(FIRST, LAST + 1):
        if year != MISSED:
            month, day = (10, 20) if year == LATE else (8, 28)
            clock.now = datetime(year, month, day, 13, tzinfo=UTC)
            again(book, fall, f"V-F{year}", {"season": year, "ordinal": 1},
                  {"insulation_mohm": MOHM[year], "line_amps": [AMPS[year]] * 3})  # fmt: skip
        for ordinal, month in enumerate(WINTERS if year < LAST else (), 1):
            clock.now = datetime(year + (month < 8), month, 1, 13, tzinfo=UTC)
            again(book, winter, f"V-W{year}{ordinal}", {"season": year, "ordinal": ordinal}, {})
    clock.now = datetime(2026, 9, 15, 13, tzinfo=UTC)
    return book


def fit(book: Logbook, ident: str, **fields: str) -> None:
    """Put a device in at the heater's position."""
    device, problems = from_item("device", {"id": ident, "position": "heater", "of": HEATER, **fields}, "story")
    assert device is not None, problems
    register.write(book, register.preview(registry.whole(book.db), [device]))


def corrected(book: Logbook) -> str:
    """A slip put right in an open visit of another tower; the visit's id."""
    at = rounds.answer(book, a_visit(book, "HOS-2"), "supply_volts", ("480", "480", "480"))
    at = rounds.answer(book, at, "line_amps", ("2.15", "18.7", "18.7"))
    slip = rounds.AnswerOptions(because="point slipped [A] 12")
    return rounds.answer(book, at, "line_amps", ("18.6", "18.7", "18.7"), slip).visit.id
