"""One visit as a calendar shows it: its lasting name, its words, its local time.

The name (UID) is a hash of what names the visit: log, tower, checklist, season, ordinal. Its recipe may never change:
every calendar that ever read an export knows its events by it.
"""

import hashlib
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from zoneinfo import ZoneInfo

from dateutil import tz

from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Site, Tower
from seasonlog.domain.season import FALL_ENABLE, MID_WINTER, SPRING_DISABLE, season_name
from seasonlog.domain.season_due import DueItem, DueKey

ALARM_DAYS = (7, 1)
"""Days before a visit at which a calendar reminds of it."""

START = time(8, 0)
"""Local time a visit is put at until someone plans it better."""

MINUTES = {FALL_ENABLE: 120, MID_WINTER: 60, SPRING_DISABLE: 60}
"""Time set aside for a visit. Common practice, no source."""

_OTHER_MINUTES = 60
_NAMES = {FALL_ENABLE: "Fall enable", MID_WINTER: "Mid-winter check", SPRING_DISABLE: "Spring disable"}
_WHY = {
    FALL_ENABLE: "Prove before the first freeze that the tower heats when cold and stays off when it must.",
    MID_WINTER: "Once a month while it can freeze: cut-in and cut-out, amps, level, ice.",
    SPRING_DISABLE: "Switch off after the last freeze, prove it is off, list the summer repairs.",
}


class EventStatus(StrEnum):
    """What a calendar is told about an event."""

    TENTATIVE = "TENTATIVE"
    """The day was computed; nobody has settled it."""
    CONFIRMED = "CONFIRMED"
    CANCELLED = "CANCELLED"


@dataclass(frozen=True, slots=True)
class VisitHistory:
    """What a calendar needs to know about a visit's past, folded from the log."""

    changes: int
    """How often the event changed since it first existed: moved, done, dropped, its dates recomputed."""

    stamp: datetime
    """When it last changed, with its zone."""


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One visit as a calendar shows it. Texts are as typed; `calendar.to_ics` makes them harmless."""

    log_id: str
    """The log the visit belongs to."""

    key: DueKey
    """What names the visit in that log."""

    sequence: int
    """Number of changes so far; a reader keeps the highest."""

    stamp: datetime
    """Moment of the last change, with its zone."""

    status: EventStatus
    """Computed, settled or cancelled."""

    done: bool
    """The visit was made: no alarm any more, and the summary says so."""

    start: datetime
    """Local start; its zone is a `ZoneInfo`."""

    minutes: int
    """How long it takes."""

    summary: str
    """One line."""

    description: str
    """Several lines."""

    location: str
    """One line."""

    position_deg: tuple[float, float] | None = None
    """Latitude and longitude in degrees."""

    alarm_days: tuple[int, ...] = ALARM_DAYS
    """Days before the start at which to remind."""

    @property
    def uid(self) -> str:
        """The event's name for ever: a hash of what names the visit. Ids hold no line break, so no two visits clash."""
        parts = ("visit", self.log_id, self.key.tower, self.key.checklist, str(self.key.season), str(self.key.ordinal))
        return name_for_ever(parts)


def event_for(log_id: str, site: Site, tower: Tower, item: DueItem, history: VisitHistory) -> CalendarEvent:
    """The calendar event of a visit.

    Args:
        log_id: Id of the log.
        site: The tower's site: zone, place, access, emergency contact.
        tower: The tower.
        item: The visit as it stands.
        history: How often and when it changed.
    """
    return CalendarEvent(
        log_id=log_id,
        key=item.key,
        sequence=history.changes,
        stamp=history.stamp,
        status=_status(item, history),
        done=item.state is DueState.DONE,
        start=local_start(item.planned, START, ZoneInfo(site.time_zone)),
        minutes=MINUTES.get(item.checklist, _OTHER_MINUTES),
        summary=f"{_NAMES.get(item.checklist, item.checklist)} - {tower.id} ({tower.name})",
        description=_description(site, item),
        location=f"{site.name} - {site.roof_note}" if site.roof_note else site.name,
        position_deg=(float(site.latitude_deg), float(site.longitude_deg)),
    )


def local_start(on: date, at: time, zone: ZoneInfo) -> datetime:
    """A local time that exists: one that the change to summer time skips is moved on by as much as the clock jumps.

    Of a time that comes twice the first is meant, as RFC 5545 section 3.3.5 reads it.
    """
    return existing(datetime.combine(on, at, zone))


def existing(start: datetime) -> datetime:
    """The local time itself, or the one it becomes where the clock jumps over it; of a repeated time the first."""
    first = start.replace(fold=0)
    return first if tz.datetime_exists(first) else tz.resolve_imaginary(first)


def name_for_ever(parts: tuple[str, ...]) -> str:
    """A name that is the same for the same parts and differs for all others. Only the last may hold a line break."""
    return f"{hashlib.sha256(chr(10).join(parts).encode()).hexdigest()[:40]}@seasonlog"


def _status(item: DueItem, history: VisitHistory) -> EventStatus:
    if item.state is DueState.DROPPED:
        return EventStatus.CANCELLED
    settled = item.state is DueState.DONE or history.changes > 0
    return EventStatus.CONFIRMED if settled else EventStatus.TENTATIVE


def _description(site: Site, item: DueItem) -> str:
    season = season_name(item.season, site.latitude_deg)
    lines = (
        ("Dropped" if item.state is DueState.DROPPED else "Due because", item.why),
        ("Done", str(item.planned) if item.state is DueState.DONE else ""),
        ("Window", f"{item.opens} to {item.due} (last sensible day)"),
        ("Why", _WHY.get(item.checklist, "")),
        ("Why then", item.reason if item.reason != item.why else ""),
        ("Season", season),
        ("Access", site.access),
        ("Permits", site.permits),
        ("Emergency contact", site.emergency_contact),
    )
    return "\n".join(f"{label}: {text}" for label, text in lines if text)
