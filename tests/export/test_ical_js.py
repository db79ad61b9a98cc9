"""The calendar read by ical.js, the parser of a mail program: a reader in another language, by other people.

Meaning is held against what was written and against the IANA zone data: clock changes, a southern site, a visit moved,
done, taken back. SEASONLOG_NODE_MODULES names the folder that holds the package `ical.js`.
"""

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import DueKey
from seasonlog.export.calendar import to_ics
from seasonlog.export.calendar_event import CalendarEvent, EventStatus, local_start
from seasonlog.services import closing, plan, season
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Absence
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, a_visit, answered
from tests.export.calendar_readers import facts_by_icalendar
from tests.services.plan_samples import FROM, made, published, request

SCRIPT = Path(__file__).with_name("ical_js.mjs")
STAMP = datetime(2026, 8, 1, 12, tzinfo=UTC)
CHICAGO, HOBART = ZoneInfo("America/Chicago"), ZoneInfo("Australia/Hobart")
HOSTILE = 'Roof, east; "key" \\ desk\nBEGIN:VEVENT\n  two spaces, \u00e9\u6c34\U0001f9ca ' + "long " * 40


@cache
def tools() -> tuple[str, str]:
    """Node and the folder with the package; else the test skips and says what is missing."""
    node, modules = shutil.which("node"), os.environ.get("SEASONLOG_NODE_MODULES", "")
    if node is None:
        pytest.skip("Node.js is not installed: ical.js cannot be asked")
    if not (Path(modules) / "ical.js" / "package.json").is_file():
        pytest.skip("SEASONLOG_NODE_MODULES names no folder with the npm package ical.js")
    return node, modules


def read(data: bytes) -> dict[str, Any]:
    """What ical.js understands of a file."""
    node, modules = tools()
    done = subprocess.run([node, str(SCRIPT), modules], input=data, capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return dict(json.loads(done.stdout))


def event(on: date, at: time = time(7, 29), zone: ZoneInfo = CHICAGO, **changes: object) -> CalendarEvent:
    one = CalendarEvent(
        log_id="b5c1f0d2a4e64f0c", key=DueKey("HOS-1", FALL_ENABLE, 2026, on.toordinal()), sequence=3, stamp=STAMP,
        status=EventStatus.CONFIRMED, done=False, start=local_start(on, at, zone), minutes=95,
        summary="Fall enable - HOS-1", description="Why: frost", location="Lakeside", position_deg=(46.358, -94.2),
    )  # fmt: skip
    return replace(one, **changes)  # type: ignore[arg-type]


def test_every_property_comes_back_as_written() -> None:
    one = event(date(2026, 9, 22), summary=HOSTILE.replace("\n", " "), description=HOSTILE, location=HOSTILE)
    told = read(to_ics([one], "Lakeside"))
    assert told == {
        "name": "Lakeside",
        "zones": ["America/Chicago"],
        "events": [
            {
                "uid": one.uid, "sequence": 3, "status": "CONFIRMED", "summary": one.summary, "description": HOSTILE,
                "location": HOSTILE, "local": "2026-09-22T07:29:00", "zone": "America/Chicago",
                "starts": one.start.timestamp(), "minutes": 95, "geo": [46.358, -94.2],
                "alarms": [
                    {"action": "DISPLAY", "seconds": -days * 86400, "says": f"In {words}: {one.summary}"}
                    for days, words in ((7, "7 days"), (1, "1 day"))
                ],
            }
        ],
    }  # fmt: skip


@pytest.mark.parametrize(
    ("zone", "on", "at", "utc"),
    [
        (CHICAGO, date(2026, 10, 31), time(7, 29), "2026-10-31T12:29"),
        (CHICAGO, date(2026, 11, 1), time(7, 29), "2026-11-01T13:29"),
        (CHICAGO, date(2027, 3, 13), time(7, 29), "2027-03-13T13:29"),
        (CHICAGO, date(2027, 3, 14), time(7, 29), "2027-03-14T12:29"),
        (CHICAGO, date(2027, 3, 14), time(2, 30), "2027-03-14T08:30"),  # does not exist: 03:30
        (HOBART, date(2026, 10, 3), time(7, 29), "2026-10-02T21:29"),
        (HOBART, date(2026, 10, 5), time(7, 29), "2026-10-04T20:29"),
        (HOBART, date(2027, 4, 3), time(7, 29), "2027-04-02T20:29"),
        (HOBART, date(2027, 4, 5), time(7, 29), "2027-04-04T21:29"),
    ],
    ids=str,
)
def test_the_moment_is_right_on_either_side_of_a_clock_change(zone: ZoneInfo, on: date, at: time, utc: str) -> None:
    """IANA: Chicago changes on 1 November 2026 and 14 March 2027, Hobart on 4 October 2026 and 4 April 2027.

    An hour that comes twice is not asked: RFC 5545 means the first one, ical.js 2.2 takes the second.
    """
    (told,) = read(to_ics([event(on, at, zone)], "x"))["events"]
    assert datetime.fromtimestamp(told["starts"], UTC).strftime("%Y-%m-%dT%H:%M") == utc


@pytest.mark.parametrize("zone", ["America/Denver", "Pacific/Auckland", "Europe/Dublin", "America/Phoenix", "UTC"])
def test_a_year_of_mornings_is_at_the_zones_own_moment(zone: str) -> None:
    days = [date(2026, 8, 1) + timedelta(days=n) for n in range(0, 396, 3)]
    events = sorted((event(on, time(7, 30), ZoneInfo(zone)) for on in days), key=lambda one: one.start)
    told = read(to_ics(events, "x"))["events"]
    assert [each["starts"] for each in told] == [one.start.timestamp() for one in events]
    assert {each["local"][11:19] for each in told} == {"07:30:00"}


def test_done_and_cancelled_visits_have_no_alarm() -> None:
    done = event(date(2026, 9, 22), done=True)
    gone = event(date(2026, 9, 23), status=EventStatus.CANCELLED)
    told = read(to_ics([done, gone], "x"))["events"]
    assert [(e["status"], e["alarms"]) for e in told] == [("CONFIRMED", []), ("CANCELLED", [])]
    assert [e["summary"] for e in told] == ["Fall enable - HOS-1 - done", "Fall enable - HOS-1"]


# From the log


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    tools()
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


def facts(book: Logbook, **only: str) -> dict[str, tuple[int, str, int]]:
    """Event by name as ical.js tells it, found equal to what icalendar tells."""
    data = season.calendar(book, FROM, **only)
    told = [(e["uid"], e["sequence"], e["status"], len(e["alarms"])) for e in read(data)["events"]]
    assert told == facts_by_icalendar(data)
    return {uid: (sequence, status, alarms) for uid, sequence, status, alarms in told}


def test_moved_done_dropped_and_given_away_visits_keep_their_names(book: Logbook) -> None:
    before = facts(book)
    work = published(book)
    planned = facts(book)
    season.move(book, season.DueRequest("HOS-3", FALL_ENABLE), date(2026, 9, 1), "crane", FROM)
    season.drop(book, season.DueRequest("HOS-4", FALL_ENABLE), "tower sold", FROM)
    closing.sign_off(book, answered(book, a_visit(book, "HOS-1", on=FROM)), closing.NOT_AVAILABLE)
    after = facts(book)
    assert before.keys() == planned.keys() == after.keys()
    assert all(before[uid][0] <= planned[uid][0] <= after[uid][0] for uid in before)
    changed = {uid: fact for uid, fact in after.items() if fact[0] > planned[uid][0]}
    assert sorted(fact[1:] for fact in changed.values()) == [("CANCELLED", 0), ("CONFIRMED", 0), ("CONFIRMED", 2)]
    who, _, _ = made(work, "HOS-2")
    plan.publish(book, plan.replanned(book, request(file=None), [Absence(who, FROM, FROM + timedelta(days=60))]), "ill")
    assert {status for _, status, _ in facts(book, technician=who).values()} <= {"CANCELLED", "CONFIRMED"}


def test_the_southern_sites_events_are_at_their_own_local_time(book: Logbook) -> None:
    told = read(season.calendar(book, FROM, site="ORR"))
    assert told["zones"] == ["Pacific/Auckland"]
    disables = [e for e in told["events"] if e["summary"].startswith("Spring disable")]
    assert len(disables) == 3
    for each in told["events"]:
        local = datetime.fromisoformat(each["local"]).replace(tzinfo=ZoneInfo("Pacific/Auckland"))
        assert (each["zone"], each["starts"]) == ("Pacific/Auckland", local.timestamp())
