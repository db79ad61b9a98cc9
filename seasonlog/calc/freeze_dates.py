"""When a place freezes first and last in each season, from daily lowest temperatures; gaps are judged, not filled."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypeAlias

from seasonlog.calc.climate import Daily, whole_degf
from seasonlog.calc.freeze_chances import FreezeDays, Freezes, Side
from seasonlog.calc.season_days import NORTH, SOUTH, SeasonCalendar
from seasonlog.calc.units import within
from seasonlog.errors import RatingError

MOST_MISSING_DAYS = 9
"""Missing days before a first freeze, or after a last one, up to which the date still counts. Source: Utah State
University's freeze tables drop a season with ten (second hand)."""
USUAL_SEASONS = 30
"""Seasons taken unless told otherwise. Source: length of a climate normal (WMO, NCEI)."""
COLDEST_THRESHOLD_DEGF, WARMEST_THRESHOLD_DEGF = -40.0, 60.0
CLOSE_DEGF = 1e-6
"""What arithmetic may lose between degC and degF; a day at the threshold counts as reached."""
_ON_GRID_DEGF, _ON_GRID_SHARE = 0.1, 0.8
_LEAST_DAYS_OF_MONTH = 20

Lowest: TypeAlias = Mapping[date, float]
"""Lowest temperature of each day that has one [degF]."""


@dataclass(frozen=True, slots=True)
class Record:
    """Daily lowest temperatures of a place and the seasons they are counted in."""

    lowest: Lowest
    calendar: SeasonCalendar

    @property
    def seasons(self) -> range:
        """The seasons that lie whole between the first and the last day; gaps inside may remain."""
        if not self.lowest:
            return range(0)
        first, last = min(self.lowest), max(self.lowest)
        begins, ends = self.calendar.season_of(first), self.calendar.season_of(last)
        whole_first = begins if self.calendar.bounds(begins)[0] == first else begins + 1
        whole_last = ends if self.calendar.bounds(ends)[1] == last else ends - 1
        return range(whole_first, max(whole_first, whole_last + 1))


def lowest_of(days: Iterable[Daily], *, rounded: bool) -> dict[date, float]:
    """The days that have a lowest temperature [degF].

    Args:
        days: As a weather file tells them.
        rounded: Round to whole degF first: right where the station reads whole degF and the file keeps degC. Unrounded,
            28 degF comes back as 28.04 and is missed.
    """
    told = ((each.day, each.tmin_degf) for each in days if each.tmin_degf is not None)
    return {day: whole_degf(low) if rounded else low for day, low in told}


def was_read_in_whole_degf(days: Iterable[Daily]) -> bool:
    """Whether a station reads whole degF, seen from how its lowest temperatures lie.

    Args:
        days: As a weather file tells them.

    Source:
        Own rule, no source: 80 % of them within 0.1 degF of a whole one. Two long records of the United States have
        98 %; tenths of a degC without such habit would have 22 %.
    """
    low = [each.tmin_degf for each in days if each.tmin_degf is not None]
    on_grid = sum(abs(each - whole_degf(each)) <= _ON_GRID_DEGF for each in low)
    return bool(low) and on_grid >= _ON_GRID_SHARE * len(low)


def colder_half(lowest: Lowest) -> SeasonCalendar | None:
    """The seasons of a place by its own winter; None where January and July are not told or hardly differ.

    Args:
        lowest: Lowest temperatures by day [degF].
    """
    january, july = ([low for day, low in lowest.items() if day.month == month] for month in (1, 7))
    if min(len(january), len(july)) < _LEAST_DAYS_OF_MONTH:
        return None
    warmer = sum(july) / len(july) - sum(january) / len(january)
    return None if abs(warmer) < 1.0 else NORTH if warmer > 0 else SOUTH


def usual_seasons(record: Record, count: int = USUAL_SEASONS, since: int | None = None) -> range:
    """The last whole seasons of a record.

    Args:
        record: Daily lowest temperatures.
        count: How many at most.
        since: First season instead, by the year it begins in; then `count` does not matter.

    Raises:
        RatingError: none is whole, or the count is impossible.
    """
    within(count, "number of seasons", "seasons", 1, 1000)
    whole = record.seasons
    chosen = [each for each in whole if since is None or each >= since]
    if not chosen:
        has = f"seasons {whole[0]} to {whole[-1]} are whole" if whole else "no season is whole"
        what = "" if since is None else f" from {since} on"
        raise RatingError(f"the record holds no whole season{what} ({record.calendar.words}): {has}")
    return range(chosen[0] if since is not None else chosen[-count:][0], chosen[-1] + 1)


@dataclass(frozen=True, slots=True)
class Observed:
    """The first or the last freeze of each season looked at."""

    side: Side
    calendar: SeasonCalendar
    dates: Mapping[int, date]
    """Season to day, of the seasons that had one."""
    without: tuple[int, ...]
    """Seasons without a freeze."""
    dropped: tuple[int, ...]
    """Seasons that cannot be judged: too many days missing where it may have been."""

    @property
    def days(self) -> FreezeDays:
        """The same as day numbers, for chances."""
        numbers = tuple(sorted(self.calendar.number(day) for day in self.dates.values()))
        return FreezeDays(self.side, self.calendar, numbers, len(self.dates) + len(self.without))


def observed(record: Record, threshold_degf: float, seasons: Iterable[int]) -> tuple[Observed, Observed]:
    """First and last day at or below a threshold, season by season.

    Args:
        record: Daily lowest temperatures.
        threshold_degf: At or below this it counts as a freeze [degF]; convert degC with `units.degf_from_degc`.
        seasons: Which seasons, by the year they begin in.

    Returns:
        The first freezes, the last freezes.

    Raises:
        RatingError: the threshold is impossible.

    Source:
        NCEI Normals Calculation Methodology 2020 for the definition; for gaps see `MOST_MISSING_DAYS`.
    """
    threshold(threshold_degf)
    chosen = tuple(seasons)
    first, last = (_side(record, threshold_degf, chosen, side) for side in Side)
    return first, last


def freezes(record: Record, threshold_degf: float, seasons: Iterable[int]) -> Freezes:
    """The observed first and last freezes ready for chances. Arguments as `observed`."""
    first, last = observed(record, threshold_degf, seasons)
    return Freezes(first.days, last.days)


def threshold(degf: float) -> float:
    """The threshold [degF], if a freeze could be meant by it.

    Raises:
        RatingError: it is outside -40 to 60 degF, or not a number.
    """
    return within(degf, "threshold", "degF", COLDEST_THRESHOLD_DEGF, WARMEST_THRESHOLD_DEGF)


def _side(record: Record, threshold_degf: float, seasons: Sequence[int], side: Side) -> Observed:
    dates: dict[int, date] = {}
    without, dropped = [], []
    for season in seasons:
        found, missing = _search(record.lowest, _season_days(record.calendar, season, side), threshold_degf)
        if missing > MOST_MISSING_DAYS:
            dropped.append(season)
        elif found is None:
            without.append(season)
        else:
            dates[season] = found
    return Observed(side, record.calendar, dates, tuple(without), tuple(dropped))


def _season_days(calendar: SeasonCalendar, season: int, side: Side) -> Iterator[date]:
    """From the season's first day on, or from its last day back."""
    begins, ends = calendar.bounds(season)
    length = (ends - begins).days + 1
    start, step = (begins, 1) if side is Side.FIRST else (ends, -1)
    return (start + timedelta(days=step * each) for each in range(length))


def _search(lowest: Lowest, days: Iterable[date], threshold_degf: float) -> tuple[date | None, int]:
    """The first of the days that is cold enough, and how many before it are missing."""
    missing = 0
    for day in days:
        low = lowest.get(day)
        if low is None:
            missing += 1
        elif low <= threshold_degf + CLOSE_DEGF:
            return day, missing
    return None, missing
