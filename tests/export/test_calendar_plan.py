"""The published plan in a calendar, read back by two independent parsers: clock changes, the south, every change.

icalendar writes and reads; vobject is the reader that is not the library we write with.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from seasonlog.domain.plan_record import PlannedVisit
from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import DueHistory, DueItem
from seasonlog.domain.season_items import due_items
from seasonlog.export.calendar import to_ics
from seasonlog.export.calendar_event import CalendarEvent, EventStatus, VisitHistory, event_for
from seasonlog.export.calendar_plan import by_plan, for_person
from seasonlog.services import closing, plan, season
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Absence
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, a_visit, answered
from tests.domain.season_samples import register, site, southern_site, tower
from tests.export.calendar_readers import by_vobject, facts_by_icalendar, facts_by_vobject, unfolded
from tests.services.plan_samples import FROM, made, published, request

STAMP = datetime(2026, 8, 1, 12, tzinfo=UTC)
NAMES = {"ann": "Ann Ash", "bo": "Bo Birch"}


def planned(item: DueItem, **changes: object) -> PlannedVisit:
    fields = {"person": "ann", "day": item.planned, "start_minute": 449, "minutes": 95, "had": ("ann",), **changes}
    return PlannedVisit(item.key, item.opens, item.due, **fields)  # type: ignore[arg-type]


def northern(moved: date | None = None) -> tuple[CalendarEvent, DueItem]:
    item = due_items(register(site(), tower()), date(2026, 9, 1))[0]
    item = due_items(register(site(), tower()), date(2026, 9, 1), DueHistory(moved={item.key: moved} if moved else {}))[
        0
    ]
    return event_for("log", site(), tower(), item, VisitHistory(2, STAMP)), item


def starts(data: bytes) -> list[tuple[datetime, datetime]]:
    """When each event starts, in UTC, as each parser finds it."""
    ours = [event.start.astimezone(UTC) for event in Calendar.from_ical(data).events]
    return list(zip(ours, [e.dtstart.value.astimezone(UTC) for e in by_vobject(data).vevent_list], strict=True))


def test_an_event_has_the_plans_day_time_length_and_person() -> None:
    event, item = northern(date(2026, 9, 22))
    made_of = by_plan(event, planned(item), item.planned, NAMES, is_moved=True)
    data = to_ics([made_of], "x")
    found = by_vobject(data).vevent
    assert found.dtstart.value.isoformat() == "2026-09-22T07:29:00-05:00"
    assert found.duration.value == timedelta(minutes=95)
    assert found.summary.value.endswith("(North tower) - Ann Ash")
    assert found.description.value.startswith("With: Ann Ash, 07:29 local time, 95 minutes\n")
    assert [alarm.trigger.value for alarm in found.valarm_list] == [timedelta(days=-7), timedelta(days=-1)]
    assert (made_of.uid, made_of.sequence, made_of.status) == (event.uid, 2, EventStatus.CONFIRMED)


@pytest.mark.parametrize(
    ("on", "utc"),
    [
        (date(2026, 10, 31), "2026-10-31T12:29:00"),  # Chicago: UTC-5 to the end of summer time
        (date(2026, 11, 1), "2026-11-01T13:29:00"),  # the night the clock goes back
        (date(2027, 3, 13), "2027-03-13T13:29:00"),
        (date(2027, 3, 14), "2027-03-14T12:29:00"),  # the night it goes forward
    ],
    ids=str,
)
def test_the_local_time_stays_over_a_change_of_the_clock(on: date, utc: str) -> None:
    """IANA: America/Chicago changes at 02:00 on 1 November 2026 and 14 March 2027."""
    event, item = northern(on)
    data = to_ics([by_plan(event, planned(item, day=on), on, NAMES, is_moved=True)], "x")
    assert [(a.replace(tzinfo=None).isoformat(), a == b) for a, b in starts(data)] == [(utc, True)]


def test_a_time_that_the_clock_skips_is_moved_on() -> None:
    """02:30 on 14 March 2027 does not exist in Chicago; the start is 03:30, 08:30 UTC."""
    on = date(2027, 3, 14)
    event, item = northern(on)
    data = to_ics([by_plan(event, planned(item, day=on, start_minute=150), on, NAMES, is_moved=True)], "x")
    assert [a.hour * 60 + a.minute for pair in starts(data) for a in pair] == [510, 510]


def test_a_southern_visit_is_at_its_own_local_time() -> None:
    """IANA: Australia/Hobart is UTC+10 until 02:00 on 4 October 2026, then UTC+11."""
    hill, pond = southern_site(), tower(site="HILL")
    item = due_items(register(hill, pond), date(2026, 9, 1))[-1]
    event = event_for("log", hill, pond, item, VisitHistory(1, STAMP))
    for on, offset in ((date(2026, 10, 3), 10), (date(2026, 10, 5), 11)):
        data = to_ics([by_plan(event, planned(item, day=on), on, NAMES, is_moved=True)], "x")
        local = datetime(on.year, on.month, on.day, 7, 29, tzinfo=ZoneInfo("Australia/Hobart"))
        assert local.utcoffset() == timedelta(hours=offset)
        assert starts(data) == [(local.astimezone(UTC), local.astimezone(UTC))]


def test_a_visit_nobody_has_is_tentative_and_says_why() -> None:
    event, item = northern()
    was = planned(item, person="", day=None, because="every shift is full")
    alone = by_plan(event, was, item.planned, NAMES, is_moved=False)
    assert alone.status is EventStatus.TENTATIVE
    assert alone.description.startswith("Nobody has it: every shift is full\n")
    assert for_person(alone, planned(item, person="", day=None, because="full"), "ann", NAMES) == replace(
        alone, status=EventStatus.CANCELLED, description=f"Taken out: full\n{alone.description}"
    )


def test_what_went_to_another_is_taken_back_where_it_was() -> None:
    event, item = northern(date(2026, 9, 22))
    was = planned(item, person="bo", had=("ann", "bo"))
    event = by_plan(event, was, item.planned, NAMES, is_moved=True)
    mine, others, nobodys = (for_person(event, was, who, NAMES) for who in ("ann", "bo", "cy"))
    assert nobodys is None
    assert others == event
    assert mine is not None
    assert (mine.uid, mine.sequence, mine.status) == (event.uid, event.sequence, EventStatus.CANCELLED)
    data = to_ics([mine], "x")
    assert facts_by_icalendar(data) == facts_by_vobject(data) == [(event.uid, 2, "CANCELLED", 0)]
    assert "Bo Birch has it now" in by_vobject(data).vevent.description.value


def test_names_from_the_register_cannot_break_a_line() -> None:
    event, item = northern(date(2026, 9, 22))
    hostile = {"ann": "Ann\r\nEND:VEVENT\u2028; Ash"}
    data = to_ics([by_plan(event, planned(item), item.planned, hostile, is_moved=True)], "x")
    assert len([line for line in unfolded(data) if line == "END:VEVENT"]) == 1
    assert by_vobject(data).vevent.summary.value.startswith("Fall enable")


# From the log


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


def facts(book: Logbook, on: date = FROM, **only: str) -> dict[str, tuple[int, str, int]]:
    """Event by name: sequence, status, alarms; the same by both parsers."""
    data = season.calendar(book, on, **only)
    assert facts_by_icalendar(data) == facts_by_vobject(data)
    assert data == season.calendar(book, on, **only)
    return {uid: rest for uid, *rest in facts_by_vobject(data)}  # type: ignore[misc]


def of_tower(book: Logbook, name: str, **only: str) -> dict[str, str]:
    """The newest words of a tower's fall enable: uid, start, status, summary."""
    data = season.calendar(book, FROM, **only)
    found = [e for e in by_vobject(data).vevent_list if e.summary.value.startswith(f"Fall enable - {name} ")]
    return {e.uid.value: f"{e.dtstart.value.isoformat()} {e.status.value} {e.summary.value}" for e in found}


def test_publishing_moves_events_and_makes_none(book: Logbook) -> None:
    before = facts(book)
    _, day, start = made(published(book), "HOS-1")
    after = facts(book)
    assert before.keys() == after.keys()
    assert all(after[uid][0] >= before[uid][0] for uid in before)
    ((uid, words),) = of_tower(book, "HOS-1").items()
    assert after[uid][:2] == [1, "CONFIRMED"]
    assert words.startswith(f"{day}T{start // 60:02}:{start % 60:02}:00-05:00 CONFIRMED")


def test_moved_done_and_dropped_visits_update_in_every_calendar(book: Logbook) -> None:
    work = published(book)
    who, _, _ = made(work, "HOS-1")
    ((uid, _),) = of_tower(book, "HOS-1", technician=who).items()
    first = facts(book, technician=who)[uid]
    season.move(book, season.DueRequest("HOS-1", FALL_ENABLE), date(2026, 9, 1), "crane", FROM)
    by_hand = facts(book, technician=who)[uid]
    assert (first[1], by_hand[1], by_hand[0] > first[0]) == ("CONFIRMED", "CANCELLED", True)
    assert facts(book)[uid][1] == "CONFIRMED"
    plan.publish(book, plan.replanned(book, request(file=None)))
    now = {person: facts(book, technician=person).get(uid) for person in ("mirel", "halden")}
    assert [f[1] for f in now.values() if f].count("CONFIRMED") == 1
    closing.sign_off(book, answered(book, a_visit(book, "HOS-1", on=FROM)), closing.NOT_AVAILABLE)
    done = facts(book)[uid]
    assert (done[1], done[2], done[0] > by_hand[0]) == ("CONFIRMED", 0, True)
    assert "- done" in of_tower(book, "HOS-1")[uid]
    other, _, _ = made(work, "HOS-2")
    ((gone, _),) = of_tower(book, "HOS-2").items()
    season.drop(book, season.DueRequest("HOS-2", FALL_ENABLE), "tower sold", FROM)
    assert facts(book)[gone][1] == facts(book, technician=other)[gone][1] == "CANCELLED"


def test_a_sick_persons_calendar_is_emptied_and_the_others_filled(book: Logbook) -> None:
    published(book)
    before = {who: facts(book, technician=who) for who in ("mirel", "halden")}
    ill = Absence("mirel", FROM, FROM + timedelta(days=60))
    plan.publish(book, plan.replanned(book, request(file=None), [ill]), "ill")
    after = {who: facts(book, technician=who) for who in ("mirel", "halden")}
    assert {fact[1] for fact in after["mirel"].values()} == {"CANCELLED"}
    assert before["mirel"].keys() == after["mirel"].keys()
    assert all(after["mirel"][uid][0] > before["mirel"][uid][0] for uid in before["mirel"])
    assert before["halden"].keys() < after["halden"].keys()


def test_a_site_has_only_its_own_and_the_same_events(book: Logbook) -> None:
    published(book)
    whole, of_site = facts(book), facts(book, site="ORR")
    assert of_site
    assert {uid: whole[uid] for uid in of_site} == of_site
    assert "Pacific/Auckland" in season.calendar(book, FROM, site="ORR").decode()
