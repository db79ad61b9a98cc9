"""Days of the year inside a freeze season: counted from its first day on a calendar without leap days."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from seasonlog.calc.units import within
from seasonlog.errors import RatingError

MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Days of each month, January first, of a year without leap day."""
YEAR_DAYS = 365
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
           "December")  # fmt: skip


class MonthDay(NamedTuple):
    """A day of every year; 29 February is the 28th."""

    month: int
    day: int

    def __str__(self) -> str:
        """`10-15`, as a site's dates are written."""
        return f"{self.month:02d}-{self.day:02d}"

    @property
    def words(self) -> str:
        """`15 October`."""
        return f"{self.day} {MONTHS[self.month - 1]}"


@dataclass(frozen=True, slots=True)
class SeasonCalendar:
    """Counts the days of a season from 0, its first day, to 364.

    Source:
        NCEI Normals Calculation Methodology 2020: freeze seasons begin on August 1. Half a year later south of the
        equator: common sense, no source. 29 February is taken as the 28th, so that a day has the same number each year.
    """

    first_month: int
    """8 north of the equator, 2 south of it."""

    @property
    def is_southern(self) -> bool:
        """Seasons run February to January."""
        return self.first_month == SOUTHERN_FIRST_MONTH

    @property
    def months(self) -> tuple[int, ...]:
        """The twelve months in the order of the season."""
        return tuple((self.first_month - 1 + each) % 12 + 1 for each in range(12))

    @property
    def words(self) -> str:
        """`August to July`."""
        return f"{MONTHS[self.months[0] - 1]} to {MONTHS[self.months[-1] - 1]}"

    def season_of(self, on: date) -> int:
        """The season of a day, named by the year it begins in."""
        return on.year if on.month >= self.first_month else on.year - 1

    def bounds(self, season: int) -> tuple[date, date]:
        """First and last day of a season."""
        return date(season, self.first_month, 1), date(season + 1, self.first_month, 1) - timedelta(days=1)

    def number(self, on: MonthDay | date) -> int:
        """Which day of its season it is, 0 to 364.

        Raises:
            RatingError: there is no such day.
        """
        day = 28 if (on.month, on.day) == (2, 29) else on.day
        if not 1 <= on.month <= 12 or not 1 <= day <= MONTH_DAYS[on.month - 1]:
            raise RatingError(f"there is no day {on.month:02d}-{on.day:02d}; month and day are wanted, such as 10-15")
        return (_BEFORE[on.month - 1] + day - 1 - _BEFORE[self.first_month - 1]) % YEAR_DAYS

    def month_day(self, number: float) -> MonthDay:
        """The day of a number, fractions to the nearest day, halves up; numbers beyond a season run on around the year.

        Raises:
            RatingError: it is not a number.
        """
        within(number, "day of the season", "days", -10.0 * YEAR_DAYS, 10.0 * YEAR_DAYS)
        left = (int((number + 0.5) // 1) + _BEFORE[self.first_month - 1]) % YEAR_DAYS
        month = next(each for each in range(12, 0, -1) if _BEFORE[each - 1] <= left)
        return MonthDay(month, left - _BEFORE[month - 1] + 1)


_BEFORE = tuple(sum(MONTH_DAYS[:each]) for each in range(12))
SOUTHERN_FIRST_MONTH = 2
NORTH, SOUTH = SeasonCalendar(8), SeasonCalendar(SOUTHERN_FIRST_MONTH)


def calendar_at(latitude_deg: float) -> SeasonCalendar:
    """The seasons of a place; the equator counts as north.

    Args:
        latitude_deg: Degrees, south negative.

    Raises:
        RatingError: it is no latitude.
    """
    return SOUTH if within(latitude_deg, "latitude", "degrees", -90.0, 90.0) < 0 else NORTH
