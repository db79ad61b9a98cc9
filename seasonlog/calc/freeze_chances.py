"""Dates and how likely they are: the first or last freezes of many seasons, and what they say of the next one.

A date is told for so many percent: by the 10 % date the first freeze has come in one season of ten that have one, and
on or after the 10 % date the last one still comes in one of ten. So 10 % is the cautious date of both.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist, stdev
from typing import NamedTuple

from seasonlog.calc.season_days import YEAR_DAYS, MonthDay, SeasonCalendar
from seasonlog.calc.units import positive, within
from seasonlog.errors import RatingError

LEAST_SEASONS = 10
"""Seasons with a freeze below which no date is told. Source: the fewest years the NCEI normals 1991-2020 take for a
station's own record (their readme)."""
LEAST_CHANCE = 0.10
"""Share of seasons with a freeze below which no date is told. Source: as NCEI's normals do (their methodology)."""

EDGE_DAYS = 14
BOTH_ENDS = (
    "it freezes at both ends of the season: frost the year round, or seasons that cut the winter in two because the "
    "latitude has the wrong sign; first and last freeze mean little"
)
_CAUTIOUS = 10.0


class Side(StrEnum):
    """Which freeze of a season."""

    FIRST = "first"
    LAST = "last"


@dataclass(frozen=True, slots=True)
class FreezeDays:
    """The first or the last freeze of many seasons, observed or simulated."""

    side: Side
    calendar: SeasonCalendar
    numbers: tuple[int, ...]
    """Day of the season, 0 to 364, of each season that had one; rising."""
    judged: int
    """Seasons looked at, those without a freeze too."""

    @property
    def chance(self) -> float:
        """Share of seasons that have one at all, 0 to 1; 0 of none."""
        return len(self.numbers) / self.judged if self.judged else 0.0

    @property
    def deviation_days(self) -> float | None:
        """Standard deviation [days]; None with fewer than two."""
        return stdev(self.numbers) if len(self.numbers) > 1 else None

    @property
    def missing(self) -> str:
        """Why there is no date; empty when there is one."""
        if self.judged < LEAST_SEASONS:
            return f"only {self.judged} seasons could be judged; {LEAST_SEASONS} or more are wanted"
        if self.chance < LEAST_CHANCE:
            least = f"below {100 * LEAST_CHANCE:.0f} % no date is told"
            return f"it comes in {100 * self.chance:.0f} % of the seasons; {least}"
        if len(self.numbers) < LEAST_SEASONS:
            return f"only {len(self.numbers)} seasons had one; {LEAST_SEASONS} or more are wanted"
        return ""

    def number(self, percent: float) -> float:
        """Day of the season [0 to 364] that goes with so many percent, of the seasons that have one.

        Args:
            percent: Above 0, below 100.

        Raises:
            RatingError: there is none at all, or the percent is impossible.
        """
        share = _share(percent)
        return ranked(self.numbers, share if self.side is Side.FIRST else 1.0 - share)

    def date(self, percent: float) -> MonthDay | None:
        """The date that goes with so many percent; None where too few seasons have one, see `missing`."""
        return None if self.missing else self.calendar.month_day(self.number(percent))

    def chance_by(self, on: MonthDay) -> float:
        """Chance in any season, 0 to 1, that the first has come by a day, or the last still comes on or after it.

        Seasons without a freeze count: it never exceeds `chance`.

        Raises:
            RatingError: there is no such day, or no season was judged.

        Source:
            theta F(t): discrete share of freeze seasons times the dates within these, as NCEI's Climatography No. 20
            of 1971-2000 told it; here with the counted dates instead of a fitted curve.
        """
        if not self.judged:
            raise RatingError("no season could be judged; a chance cannot be told")
        at = self.calendar.number(on)
        is_first = self.side is Side.FIRST
        return sum(each <= at if is_first else each >= at for each in self.numbers) / self.judged

    def error_days(self, percent: float) -> float | None:
        """One standard error of an observed date [days], see `percentile_error`; None with fewer than two."""
        deviation = self.deviation_days
        return None if deviation is None else percentile_error(deviation, len(self.numbers), percent)


class Freezes(NamedTuple):
    """First and last freezes at one threshold."""

    first: FreezeDays
    last: FreezeDays

    @property
    def at_both_ends(self) -> bool:
        """It freezes early in the season and late in it, so that the dates mean little: see `is_at_both_ends`."""
        both = self.first.numbers and self.last.numbers
        return bool(both) and is_at_both_ends(self.first.number(_CAUTIOUS), self.last.number(_CAUTIOUS))


def is_at_both_ends(first: float, last: float) -> bool:
    """Whether first and last freeze lie so near the ends of a season that the season is no season.

    Args:
        first: Day of the season of the first freeze, 0 to 364.
        last: The same of the last.

    Source:
        Two weeks at either end: common sense, no source. Frost the year round gets no dates from NCEI either.
    """
    return first < EDGE_DAYS and last >= YEAR_DAYS - EDGE_DAYS


def ranked(rising: Sequence[float], share: float) -> float:
    """The value that a share of all lie below, straight between ranks.

    Args:
        rising: One or more values in rising order.
        share: 0 to 1.

    Raises:
        RatingError: there is none, or the share is impossible.

    Source:
        Rank 1 + (n - 1) p, as NCEI's normals take it (Normals Calculation Methodology 2020).
    """
    if not rising:
        raise RatingError("a percentile of nothing is asked for; one value or more is wanted")
    rank = within(share, "share", "", 0.0, 1.0) * (len(rising) - 1)
    low = int(rank)
    high = min(low + 1, len(rising) - 1)
    return rising[low] + (rank - low) * (rising[high] - rising[low])


def percentile_error(deviation_days: float, seasons: int, percent: float) -> float:
    """One standard error of a percentile of so many seasons [days], their dates taken as normally distributed.

    Args:
        deviation_days: Standard deviation of the dates [days]; 0 when all are the same.
        seasons: How many, 1 or more.
        percent: Above 0, below 100.

    Raises:
        RatingError: a value is impossible.

    Source:
        Asymptotic error of a sample quantile, sqrt(p (1 - p) / n) / f(x_p), textbook: 1.25 s / sqrt(n) at 50 %,
        1.71 s / sqrt(n) at 10 and 90 %.
    """
    within(deviation_days, "spread of the dates", "days", 0.0, 366.0)
    positive(seasons, "number of seasons", "seasons", 1e6)
    share, normal = _share(percent), NormalDist()
    return deviation_days * math.sqrt(share * (1.0 - share) / seasons) / normal.pdf(normal.inv_cdf(share))


def chance_error(chance: float, seasons: int) -> float:
    """One standard error of a share of seasons, 0 to 1.

    Raises:
        RatingError: a value is impossible.

    Source:
        Binomial, sqrt(p (1 - p) / n), textbook; at 0 and 1 it is 0 and says too little.
    """
    within(chance, "share of seasons", "", 0.0, 1.0)
    return math.sqrt(chance * (1.0 - chance) / positive(seasons, "number of seasons", "seasons", 1e6))


def _share(percent: float) -> float:
    if not 0.0 < percent < 100.0:
        raise RatingError(f"chance is {percent:g} %: a number above 0 and below 100 is wanted; check it")
    return percent / 100.0
