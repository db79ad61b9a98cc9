"""How far a meter may be off, and what it leaves of a limit.

Uncertainty: JCGM 100 (from memory), rectangular accuracy, U = 2u. Decision rule: ILAC-G8:09/2019 (extract),
JCGM 106:2012 (from memory). Second method: half a million draws with a fixed seed, to 1 %. Meter of the examples: clamp
2 % + 5 counts, volts 1 % + 2 V, customary, no source.
"""

import math
import random
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.heater import amps_at, amps_band, line_amps
from seasonlog.calc.instrument import Accuracy, amps_uncertainty, expanded, guarded, turns_needed
from seasonlog.errors import RatingError

FINE, COARSE = Accuracy(2, 5, 0.01), Accuracy(2, 5, 0.1)
VOLTS = Accuracy(1, 2, 1)

HEATERS = [  # kW, V, phases, measured V, amps, low, high, fine pass, U, coarse pass or None, U
    (18, 480, 3, 480, 21.65, (19.49, 22.73), (20.09, 22.04), 0.66, (20.56, 21.57), 1.13),
    (18, 480, 3, 466, 21.02, (18.92, 22.07), (19.50, 21.40), 0.64, (19.98, 20.92), 1.12),
    (9, 480, 3, 472, 10.64, (9.58, 11.18), (9.90, 10.81), 0.35, None, 0.84),
    (6, 240, 3, 236, 14.19, (12.77, 14.90), (13.22, 14.39), 0.49, (13.69, 13.93), 0.95),
    (6, 240, 1, 238, 24.79, (22.31, 26.03), (23.06, 25.17), 0.82, (23.50, 24.73), 1.26),
    (36, 480, 3, 488, 44.02, (39.62, 46.22), (40.79, 44.87), 1.29, (41.25, 44.42), 1.75),
]
NAMES = [f"{kw} kW {v} V {p}-phase at {m} V" for kw, v, p, m, *_ in HEATERS]


def zones(amps: float, clamp: Accuracy, volts: float):
    band = amps_band(amps)
    return guarded(band.low, band.high, lambda value: amps_uncertainty(value, clamp, volts, VOLTS))


@pytest.mark.parametrize("row", HEATERS, ids=NAMES)
def test_pass_zones_of_line_amps(row) -> None:
    """ILAC-G8 with w = U and U at each limit; circuit theory and +5/-10 % watts for the limit. To the hundredth."""
    kw, rated, phases, measured, amps, limit, fine, fine_u, coarse, coarse_u = row
    found = amps_at(line_amps(kw, rated, phases), rated, measured)
    band = amps_band(found)
    assert found == pytest.approx(amps, abs=0.006)
    assert (band.low, band.high) == (pytest.approx(limit[0], abs=0.006), pytest.approx(limit[1], abs=0.006))
    for clamp, wanted, u in ((FINE, fine, fine_u), (COARSE, coarse, coarse_u)):
        assert amps_uncertainty(found, clamp, measured, VOLTS) == pytest.approx(u, abs=0.006)
        got = zones(found, clamp, measured)
        if wanted is None:
            assert (got.decides, got.pass_low, got.pass_high) == (False, None, None)
        else:
            assert (got.pass_low, got.pass_high) == pytest.approx(wanted, abs=0.0061)


def test_the_empty_zone_is_empty_by_seven_hundredths() -> None:
    """9 kW, 472 V, 0.1 A clamp: the edges would be 10.39 and 10.32 A."""
    u = [amps_uncertainty(edge, COARSE, 472, VOLTS) for edge in (9.577, 11.173)]
    assert (9.577 + u[0], 11.173 - u[1]) == (pytest.approx(10.39, abs=0.006), pytest.approx(10.32, abs=0.006))


@pytest.mark.parametrize(
    ("clamp", "none_below", "half_from"),
    [pytest.param(COARSE, 11.4, 50.7, id="0.1 A"), pytest.param(FINE, 1.15, 5.1, id="0.01 A")],
)
def test_below_this_current_a_clamp_decides_nothing(clamp: Accuracy, none_below: float, half_from: float) -> None:
    """Arithmetic of the two rules above at 480 V: no pass zone below, half the tolerance wide from; within 1.5 %.

    A tenth of the count must give a tenth of the current: 11.38 and 1.138 A, printed 11.4 and 1.15.
    """
    assert not zones(none_below * 0.985, clamp, 480).decides
    assert zones(none_below * 1.015, clamp, 480).decides
    assert _open_share(half_from * 0.985, clamp) < 0.5 < _open_share(half_from * 1.015, clamp)


def _open_share(amps: float, clamp: Accuracy) -> float:
    got, band = zones(amps, clamp, 480), amps_band(amps)
    return (got.pass_high - got.pass_low) / (band.high - band.low)


@pytest.mark.parametrize(("amps", "clamp", "volts"), [(19.49, FINE, 480), (21.65, COARSE, 480), (10.64, COARSE, 472)])
def test_the_uncertainty_is_that_of_half_a_million_draws(amps: float, clamp: Accuracy, volts: float) -> None:
    """Second method, fixed seed: reading and expected amps drawn within their accuracy, twice the spread, to 1 %."""
    draw = random.Random(1871)
    off = [
        draw.uniform(-1, 1) * clamp.at(amps) + amps * draw.uniform(-1, 1) * VOLTS.at(volts) / volts
        for _ in range(500_000)
    ]
    assert 2 * statistics.pstdev(off) == pytest.approx(amps_uncertainty(amps, clamp, volts, VOLTS), rel=0.01)


@pytest.mark.parametrize(
    ("clamp", "u"), [pytest.param(FINE, 0.5850, id="0.01 A"), pytest.param(COARSE, 1.0613, id="0.1 A")]
)
def test_the_uncertainty_at_the_lower_limit_of_18_kw_at_466_v(clamp: Accuracy, u: float) -> None:
    """JCGM 100 (from memory), worked by hand at 18.92 A: to four digits; 400,000 draws gave 0.5855 and 1.0612."""
    assert amps_uncertainty(18.92, clamp, 466, VOLTS) == pytest.approx(u, abs=1.1e-4)


@pytest.mark.parametrize(("guard", "accepted"), [(2.0, 0.023), (1.645, 0.050), (0.0, 0.50)])
def test_how_often_a_heater_at_its_limit_is_passed(guard: float, accepted: float) -> None:
    """JCGM 106 (from memory): normal reading about the limit, guard band in standard uncertainties; to 0.0005.

    Second method: two hundred thousand draws, fixed seed, within 0.004.
    """
    assert statistics.NormalDist().cdf(-guard) == pytest.approx(accepted, abs=5e-4)
    draw = random.Random(1871)
    zone = guarded(10.0, None, lambda _: guard * 0.25)
    passed = sum(draw.gauss(10.0, 0.25) >= (zone.pass_low or 0) for _ in range(200_000))
    assert passed / 200_000 == pytest.approx(accepted, abs=4e-3)


def test_a_bad_heater_is_passed_about_once_in_forty_at_the_edge_of_the_zone() -> None:
    """JCGM 106 (from memory): true value at the limit, reading normal with u, accepted beyond w = 2u: 2.3 %."""
    assert statistics.NormalDist().cdf(-2.0) == pytest.approx(0.0228, abs=0.0001)
    draw = random.Random(1871)
    zone = guarded(10.0, None, lambda _: expanded(0.5))
    accepted = sum(draw.gauss(10.0, expanded(0.5) / 2) >= (zone.pass_low or 0) for _ in range(200_000))
    assert accepted / 200_000 == pytest.approx(0.0228, abs=0.002)


def test_turns_through_the_jaw_make_a_count_worth_less() -> None:
    """9 kW, 472 V, 0.1 A clamp: one turn decides nothing, two do (counts worth a half)."""
    band = amps_band(10.64)

    def at(value: float, clamp: Accuracy) -> float:
        return amps_uncertainty(value, clamp, 472, VOLTS)

    assert turns_needed(band.low, band.high, COARSE, at) == 2
    assert turns_needed(band.low, band.high, FINE, at) == 1
    assert turns_needed(band.low, band.high, Accuracy(20, 0, 0.1), at) is None
    assert COARSE.with_turns(2) == Accuracy(2, 5, 0.05)
    with pytest.raises(RatingError):
        COARSE.with_turns(11)


EDGES = st.one_of(st.none(), st.floats(-1000, 1000))
ACCURACIES = st.builds(Accuracy, st.floats(0, 20), st.integers(0, 50).map(float), st.sampled_from([0.01, 0.1, 1.0]))


@given(EDGES, EDGES, ACCURACIES)
def test_guarding_never_widens_what_passes_nor_narrows_what_is_not_failed(low, high, accuracy) -> None:
    got = guarded(low, high, accuracy.uncertainty_at)
    if low is not None:
        assert got.fail_low <= low
        assert not got.decides or got.pass_low >= low
    if high is not None:
        assert got.fail_high >= high
        assert not got.decides or got.pass_high <= high


@given(st.floats(1, 1000), st.floats(1, 1000), ACCURACIES, st.floats(1, 5))
def test_a_coarser_meter_never_passes_more(low: float, width: float, accuracy: Accuracy, worse: float) -> None:
    coarse = Accuracy(accuracy.percent * worse, accuracy.counts * worse, accuracy.resolution)
    fine_zone = guarded(low, low + width, accuracy.uncertainty_at)
    coarse_zone = guarded(low, low + width, coarse.uncertainty_at)
    if coarse_zone.decides:
        assert fine_zone.decides
        assert fine_zone.pass_low <= coarse_zone.pass_low + 1e-9
        assert coarse_zone.pass_high <= fine_zone.pass_high + 1e-9


@given(st.lists(st.floats(0, 100), min_size=1, max_size=4))
def test_errors_together_are_more_than_the_largest_and_less_than_their_sum(widths: list[float]) -> None:
    """JCGM 100: added as squares."""
    largest, total = max(widths), sum(widths)
    assert 2 / math.sqrt(3) * largest <= expanded(*widths) + 1e-9
    assert expanded(*widths) <= 2 / math.sqrt(3) * total + 1e-9
