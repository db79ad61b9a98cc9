"""What the record says about the plan: who is to make which visit when, and which visits have nobody.

Days are dates and times whole minutes after midnight, local to the site. The planners' own values are in `planning`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple

from seasonlog.domain.season_due import DueKey

DAY_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class PlannedVisit:
    """One visit as it was published last."""

    key: DueKey
    first_day: date
    """First day on which it may be made, as it was when it was published."""
    last_day: date
    """Last one."""
    person: str = ""
    """Register id of whoever makes it; empty: nobody."""
    day: date | None = None
    """The day it is planned for; None: it is not planned."""
    start_minute: int = 0
    minutes: int = 0
    because: str = ""
    """Why it is not planned."""
    added: str = ""
    """What it is for, of a visit that no window asked for; empty for the season's own."""
    had: tuple[str, ...] = field(default=())
    """Everybody it was ever given to: their calendars have it."""

    @property
    def is_planned(self) -> bool:
        """Somebody is to make it on a day."""
        return self.day is not None

    @property
    def clock(self) -> str:
        """When the work starts: 07:25."""
        return f"{self.start_minute // 60:02}:{self.start_minute % 60:02}"


def key_body(key: DueKey) -> dict[str, str | int]:
    """What names a visit, as entries hold it."""
    return {"tower": key.tower, "checklist": key.checklist, "season": key.season, "ordinal": key.ordinal}


def body_of(visit: PlannedVisit) -> dict[str, Any]:
    """The body of the entry that publishes a visit, or that it has nobody."""
    window = {"first_day": visit.first_day.isoformat(), "last_day": visit.last_day.isoformat()}
    body = {
        **key_body(visit.key),
        **window,
        "because": visit.because,
        **({"added": visit.added} if visit.added else {}),
    }
    if visit.day is None:
        return body
    times = {"start_minute": visit.start_minute, "minutes": visit.minutes}
    return body | {"person": visit.person, "day": visit.day.isoformat()} | times


def says_the_same(old: PlannedVisit | None, new: PlannedVisit) -> bool:
    """Whether an entry about the new state would tell nothing about person, day, time or reason that is new."""
    if old is None or not (old.is_planned and new.is_planned):
        return old is not None and not old.is_planned and not new.is_planned and old.because == new.because
    return (old.person, old.day, old.start_minute, old.minutes) == (new.person, new.day, new.start_minute, new.minutes)


class AwaySpan(NamedTuple):
    """Somebody who was taken out of the plan."""

    person: str
    """Register id."""
    first: date
    last: date
    from_minute: int = 0
    """On the first day, when it was not away from the start [minutes after midnight]."""

    @classmethod
    def read(cls, told: Sequence[Any]) -> "AwaySpan":
        """As an entry holds it."""
        return cls(told[0], date.fromisoformat(told[1]), date.fromisoformat(told[2]), *told[3:])

    def body(self) -> list[str | int]:
        """As an entry holds it; without the time where a whole day is meant."""
        whole = [self.person, self.first.isoformat(), self.last.isoformat()]
        return [*whole, self.from_minute] if self.from_minute else [*whole]


@dataclass(frozen=True, slots=True)
class PlanBasis:
    """What a plan was made from, besides the register and the season."""

    text: str
    """The plan file, whole."""
    away: tuple[AwaySpan, ...] = ()
    """People who were taken out since."""

    def body(self) -> Mapping[str, Any]:
        """As the entry holds it."""
        return {"text": self.text, "away": [each.body() for each in self.away]}
