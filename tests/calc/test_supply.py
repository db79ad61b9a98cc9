"""Volts and how uneven three lines are.

Range A: ANSI C84.1 (from memory), +/-5 %. Unbalance: NEMA MG-1 definition (second hand); the figures 462, 463, 455 V
stand in a US Department of Energy motor tip sheet (second hand).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import supply
from seasonlog.errors import RatingError
from tests.calc.network import delta, line_currents

READINGS = st.lists(st.floats(0.01, 10_000), min_size=3, max_size=3)


@pytest.mark.parametrize(
    ("nominal", "low", "high"), [(480, 456, 504), (208, 197, 218), (240, 228, 252), (600, 570, 630)]
)
def test_service_range_a(nominal: float, low: float, high: float) -> None:
    """ANSI C84.1 Range A (from memory), printed in whole volts (208: 197.6 and 218.4 printed 197 and 218)."""
    band = supply.service_range(nominal)
    assert (math.floor(band.low + 1e-9), math.floor(band.high + 1e-9)) == (low, high)


@pytest.mark.parametrize(
    ("values", "percent"),
    [
        pytest.param((462, 463, 455), 1.09, id="tip sheet: mean 460, 5/460"),
        pytest.param((480, 476, 472), 0.84, id="not 1.68 as largest minus smallest would be"),
        pytest.param((21.6, 21.6, 21.6), 0, id="even"),
        pytest.param((0, 18.75, 18.75), 100, id="one line open"),
        pytest.param((0.577, 0.577, 1.0), 39.2, id="delta, one element open"),
        pytest.param((0.6, 0.917, 0.917), 26.0, id="wye, one of two parallel elements open"),
        pytest.param((0.764, 0.764, 1.0), 18.7, id="delta, one of two parallel elements open"),
        pytest.param((0.5, 0.901, 0.901), 34.9, id="two heaters, one lost a line"),
    ],
)
def test_unbalance_is_the_largest_deviation_over_the_mean(values: tuple[float, ...], percent: float) -> None:
    """NEMA MG-1 definition (second hand); agreement 0.1: lines are given to three places."""
    assert supply.unbalance_percent(values) == pytest.approx(percent, abs=0.1)


def test_the_worst_honest_elements_stay_under_the_limit_of_unbalance_and_the_smallest_fault_does_not() -> None:
    """Second method for the derived limits 6.3 and 7.5 %: every +5/-10 % mix of delta elements solved node by node.

    Honest elements on an even supply: 5.33 % at most (6.3 with 1 % from the supply). One of three parallel elements
    open (leg x 1.5), tolerances helping to hide it: 7.8 % at least.
    """
    worst = max(_unbalance(delta_of(mix)) for mix in MIXES)
    hidden = min(_unbalance(delta_of((1.5 * mix[0], *mix[1:]))) for mix in MIXES)
    assert worst == pytest.approx(5.33, abs=0.15)
    assert hidden == pytest.approx(7.8, abs=0.15)
    assert worst + 1 < 7.5 < hidden


LEVELS = (1 / 1.05, 1.0, 1 / 0.9)
MIXES = [(a, b, c) for a in LEVELS for b in LEVELS for c in LEVELS]


def delta_of(ohms: tuple[float, float, float]) -> dict[tuple[str, str], float]:
    return dict(zip(delta(1.0), ohms, strict=True))


def _unbalance(branches: dict[tuple[str, str], float]) -> float:
    return supply.unbalance_percent(line_currents(480, branches))


@given(READINGS, st.floats(0.01, 100))
def test_unbalance_knows_no_unit_and_no_order(values: list[float], scale: float) -> None:
    percent = supply.unbalance_percent(values)
    assert supply.unbalance_percent([v * scale for v in values]) == pytest.approx(percent, rel=1e-6, abs=1e-6)
    assert supply.unbalance_percent(values[::-1]) == pytest.approx(percent, rel=1e-9, abs=1e-9)
    assert 0 <= percent <= 200 + 1e-9


@pytest.mark.parametrize("bad", [(), (1, 2), (1, 2, 3, 4), (0, 0, 0), (-1, 2, 3), (math.nan, 1, 2), (math.inf, 1, 2)])
def test_anything_but_three_readings_is_refused(bad: tuple[float, ...]) -> None:
    with pytest.raises(RatingError, match="three readings"):
        supply.unbalance_percent(bad)


def test_the_last_digit_of_one_meter_is_what_is_left_of_the_uncertainty() -> None:
    """JCGM 100 (from memory), second method: the extreme of the last digit bounds it, the root sum lies under it.

    480 V read in 1 V steps: half a count on each of three lines moves the figure by 100/480 x (2/3 + 1/3 + 1/3)/2
    at most; two standard uncertainties of rectangular digits stay under that.
    """
    extreme = 100 / 480 * (2 / 3 + 1 / 3 + 1 / 3) * 0.5
    assert 0.5 * extreme < supply.unbalance_uncertainty_percent(480, 1) < extreme


@pytest.mark.parametrize(
    ("panel", "plate", "phases", "volts"),
    [
        pytest.param(480, 277, 1, 277.128, id="277 of 480, line to neutral"),
        pytest.param(208, 120, 1, 120.089, id="120 of 208, line to neutral"),
        pytest.param(400, 230, 1, 230.940, id="230 of 400, line to neutral"),
        pytest.param(480, 480, 1, 480, id="line to line"),
        pytest.param(208, 240, 1, 208, id="240 on 208 stays a mistake"),
        pytest.param(480, 277, 3, 480, id="a three-phase heater has no neutral"),
    ],
)
def test_a_single_phase_heater_may_stand_between_line_and_neutral(
    panel: float, plate: float, phases: int, volts: float
) -> None:
    """Circuit theory: 1/sqrt 3 of the volts between lines; to 1 mV."""
    assert supply.at_heater(panel, plate, phases) == pytest.approx(volts, abs=1e-3)
