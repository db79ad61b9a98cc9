"""The trend test held against SciPy (kendalltau, exact and asymptotic; theilslopes), and what it must not do."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.monotone_trend import mann_kendall, theil_sen
from seasonlog.errors import RatingError

stats = pytest.importorskip("scipy.stats")
distinct = st.lists(st.integers(-10_000, 10_000), min_size=3, max_size=40, unique=True)


@given(distinct)
def test_the_chance_without_ties_is_that_of_kendalls_exact_test(values: list[int]) -> None:
    """Time has no ties either, so the test of Mann is Kendall's tau against time; agreement 1e-9."""
    times = list(range(len(values)))
    wanted = stats.kendalltau(times, values, method="exact").pvalue
    assert mann_kendall(times, values) == pytest.approx(wanted, abs=1e-9)


@given(st.lists(st.integers(0, 5), min_size=4, max_size=30))
def test_the_chance_with_ties_follows_the_corrected_variance(values: list[int]) -> None:
    """SciPy leaves out the step for continuity; put back, both agree within 1e-9."""
    times = list(range(len(values)))
    found, tau = mann_kendall(times, values), stats.kendalltau(times, values, method="asymptotic")
    score = sum((b > a) - (b < a) for i, a in enumerate(values) for b in values[i + 1 :])
    if len(set(values)) in (1, len(values)) or score == 0:
        return
    away = stats.norm.isf(tau.pvalue / 2) * (abs(score) - 1) / abs(score)
    assert found == pytest.approx(2 * stats.norm.sf(away), abs=1e-9)


@given(
    st.lists(st.tuples(st.integers(0, 50), st.integers(-1000, 1000)), min_size=2, max_size=25, unique_by=lambda p: p[0])
)
def test_the_slope_is_the_middle_of_all_slopes(pairs: list[tuple[int, int]]) -> None:
    """SciPy warns of series in which all values are equal, where the slope is zero without asking it."""
    times, values = [t for t, _ in pairs], [v for _, v in pairs]
    wanted = 0.0 if len(set(values)) == 1 else stats.theilslopes(values, times)[0]
    assert theil_sen(times, values) == pytest.approx(wanted, rel=1e-9, abs=1e-9)
    assert theil_sen([1, 1], [2, 3]) is None


def test_series_without_a_trend_are_rarely_called_one() -> None:
    """2,000 series of eight readings without a trend: at 5 % no more than 5 % and a little (binomial, 3 sigma)."""
    chance = random.Random(7)
    called = sum((mann_kendall(range(8), [chance.random() for _ in range(8)]) or 1) <= 0.05 for _ in range(2000))
    assert 20 < called <= 100 + 3 * math.sqrt(2000 * 0.05 * 0.95)


def test_over_range_ranks_above_all_and_has_no_slope() -> None:
    falling = [math.inf, math.inf, 900.0, 400.0, 90.0]
    assert (mann_kendall(range(5), falling) or 1) < 0.05
    assert theil_sen(range(5), falling) == -405.0
    assert theil_sen(range(2), [math.inf, math.inf]) is None


def test_a_wild_reading_moves_little() -> None:
    even = [10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0]
    wild = [*even[:3], 70.0, *even[4:]]
    assert theil_sen(range(7), wild) == pytest.approx(theil_sen(range(7), even), abs=0.5)


@pytest.mark.parametrize("values", [[1.0], [1.0, 2.0]])
def test_too_few_tell_nothing(values: list[float]) -> None:
    assert mann_kendall(range(len(values)), values) is None


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(RatingError, match="2 times and 3 readings"):
        mann_kendall([1, 2], [1, 2, 3])
    with pytest.raises(RatingError, match="not a number"):
        theil_sen([1, 2], [1, math.nan])
