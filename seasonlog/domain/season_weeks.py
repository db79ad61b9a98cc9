"""A season as a strip of weeks: the chance of frost in each, the windows of its visits, and what was planned and done.

A season has 52 weeks that run on from its first day; the last one takes the day or two that are left over. Days that
lie outside the season, such as a spring disable carried over from the one before, stand in the nearest week.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any, NamedTuple

from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.season_days import SeasonCalendar
from seasonlog.calc.units import within
from seasonlog.domain.climate_record import PERCENTS, Basis, SiteClimate, calendar_of, month_day
from seasonlog.domain.due_state import DueState
from seasonlog.domain.season import season_bounds
from seasonlog.domain.season_due import DueItem, to_do

WEEKS = 52
WEEK_DAYS = 7


@dataclass(frozen=True, slots=True)
class SeasonWeeks:
    """The weeks of one season."""

    first: date
    """First day of the season."""
    last: date
    """Last one."""

    @classmethod
    def of(cls, season: int, latitude_deg: float) -> "SeasonWeeks":
        """The weeks of a season, August to July north of the equator and on it, February to January south of it.

        Args:
            season: Its first year.
            latitude_deg: Degrees, south negative.
        """
        return cls(*season_bounds(season, latitude_deg))

    def week(self, day: date) -> int:
        """The week of a day, 0 to 51; a day outside the season stands in the nearest week."""
        return min(max((day - self.first).days // WEEK_DAYS, 0), WEEKS - 1)

    def holds(self, day: date) -> bool:
        """Whether a day lies inside the season."""
        return self.first <= day <= self.last

    def begins(self, week: int) -> date:
        """First day of a week, 0 to 51."""
        return self.first + timedelta(days=WEEK_DAYS * week)

    @property
    def months(self) -> tuple[tuple[int, int], ...]:
        """(week, month): the week that holds the first day of each month, in order."""
        firsts = (date(year, month, 1) for year in (self.first.year, self.last.year) for month in range(1, 13))
        return tuple((self.week(day), day.month) for day in dict.fromkeys(firsts) if self.holds(day))


class Chances(NamedTuple):
    """How likely it is that a day lies between the first and the last freeze of its season."""

    calendar: SeasonCalendar
    first: tuple[tuple[float, float], ...]
    """(day of the season, share of the seasons with a freeze whose first has come by then), rising."""
    last: tuple[tuple[float, float], ...]
    """(day of the season, share of these whose last was before it), rising."""
    comes: float
    """Share of seasons that have a freeze at all, 0 to 1; 1 where that is not told."""
    is_told: bool
    """Whether `comes` is known."""

    def on(self, day: date) -> float:
        """Chance, 0 to 1, that the first freeze has come by a day and the last has not passed.

        In a season with a freeze the two cannot fail together: a last freeze that has passed had a first one before
        it. So both hold in the share whose first has come, less the share whose last was before the day.
        """
        at = float(self.calendar.number(day))
        return self.comes * max(share_at(self.first, at) - share_at(self.last, at), 0.0)


def chances_of(climate: SiteClimate | None) -> Chances | None:
    """The chances a site's climate entry tells; None where typed dates count, or a percentile is missing."""
    if climate is None or climate.basis is Basis.TYPED:
        return None
    calendar = calendar_of(climate.body)
    first, last = (_numbers(climate.side(side), climate.basis, calendar) for side in Side)
    if len(first) < len(PERCENTS) or len(last) < len(PERCENTS):
        return None
    told = [share for side in Side if (share := _comes(climate.side(side), climate.basis)) is not None]
    late_first = tuple(reversed(last))  # the last freeze's 90 % date comes before its 10 % date
    return Chances(calendar, _curve(first), _curve(late_first), min(told, default=1.0), bool(told))


def _numbers(told: Mapping[str, Any], basis: Basis, calendar: SeasonCalendar) -> list[float]:
    dates = told.get(str(basis)) or {}
    return [float(calendar.number(month_day(dates[str(each)]))) for each in PERCENTS if str(each) in dates]


def _comes(told: Mapping[str, Any], basis: Basis) -> float | None:
    percent = told["published_chance_percent"] if basis is Basis.PUBLISHED else told["chance_percent"]
    return float(percent) / 100.0 if percent else None


def _curve(days: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Straight through the 10, 50 and 90 % days, and on with the same slope to none and to all."""
    early, middle, late = days
    tail = 0.1 / 0.4
    none, whole = early - tail * (middle - early), late + tail * (late - middle)
    return ((none, 0.0), (early, 0.1), (middle, 0.5), (late, 0.9), (whole, 1.0))


def share_at(curve: Sequence[tuple[float, float]], at: float) -> float:
    """The share a rising curve of straight pieces has at a day; below its first point none, from its last one all.

    Args:
        curve: (day, share), both rising; of points on one day the last one counts.
        at: Day of the season.

    Raises:
        RatingError: the day is no number.
    """
    within(at, "day of the season", "days", -3660.0, 3660.0)
    if at < curve[0][0]:
        return 0.0
    index = max(number for number, (day, _) in enumerate(curve) if day <= at)
    if index == len(curve) - 1:
        return curve[-1][1]
    (day, share), (end, more) = curve[index : index + 2]
    return min(share + (more - share) * (at - day) / (end - day), more)


def week_shares(weeks: SeasonWeeks, chances: Chances) -> tuple[float, ...]:
    """The chance of each week, 0 to 1, taken on its fourth day."""
    return tuple(chances.on(weeks.begins(week) + timedelta(days=WEEK_DAYS // 2)) for week in range(WEEKS))


class Sign(StrEnum):
    """What a mark in a week says; the more pressing comes first."""

    OVERDUE = "overdue"
    """In the week of its last sensible day, which has passed."""
    PLANNED = "planned"
    """A published plan gives it to a person in this week."""
    OPEN = "open"
    """May be made now; its planned day, as no plan gives it to anybody."""
    UPCOMING = "upcoming"
    """Not open yet; likewise."""
    DONE = "done"
    """Made in this week."""
    DROPPED = "dropped"
    """Was to be made in this week; taken out."""


PRESSING = tuple(Sign)
"""Of several marks in one week the first of these is shown."""

_SIGN_OF_STATE = {
    DueState.UPCOMING: Sign.UPCOMING,
    DueState.OPEN: Sign.OPEN,
    DueState.OVERDUE: Sign.OVERDUE,
    DueState.DONE: Sign.DONE,
    DueState.DROPPED: Sign.DROPPED,
}
_SETTLED = (Sign.DONE, Sign.DROPPED)


class Mark(NamedTuple):
    """One thing to see in one week."""

    week: int
    sign: Sign
    item: DueItem


class Span(NamedTuple):
    """The window of one kind of visit, in weeks; both ends belong to it."""

    opens: int
    due: int
    checklist: str


def marks(items: Iterable[DueItem], weeks: SeasonWeeks) -> Iterator[Mark]:
    """What is planned, done, overdue and dropped: one mark a visit, two where one overdue is planned again.

    Args:
        items: The visits, as they stand on the day.
        weeks: The season shown.
    """
    for item in items:
        sign = _SIGN_OF_STATE[item.state]
        if sign is Sign.OVERDUE:
            yield Mark(weeks.week(item.due), sign, item)
        if sign not in _SETTLED and item.planned_with:
            yield Mark(weeks.week(item.planned), Sign.PLANNED, item)
        elif sign is not Sign.OVERDUE:
            yield Mark(weeks.week(item.planned), sign, item)


def shown(found: Iterable[Mark]) -> dict[int, Sign]:
    """Week to the most pressing sign in it."""
    out: dict[int, Sign] = {}
    for mark in found:
        held = out.get(mark.week, mark.sign)
        out[mark.week] = min(held, mark.sign, key=PRESSING.index)
    return out


def spans(items: Iterable[DueItem], weeks: SeasonWeeks) -> tuple[Span, ...]:
    """The windows from opening to last sensible day, each once, the earliest first; those outside the season left out.

    Args:
        items: The visits, as they stand on the day.
        weeks: The season shown.
    """
    inside = (item for item in items if item.due >= weeks.first and item.opens <= weeks.last)
    return tuple(sorted({Span(weeks.week(item.opens), weeks.week(item.due), item.checklist) for item in inside}))


class Count(NamedTuple):
    """How the visits of a season stand."""

    asked: int
    """All but the dropped ones."""
    done: int
    due_now: int
    """Open now."""
    overdue: int
    """Not those that a later one of the same kind replaced: one visit now is all that can be done about them."""


def count(items: Sequence[DueItem]) -> Count:
    """How many visits are asked for and done, and how many are to be done now: open and overdue."""
    states = [item.state for item in items if item.state is not DueState.DROPPED]
    now = [item.state for item in to_do(items)]
    return Count(len(states), states.count(DueState.DONE), now.count(DueState.OPEN), now.count(DueState.OVERDUE))
