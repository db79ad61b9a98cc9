"""Thousands of seasons made from a short record, so that rare dates stand on more than three observed seasons.

The recipe of the NCEI climate normals: each season is put together from twelve blocks of a month. A block comes from a
random year and starts up to 14 days early or late; then it is made as warm as that month was in another random year.
"""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from typing import NamedTuple, Protocol

from seasonlog.calc.freeze_chances import LEAST_SEASONS, FreezeDays, Freezes, Side
from seasonlog.calc.freeze_dates import CLOSE_DEGF, Record, threshold
from seasonlog.calc.season_days import MONTH_DAYS, MONTHS, YEAR_DAYS, SeasonCalendar
from seasonlog.calc.units import within
from seasonlog.errors import RatingError

SIMULATED_SEASONS = 6000
"""Enough that the draw moves a date by less than a day. NCEI takes 10,000."""
MOST_OFFSET_DAYS = 14
"""Source: NCEI Normals Calculation Methodology 2020."""
MOST_MISSING_DAYS = 3
"""Missing days a month may have; the rest speak for it. Common practice, no source."""
MOST_SHIFT_DEGF = 10.0
"""A published monthly normal further than this from the record is of another place or unit. Common sense, no source."""
NO_SHIFT = (0.0,) * 12
EXPECTED_ERROR = (
    "simulated dates: within 3 days, on average 1 to 2, of the dates NCEI published for Albany and New York Central "
    "Park, on which the recipe was settled; expect 1.4 to 2.5 days on average at another station, 12 at worst"
)

UNKNOWN_ERROR = "simulated dates: the recipe was settled on some 30 seasons that all froze; the error is not known here"
SETTLED_SEASONS = 25
"""With fewer seasons the measured error is not taken to hold. Common sense, no source."""


class Randomness(Protocol):
    """What `random.Random` gives, seeded by the caller."""

    def randrange(self, start: int, /) -> int:
        """A whole number from 0 to below `start`."""


class _Block(NamedTuple):
    """Days of one month's length: the new coldest days as they come, from the front and from the back.

    The degrees are negative, so that both lists rise.
    """

    mean_degf: float
    front: list[float]
    front_days: list[int]
    back: list[float]
    back_days: list[int]


class _Placed(NamedTuple):
    """A block in a season."""

    begins: int
    block: _Block
    warmer_degf: float


@dataclass(slots=True)
class _Pool:
    """What seasons are drawn from. Days are counted through: season x 365 + day of the season."""

    lowest: Mapping[int, float]
    lengths: tuple[int, ...]
    starts: list[list[int]]
    """Where the blocks of each month may start."""
    means: list[list[float]]
    """How cold each month was, year by year, shift included."""
    blocks: dict[tuple[int, int], _Block] = field(default_factory=dict)

    def season(self, randomness: Randomness) -> list[_Placed]:
        """One season, drawn."""
        placed, begins = [], 0
        for month, length in enumerate(self.lengths):
            starts, means = self.starts[month], self.means[month]
            block = self._block(starts[randomness.randrange(len(starts))], length)
            mean = means[randomness.randrange(len(means))]
            placed.append(_Placed(begins, block, mean - block.mean_degf))
            begins += length
        return placed

    def _block(self, start: int, length: int) -> _Block:
        found = self.blocks.get((start, length))
        if found is None:
            found = self.blocks[start, length] = _block_of(list(_told(self.lowest, start, length)))
        return found


def simulate(
    record: Record,
    thresholds_degf: Sequence[float],
    seasons: Sequence[int],
    randomness: Randomness,
    *,
    count: int = SIMULATED_SEASONS,
    shift_degf: Sequence[float] = NO_SHIFT,
) -> dict[float, Freezes]:
    """First and last freezes of many simulated seasons, all thresholds from the same seasons.

    Args:
        record: Daily lowest temperatures, rounded to whole degF where the station reads them so. The simulated days
            keep their fractions: rounding them again makes the dates worse.
        thresholds_degf: At or below these it counts as a freeze [degF].
        seasons: Seasons to draw from, by the year they begin in.
        randomness: Source of random numbers; the same seed gives the same dates.
        count: Seasons to simulate, 100 to 100,000.
        shift_degf: Added to each month, January first, see `shift` [degF].

    Raises:
        RatingError: a value is impossible, or a month has too few whole years to draw from.

    Source:
        NCEI Normals Calculation Methodology 2020 with its 1981-2010 appendix, without its checks for extremes and for
        steps between months and without filling from neighbours.
    """
    for degf in thresholds_degf:
        threshold(degf)
    within(count, "number of seasons to simulate", "seasons", 100, 100_000)
    pool = _pool(record, seasons, shift_degf)
    found: dict[float, tuple[list[int], list[int]]] = {degf: ([], []) for degf in thresholds_degf}
    for _ in range(count):
        placed = pool.season(randomness)
        for degf, (firsts, lasts) in found.items():
            if (first := _first(placed, degf)) is not None:
                firsts.append(first)
                lasts.append(_last(placed, degf, first))
    return {degf: _freezes(record.calendar, *days, count) for degf, days in found.items()}


def is_settled(days: FreezeDays) -> bool:
    """Whether the record is like those on which the error of simulated dates was measured.

    Args:
        days: The freezes observed: as many seasons, and each of them reached the threshold.
    """
    return days.judged >= SETTLED_SEASONS and len(days.numbers) == days.judged


def expected_error(observed: Sequence[FreezeDays]) -> str:
    """How far simulated dates may be off, in words; empty where nothing ever freezes."""
    freezing = [days for days in observed if days.numbers]
    if not freezing:
        return ""
    return EXPECTED_ERROR if all(map(is_settled, freezing)) else UNKNOWN_ERROR


def shift(record: Record, seasons: Sequence[int], normals_degf: Sequence[float]) -> tuple[float, ...]:
    """How much warmer published monthly normals of the lowest temperature are than the record [degF], January first.

    Args:
        record: Daily lowest temperatures.
        seasons: The seasons looked at.
        normals_degf: Twelve mean lowest temperatures, January first [degF].

    Raises:
        RatingError: there are not twelve, or one is so far off that place or unit must be wrong.

    Source:
        NCEI shifts the days so that each month agrees with its homogenised mean (methodology as `simulate`).
    """
    if len(normals_degf) != 12:
        raise RatingError(f"{len(normals_degf)} monthly normals are given; twelve are wanted")
    unmoved = _pool(record, seasons, NO_SHIFT)
    by_month = dict(zip(record.calendar.months, unmoved.means, strict=True))
    found = tuple(normals_degf[month - 1] - sum(by_month[month]) / len(by_month[month]) for month in range(1, 13))
    for month, warmer in enumerate(found, 1):
        _believable_shift(month, warmer)
    return found


def _believable_shift(month: int, degf: float) -> None:
    if not abs(degf) <= MOST_SHIFT_DEGF:
        raise RatingError(
            f"month {month}: the published normal is {degf:+.1f} degF from the record's mean; more than "
            f"{MOST_SHIFT_DEGF:g} is another place or another unit"
        )


def _pool(record: Record, seasons: Sequence[int], shift_degf: Sequence[float]) -> _Pool:
    if len(shift_degf) != 12:
        raise RatingError(f"{len(shift_degf)} monthly shifts are given; twelve are wanted")
    lowest = _counted_through(record)
    months = record.calendar.months
    lengths = tuple(MONTH_DAYS[month - 1] for month in months)
    starts, means, begins = [], [], 0
    for month, length in zip(months, lengths, strict=True):
        within(shift_degf[month - 1], f"shift of month {month}", "degF", -MOST_SHIFT_DEGF, MOST_SHIFT_DEGF)
        firsts = [season * YEAR_DAYS + begins for season in seasons]
        own = [list(_told(lowest, at, length)) for at in firsts]
        means.append([_mean(days) + shift_degf[month - 1] for days in own if _enough(days, length)])
        starts.append(_whole_starts(lowest, firsts, length))
        begins += length
        if len(means[-1]) < LEAST_SEASONS:
            wanted = f"{LEAST_SEASONS} or more are wanted to simulate"
            raise RatingError(f"only {len(means[-1])} seasons have {MONTHS[month - 1]} whole; {wanted}")
    return _Pool(lowest, lengths, starts, means)


def _counted_through(record: Record) -> dict[int, float]:
    """Lowest by season x 365 + day; 28 and 29 February share a number and the colder one counts."""
    calendar = record.calendar
    found: dict[int, float] = {}
    for day, low in record.lowest.items():
        at = calendar.season_of(day) * YEAR_DAYS + calendar.number(day)
        found[at] = min(low, found.get(at, low))
    return found


def _whole_starts(lowest: Mapping[int, float], firsts: Sequence[int], length: int) -> list[int]:
    offsets = range(-MOST_OFFSET_DAYS, MOST_OFFSET_DAYS + 1)
    return [first + by for first in firsts for by in offsets if _is_whole(lowest, first + by, length)]


def _is_whole(lowest: Mapping[int, float], start: int, length: int) -> bool:
    return sum(at in lowest for at in range(start, start + length)) >= length - MOST_MISSING_DAYS


def _told(lowest: Mapping[int, float], start: int, length: int) -> Iterator[tuple[int, float]]:
    return ((day, lowest[start + day]) for day in range(length) if start + day in lowest)


def _enough(days: Sequence[tuple[int, float]], length: int) -> bool:
    return len(days) >= length - MOST_MISSING_DAYS


def _mean(days: Sequence[tuple[int, float]]) -> float:
    return sum(low for _, low in days) / len(days)


def _block_of(days: list[tuple[int, float]]) -> _Block:
    return _Block(_mean(days), *_new_coldest(days), *_new_coldest(days[::-1]))


def _new_coldest(days: Sequence[tuple[int, float]]) -> tuple[list[float], list[int]]:
    """The days colder than every one before, as negative degrees and day numbers."""
    coldest = accumulate((low for _, low in days), min)
    before = float("inf")
    degrees, numbers = [], []
    for (day, _), low in zip(days, coldest, strict=True):
        if low < before:
            degrees.append(-low)
            numbers.append(day)
            before = low
    return degrees, numbers


def _first(season: Sequence[_Placed], threshold_degf: float) -> int | None:
    for begins, block, warmer in season:
        at = bisect_left(block.front, warmer - threshold_degf - CLOSE_DEGF)
        if at < len(block.front):
            return begins + block.front_days[at]
    return None


def _last(season: Sequence[_Placed], threshold_degf: float, first: int) -> int:
    for begins, block, warmer in reversed(season):
        at = bisect_left(block.back, warmer - threshold_degf - CLOSE_DEGF)
        if at < len(block.back):
            return begins + block.back_days[at]
    return first


def _freezes(calendar: SeasonCalendar, firsts: list[int], lasts: list[int], count: int) -> Freezes:
    first, last = (tuple(sorted(days)) for days in (firsts, lasts))
    return Freezes(FreezeDays(Side.FIRST, calendar, first, count), FreezeDays(Side.LAST, calendar, last, count))
