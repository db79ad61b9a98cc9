"""Heat of a season: an open typical year, constant weather, and a basin's thermostat run through both."""

import math
import random
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.basin import WALLS, Basin, Draught, Weather, loss
from seasonlog.calc.climate import Climate, Daily, Hourly
from seasonlog.calc.cycling import HeldBasin, cycling
from seasonlog.calc.degree_hours import degree_hours
from seasonlog.calc.energy import (
    ACTIVITY_HIGH,
    ACTIVITY_LOW,
    SEASON_SHELTER,
    Filling,
    Heat,
    Span,
    basin_loss,
    exposed,
    exposed_heats,
    extra_cost,
    linear_loss,
    season_heat,
    seasons_of,
)
from seasonlog.calc.held_year import held_year
from seasonlog.calc.units import BTUH_PER_KW
from seasonlog.errors import RatingError
from seasonlog.intake.weather import read_weather
from tests.bench import floors

OHARE = "chicago-ohare-725300-TMY3.epw"
HELD = HeldBasin(water_lb=6243, ua_btuh_per_degf=500, kw=12, cut_in_degf=40, cut_out_degf=48)
SEASONS = [
    ("steel", ACTIVITY_HIGH, (12_622, 19.2), (25_054, 24.5), 1.99, 12_433),
    ("steel", ACTIVITY_LOW, (11_291, 17.4), (22_303, 22.1), 1.98, 11_013),
    ("r4", ACTIVITY_HIGH, (6_437, 8.3), (13_149, 11.0), 2.04, 6_712),
]
"""Wall, activity, (kWh, peak kW) at 40 and 50 degF, ratio and extra kWh of the higher set point."""


@pytest.fixture(scope="module")
def hours(shared: Path) -> Sequence[Hourly]:
    climate, problems = read_weather((shared / "climate" / OHARE).read_bytes(), OHARE)
    assert problems == []
    assert climate is not None
    return climate.hours


@pytest.fixture(scope="module")
def days(hours: Sequence[Hourly]) -> list[Daily]:
    """The same year by its daily lowest and highest."""
    air = [hour.air_degf for hour in hours]
    cut = [air[n : n + 24] for n in range(0, 8760, 24)]
    return [Daily(date(2001, 1, 1) + timedelta(days=n), min(day), max(day)) for n, day in enumerate(cut)]


@pytest.mark.parametrize(("wall", "activity", "at_40", "at_50", "ratio", "extra"), SEASONS)
def test_a_season_hour_by_hour(
    hours: Sequence[Hourly],
    wall: str,
    activity: float,
    at_40: tuple[float, float],
    at_50: tuple[float, float],
    ratio: float,
    extra: float,
) -> None:
    """100 ft2 by 1 ft, 140 ft2 of walls, Chicago O'Hare TMY3, computed elsewhere: 0.05 %, peaks to 0.1 kW."""
    spans, lost = Filling().spans(hours), basin_loss(Basin(100, 1, 140, wall), activity)
    low, high = season_heat(lost, 40, spans), season_heat(lost, 50, spans)
    assert (low.kwh, high.kwh) == pytest.approx((at_40[0], at_50[0]), rel=5e-4)
    assert (round(low.peak_kw, 1), round(high.peak_kw, 1)) == (at_40[1], at_50[1])
    assert high.kwh / low.kwh == pytest.approx(ratio, abs=0.006)
    assert high.kwh - low.kwh == pytest.approx(extra, rel=1e-3)
    assert (low.hours, low.cold_hours) == (8760, 3140)


@pytest.mark.parametrize(("water", "expected"), [(40, 12_103), (50, 22_818)])
def test_the_linear_form(hours: Sequence[Hourly], water: float, expected: float) -> None:
    """UA 1000 Btu/h degF, same year, computed elsewhere: to the whole kWh; and it is UA times degree-hours."""
    got = season_heat(linear_loss(1000), water, Filling().spans(hours))
    assert round(got.kwh) == expected
    by_degree_hours = 1000 * degree_hours([hour.air_degf for hour in hours], water) / BTUH_PER_KW
    assert got.kwh == pytest.approx(by_degree_hours, rel=1e-12)


def test_ten_degrees_too_high_in_the_linear_form(hours: Sequence[Hourly]) -> None:
    """Ratio 1.885, computed elsewhere, to the digits printed."""
    spans = Filling().spans(hours)
    low, high = (season_heat(linear_loss(1000), water, spans).kwh for water in (40, 50))
    assert round(high / low, 3) == 1.885


def test_what_ten_degrees_too_high_costs() -> None:
    """12,433 kWh at an assumed 0.15 a kWh: 1,865 (printed elsewhere)."""
    assert round(extra_cost(12_433, 0.15)) == 1865


@pytest.mark.parametrize(("wall", "activity"), [row[:2] for row in SEASONS])
@pytest.mark.parametrize("water", [40, 50])
def test_daily_temperatures_and_an_assumed_wind_come_close(
    hours: Sequence[Hourly], days: list[Daily], wall: str, activity: float, water: float
) -> None:
    """10 mph assumed, the year's own mean wind is 10.2: within -3 and +4.5 % of the hourly figure, same year."""
    lost = basin_loss(Basin(100, 1, 140, wall), activity)
    hourly = season_heat(lost, water, Filling().spans(hours)).kwh
    assert -0.03 < season_heat(lost, water, Filling().spans_of_days(days)).kwh / hourly - 1 < 0.045


def test_an_assumed_wind_rules_the_daily_figure(hours: Sequence[Hourly], days: list[Daily]) -> None:
    """15 instead of 10 mph adds more than 20 %: the words of the command must say that it is assumed."""
    lost = basin_loss(Basin(100, 1, 140, "steel"), ACTIVITY_HIGH)
    calm, windy = (season_heat(lost, 40, Filling(wind_mph=w).spans_of_days(days)).kwh for w in (10, 15))
    assert windy > 1.2 * calm


@pytest.mark.parametrize(("water", "least", "most"), [(40, 0.0, 0.05), (50, 0.0, 0.03)])
def test_the_linear_form_from_days(
    hours: Sequence[Hourly], days: list[Daily], water: float, least: float, most: float
) -> None:
    """Half days of a sine wave: 0 to 5 % above the hours, as the single-sine form."""
    lost = linear_loss(500)
    by_hours = season_heat(lost, water, Filling().spans(hours)).kwh
    by_days = season_heat(lost, water, Filling().spans_of_days(days)).kwh
    assert least < by_days / by_hours - 1 < most


def test_days_with_a_temperature_missing_count_as_not_looked_at() -> None:
    days = [Daily(date(2026, 1, 1), 10, 20), Daily(date(2026, 1, 2), None, 20), Daily(date(2026, 1, 3), 10, None)]
    assert season_heat(linear_loss(100), 40, Filling().spans_of_days(days)).hours == 24


@given(st.floats(-40, 39), st.floats(10, 5000), st.floats(1, 9000))
def test_constant_weather_is_loss_times_hours(air: float, ua: float, count: float) -> None:
    got = season_heat(linear_loss(ua), 40, [Span(count, Weather(air))])
    assert got.kwh == pytest.approx(ua * (40 - air) * count / BTUH_PER_KW)
    assert got.peak_kw == pytest.approx(ua * (40 - air) / BTUH_PER_KW)


@given(
    st.floats(-40, 60), st.floats(0, 40), st.floats(0, 100), st.floats(0, 1), st.sampled_from(list(WALLS)),
    st.floats(32, 90), st.floats(0.1, 2),
)  # fmt: skip
def test_weather_worked_once_loses_what_each_way_of_asking_loses(
    air: float, wind: float, humidity: float, sky: float, wall: str, water: float, activity: float
) -> None:
    """Worked once for many waters, asked one at a time, and `basin.loss` with the draught written out: to 1e-12."""
    basin, weather = Basin(100, 1, 140, wall, sky), Weather(air, wind, humidity)
    (heat,) = exposed_heats([activity], water, exposed(basin, [Span(1, weather)]))
    alone = loss(basin, water, weather, Draught(SEASON_SHELTER * wind, wind, activity)).kw
    assert basin_loss(basin, activity)(water, weather) == pytest.approx(alone, rel=1e-12)
    assert heat.kwh == pytest.approx(max(0, alone) if air < water else 0, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("below", [40.0, 50.0, 75.0, math.inf])
def test_hours_too_warm_to_matter_are_counted_and_change_nothing(hours: Sequence[Hourly], below: float) -> None:
    """O'Hare: the same heat, peak, hours and cold hours, exactly, with the warm hours put together or not."""
    (season,) = seasons_of(Climate(hours=tuple(hours), is_typical=True), Filling(), below)
    spans, lost = Filling().spans(hours), basin_loss(Basin(100, 1, 140, "steel"), ACTIVITY_HIGH)
    assert len(season.spans) == min(8760, sum(hour.air_degf < below for hour in hours) + 1)
    assert season_heat(lost, 40, season.spans) == season_heat(lost, 40, spans)


def test_days_too_warm_to_matter_are_counted_and_change_nothing(days: list[Daily]) -> None:
    """The same year by its days, both halves of each: as above."""
    lost = linear_loss(500)
    every, few = Filling().spans_of_days(days), Filling().spans_of_days(days, 40)
    assert len(few) < len(every) / 2
    assert season_heat(lost, 40, few) == season_heat(lost, 40, every)


@given(st.floats(40, 120))
def test_air_as_warm_as_the_water_takes_nothing(air: float) -> None:
    lost = basin_loss(Basin(100, 1, 140, "steel"), ACTIVITY_HIGH)
    assert season_heat(lost, 40, [Span(10, Weather(air))]) == Heat(0, 0, 10, 0)


@given(st.floats(0.01, 100))
def test_an_idle_share_takes_its_share(percent: float) -> None:
    whole = Heat(1000, 10, 8760, 3000)
    assert whole.shared(percent).kwh == pytest.approx(10 * percent)
    assert whole.shared(percent).peak_kw == 10


@pytest.mark.parametrize("air", [-20.0, 0.0, 20.0, 35.0])
def test_a_year_of_constant_air_is_the_analytic_cycling(air: float) -> None:
    """8,760 equal hours against whole cycles of the closed form and what is left of the last: within 1e-9 of the kWh
    (the promise is 1e-6), and the same count of starts."""
    got, cycle = held_year(HELD, [air] * 8760, start_degf=HELD.cut_in_degf), cycling(HELD, air)
    whole = math.floor(8760 / cycle.period_hours)
    left = 8760 - whole * cycle.period_hours
    hours_on = whole * cycle.on_hours + min(left, cycle.on_hours)
    assert got.kwh == pytest.approx(12 * hours_on, rel=1e-9)
    assert got.starts == whole + 1
    assert got.lowest_degf == 40


def test_a_year_of_varying_air_agrees_with_an_integrator(hours: Sequence[Hourly]) -> None:
    """Ten January days by scipy solve_ivp with events, hour by hour: kWh within 1e-6, water within 1e-6 degF."""
    integrate = pytest.importorskip("scipy.integrate")
    air = [hour.air_degf for hour in hours[:240]]
    water, on, hours_on = 48.0, False, 0.0
    for outside in air:
        now = 0.0
        while now < 1.0 - 1e-12:
            power, edge = (12 * BTUH_PER_KW, 48.0) if on else (0.0, 40.0)

            def reached(_: float, state: Sequence[float], edge: float = edge) -> float:
                return state[0] - edge

            reached.terminal, reached.direction = True, 1 if on else -1  # type: ignore[attr-defined]
            slope = lambda _, state, p=power, a=outside: (p - 500 * (state[0] - a)) / 6243  # noqa: E731
            done = integrate.solve_ivp(slope, (now, 1.0), [water], events=reached, rtol=1e-11, atol=1e-11)
            hours_on += (done.t[-1] - now) if on else 0.0
            now, water = float(done.t[-1]), float(done.y[0][-1])
            if len(done.t_events[0]):
                water, on = edge, not on
    got = held_year(HELD, air)
    assert got.kwh == pytest.approx(12 * hours_on, rel=1e-6)
    assert got.ends_degf == pytest.approx(water, abs=1e-6)


def test_the_years_heat_is_the_bare_loops(hours: Sequence[Hourly]) -> None:
    """An independent closed form in a bare loop (tests/bench/floors.py), O'Hare: within 1e-10; the promise is 1e-4."""
    air = [hour.air_degf for hour in hours]
    assert held_year(HELD, air).kwh == pytest.approx(floors.tower_year(6243, 500, 12, 40, 48, air), rel=1e-10)


def test_the_years_heat_lies_between_the_two_edges_held_steadily(hours: Sequence[Hourly]) -> None:
    """Held exactly at 40 and exactly at 48 degF bracket the thermostat's year."""
    spans = Filling().spans(hours)
    low, high = (season_heat(linear_loss(500), water, spans).kwh for water in (40, 48))
    assert low < held_year(HELD, [hour.air_degf for hour in hours]).kwh < high


def test_a_short_heater_shows_how_cold_the_water_got() -> None:
    """6 kW on 500 Btu/h degF settles 40.94 degF above the air: at -20 degF air the water ends there."""
    weak = HeldBasin(6243, 500, 6, 40, 48)
    got = held_year(weak, [-20.0] * 1000)
    assert got.lowest_degf == pytest.approx(-20 + weak.rise_degf, abs=1e-6)
    assert got.hours_on > 990


def test_the_water_may_begin_cold() -> None:
    got = held_year(HELD, [0.0] * 4, start_degf=33)
    assert (got.starts, got.lowest_degf) == (1, 33)
    assert got.hours_on == pytest.approx(4)


@given(st.lists(st.floats(-40, 60), min_size=1, max_size=60), st.floats(0.1, 20))
def test_colder_hours_never_leave_the_water_warmer(air: list[float], colder: float) -> None:
    one, other = held_year(HELD, air), held_year(HELD, [each - colder for each in air])
    assert other.lowest_degf <= one.lowest_degf + 1e-9


@pytest.mark.parametrize("seed", range(12))
def test_the_heat_balance_closes(seed: int) -> None:
    """What went in is what is kept and what was lost: 60 drawn hours in 200 slices each, within 0.5 kWh of some 200."""
    draw = random.Random(seed)
    air = [draw.uniform(-40, 60) for _ in range(60)]
    got = held_year(HELD, air)
    lost, water, on = 0.0, 48.0, False
    for outside in air:
        for _ in range(200):
            slope = ((12 * BTUH_PER_KW if on else 0) - 500 * (water - outside)) / 6243
            lost += 500 * (water - outside) / 200
            water += slope / 200
            on = water < 48 if on else water <= 40
    kept = 6243 * (got.ends_degf - 48)
    assert got.kwh * BTUH_PER_KW == pytest.approx(kept + lost, abs=0.5 * BTUH_PER_KW)


IMPOSSIBLE: dict[str, Callable[[], object]] = {
    "no coefficient": lambda: linear_loss(0),
    "endless coefficient": lambda: linear_loss(math.inf),
    "shelter above one": lambda: basin_loss(Basin(100, 1, 140), 1, 1.1),
    "activity of nothing": lambda: basin_loss(Basin(100, 1, 140), 0),
    "shelter is no number": lambda: exposed(Basin(100, 1, 140), [], math.nan),
    "endless activity": lambda: exposed_heats([math.inf], 40, []),
    "boiling set point": lambda: exposed_heats([1], 201, []),
    "frozen set point": lambda: season_heat(linear_loss(1), 31, []),
    "set point is no number": lambda: season_heat(linear_loss(1), math.nan, []),
    "idle share of nothing": lambda: Heat(1, 1, 1, 1).shared(0),
    "idle share above all": lambda: Heat(1, 1, 1, 1).shared(101),
    "no price": lambda: extra_cost(1, 0),
    "negative energy": lambda: extra_cost(-1, 0.1),
    "no hours": lambda: held_year(HELD, []),
    "air is no number": lambda: held_year(HELD, [0.0, math.nan, 0.0]),
    "endless air": lambda: held_year(HELD, [0.0, -math.inf]),
    "boiling start": lambda: held_year(HELD, [0.0], start_degf=1e9),
    "stormy filling": lambda: Filling(wind_mph=1e9).spans_of_days([Daily(date(2026, 1, 1), 0, 1)]),
}


@pytest.mark.parametrize("wrong", IMPOSSIBLE.values(), ids=IMPOSSIBLE)
def test_what_cannot_be_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(RatingError):
        wrong()
