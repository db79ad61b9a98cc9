"""The season's visits as an iCalendar file (RFC 5545): one event per visit for ever.

Sequence, stamp and status are handed in as folds of the log, so a second export gives the same bytes, and a calendar
that reads the file again changes the events it has instead of adding new ones. A visit done stays, without alarms; a
visit dropped is cancelled.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, timedelta

from icalendar import Alarm, Calendar, Component, Event, Timezone, TimezoneDaylight, TimezoneStandard, vDDDTypes, vText

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
    calendar = Calendar.new(prodid=PRODID, uid=name_for_ever(("calendar", *logs, _text(name))))
    calendar["NAME"] = calendar["X-WR-CALNAME"] = vText(_text(name))  # icalendar 7.3 would write it unescaped
    calendar.subcomponents = [*_zones(ordered), *(_event(event) for event in ordered)]
    return bytes(calendar.to_ical())


def _zones(ordered: Sequence[CalendarEvent]) -> list[Timezone]:
    """The rules of every zone that is met, by name: the library collects them in a set of no order.

    It is handed one event of each zone; from all of them it would take as long as writing them.
    """
    if not ordered:
        return []
    first, last = ordered[0].start.date(), ordered[-1].start.date()
    of_each = {str(event.start.tzinfo): event for event in ordered}
    met = Calendar()
    met.subcomponents = [_event(event) for event in of_each.values()]
    met.add_missing_timezones(first_date=date(first.year - 1, 1, 1), last_date=date(last.year + 2, 1, 1))
    for zone in met.timezones:
        for part in zone.subcomponents:
            if isinstance(part, TimezoneStandard | TimezoneDaylight):
                _put_onsets_right(part)
    return sorted(met.timezones, key=lambda zone: zone.tz_name)


def _event(event: CalendarEvent) -> Event:
    """Values are set one by one: the library's ready-made events also clear everything that a visit has not."""
    made = Event()
    made["UID"] = vText(event.uid)
    made["DTSTAMP"] = vDDDTypes(event.stamp.astimezone(UTC))
    made.add("SEQUENCE", event.sequence)
    made["STATUS"] = vText(event.status.value)
    made.add("DTSTART", existing(event.start))
    made["DURATION"] = vDDDTypes(timedelta(minutes=event.minutes))
    made["SUMMARY"] = vText(_summary(event))
    made["DESCRIPTION"] = vText(_text(event.description))
    made["LOCATION"] = vText(_text(event.location))
    if event.position_deg is not None:
        made.add("GEO", event.position_deg)
    made.subcomponents = _alarms(event)
    return made


def _summary(event: CalendarEvent) -> str:
    return _text(event.summary) + (" - done" if event.done else "")


def _alarms(event: CalendarEvent) -> list[Component]:
    if event.done or event.status is EventStatus.CANCELLED:
        return []
    return [_alarm(event, days) for days in event.alarm_days]


def _alarm(event: CalendarEvent, days: int) -> Component:
    made = Alarm()
    made["ACTION"] = vText("DISPLAY")
    made["DESCRIPTION"] = vText(_reminder(event, days))
    made["TRIGGER"] = vDDDTypes(timedelta(days=-days))
    return made


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
