"""What a control run leaves of the volts at a contactor's coil.

Wire: NEC Chapter 9 Table 8 (public transcriptions; stranded column from memory). Coil must close at 85 %: IEC
60947-4-1, NEMA ICS 2 (from memory). Budgets and lengths: circuit theory, worked once in closed form and once by
bisection, to the digits shown.
"""

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import control
from seasonlog.errors import RatingError

COILS = [
    (5, 0.5, 853, 595, 34.1, 23.8, (1496, 2383, 3787, 6007), 94_698),
    (10, 0.5, 427, 297, 17.1, 11.9, (748, 1191, 1893, 3003), 47_349),
    (70, 0.5, 61.0, 42.5, 2.44, 1.70, (106, 170, 270, 429), 6_764),
    (220, 0.4, 22.1, 15.7, 0.88, 0.63, (39, 62, 99, 158), 2_497),
    (600, 0.4, 8.10, 5.75, 0.32, 0.23, (14, 23, 36, 58), 915),
]
"""VA inrush, power factor; loop ohms at 120 V from full source and from 95 %; the same at 24 V; feet at 24 V from 95 %
in 18, 16, 14, 12 AWG; feet at 120 V from 95 % in 14 AWG."""


@pytest.mark.parametrize("row", COILS, ids=[f"{row[0]} VA" for row in COILS])
def test_the_loop_a_coil_may_have(row) -> None:
    """Circuit theory; to the last digit shown."""
    va, factor, *budgets = row[:6]
    cases = [(volts, share) for volts in (120, 24) for share in (1.0, 0.95)]
    worked = [control.loop_budget_ohms(volts * share, volts, va, factor) for volts, share in cases]
    assert worked == pytest.approx(budgets, rel=4e-3, abs=0.006)


@pytest.mark.parametrize("row", COILS, ids=[f"{row[0]} VA" for row in COILS])
def test_the_longest_run(row) -> None:
    """All of the budget spent on wire, out and back; whole feet, rounded down."""
    va, factor, in_24, in_120 = row[0], row[1], row[6], row[7]
    budget = control.loop_budget_ohms(24 * 0.95, 24, va, factor)
    assert [int(control.max_run_ft(budget, awg)) for awg in ("18", "16", "14", "12")] == list(in_24)
    assert int(control.max_run_ft(control.loop_budget_ohms(120 * 0.95, 120, va, factor), "14")) == in_120


@pytest.mark.parametrize(("awg", "cmil"), [("18", 1620), ("16", 2580), ("14", 4110), ("12", 6530), ("10", 10380)])
def test_wire_is_copper_at_75_degc(awg: str, cmil: int) -> None:
    """10.371 ohm-cmil/ft of copper at 20 degC, x 1.216 at 75 degC, x 1.02 stranded; within 0.7 %."""
    assert control.OHMS_PER_KFT[awg] == pytest.approx(1000 * 10.371 * 1.216 * 1.02 / cmil, rel=7e-3)


def test_300_ft_of_14_awg_is_1_88_ohm_hot() -> None:
    assert control.wire_ohms("14", 300) == pytest.approx(1.88, abs=0.005)


def test_one_ohm_eats_most_of_a_24_v_loop_and_little_of_a_120_v_one() -> None:
    """59 % of the budget of a 70 VA coil at 24 V from 95 %, 2 % at 120 V."""
    shares = [100 / control.loop_budget_ohms(volts * 0.95, volts, 70, 0.5) for volts in (24, 120)]
    assert [round(share) for share in shares] == [59, 2]


@given(
    st.sampled_from([24.0, 120.0]), st.floats(1, 1000), st.floats(0, 100), st.floats(0.05, 0.95), st.floats(0.86, 1.1)
)
def test_the_divider_agrees_with_complex_numbers(volts, va, loop, factor, share) -> None:
    """Second method: the coil as a complex impedance."""
    coil = cmath.rect(volts * volts / va, math.acos(factor))
    expected = volts * share * abs(coil) / abs(coil + loop)
    assert control.volts_at_coil(volts * share, volts, va, loop, factor) == pytest.approx(expected, rel=1e-9)


@given(st.sampled_from([24.0, 120.0]), st.floats(1, 1000), st.floats(0.05, 0.95), st.floats(0.86, 1.1))
def test_at_the_budget_the_coil_has_85_percent(volts: float, va: float, factor: float, share: float) -> None:
    budget = control.loop_budget_ohms(volts * share, volts, va, factor)
    assert control.volts_at_coil(volts * share, volts, va, budget, factor) == pytest.approx(0.85 * volts, rel=1e-6)


def test_a_source_already_too_low_leaves_no_budget() -> None:
    """14 of 24 V: 58 %, does not pull in over any wire."""
    assert control.loop_budget_ohms(14, 24, 70, 0.5) == 0


@pytest.mark.parametrize("bad", [0, -24, math.nan, math.inf, 1e9])
def test_impossible_volts_and_unknown_wire_are_refused_in_words(bad: float) -> None:
    for call in (
        lambda: control.volts_at_coil(bad, 24, 70, 1, 0.5),
        lambda: control.volts_at_coil(24, bad, 70, 1, 0.5),
        lambda: control.wire_ohms("22", 10),
    ):
        with pytest.raises(RatingError, match=r"wanted|is not in the table"):
            call()
