"""From freeze dates to the days between which each visit of a season makes sense, each with its reason in words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from seasonlog.calc.freeze_chances import BOTH_ENDS, is_at_both_ends
from seasonlog.calc.freeze_dates import Record
from seasonlog.calc.season_days import YEAR_DAYS, MonthDay, SeasonCalendar
from seasonlog.calc.units import within
from seasonlog.errors import RatingError

ENABLE_LEAD_DAYS = 14
"""The fall enable is done this long before the early first freeze. Common practice, no source."""
ENABLE_OPEN_DAYS = 42
"""It may begin this long before it must be done: time for repairs and parts. Common practice, no source."""
DISABLE_OPEN_DAYS = 42
"""The spring disable may wait this long. Common practice, no source."""
MONTH_DAYS = 30
SNAP_LEAD_DAYS = 7
"""The check before the coldest stretch may be made in the week before it. Common practice, no source."""
STRETCH_DAYS = 30
CAUTIOUS_PERCENT = 10.0
MOST_DAYS = 120


class Visit(StrEnum):
    """What a window is for."""

    FALL_ENABLE = "fall enable"
    MID_WINTER = "mid-winter check"
    COLDEST = "check before the coldest stretch"
    SPRING_DISABLE = "spring disable"


@dataclass(frozen=True, slots=True)
class Window:
    """The days between which a visit makes sense, both inside."""

    visit: Visit
    opens: MonthDay
    due: MonthDay
    reason: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """The days of the year that are coldest on the average of the record."""

    begins: MonthDay
    ends: MonthDay
    mean_degf: float
    """Mean of their lowest temperatures [degF]."""


@dataclass(frozen=True, slots=True)
class Frost:
    """What the windows are worked from."""

    calendar: SeasonCalendar
    threshold_degf: float
    first: MonthDay
    """Early first freeze: it has come by this day in so many percent of the seasons that have one."""
    last: MonthDay
    """Late last freeze: it still comes on or after this day in so many percent of these."""
    percent: float = CAUTIOUS_PERCENT

    def reason(self, what: str, on: MonthDay) -> str:
        """Where a date comes from, in words."""
        return f"{what} freeze at {self.threshold_degf:g} degF on the {self.percent:g} % date, {on.words}"


def coldest_stretch(record: Record, seasons: Sequence[int], days: int = STRETCH_DAYS) -> Stretch:
    """The stretch of days with the lowest mean lowest temperature.

    Args:
        record: Daily lowest temperatures.
        seasons: Seasons looked at, by the year they begin in.
        days: Its length, 1 to 180.

    Raises:
        RatingError: the length is impossible, or some day of the year is never told.

    Source:
        Definition: mean of each day over the seasons, then the lowest mean of so many days on end; the earliest of
        equals.
    """
    within(days, "length of the stretch", "days", 1, 180)
    means = _day_means(record, seasons)
    sums = {begins: sum(means[begins : begins + days]) for begins in range(YEAR_DAYS - days + 1)}
    begins = min(sums, key=lambda each: (round(sums[each], 9), each))
    calendar = record.calendar
    return Stretch(calendar.month_day(begins), calendar.month_day(begins + days - 1), sums[begins] / days)


def windows(frost: Frost, coldest: Stretch | None = None, lead_days: int = ENABLE_LEAD_DAYS) -> list[Window]:
    """Every window of a season, in its order.

    Args:
        frost: The cautious first and last freeze: at 32 degF, or at 36 degF where a roof under a clear sky is colder
            than the screen the record was read in.
        coldest: The coldest stretch, where the record told one.
        lead_days: The fall enable is done this many days before the early first freeze, 0 to 120.

    Raises:
        RatingError: the days are impossible, the last freeze comes before the first, or it freezes the year round.

    Source:
        The dates as `freeze_chances.FreezeDays.date`; lead and length of the windows are common practice, no source.
    """
    within(lead_days, "days before the first freeze", "days", 0, MOST_DAYS)
    first, last = (frost.calendar.number(each) for each in (frost.first, frost.last))
    if last < first:
        raise RatingError(
            f"the last freeze, {frost.last.words}, comes before the first, {frost.first.words}, in a season that runs "
            f"{frost.calendar.words}; see whether the dates are swapped or the latitude has the wrong sign"
        )
    if is_at_both_ends(first, last):
        raise RatingError(f"no windows follow: {BOTH_ENDS}")
    between = [*_mid_winter(frost, first, last), *_before_coldest(frost.calendar, coldest)]
    between.sort(key=lambda each: (frost.calendar.number(each.due), each.visit))
    return [_enable(frost, first, lead_days), *between, _disable(frost, last)]


def _enable(frost: Frost, first: int, lead_days: int) -> Window:
    reason = (
        f"{lead_days} days before the {frost.reason('first', frost.first)}: in one season of "
        f"{100 / frost.percent:.3g} that freeze it comes by then"
    )
    due = first - lead_days
    return _window(frost.calendar, Visit.FALL_ENABLE, due - ENABLE_OPEN_DAYS, due, reason)


def _disable(frost: Frost, last: int) -> Window:
    reason = (
        f"the day after the {frost.reason('last', frost.last)}: in {frost.percent:g} % of the seasons it still freezes "
        "on or after that day, so look at the forecast before the heaters go off"
    )
    return _window(frost.calendar, Visit.SPRING_DISABLE, last + 1, last + 1 + DISABLE_OPEN_DAYS, reason)


def _mid_winter(frost: Frost, first: int, last: int) -> Iterator[Window]:
    """One check in each month of frost, the first a month after the early first freeze."""
    for month, due in enumerate(range(first + MONTH_DAYS, last + 1, MONTH_DAYS), 1):
        reason = (
            f"month {month} after the early first freeze, {frost.first.words}: while it freezes, what was proven in "
            "fall is looked at once a month"
        )
        yield _window(frost.calendar, Visit.MID_WINTER, due - SNAP_LEAD_DAYS, due, reason)


def _before_coldest(calendar: SeasonCalendar, coldest: Stretch | None) -> Iterator[Window]:
    if coldest is not None:
        reason = (
            f"{coldest.begins.words} to {coldest.ends.words} are the coldest days of the record, with lowest "
            f"temperatures of {coldest.mean_degf:.1f} degF on average: look before they begin"
        )
        begins = calendar.number(coldest.begins)
        yield _window(calendar, Visit.COLDEST, begins - SNAP_LEAD_DAYS, begins, reason)


def _window(calendar: SeasonCalendar, visit: Visit, opens: int, due: int, reason: str) -> Window:
    return Window(visit, calendar.month_day(opens), calendar.month_day(due), reason)


def _day_means(record: Record, seasons: Sequence[int]) -> list[float]:
    chosen, calendar = set(seasons), record.calendar
    days: list[list[float]] = [[] for _ in range(YEAR_DAYS)]
    for day, low in record.lowest.items():
        if calendar.season_of(day) in chosen:
            days[calendar.number(day)].append(low)
    if never := [calendar.month_day(at).words for at, lows in enumerate(days) if not lows]:
        raise RatingError(f"no season tells the lowest temperature of {never[0]}; the coldest stretch cannot be found")
    return [sum(lows) / len(lows) for lows in days]
