"""Whose current stands on the plate. Circuit theory: k = amps x volts / watts is 0.577 in three phases, 1 in one, and
0.333 in one element of a delta. The +/-4 % is common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.heater import line_amps
from seasonlog.calc.nameplate import plate_check


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "amps", "pattern", "factor"),
    [
        pytest.param(18, 480, 3, 21.65, "agrees", 0.577, id="18 kW 480 V three-phase, right"),
        pytest.param(18, 480, 3, 37.5, "other_phases", 1.000, id="single-phase figure on a three-phase plate"),
        pytest.param(18, 480, 1, 37.5, "agrees", 1.000, id="18 kW 480 V single-phase, right"),
        pytest.param(18, 480, 1, 21.65, "other_phases", 0.577, id="three-phase figure on a single-phase plate"),
        pytest.param(18, 480, 3, 12.5, "one_element", 0.333, id="one element of a delta"),
        pytest.param(18, 480, 3, 22.59, "other_volts", 0.602, id="worked at 460 V"),
        pytest.param(18, 480, 1, 39.13, "other_volts", 1.043, id="worked at 460 V, single-phase"),
        pytest.param(6, 240, 3, 16.65, "other_volts", 0.666, id="worked at 208 V"),
        pytest.param(6, 240, 1, 28.85, "other_volts", 1.154, id="worked at 208 V, single-phase"),
        pytest.param(18, 277, 3, 37.5, "agrees", 0.577, id="37.5 A is right for 18 kW at 277 V three-phase"),
        pytest.param(18, 480, 3, 50.0, "unexplained", 1.333, id="nothing usual"),
    ],
)
def test_the_plate_is_read(kw: float, volts: float, phases: int, amps: float, pattern: str, factor: float) -> None:
    """Circuit theory; k to three places."""
    check = plate_check(kw, volts, phases, amps)
    assert (check.pattern, check.agrees) == (pattern, pattern == "agrees")
    assert check.factor == pytest.approx(factor, abs=0.0006)


def test_the_words_carry_both_figures_and_the_trap_of_277_v() -> None:
    says = plate_check(18, 480, 3, 37.5).says
    assert "37.5 A is 18 kW / 480 V single-phase arithmetic" in says
    assert "three-phase is 21.65 A" in says
    assert "277 V three-phase would fit too" in says


def test_half_the_amps_of_two_heaters_are_those_of_one() -> None:
    """Circuit theory: two equal heaters share the power, a plate may show one of them."""
    assert plate_check(18, 480, 3, 10.83, heaters=2).pattern == "one_heater"
    assert plate_check(18, 480, 3, 10.83, heaters=1).pattern == "unexplained"


@given(st.floats(0.5, 500), st.sampled_from([208.0, 240.0, 277.0, 400.0, 480.0, 600.0]), st.sampled_from([1, 3]))
def test_a_plate_rounded_to_three_figures_agrees_and_the_other_phase_count_never_does(kw, volts, phases) -> None:
    right = line_amps(kw, volts, phases)
    assert plate_check(kw, volts, phases, float(f"{right:.3g}")).agrees
    other = plate_check(kw, volts, phases, line_amps(kw, volts, 4 - phases))
    assert (other.agrees, other.pattern) == (False, "other_phases")


@given(st.floats(0.1, 200), st.floats(-3.9, 3.9))
def test_within_four_percent_agrees_and_beyond_does_not(kw: float, percent: float) -> None:
    right = line_amps(kw, 480, 3)
    assert plate_check(kw, 480, 3, right * (1 + percent / 100)).agrees
    assert not plate_check(kw, 480, 3, right * 1.041).agrees
    assert not plate_check(kw, 480, 3, right * 0.959).agrees
