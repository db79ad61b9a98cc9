"""The season's calendar: ten thousand visits written, against the library's own work on as many equal events."""

import time
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock
from pathlib import Path
from statistics import median
from zoneinfo import ZoneInfo

from icalendar import Calendar

from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import DueKey
from seasonlog.export.calendar import to_ics
from seasonlog.export.calendar_event import CalendarEvent, EventStatus, local_start
from tests.bench import floors

EVENTS = 10_000
ROUNDS = 5
ZONES = ("America/Chicago", "America/New_York", "Pacific/Auckland")
STAMP = datetime(2026, 8, 1, 12, tzinfo=UTC)
WORDS = (
    "With: Mirel Oduvane, 07:25 local time, 120 minutes\nWindow: 2026-08-11 to 2026-09-15 (last sensible day)\n"
    "Why: Prove before the first freeze that the tower heats when cold and stays off when it must.\n"
    "Access: Roof hatch in stair 4; key at the desk, escort after 16:00"
)


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    del folder  # nothing is written to disk
    events, plain = season(EVENTS), plain_season(EVENTS)
    warm = to_ics(events[:100], "warm"), floors.plain_calendar(plain[:100])
    assert all(warm)
    ours, floor = [], []
    for _ in range(ROUNDS):  # one after the other, so that what else runs slows both
        floor.append(_cpu_seconds(lambda: floors.plain_calendar(plain)))
        ours.append(_cpu_seconds(lambda: to_ics(events, "bench")))
    _agree(to_ics(events, "bench"), floors.plain_calendar(plain))
    print(f"     {EVENTS} events written: {median(ours):.2f} s; plain library code: {median(floor):.2f} s")
    ratio = median(a / b for a, b in zip(ours, floor, strict=True))
    yield f"calendar of {EVENTS} events / plain library code", ratio, 1.3, "ratio"


def _cpu_seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def _place(number: int) -> tuple[str, datetime]:
    zone = ZoneInfo(ZONES[number % len(ZONES)])
    on, minute = date(2026, 8, 10) + timedelta(days=number % 240), 420 + number % 400
    return f"HOS-{number}", local_start(on, clock(minute // 60, minute % 60), zone)


def season(count: int) -> list[CalendarEvent]:
    """So many visits of one season."""
    return [_visit(number) for number in range(count)]


def _visit(number: int) -> CalendarEvent:
    tower, start = _place(number)
    return CalendarEvent(
        log_id="b5c1f0d2a4e64f0c",
        key=DueKey(tower, FALL_ENABLE, 2026, 1),
        sequence=number % 7,
        stamp=STAMP,
        status=EventStatus.CONFIRMED,
        done=False,
        start=start,
        minutes=120,
        summary=f"Fall enable - {tower} (North tower) - Mirel Oduvane",
        description=WORDS,
        location="Lakeside Hospital - main roof, east wing",
        position_deg=(46.358, -94.2),
    )


def plain_season(count: int) -> list[floors.PlainEvent]:
    """The same visits as bare values for the floor."""
    return [
        floors.PlainEvent(
            uid=each.uid, stamp=each.stamp, sequence=each.sequence, status=str(each.status), start=each.start,
            length=timedelta(minutes=each.minutes), summary=each.summary, description=each.description,
            location=each.location, position_deg=each.position_deg or (0.0, 0.0),
            reminders=[(f"In {d} {'day' if d == 1 else 'days'}: {each.summary}", timedelta(days=-d))
                       for d in each.alarm_days],
        )
        for each in season(count)
    ]  # fmt: skip


def _agree(ours: bytes, plain: bytes) -> None:
    """Both wrote the same events: every property and alarm of each."""
    a, b = (sorted(event.to_ical() for event in Calendar.from_ical(data).events) for data in (ours, plain))
    assert a == b
    assert len(a) == EVENTS
