"""A visit's calendar event by the published plan: when, how long and with whom; taken back where it went to another."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, time
from zoneinfo import ZoneInfo

from seasonlog.domain.plan_record import PlannedVisit
from seasonlog.export.calendar_event import CalendarEvent, EventStatus, local_start

Names = Mapping[str, str]
"""Register id to name; one who left the register goes by the id."""


def by_plan(event: CalendarEvent, was: PlannedVisit, on: date, names: Names, *, is_moved: bool) -> CalendarEvent:
    """The event as the plan has it.

    Args:
        event: As the window alone makes it.
        was: The visit as it was published last.
        on: The day the visit is planned for, or was made.
        names: Names of the people.
        is_moved: A person chose its day; without that the day of a visit nobody has is only computed.
    """
    if event.status is EventStatus.CANCELLED:
        return event
    if not was.is_planned:
        status = event.status if is_moved or event.done else EventStatus.TENTATIVE
        return replace(event, status=status, description=_said(event, "Nobody has it", was.because))
    zone = event.start.tzinfo
    who = names.get(was.person, was.person)
    at = time(was.start_minute // 60, was.start_minute % 60)
    return replace(
        event,
        start=local_start(on, at, zone) if isinstance(zone, ZoneInfo) else event.start,
        minutes=was.minutes,
        summary=f"{event.summary} - {who}",
        description=_said(event, "With", f"{who}, {was.clock} local time, {was.minutes} minutes"),
    )


def for_person(event: CalendarEvent, was: PlannedVisit, person: str, names: Names) -> CalendarEvent | None:
    """The event in one person's own calendar: taken back there when somebody else has it now, or nobody.

    Args:
        event: As `by_plan` makes it.
        was: The visit as it was published last.
        person: Whose calendar.
        names: Names of the people.

    Returns:
        The event, or None for a visit this person never had.
    """
    if person not in was.had:
        return None
    if was.person == person or event.status is EventStatus.CANCELLED:
        return event
    now = f"{names.get(was.person, was.person)} has it now" if was.is_planned else was.because
    return replace(event, status=EventStatus.CANCELLED, description=_said(event, "Taken out", now))


def _said(event: CalendarEvent, label: str, words: str) -> str:
    return f"{label}: {words}\n{event.description}" if words else event.description
