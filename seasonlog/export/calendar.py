"""The season's visits as an iCalendar file (RFC 5545): one event per visit for ever.

Sequence, stamp and status are handed in as folds of the log, so a second export gives the same bytes, and a calendar
that reads the file again changes the events it has instead of adding new ones. A visit done stays, without alarms; a
visit dropped is cancelled.
"""

from collections.abc import Iterable
from datetime import UTC, date, timedelta

from icalendar import STATUS, Alarm, Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard, vText

from seasonlog.domain.text import visible
from seasonlog.export.calendar_event import CalendarEvent, EventStatus, existing, name_for_ever

PRODID = "-//seasonlog//season calendar//EN"
"""Names the program in every file it writes."""


def to_ics(events: Iterable[CalendarEvent], name: str) -> bytes:
    """The events as an iCalendar file, the same bytes for the same events in any order.

    Args:
        events: One per visit.
        name: What a calendar calls the file.
    """
    ordered = sorted(events, key=lambda event: (event.start.astimezone(UTC), event.uid))
    logs = sorted({event.log_id for event in ordered})
    calendar = Calendar.new(
        prodid=PRODID,
        uid=name_for_ever(("calendar", *logs, _text(name))),
        subcomponents=[_event(event) for event in ordered],
    )
    calendar["NAME"] = calendar["X-WR-CALNAME"] = vText(_text(name))  # icalendar 7.3 would write it unescaped
    if ordered:
        first, last = ordered[0].start.date(), ordered[-1].start.date()
        calendar.add_missing_timezones(first_date=date(first.year - 1, 1, 1), last_date=date(last.year + 2, 1, 1))
        for zone in calendar.timezones:
            for part in zone.subcomponents:
                if isinstance(part, TimezoneStandard | TimezoneDaylight):
                    _put_onsets_right(part)
        _put_zones_in_order(calendar)
    return bytes(calendar.to_ical())


def _put_zones_in_order(calendar: Calendar) -> None:
    """The library collects zones in a set, whose order changes from run to run; the file's must not."""
    zones = sorted(calendar.timezones, key=lambda zone: zone.tz_name)
    others = [part for part in calendar.subcomponents if not isinstance(part, Timezone)]
    calendar.subcomponents = [*zones, *others]


def _event(event: CalendarEvent) -> Event:
    made = Event.new(
        uid=event.uid,
        stamp=event.stamp.astimezone(UTC),
        sequence=event.sequence,
        status=STATUS(event.status.value),
        start=existing(event.start),
        summary=_summary(event),
        description=_text(event.description),
        location=_text(event.location),
        subcomponents=_alarms(event),
    )
    made.duration = timedelta(minutes=event.minutes)
    if event.position_deg is not None:
        made.add("geo", event.position_deg)
    return made


def _summary(event: CalendarEvent) -> str:
    return _text(event.summary) + (" - done" if event.done else "")


def _alarms(event: CalendarEvent) -> list[Alarm]:
    if event.done or event.status is EventStatus.CANCELLED:
        return []
    return [Alarm.new_display(_reminder(event, days), timedelta(days=-days)) for days in event.alarm_days]


def _reminder(event: CalendarEvent, days: int) -> str:
    return f"In {days} {'day' if days == 1 else 'days'}: {_text(event.summary)}"


def _put_onsets_right(part: TimezoneStandard | TimezoneDaylight) -> None:
    """Tell the changes of the clock as RFC 5545 section 3.6.5 wants them, one a line.

    DTSTART and TZOFFSETFROM together are the moment of change, so 02:00 and not 03:00 when summer time begins;
    icalendar 7.3 tells it by the clock after the jump. Of several dates on one line vobject reads only the first.
    """
    jump = max(part.TZOFFSETTO - part.TZOFFSETFROM, timedelta(0))
    part.DTSTART = part.DTSTART - jump
    later = part.pop("RDATE").dts if "RDATE" in part else []
    for onset in later:
        part.add("RDATE", [onset.dt - jump])


def _text(text: str) -> str:
    """Harmless text: line breaks become LF, which iCalendar escapes; what else a reader may take for one is shown.

    RFC 5545 knows CR LF only, but readers that split lines the Unicode way also break at VT, FF, NEL, LS and PS.
    """
    return visible(text.replace("\r\n", "\n").replace("\r", "\n"), keep_newlines=True)
