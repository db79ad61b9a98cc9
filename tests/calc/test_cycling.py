"""A thermostat between its two edges: the published form against a step simulation and an integrator with events."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.cycling import Cycle, HeldBasin, Observation, cycling, fitted_ua, learned_ua
from seasonlog.calc.units import BTUH_PER_KW
from seasonlog.errors import RatingError

REFERENCE = HeldBasin(water_lb=6243, ua_btuh_per_degf=500, kw=12, cut_in_degf=40, cut_out_degf=48)
"""100 ft2 by 1 ft of water."""
CHECK = {0: (2.6460, 2.2765, 0.5375, 4.88, 154.8), 20: (1.7282, 4.2012, 0.2915, 4.05, 83.9)}
"""Air degF to hours on, hours off, duty, cycles a day, kWh a day. Computed with general libraries, to these digits."""

basins = st.builds(
    HeldBasin,
    st.floats(5000, 1e5),
    st.floats(20, 5000),
    st.floats(1, 200),
    st.floats(35, 45),
    st.floats(48, 60),
).filter(lambda held: held.rise_degf > 1.0)


@pytest.mark.parametrize(("air", "expected"), CHECK.items())
def test_the_check_values_to_the_digits_printed(air: float, expected: tuple[float, ...]) -> None:
    """Computed elsewhere from the same closed form: all printed digits agree."""
    got = cycling(REFERENCE, air)
    assert (round(got.on_hours, 4), round(got.off_hours, 4), round(got.duty, 4)) == expected[:3]
    assert (round(got.cycles_per_day, 2), round(got.kwh_per_day, 1)) == expected[3:]


@pytest.mark.parametrize(("air", "stepped"), [(0, 155.4), (20, 83.6)])
def test_a_two_second_step_simulation_of_ten_days(air: float, stepped: float) -> None:
    """Explicit steps of 2 s over 10 days from the middle of the band, heater off: the kWh a day computed elsewhere by
    such a simulation, 155.4 and 83.6, to these digits; the closed form within 1 % (part of a cycle is left over)."""
    water, on, hours_on, step = 44.0, False, 0.0, 2 / 3600
    for _ in range(int(10 * 24 / step)):
        power = REFERENCE.kw * BTUH_PER_KW if on else 0.0
        water += step * (power - 500 * (water - air)) / 6243
        hours_on += step * on
        on = water < 48 if on else water <= 40
    simulated = hours_on * REFERENCE.kw / 10
    assert simulated == pytest.approx(stepped, abs=0.05)
    assert simulated == pytest.approx(cycling(REFERENCE, air).kwh_per_day, rel=0.01)


@pytest.mark.parametrize("air", [-10, 0, 20, 35])
def test_an_integrator_with_events(air: float) -> None:
    """scipy solve_ivp with terminal events at the edges: on and off times within 1e-7."""
    integrate = pytest.importorskip("scipy.integrate")

    def hours(start: float, end: float, power_btuh: float) -> float:
        def reached(_: float, water: list[float]) -> float:
            return water[0] - end

        reached.terminal = True  # type: ignore[attr-defined]
        slope = lambda _, water: (power_btuh - 500 * (water - air)) / 6243  # noqa: E731
        done = integrate.solve_ivp(slope, (0, 500), [start], events=reached, rtol=1e-11, atol=1e-11)
        return float(done.t_events[0][0])

    got = cycling(REFERENCE, air)
    assert got.on_hours == pytest.approx(hours(40, 48, 12 * BTUH_PER_KW), rel=1e-7)
    assert got.off_hours == pytest.approx(hours(48, 40, 0), rel=1e-7)


@pytest.mark.parametrize(("air", "short_cut"), [(0, 0.5373), (20, 0.2931)])
def test_the_middle_of_the_band_is_a_fair_short_cut(air: float, short_cut: float) -> None:
    """Duty = UA (44 - Ta) / P: the printed values; within 0.6 % of the exact duty."""
    assert 500 * (44 - air) / (12 * BTUH_PER_KW) == pytest.approx(short_cut, abs=5e-5)
    assert cycling(REFERENCE, air).duty == pytest.approx(short_cut, rel=0.006)


def test_the_edge_that_forty_stands_for_moves_the_mean_by_the_differential() -> None:
    on_at_40 = cycling(REFERENCE, 0)
    off_at_40 = cycling(HeldBasin(6243, 500, 12, 32, 40), 0)
    assert on_at_40.mean_degf - off_at_40.mean_degf == pytest.approx(8, abs=0.1)


def test_a_heater_too_small_is_an_answer() -> None:
    """6 kW on 500 Btu/h degF holds 40.94 degF at 0 degF air (computed elsewhere): never off, never at cut-out."""
    got = cycling(HeldBasin(6243, 500, 6, 40, 48), 0)
    assert (got.state, got.duty, got.kwh_per_day) == (Cycle.ALWAYS_ON, 1, 144)
    assert got.mean_degf == pytest.approx(40.94, abs=0.01)
    assert (got.on_hours, got.off_hours, got.cycles_per_day) == (math.inf, 0, 0)


@pytest.mark.parametrize("air", [40, 44, 90])
def test_air_that_keeps_the_water_warm_is_an_answer(air: float) -> None:
    got = cycling(REFERENCE, air)
    assert (got.state, got.duty, got.kwh_per_day, got.cycles_per_day) == (Cycle.NEVER_ON, 0, 0, 0)


@given(basins, st.floats(-60, 30))
def test_the_mean_is_that_of_the_two_legs(held: HeldBasin, air: float) -> None:
    """Each leg's exponential averaged on its own, by Simpson's rule in the test: within 1e-6."""
    got = cycling(held, air)
    if got.state is not Cycle.SWITCHES or got.off_hours > 20 * held.time_constant_hours:
        return
    legs = ((held.cut_in_degf, air + held.rise_degf, got.on_hours), (held.cut_out_degf, air, got.off_hours))
    total = 0.0
    for start, toward, hours in legs:
        n = 400
        for k in range(n + 1):
            weight = (1 if k in (0, n) else 4 if k % 2 else 2) * hours / n / 3
            total += weight * (toward + (start - toward) * math.exp(-hours * k / n / held.time_constant_hours))
    assert got.mean_degf == pytest.approx(total / got.period_hours, rel=1e-6)


@given(basins, st.floats(-60, 30))
def test_what_a_cycling_heater_shows_gives_its_loss_back(held: HeldBasin, air: float) -> None:
    """Round trip with the true mean: 1e-9."""
    got = cycling(held, air)
    if got.duty > 1e-5 and got.mean_degf - air > 1:
        assert learned_ua(got.duty, held.kw, got.mean_degf, air) == pytest.approx(held.ua_btuh_per_degf, rel=1e-9)


@given(st.floats(50, 2000), st.floats(-60, 30), st.floats(1.3, 20))
def test_with_the_middle_of_the_band_it_comes_back_within_three_percent(ua: float, air: float, size: float) -> None:
    """8 degF between the edges, a heater of 1.3 to 20 times what cut-out takes, air below 30 degF: as the words say."""
    held = HeldBasin(50_000, ua, size * ua * (48 - air) / BTUH_PER_KW, 40, 48)
    assert learned_ua(cycling(held, air).duty, held.kw, 44, air) == pytest.approx(ua, rel=0.03)


@given(basins, st.floats(-60, 30), st.floats(0.1, 20))
def test_colder_air_never_takes_less(held: HeldBasin, air: float, colder: float) -> None:
    assert cycling(held, air - colder).kwh_per_day >= cycling(held, air).kwh_per_day * (1 - 1e-12)


@given(basins, st.floats(-60, 30), st.floats(1.5, 5))
def test_more_water_makes_longer_cycles_and_the_same_duty(held: HeldBasin, air: float, times: float) -> None:
    more = HeldBasin(held.water_lb * times, held.ua_btuh_per_degf, held.kw, held.cut_in_degf, held.cut_out_degf)
    one, other = cycling(held, air), cycling(more, air)
    assert other.duty == pytest.approx(one.duty)
    assert other.period_hours == pytest.approx(times * one.period_hours)


def test_several_rounds_give_one_coefficient_and_their_spread() -> None:
    """Least squares through the origin, worked by hand: UA = sum(q d) / sum(d^2)."""
    seen = [Observation(duty * 12, 44, air) for duty, air in ((0.55, 0), (0.29, 20), (0.42, 10))]
    got = fitted_ua(seen)
    heat, warmer = [each.mean_kw * BTUH_PER_KW for each in seen], [44, 24, 34]
    by_hand = sum(q * d for q, d in zip(heat, warmer, strict=True)) / sum(d * d for d in warmer)
    assert got.ua_btuh_per_degf == pytest.approx(by_hand)
    assert got.lowest <= got.ua_btuh_per_degf <= got.highest
    assert got.count == 3
    assert got.standard_error is not None and 0 < got.standard_error < 0.05 * by_hand  # noqa: PT018


def test_scipys_line_through_the_origin_gives_the_same() -> None:
    """scipy curve_fit of q = UA d: coefficient within 1e-6, standard error within 1e-4."""
    optimize = pytest.importorskip("scipy.optimize")
    warmer, heat = [44.0, 24.0, 34.0, 10.0], [22500.0, 11900.0, 17200.0, 5400.0]
    got = fitted_ua([Observation(q / BTUH_PER_KW, d, 0) for q, d in zip(heat, warmer, strict=True)])
    (ua,), ((variance,),) = optimize.curve_fit(lambda d, ua: ua * d, warmer, heat, p0=[500.0])
    assert got.ua_btuh_per_degf == pytest.approx(ua, rel=1e-6)
    assert got.standard_error == pytest.approx(math.sqrt(variance), rel=1e-4)


def test_one_round_has_no_spread() -> None:
    got = fitted_ua([Observation.from_kwh(154.8, 24, 44, 0)])
    assert got.standard_error is None
    assert got.ua_btuh_per_degf == pytest.approx(500, rel=0.002)


@pytest.mark.parametrize(
    "values",
    [(0, 500, 12, 40, 48), (6243, -1, 12, 40, 48), (6243, 500, math.nan, 40, 48), (6243, 500, 12, 48, 40),
     (6243, 500, 12, 40, 40), (6243, 500, 12, 20, 48), (6243, 500, 12, 40, math.inf), (1, 500, 12, 40, 48),
     (6243, 1e9, 12, 40, 48)],
)  # fmt: skip
def test_a_basin_that_cannot_be_is_refused(values: tuple[float, ...]) -> None:
    with pytest.raises(RatingError, match="check"):
        HeldBasin(*values)


@pytest.mark.parametrize("air", [math.nan, math.inf, -1e9])
def test_air_that_cannot_be_is_refused(air: float) -> None:
    with pytest.raises(RatingError, match="outdoor air"):
        cycling(REFERENCE, air)


@pytest.mark.parametrize(
    "values", [(0, 12, 44, 0), (1.1, 12, 44, 0), (0.5, 0, 44, 0), (0.5, 12, 44, 43.5), (0.5, 12, 0, 44),
               (math.nan, 12, 44, 0), (0.5, 12, math.nan, 0)],
)  # fmt: skip
def test_nothing_is_learned_from_what_cannot_be(values: tuple[float, ...]) -> None:
    with pytest.raises(RatingError):
        learned_ua(*values)


def test_nothing_is_learned_from_no_round() -> None:
    with pytest.raises(RatingError, match="no observation"):
        fitted_ua([])
    with pytest.raises(RatingError, match="hours watched"):
        Observation.from_kwh(10, 0, 44, 0)
