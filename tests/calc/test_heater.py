"""Amps, ohms and power of a healthy heater.

Values: circuit theory, worked by hand (18 kW, 480 V: 18000 / (sqrt 3 x 480) = 21.65 A), agreement to the digits
printed. Second method: the wye and the delta solved node by node with complex numbers (`network`), agreement 1e-9.
Element tolerance +5/-10 % watts: trade custom, no standard text read. Nickel-chrome coefficients: an open textbook
table ("Lessons in Electric Circuits", volume I, second hand).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import heater
from seasonlog.errors import RatingError
from tests.calc.network import delta, line_currents, ohms_between, power_watts, wye

KW = st.floats(0.1, 1000)
VOLTS = st.floats(12, 1000)
HEATERS = [(18, 480), (9, 480), (6, 240), (36, 480), (24, 208), (12, 600), (9, 400)]


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "amps"),
    [
        pytest.param(18, 480, 3, 21.65, id="18 kW 480 V three-phase"),
        pytest.param(18, 480, 1, 37.50, id="18 kW 480 V single-phase"),
        pytest.param(9, 240, 3, 21.65, id="9 kW 240 V draws what 18 kW at 480 V draws"),
        pytest.param(18, 277, 3, 37.52, id="18 kW 277 V three-phase is close to 37.5 A"),
        pytest.param(9, 400, 3, 12.99, id="9 kW 400 V"),
    ],
)
def test_line_amps_are_those_of_circuit_theory(kw: float, volts: float, phases: int, amps: float) -> None:
    assert heater.line_amps(kw, volts, phases) == pytest.approx(amps, abs=0.005)


@pytest.mark.parametrize(("connection", "ohms"), [("wye", 12.8), ("delta", 38.4)])
def test_the_elements_of_18_kw_at_480_v(connection: str, ohms: float) -> None:
    """Circuit theory: V^2/P = 230400/18000 = 12.8 ohm; three times that in delta."""
    assert heater.element_ohms(18, 480, connection) == pytest.approx(ohms, rel=1e-9)


def test_an_element_of_a_wye_sees_277_v_and_one_of_a_delta_carries_12_5_a() -> None:
    """Circuit theory: 480/sqrt 3 = 277.1 V; 480/38.4 = 12.50 A."""
    assert heater.line_amps(18, 480, 3) * heater.element_ohms(18, 480, "wye") == pytest.approx(277.13, abs=0.005)
    assert 480 / heater.element_ohms(18, 480, "delta") == pytest.approx(12.5, abs=0.0005)


@pytest.mark.parametrize(("phases", "ohms"), [(3, 25.6), (1, 12.8)])
def test_ohms_between_terminals_of_18_kw_at_480_v(phases: int, ohms: float) -> None:
    """Circuit theory: 2 V^2/P in three phases, V^2/P in one."""
    assert heater.ohms_line_to_line(18, 480, phases) == pytest.approx(ohms, rel=1e-9)


@pytest.mark.parametrize(("kw", "volts"), HEATERS)
@pytest.mark.parametrize(("connection", "network"), [("wye", wye), ("delta", delta)])
def test_wye_and_delta_solved_node_by_node_give_the_same(kw: float, volts: float, connection: str, network) -> None:
    """Second method: complex nodal analysis; amps of each line, watts, and ohms between each pair, to 1e-9."""
    branches = network(heater.element_ohms(kw, volts, connection))
    assert line_currents(volts, branches) == pytest.approx([heater.line_amps(kw, volts, 3)] * 3, rel=1e-9)
    assert power_watts(volts, branches) == pytest.approx(1000 * kw, rel=1e-9)
    pairs = [ohms_between(one, other, branches) for one, other in (("A", "B"), ("B", "C"), ("C", "A"))]
    assert pairs == pytest.approx([heater.ohms_line_to_line(kw, volts, 3)] * 3, rel=1e-9)


RATIOS = [
    (480, 460, 0.958, 0.918),
    (480, 440, 0.917, 0.840),
    (480, 500, 1.042, 1.085),
    (480, 415, 0.865, 0.747),  # 0.8646 and 0.7475: printed to three places
    (480, 400, 0.833, 0.694),
    (480, 277, 0.577, 0.333),
    (480, 240, 0.500, 0.250),
    (480, 208, 0.433, 0.188),
    (240, 208, 0.867, 0.751),
    (208, 240, 1.154, 1.331),
    (240, 230, 0.958, 0.918),
    (600, 575, 0.958, 0.918),
    (600, 480, 0.800, 0.640),
    (240, 480, 2.0, 4.0),
    (208, 480, 2.308, 5.325),
    (480, 600, 1.25, 1.5625),
]


@pytest.mark.parametrize(("rated", "have", "amps", "power"), RATIOS, ids=[f"{r}->{h}" for r, h, _, _ in RATIOS])
def test_amps_follow_the_volts_and_power_their_square(rated: float, have: float, amps: float, power: float) -> None:
    """Circuit theory, fixed resistance; agreement to the three places printed."""
    assert heater.amps_at(10, rated, have) / 10 == pytest.approx(amps, abs=0.00055)
    assert heater.power_at(10, rated, have) / 10 == pytest.approx(power, abs=0.00055)


def test_18_kw_at_460_v_draws_20_75_a_and_gives_16_53_kw() -> None:
    """Circuit theory, worked example."""
    assert heater.amps_at(heater.line_amps(18, 480, 3), 480, 460) == pytest.approx(20.75, abs=0.005)
    assert heater.power_at(18, 480, 460) == pytest.approx(16.53, abs=0.005)


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "low", "high"),
    [
        pytest.param(18, 480, 3, 23.67, 28.44, id="18 kW 480 V three-phase"),
        pytest.param(9, 480, 3, 47.34, 56.89, id="9 kW 480 V three-phase"),
        pytest.param(6, 240, 3, 17.75, 21.33, id="6 kW 240 V three-phase"),
        pytest.param(6, 240, 1, 8.88, 10.67, id="6 kW 240 V single-phase"),
        pytest.param(36, 480, 3, 11.84, 14.22, id="36 kW 480 V three-phase"),
        pytest.param(24, 208, 3, 3.33, 4.01, id="24 kW 208 V three-phase"),
    ],
)
def test_cold_ohms_allowed(kw: float, volts: float, phases: int, low: float, high: float) -> None:
    """Trade custom +5/-10 % watts and 0 to 3 % rise from cold to hot: 0.925 to 1.111 of V^2/P, to the hundredth."""
    band = heater.ohms_band(heater.ohms_line_to_line(kw, volts, phases))
    assert (band.low, band.high) == (pytest.approx(low, abs=0.006), pytest.approx(high, abs=0.006))


def test_watts_and_ohms_tolerances_are_inverses() -> None:
    """Exact: watts +5/-10 % are ohms -4.8/+11.1 %; with the 3 % of warming the low edge is 0.925."""
    band = heater.ohms_band(1.0, heater.Tolerance(hot_over_cold=1.0))
    assert (band.low - 1, band.high - 1) == (pytest.approx(-0.0476, abs=5e-5), pytest.approx(0.1111, abs=5e-5))
    assert heater.ohms_band(1.0).low == pytest.approx(0.925, abs=0.0005)


@pytest.mark.parametrize(
    ("ohms_percent", "watts_percent"), [(10.0, -9.1), (-5.0, 5.3), (-4.8, 5.0), (11.1, -10.0)], ids=str
)
def test_an_element_off_in_ohms_is_off_in_watts_the_other_way(ohms_percent: float, watts_percent: float) -> None:
    """Exact at fixed volts, P = V^2/R: ohms +10 % are watts -9.1 %, ohms -5 % watts +5.3 %; to the tenth printed."""
    kw = 18 / (1 + ohms_percent / 100)
    assert heater.ohms_line_to_line(kw, 480, 3) == pytest.approx(25.6 * (1 + ohms_percent / 100), rel=1e-12)
    assert 100 * (kw / 18 - 1) == pytest.approx(watts_percent, abs=0.06)


@pytest.mark.parametrize(
    ("per_degc", "rise_degc", "ratio"),
    [(0.00013, 200, 1.026), (0.00017, 200, 1.034), (0.00013, 300, 1.039), (0.00017, 300, 1.051)],
)
def test_the_warming_allowed_is_that_of_nickel_chrome_in_water(per_degc: float, rise_degc: float, ratio: float) -> None:
    """Open textbook coefficients, linear: a sheath in water stays under a rise of 200 degC, and 1.03 lies between the
    two alloys there; 300 degC, in no water, would be beyond the ratio allowed."""
    hot = heater.ohms_line_to_line(18, 480, 3)
    cold = heater.ohms_band(hot, heater.Tolerance(0.0, 0.0, hot_over_cold=1 + per_degc * rise_degc)).low
    assert hot / cold == pytest.approx(ratio, abs=1e-9)
    assert 1.026 <= heater.CUSTOMARY.hot_over_cold <= 1.034
    assert rise_degc < 300 or ratio > heater.CUSTOMARY.hot_over_cold


@given(KW, VOLTS, st.sampled_from([1, 3]), st.floats(0.1, 10))
def test_twice_the_power_is_twice_the_amps_and_half_the_ohms(kw: float, volts: float, phases: int, k: float) -> None:
    assert heater.line_amps(kw * k, volts, phases) == pytest.approx(k * heater.line_amps(kw, volts, phases), rel=1e-9)
    ohms = heater.ohms_line_to_line(kw, volts, phases)
    assert heater.ohms_line_to_line(kw * k, volts, phases) == pytest.approx(ohms / k, rel=1e-9)


@given(KW, VOLTS, VOLTS)
def test_power_is_amps_times_volts_at_any_volts(kw: float, rated: float, have: float) -> None:
    amps = heater.line_amps(kw, rated, 3)
    if 1e-3 < amps < 10_000 and 1e-3 < amps * have / rated < 10_000:
        watts = math.sqrt(3) * have * heater.amps_at(amps, rated, have)
        assert watts == pytest.approx(1000 * heater.power_at(kw, rated, have), rel=1e-9)


@given(st.floats(0.1, 1000), st.floats(0, 40), st.floats(0, 40), st.floats(0, 40))
def test_a_wider_tolerance_never_narrows_the_band(amps: float, below: float, above: float, more: float) -> None:
    narrow = heater.amps_band(amps, heater.Tolerance(below, above))
    wide = heater.amps_band(amps, heater.Tolerance(below + min(more, 10), above + min(more, 10)))
    assert wide.low <= narrow.low <= amps * (1 + 1e-12)
    assert wide.high >= narrow.high >= amps * (1 - 1e-12)


BAD = [0, -1, math.nan, math.inf, 1e12]


@pytest.mark.parametrize("bad", BAD)
def test_an_impossible_rating_is_refused_in_words(bad: float) -> None:
    for call in (
        lambda: heater.line_amps(bad, 480, 3),
        lambda: heater.line_amps(18, bad, 3),
        lambda: heater.ohms_line_to_line(bad, 480, 3),
        lambda: heater.amps_at(bad, 480, 480),
        lambda: heater.amps_at(20, 480, bad),
        lambda: heater.amps_band(bad),
    ):
        with pytest.raises(RatingError, match="check it"):
            call()


@pytest.mark.parametrize("phases", [0, 2, 4, -3])
def test_a_heater_has_one_phase_or_three(phases: int) -> None:
    with pytest.raises(RatingError, match="1 or 3"):
        heater.line_amps(18, 480, phases)
