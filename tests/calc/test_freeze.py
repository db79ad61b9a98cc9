"""Hours to freeze, and what a weak heater holds.

Closed form: constant UA, to 1e-9 through the same integrator. Second methods: scipy's solve_ivp with an event, and
Runge and Kutta steps. Table worked beforehand with solve_ivp: to the digit printed. Outside: the pipe form of ASHRAE
Fundamentals 2019 as a forensic-engineering page quotes its table.
"""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from seasonlog.calc import freeze
from seasonlog.calc.basin import Basin, Draught, Weather, draught_high, draught_low, loss
from seasonlog.calc.quadrature import integral
from seasonlog.calc.units import BTUH_PER_KW, btuh_from_kw
from seasonlog.errors import RatingError

MASS, UA = 6243, 500
WINDY = Draught(5, 15, 1)


def linear(water_degf: float) -> float:
    """500 Btu/h degF to air of 0 degF."""
    return UA * water_degf


def test_the_closed_form_and_the_integrator_agree() -> None:
    """6,243 lb, 500 Btu/h degF, 40 to 32 degF in air of 0 degF: 2.78617 h worked beforehand; both, to 1e-9."""
    closed = freeze.constant_ua_hours(MASS, UA, 0, 0, 40)
    assert closed == pytest.approx(2.78617, abs=5e-6)
    assert freeze.cooling_hours(linear, MASS, 0, 40, 32) == pytest.approx(closed, rel=1e-9)


@pytest.mark.parametrize("kw", [0, 1, 3, 4, 4.6, 4.68, 4.6889])
@pytest.mark.parametrize("start", [32.001, 33, 40, 60, 120])
def test_a_weak_heater_only_delays(kw: float, start: float) -> None:
    """Constant UA, up to a hair below the power that holds 32 degF (4.68914 kW): the integrator to 1e-8."""
    closed = freeze.constant_ua_hours(MASS, UA, 0, kw, start)
    assert closed is not None
    assert freeze.cooling_hours(linear, MASS, kw, start, 32) == pytest.approx(closed, rel=1e-8)


@pytest.mark.parametrize(("kw", "held"), [(12, 81.89), (6, 40.94)])
def test_what_a_heater_holds(kw: float, held: float) -> None:
    """Ta + P/UA: 12 kW 81.89 degF, 6 kW 40.94 degF, worked beforehand, to a hundredth; it never freezes."""
    assert freeze.balance_degf(linear, kw) == pytest.approx(held, abs=0.01)
    assert freeze.constant_ua_hours(MASS, UA, 0, kw, 40) is None
    assert freeze.cooling_hours(linear, MASS, kw, 40, 32) is None


@pytest.mark.parametrize(("step", "printed"), [(1.0, 2.7929), (0.5, 2.7886), (0.1, 2.7862)])
def test_stepping_past_the_end_is_the_larger_error(step: float, printed: float) -> None:
    """Second method: Runge and Kutta with a straight line at the end gives these; ours is what they tend to."""
    hours, here = 0.0, 40.0
    while True:
        there = runge_kutta(here, step)
        if there <= 32:
            found = hours + step * (here - 32) / (here - there)
            break
        hours, here = hours + step, there
    assert found == pytest.approx(printed, abs=5e-5)
    ours = freeze.cooling_hours(linear, MASS, 0, 40, 32)
    assert ours is not None
    assert 0 < found - ours < 0.0068 * step


def runge_kutta(degf: float, step: float) -> float:
    def rate(t: float) -> float:
        return -linear(t) / MASS

    one = rate(degf)
    two = rate(degf + step / 2 * one)
    three = rate(degf + step / 2 * two)
    four = rate(degf + step * three)
    return degf + step / 6 * (one + 2 * two + 2 * three + four)


AIRS = (-20, -10, 0, 10, 20)
TABLE = {
    0.5: {"steel": (0.39, 0.46, 0.58, 0.79, 1.24), "r4": (0.92, 1.08, 1.31, 1.71, 2.56)},
    1.0: {"steel": (0.78, 0.93, 1.16, 1.57, 2.47), "r4": (1.84, 2.16, 2.63, 3.43, 5.13)},
    2.0: {"steel": (1.55, 1.86, 2.33, 3.14, 4.95), "r4": (3.68, 4.31, 5.26, 6.85, 10.25)},
}
CELLS = [
    (depth, wall, degf, hours)
    for depth, walls in TABLE.items()
    for wall, row in walls.items()
    for degf, hours in zip(AIRS, row, strict=True)
]


@pytest.mark.parametrize(("depth", "wall", "air_degf", "hours"), CELLS)
def test_hours_from_40_to_32_degf(depth: float, wall: str, air_degf: float, hours: float) -> None:
    """Table worked beforehand: 100 ft2, 140 ft2 of walls, 5 mph at the water, 15 at the walls; to 0.006 h."""
    found = freeze.hours_to(Basin(100, depth, 140, wall), Weather(air_degf), WINDY)
    assert found == pytest.approx(hours, abs=0.006)


def by_scipy(basin: Basin, weather: Weather, draught: Draught, kw: float, start: float) -> float | None:
    """Hours by solve_ivp (an implicit method) stopped by an event at 32 degF; None when it does not come in a month."""
    integrate = pytest.importorskip("scipy.integrate")

    def rate(_t: float, degf: list[float]) -> list[float]:
        lost = loss(basin, max(32.0, degf[0]), weather, draught).total_btuh
        return [(btuh_from_kw(kw) - lost) / basin.capacity_btu_per_degf]

    def frozen(_t: float, degf: list[float]) -> float:
        return degf[0] - 32.0

    frozen.terminal = True
    found = integrate.solve_ivp(rate, (0, 720), [start], events=frozen, rtol=1e-10, atol=1e-10, method="LSODA")
    return float(found.t_events[0][0]) if found.t_events[0].size else None


@pytest.mark.parametrize("wall", ["steel", "frp", "r4"])
@pytest.mark.parametrize("depth", [0.3, 1, 1.5, 3])
@pytest.mark.parametrize(("air_degf", "kw"), [(-40, 0), (-20, 5), (5, 2), (15, 0), (28, 0)])
def test_hours_by_solve_ivp(wall: str, depth: float, air_degf: float, kw: float) -> None:
    """Second method: scipy's solve_ivp with an event, to 1e-6 of the hours; depths and airs not in the table too."""
    basin, weather = Basin(100, depth, 140, wall, 0.5), Weather(air_degf, 20, cloud_tenths=5)
    for draught in (draught_low(20), draught_high(20)):
        ours, theirs = freeze.hours_to(basin, weather, draught, kw, 42), by_scipy(basin, weather, draught, kw, 42)
        assert ours == (theirs if theirs is None else pytest.approx(theirs, rel=1e-6))


@pytest.mark.parametrize("wall", ["steel", "frp", "r4"])
@pytest.mark.parametrize("kw", [8, 11, 16, 30])
def test_what_a_heater_holds_is_a_balance(wall: str, kw: float) -> None:
    """Second method: scipy's brentq on the same balance, to 1e-6 degF."""
    optimize = pytest.importorskip("scipy.optimize")
    basin, weather = Basin(100, 1, 140, wall), Weather(0)
    ours = freeze.steady_degf(basin, weather, WINDY, kw)

    def surplus(degf: float) -> float:
        return loss(basin, degf, weather, WINDY).kw - kw

    if surplus(32) > 0:
        assert ours is None
    else:
        assert ours == pytest.approx(optimize.brentq(surplus, 32, 200, xtol=1e-10), abs=1e-6)


def test_low_hours_come_from_the_high_draught() -> None:
    basin, weather = Basin(100, 1, 140), Weather(0)
    low, high = freeze.freeze_hours(basin, weather)
    assert low == freeze.hours_to(basin, weather, draught_high(15))
    assert high == freeze.hours_to(basin, weather, draught_low(15))
    assert low == pytest.approx(1.16, abs=0.006)


def test_a_heater_between_the_two_losses_may_freeze_or_not() -> None:
    """At 32 degF and 0 degF air the reference basin loses 8.2 kW still and 11.1 kW in 5 mph: 9 kW lies between."""
    basin, weather = Basin(100, 1, 140), Weather(0)
    low, high = freeze.freeze_hours(basin, weather, 9)
    assert low is not None
    assert high is None
    cold, warm = freeze.steady_range(basin, weather, 9)
    assert cold is None
    assert warm is not None
    assert warm > 32


def test_a_heater_that_holds_never_freezes_and_says_what_it_holds() -> None:
    basin, weather = Basin(100, 1, 140), Weather(0)
    assert freeze.freeze_hours(basin, weather, 20) == (None, None)
    cold, warm = freeze.steady_range(basin, weather, 20)
    assert cold is not None
    assert warm is not None
    assert 40 < cold < warm
    assert loss(basin, cold, weather, draught_high(15)).kw == pytest.approx(20)


def test_a_heater_beyond_all_measure_is_told_as_200_degf() -> None:
    assert freeze.steady_degf(Basin(100, 1, 140), Weather(0), WINDY, 5000) == pytest.approx(200)


def test_air_above_freezing_never_freezes_it() -> None:
    """The balance with a wet, radiating surface then lies a little below the air's temperature."""
    basin, weather = Basin(100, 1, 140), Weather(45)
    assert freeze.freeze_hours(basin, weather) == (None, None)
    cold, warm = freeze.steady_range(basin, weather, 0)
    assert cold is not None
    assert warm is not None
    assert 38 < cold <= warm <= 45


def test_water_at_32_degf_is_there_already() -> None:
    assert freeze.freeze_hours(Basin(100, 1, 140), Weather(0), 20, 32) == (0, 0)
    assert freeze.constant_ua_hours(MASS, UA, 0, 20, 32) == 0


def test_the_skin_comes_first_is_said() -> None:
    assert "39.2" in freeze.SKIN_ICE
    assert "earlier" in freeze.SKIN_ICE


@pytest.mark.parametrize(("air_degf", "printed", "ours"), [(-18, 1.4, 1.378), (20, 4.6, 4.583)])
def test_the_pipe_of_the_handbook(air_degf: float, printed: float, ours: float) -> None:
    """2 in pipe, 1.5 in of k 0.30, 42 degF: the handbook's 1.4 and 4.6 h; worked before 1.378 and 4.583, to 0.1 %."""
    found = freeze.pipe_hours(2.067, 2.375, 5.375, 0.30, air_degf, 42)
    assert found == pytest.approx(printed, abs=0.05)
    assert found == pytest.approx(ours, rel=1e-3)


# Laws

COLD = st.floats(-60, 25)
KW = st.floats(0, 6)


@given(COLD, st.floats(0.1, 20), st.floats(1.01, 10), st.sampled_from(["steel", "frp", "r4"]))
def test_time_goes_with_depth(air_degf: float, depth: float, times: float, wall: str) -> None:
    """The loss does not know the depth, so twice the depth is twice the time: to 1e-9."""
    assume(depth * times < 50)
    shallow, deep = (
        freeze.hours_to(Basin(100, each, 140, wall), Weather(air_degf), WINDY) for each in (depth, times * depth)
    )
    assert shallow is not None
    assert deep == pytest.approx(times * shallow, rel=1e-9)


@given(COLD, KW, st.floats(0.1, 3))
def test_more_heat_takes_longer(air_degf: float, kw: float, more: float) -> None:
    less, longer = (freeze.hours_to(Basin(100, 1, 140), Weather(air_degf), WINDY, each) for each in (kw, kw + more))
    assert longer is None or (less is not None and less < longer)


@given(COLD, KW)
def test_low_is_never_longer_than_high(air_degf: float, kw: float) -> None:
    low, high = freeze.freeze_hours(Basin(100, 1, 140), Weather(air_degf), kw)
    assert high is None or (low is not None and low <= high)


@given(COLD, st.floats(33, 45), st.floats(0.1, 40))
def test_the_way_down_is_the_sum_of_its_parts(air_degf: float, between: float, above: float) -> None:
    """From the start to a middle and on to 32 degF: the same hours to 1e-9."""
    basin, weather = Basin(100, 1, 140), Weather(air_degf)
    whole = freeze.hours_to(basin, weather, WINDY, 0, between + above)
    first = freeze.hours_to(basin, weather, WINDY, 0, between + above, between)
    second = freeze.hours_to(basin, weather, WINDY, 0, between)
    assert whole is not None
    assert first is not None
    assert second is not None
    assert first + second == pytest.approx(whole, rel=1e-9)


@given(COLD, st.floats(0, 40))
def test_what_freezes_is_not_held_and_what_is_held_does_not_freeze(air_degf: float, kw: float) -> None:
    basin, weather = Basin(100, 1, 140), Weather(air_degf)
    hours, held = freeze.hours_to(basin, weather, WINDY, kw), freeze.steady_degf(basin, weather, WINDY, kw)
    assert (hours is None) is (held is not None)


@given(st.floats(-5, 5), st.floats(0.01, 10))
def test_the_integrator_by_closed_forms(low: float, wide: float) -> None:
    """exp and a pole a hair outside the stretch: to 1e-9."""
    assert integral(math.exp, low, low + wide) == pytest.approx(math.exp(low + wide) - math.exp(low), rel=1e-9)
    near = integral(lambda x: 1.0 / (x - low + 1e-5), low, low + wide)
    assert near == pytest.approx(math.log((wide + 1e-5) / 1e-5), rel=1e-9)


BASIN, WEATHER = Basin(100, 1, 140), Weather(0)


@pytest.mark.parametrize("bad", [-1, float("nan"), float("inf"), 1e9])
def test_an_impossible_power_is_refused(bad: float) -> None:
    for call in (
        lambda: freeze.freeze_hours(BASIN, WEATHER, bad),
        lambda: freeze.steady_degf(BASIN, WEATHER, WINDY, bad),
        lambda: freeze.constant_ua_hours(MASS, UA, 0, bad, 40),
    ):
        with pytest.raises(RatingError, match=r"heater power.*check it"):
            call()


@pytest.mark.parametrize(
    ("call", "what"),
    [
        (lambda: freeze.freeze_hours(BASIN, WEATHER, 0, 31), "colder than the 32"),
        (lambda: freeze.freeze_hours(BASIN, WEATHER, 0, 1e9), "start is 1e"),
        (lambda: freeze.freeze_hours(BASIN, WEATHER, 0, float("nan")), "start is nan"),
        (lambda: freeze.freeze_hours(BASIN, WEATHER, 0, 40, 2), "share of the wind"),
        (lambda: freeze.hours_to(BASIN, WEATHER, WINDY, 0, 40, 30), "water is 30"),
        (lambda: freeze.cooling_hours(linear, 0, 0, 40, 32), "capacity"),
        (lambda: freeze.constant_ua_hours(MASS, 0, 0, 0, 40), "coefficient"),
        (lambda: freeze.constant_ua_hours(MASS, UA, float("nan"), 0, 40), "outdoor air"),
        (lambda: freeze.constant_ua_hours(MASS, UA, 0, 0, 31), "colder"),
        (lambda: freeze.pipe_hours(2.067, 2.375, 2.0, 0.3, 0, 42), "do not lie around"),
        (lambda: freeze.pipe_hours(0, 2.375, 5, 0.3, 0, 42), "inside diameter"),
        (lambda: freeze.pipe_hours(2.067, 2.375, 5.375, -1, 0, 42), "conductivity"),
    ],
)
def test_the_impossible_is_refused(call, what: str) -> None:
    with pytest.raises(RatingError, match=what):
        call()


def test_the_power_that_just_holds_32_degf() -> None:
    """UA 500 and 32 degF: 16,000 Btu/h is 4.689 kW; there it never freezes."""
    assert freeze.constant_ua_hours(MASS, UA, 0, 16000 / BTUH_PER_KW * (1 + 1e-12), 40) is None
    assert freeze.constant_ua_hours(MASS, UA, 0, 4.689, 40) is not None
