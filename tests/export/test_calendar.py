"""The season's calendar: stable bytes, one event per visit for ever, and what other readers make of it.

Outside checks: RFC 5545 (line length, line ends, escapes, zone rules) by a checker written here, vobject as an
independent parser, and the IANA zone data for what the written zone rules say.
"""

import hashlib
import warnings
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from io import StringIO
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from icalendar import Calendar, Component

from seasonlog.domain.season import FALL_ENABLE, MID_WINTER, SPRING_DISABLE
from seasonlog.domain.season_due import DueHistory, DueItem, DueKey
from seasonlog.domain.season_items import due_items
from seasonlog.export.calendar import to_ics
from seasonlog.export.calendar_event import (
    CalendarEvent,
    EventStatus,
    VisitHistory,
    event_for,
    existing,
    local_start,
)
from tests.domain.season_samples import register, site, southern_site, tower
from tests.export.calendar_readers import by_vobject, facts_by_icalendar, facts_by_vobject, unfolded

LOG = "b5c1f0d2a4e64f0c"
STAMP = datetime(2026, 8, 1, 12, 30, 5, tzinfo=UTC)
ON = date(2026, 12, 1)
FALL = DueKey("HOS-1", FALL_ENABLE, 2026, 1)
ZONES = ["America/Chicago", "Australia/Hobart", "Australia/Lord_Howe", "Europe/Dublin", "America/Phoenix", "UTC"]


def items(history: DueHistory | None = None) -> tuple[DueItem, ...]:
    return due_items(register(site(), tower()), ON, history)


def season_events(history: DueHistory | None = None, changes: int = 0) -> list[CalendarEvent]:
    return [event_for(LOG, site(), tower(), item, VisitHistory(changes, STAMP)) for item in items(history)]


def event(**changes: object) -> CalendarEvent:
    return replace(season_events()[0], **changes)  # type: ignore[arg-type]


def test_the_same_events_give_the_same_bytes_in_any_order() -> None:
    events = season_events()
    assert to_ics(events, "Lakeside") == to_ics(events, "Lakeside") == to_ics(reversed(season_events()), "Lakeside")


def test_one_event_byte_for_byte() -> None:
    """Written out by hand from RFC 5545 section 3.6.1; a change here changes every calendar that was ever imported."""
    uid = hashlib.sha256(f"visit\n{LOG}\nHOS-1\nfall-enable\n2026\n1".encode()).hexdigest()[:40]
    expected = f"""BEGIN:VEVENT
SUMMARY:Fall enable - HOS-1 (North tower)
DTSTART;TZID=America/Chicago:20260915T080000
DURATION:PT2H
DTSTAMP:20260801T123005Z
UID:{uid}@seasonlog
SEQUENCE:0
DESCRIPTION:Window: 2026-08-29 to 2026-10-03 (last sensible day)\\nWhy: Prove before the first freeze that the tower \
heats when cold and stays off when it must.\\nWhy then: 21 days before the usual first freeze\\, 24 October\\, as \
typed for the site\\nSeason: winter 2026/27\\nAccess: Gate 4\
\\, key at the desk\\nEmergency contact: Night desk\\, extension 4
GEO:41.9;-87.6
LOCATION:Lakeside Hospital - open edge\\; ice
STATUS:TENTATIVE
BEGIN:VALARM
ACTION:DISPLAY
DESCRIPTION:In 7 days: Fall enable - HOS-1 (North tower)
TRIGGER:-P7D
END:VALARM
BEGIN:VALARM
ACTION:DISPLAY
DESCRIPTION:In 1 day: Fall enable - HOS-1 (North tower)
TRIGGER:-P1D
END:VALARM
END:VEVENT"""
    lines = unfolded(to_ics([event()], "Lakeside"))
    assert "\n".join(lines[lines.index("BEGIN:VEVENT") : lines.index("END:VEVENT") + 1]) == expected


def test_the_name_of_a_visit_never_changes() -> None:
    """Fixed for ever: `printf 'visit\\nb5c1f0d2a4e64f0c\\nHOS-1\\nfall-enable\\n2026\\n1' | sha256sum | cut -c-40`."""
    assert event().uid == "e57cb2d649b6699d8549e4c2274340b4da0aa8db@seasonlog"


def test_every_part_of_the_key_makes_another_name() -> None:
    others = [FALL._replace(tower="HOS-2"), FALL._replace(checklist=MID_WINTER), FALL._replace(season=2027)]
    events = [event(), event(log_id="other"), *(event(key=key) for key in [*others, FALL._replace(ordinal=2)])]
    assert len({each.uid for each in events}) == len(events)


def test_nothing_about_a_visit_but_its_key_makes_its_name() -> None:
    later = event(sequence=4, done=True, summary="other", start=event().start + timedelta(days=9))
    assert later.uid == event().uid


def test_two_independent_parsers_read_the_same_season() -> None:
    history = DueHistory(
        done={FALL: date(2026, 9, 28)},
        dropped={FALL._replace(checklist=MID_WINTER, ordinal=2): "no access"},
        moved={FALL._replace(checklist=SPRING_DISABLE): date(2027, 5, 20)},
    )
    events = season_events(history, changes=3)
    expected = [
        (each.uid, 3, each.status.value, 0 if each.done or each.status is EventStatus.CANCELLED else 2)
        for each in sorted(events, key=lambda each: each.start)
    ]
    assert len(expected) == 7
    assert facts_by_icalendar(to_ics(events, "Lakeside")) == expected
    assert facts_by_vobject(to_ics(events, "Lakeside")) == expected


def test_a_visit_done_stays_without_alarm_and_says_so() -> None:
    data = to_ics(season_events(DueHistory(done={FALL: date(2026, 9, 28)}), changes=1)[:1], "Lakeside")
    found = by_vobject(data).vevent
    assert found.summary.value == "Fall enable - HOS-1 (North tower) - done"
    assert found.dtstart.value.date() == date(2026, 9, 28)
    assert "Done: 2026-09-28" in found.description.value
    assert (found.status.value, hasattr(found, "valarm")) == ("CONFIRMED", False)


def test_a_visit_dropped_is_cancelled_with_its_reason() -> None:
    data = to_ics(season_events(DueHistory(dropped={FALL: "tower sold"}), changes=1)[:1], "Lakeside")
    found = by_vobject(data).vevent
    assert (found.status.value, hasattr(found, "valarm")) == ("CANCELLED", False)
    assert found.description.value.startswith("Dropped: tower sold\n")


def test_a_visit_moved_keeps_its_name_and_raises_its_sequence() -> None:
    before = season_events()[0]
    after = season_events(DueHistory(moved={FALL: date(2026, 9, 30)}), changes=1)[0]
    assert (before.status, after.status) == (EventStatus.TENTATIVE, EventStatus.CONFIRMED)
    assert (before.uid, before.sequence + 1) == (after.uid, after.sequence)
    assert by_vobject(to_ics([after], "Lakeside")).vevent.dtstart.value.date() == date(2026, 9, 30)


def test_alarms_ring_seven_days_and_one_day_ahead() -> None:
    found = by_vobject(to_ics([event()], "Lakeside")).vevent
    assert [alarm.trigger.value for alarm in found.valarm_list] == [timedelta(days=-7), timedelta(days=-1)]
    assert {alarm.action.value for alarm in found.valarm_list} == {"DISPLAY"}


def test_the_calendar_carries_our_name_and_no_random_one() -> None:
    lines = unfolded(to_ics([], "Lakeside; North"))
    assert lines[:4] == [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//seasonlog//season calendar//EN",
        "NAME:Lakeside\\; North",
    ]
    assert to_ics([], "Lakeside") == to_ics([], "Lakeside") != to_ics([], "Hill")


def test_a_why_from_the_record_is_told() -> None:
    item = replace(items()[0], why="winter mode changed to run wet on 2026-12-01")
    assert (
        "Due because: winter mode changed to run wet"
        in event_for(LOG, site(), tower(), item, VisitHistory(1, STAMP)).description
    )


def test_missing_notes_leave_no_empty_line() -> None:
    bare = site(access=None, emergency_contact=None, roof_note=None)
    found = event_for(LOG, bare, tower(), items()[0], VisitHistory(0, STAMP))
    assert found.location == "Lakeside Hospital"
    assert [line.split(":")[0] for line in found.description.split("\n")] == ["Window", "Why", "Why then", "Season"]


def test_stamps_are_written_in_universal_time() -> None:
    west = STAMP.astimezone(ZoneInfo("America/Chicago"))
    assert to_ics([event(stamp=west)], "Lakeside") == to_ics([event()], "Lakeside")


# Zones


def test_a_local_time_the_clock_skips_is_moved_on() -> None:
    """America/Chicago 2027-03-14 02:00 to 03:00, Australia/Hobart 2026-10-04 02:00 to 03:00 (IANA data)."""
    for zone, day in (("America/Chicago", date(2027, 3, 14)), ("Australia/Hobart", date(2026, 10, 4))):
        start = local_start(day, time(2, 30), ZoneInfo(zone))
        assert (start.date(), start.time()) == (day, time(3, 30))
        assert start.astimezone(UTC).astimezone(ZoneInfo(zone)) == start
        assert f"DTSTART;TZID={zone}:{day:%Y%m%d}T033000" in unfolded(to_ics([event(start=start.replace(hour=2))], "x"))


def test_a_whole_day_the_calendar_skips_is_moved_on() -> None:
    """Apia had no 30 December 2011 (IANA data)."""
    assert local_start(date(2011, 12, 30), time(8), ZoneInfo("Pacific/Apia")).date() == date(2011, 12, 31)


def test_of_a_repeated_time_the_first_is_meant() -> None:
    """RFC 5545 section 3.3.5: a local time that comes twice is the first one. Chicago, 1 November 2026, 01:30."""
    second = datetime(2026, 11, 1, 1, 30, tzinfo=ZoneInfo("America/Chicago"), fold=1)
    assert existing(second).utcoffset() == timedelta(hours=-5)
    assert to_ics([event(start=second)], "x") == to_ics([event(start=second.replace(fold=0))], "x")


def zone_of(data: bytes, name: str) -> tzical:
    """The zone as the file's own rules tell it to a reader that has no zone data."""
    with warnings.catch_warnings():
        # dateutil's rrule parser, reached through tzical, still uses a deprecated call of datetime.
        warnings.simplefilter("ignore", DeprecationWarning)
        return tzical(StringIO(data.decode())).get(name)


@pytest.mark.parametrize("name", ZONES[:-1])
def test_the_rules_in_the_file_are_those_of_the_zone(name: str) -> None:
    """Every hour of the season, and the half hours, against the IANA data; times that do not exist left out."""
    zone = ZoneInfo(name)
    data = to_ics([event(start=local_start(day, time(8), zone)) for day in (date(2026, 9, 15), date(2027, 5, 11))], "x")
    written = zone_of(data, name)
    start = datetime(2026, 9, 1)  # noqa: DTZ001  (walked as wall time on purpose)
    for step in range(2 * 24 * 270):
        wall = start + timedelta(minutes=30 * step)
        there = wall.replace(tzinfo=zone)
        if existing(there) == there and there.utcoffset() == there.replace(fold=1).utcoffset():
            assert wall.replace(tzinfo=written).utcoffset() == there.utcoffset(), wall


@pytest.mark.parametrize("name", ["America/Chicago", "Australia/Hobart", "Australia/Lord_Howe", "Europe/Dublin"])
def test_the_clock_changes_at_the_moments_the_file_tells(name: str) -> None:
    """RFC 5545 section 3.6.5: onset less TZOFFSETFROM is the moment; held against the IANA data, to a second."""
    start = datetime(2026, 9, 15, 8, tzinfo=ZoneInfo(name))
    found = Calendar.from_ical(to_ics([event(start=start)], "x")).timezones[0].subcomponents
    changes = [part for part in found if part.TZOFFSETFROM != part.TZOFFSETTO]
    moments = [(part, each) for part in changes for each in onsets(part)]
    assert len(moments) == 6
    for part, local in moments:
        moment = local.replace(tzinfo=UTC) - part.TZOFFSETFROM
        assert (moment - timedelta(seconds=1)).astimezone(start.tzinfo).utcoffset() == part.TZOFFSETFROM
        assert moment.astimezone(start.tzinfo).utcoffset() == part.TZOFFSETTO


def onsets(part: Component) -> list[datetime]:
    rest = part.get("RDATE", [])
    return [part.DTSTART, *(each.dt for line in (rest if isinstance(rest, list) else [rest]) for each in line.dts)]


@pytest.mark.parametrize("name", ZONES)
def test_every_parser_finds_the_same_moment(name: str) -> None:
    zone = ZoneInfo(name)
    starts = [local_start(day, time(8), zone) for day in (date(2026, 9, 15), date(2026, 12, 24), date(2027, 5, 11))]
    data = to_ics([event(start=start, key=FALL._replace(ordinal=n)) for n, start in enumerate(starts)], "x")
    moments = [start.astimezone(UTC) for start in starts]
    assert [e.start.astimezone(UTC) for e in Calendar.from_ical(data).events] == moments
    assert [e.dtstart.value.astimezone(UTC) for e in by_vobject(data).vevent_list] == moments


def test_the_zone_rules_cover_the_season_and_little_more() -> None:
    lines = unfolded(to_ics(season_events(), "Lakeside"))
    assert lines.count("BEGIN:VTIMEZONE") == 1
    assert len("\r\n".join(lines[: lines.index("END:VTIMEZONE")])) < 900


def test_a_southern_visit_in_its_own_zone() -> None:
    hill, pond = southern_site(), tower(site="HILL")
    item = due_items(register(hill, pond), date(2026, 4, 1))[-1]
    found = event_for(LOG, hill, pond, item, VisitHistory(0, STAMP))
    assert found.start.isoformat() == "2026-10-21T08:00:00+11:00"
    assert "winter 2026" in found.description
    assert "GEO:-42.9;147.3" in unfolded(to_ics([found], "Hill"))
