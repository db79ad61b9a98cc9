"""Does a series rise or fall, more than chance would make it? The test of Mann and Kendall, the slope of Theil and Sen.

Neither asks that the readings be spread like a bell, and one wild reading moves them little: what is wanted of a few
readings a year, taken by different people.

Sources (from memory): H. B. Mann, Econometrica 13 (1945) 245; M. G. Kendall, Rank Correlation Methods (1975);
H. Theil, Proc. KNAW 53 (1950) 386; P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379. Held in the tests against SciPy.
"""

import math
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from statistics import median

from seasonlog.errors import RatingError

MOST_EXACT = 60
"""Up to so many readings without ties the chance is counted exactly, above it the normal curve stands in."""


def theil_sen(at: Sequence[float], values: Sequence[float]) -> float | None:
    """The middle of the slopes between all pairs of readings.

    Args:
        at: When each was read, in any unit of time.
        values: The readings; infinite ones are left out.

    Returns:
        Change per unit of time, or None where there are no two finite readings at different times.

    Raises:
        RatingError: the two are not equally long.
    """
    pairs = _pairs(at, values)
    finite = [(t, v) for t, v in pairs if math.isfinite(v)]
    slopes = [(w - v) / (u - t) for i, (t, v) in enumerate(finite) for u, w in finite[i + 1 :] if u != t]
    return median(slopes) if slopes else None


def mann_kendall(at: Sequence[float], values: Sequence[float]) -> float | None:
    """The chance that readings without any trend lie as much in order as these do, rising or falling.

    Args:
        at: When each was read; the order alone counts.
        values: The readings; over range is infinite and ranks above all others.

    Returns:
        Two-sided, 0 to 1: counted exactly where no two values are equal and there are at most `MOST_EXACT`, else by the
        normal curve with the variance corrected for ties and for continuity. None of fewer than three readings.

    Raises:
        RatingError: the two are not equally long, or a value is no number.
    """
    ordered = [value for _, value in sorted(_pairs(at, values), key=lambda pair: pair[0])]
    count = len(ordered)
    if count < 3:
        return None
    score = sum(_sign(ordered[j], ordered[i]) for i in range(count) for j in range(i + 1, count))
    ties = [times for times in Counter(ordered).values() if times > 1]
    if not ties and count <= MOST_EXACT:
        return _exact(count, abs(score))
    variance = (_term(count) - sum(map(_term, ties))) / 18
    if variance == 0:
        return 1.0
    away = max(abs(score) - 1, 0) / math.sqrt(variance)
    return math.erfc(away / math.sqrt(2))


def _pairs(at: Sequence[float], values: Sequence[float]) -> list[tuple[float, float]]:
    if len(at) != len(values):
        raise RatingError(f"{len(at)} times and {len(values)} readings; each reading wants its time")
    if any(math.isnan(value) for value in (*at, *values)):
        raise RatingError("a reading is not a number; leave it out")
    return list(zip(at, values, strict=True))


def _sign(later: float, earlier: float) -> int:
    return (later > earlier) - (later < earlier)


def _term(count: int) -> int:
    return count * (count - 1) * (2 * count + 5)


def _exact(count: int, score: int) -> float:
    """Share of all orders of so many values whose score lies as far from zero."""
    inversions = _orders(count)
    pairs = count * (count - 1) // 2
    beyond = sum(ways for i, ways in enumerate(inversions) if abs(pairs - 2 * i) >= score)
    return beyond / math.factorial(count)


@lru_cache(maxsize=MOST_EXACT)
def _orders(count: int) -> tuple[int, ...]:
    """How many orders of `count` values have 0, 1, 2 ... pairs the wrong way round."""
    ways = [1]
    for size in range(2, count + 1):
        longer = [0] * (len(ways) + size - 1)
        for i, each in enumerate(ways):
            for shift in range(size):
                longer[i + shift] += each
        ways = longer
    return tuple(ways)
