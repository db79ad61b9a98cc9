"""Hours until a basin reaches freezing with its heater off or weak, and what a weak heater holds.

The water is taken as well mixed. Real water is lightest below 39.2 degF, so the top is coldest and skins over first.
"""

import math
from collections.abc import Callable

from seasonlog.calc.basin import (
    LEAST_WATER_DEGF,
    MOST_WATER_DEGF,
    SHELTER,
    Basin,
    Draught,
    Weather,
    draught_high,
    draught_low,
    loss,
)
from seasonlog.calc.quadrature import integral, root
from seasonlog.calc.units import LB_PER_FT3, MOST_KW, btuh_from_kw, positive, temperature, within
from seasonlog.errors import RatingError

SKIN_ICE = (
    "These figures are for well-mixed water. Below 39.2 degF still water is coldest on top, so the first skin of ice "
    "comes earlier than the whole basin reaches 32 degF."
)
"""Printed wherever a time to freeze or a heater's adequacy is shown. Source: water is densest at 39.2 degF."""
START_DEGF = 40.0
"""Where a basin's thermostat customarily holds the water. Common practice, no source."""
MOST_CAPACITY = 1e9
MOST_UA = 1e8
MOST_PIPE_IN = 120.0
"""Outside these a number is a slip of the finger. Common sense, no source."""


def hours_to(
    basin: Basin,
    weather: Weather,
    draught: Draught,
    heater_kw: float = 0.0,
    start_degf: float = START_DEGF,
    end_degf: float = LEAST_WATER_DEGF,
) -> float | None:
    """Hours a basin takes to cool in one draught; None when it never gets there.

    Args:
        basin: Its size and walls.
        weather: Outdoor air, taken as constant.
        draught: Moving air at the water and the walls.
        heater_kw: What the heater still gives [kW]; 0 when off.
        start_degf: Water at the start [degF].
        end_degf: Water at the end [degF], not above the start and not below 32.

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance M cp dT/dt = P - q(T).
    """
    loss_btuh = _loss_of(basin, weather, draught)
    return cooling_hours(loss_btuh, basin.capacity_btu_per_degf, heater_kw, start_degf, end_degf)


def cooling_hours(
    loss_btuh: Callable[[float], float],
    capacity_btu_per_degf: float,
    heater_kw: float,
    start_degf: float,
    end_degf: float,
) -> float | None:
    """Hours water takes to cool, for any loss that grows with its temperature; None when it never gets there.

    The time is the integral of M cp dT / (q(T) - P) over temperature: exact at its end, nothing is stepped past.

    Args:
        loss_btuh: Loss [Btu/h] at a water temperature [degF].
        capacity_btu_per_degf: M cp [Btu/degF].
        heater_kw: P [kW], 0 when off.
        start_degf: Water at the start [degF].
        end_degf: Water at the end [degF], not above the start.

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance.
    """
    positive(capacity_btu_per_degf, "heat capacity of the water", "Btu/degF", MOST_CAPACITY)
    heater_btuh = btuh_from_kw(within(heater_kw, "heater power", "kW", 0.0, MOST_KW))
    _cools(start_degf, end_degf)
    if start_degf == end_degf:
        return 0.0
    least = loss_btuh(end_degf) - heater_btuh
    if least <= 0.0:
        return None
    hour_degf_per_btu = integral(lambda t: 1.0 / max(least, loss_btuh(t) - heater_btuh), end_degf, start_degf)
    return capacity_btu_per_degf * hour_degf_per_btu


def freeze_hours(
    basin: Basin,
    weather: Weather,
    heater_kw: float = 0.0,
    start_degf: float = START_DEGF,
    shelter: float = SHELTER,
) -> tuple[float | None, float | None]:
    """Fewest and most hours until 32 degF, between the high and the low draught; None for never.

    Arguments and errors as `hours_to` and `basin.draught_high`.
    """
    both = _draughts(weather, shelter)
    hours = [hours_to(basin, weather, draught, heater_kw, start_degf) for draught in both]
    low, high = sorted(hours, key=lambda each: math.inf if each is None else each)
    return low, high


def steady_degf(basin: Basin, weather: Weather, draught: Draught, heater_kw: float) -> float | None:
    """Temperature at which a heater's power and the loss are equal [degF]; None where that is below 32.

    Args:
        basin: Its size and walls.
        weather: Outdoor air, taken as constant.
        draught: Moving air at the water and the walls.
        heater_kw: What the heater gives [kW].

    Returns:
        From 32 to 200 degF; 200 also stands for anything hotter.

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance, root found by false position.
    """
    return balance_degf(_loss_of(basin, weather, draught), heater_kw)


def balance_degf(loss_btuh: Callable[[float], float], heater_kw: float) -> float | None:
    """As `steady_degf`, for any loss [Btu/h] that grows with the water's temperature [degF]."""
    heater_btuh = btuh_from_kw(within(heater_kw, "heater power", "kW", 0.0, MOST_KW))
    low, high = LEAST_WATER_DEGF, MOST_WATER_DEGF
    if loss_btuh(low) > heater_btuh:
        return None
    if loss_btuh(high) <= heater_btuh:
        return high
    return root(lambda degf: loss_btuh(degf) - heater_btuh, low, high)


def steady_range(
    basin: Basin, weather: Weather, heater_kw: float, shelter: float = SHELTER
) -> tuple[float | None, float | None]:
    """Lowest and highest temperature a heater holds, between the two draughts. As `steady_degf`, None below 32."""
    held = [steady_degf(basin, weather, draught, heater_kw) for draught in _draughts(weather, shelter)]
    low, high = sorted(held, key=lambda each: -math.inf if each is None else each)
    return low, high


def constant_ua_hours(
    capacity_btu_per_degf: float,
    ua_btuh_per_degf: float,
    air_degf: float,
    heater_kw: float,
    start_degf: float,
    end_degf: float = LEAST_WATER_DEGF,
) -> float | None:
    """Hours to cool when the loss is UA times the difference to the air; None when it never gets there.

    Args:
        capacity_btu_per_degf: M cp [Btu/degF].
        ua_btuh_per_degf: UA [Btu/h degF].
        air_degf: Outdoor air [degF].
        heater_kw: P [kW], 0 when off.
        start_degf: Water at the start [degF].
        end_degf: Water at the end [degF], not above the start.

    Raises:
        RatingError: a value is impossible.

    Source:
        t = (M cp / UA) ln((T0 - Ts) / (T1 - Ts)), Ts = Ta + P / UA; lumped heat balance.
    """
    positive(capacity_btu_per_degf, "heat capacity of the water", "Btu/degF", MOST_CAPACITY)
    positive(ua_btuh_per_degf, "heat loss coefficient", "Btu/h degF", MOST_UA)
    heater_btuh = btuh_from_kw(within(heater_kw, "heater power", "kW", 0.0, MOST_KW))
    steady = temperature(air_degf, "outdoor air") + heater_btuh / ua_btuh_per_degf
    _cools(start_degf, end_degf)
    if start_degf == end_degf:
        return 0.0
    if steady >= end_degf:
        return None
    return capacity_btu_per_degf / ua_btuh_per_degf * math.log((start_degf - steady) / (end_degf - steady))


def pipe_hours(
    inside_in: float,
    pipe_in: float,
    jacket_in: float,
    conductivity: float,
    air_degf: float,
    start_degf: float,
) -> float | None:
    """Hours until still water in an insulated pipe reaches 32 degF, not until it is ice; None for never.

    Args:
        inside_in: Inside diameter of the pipe [in].
        pipe_in: Outside diameter of the pipe [in].
        jacket_in: Outside diameter of the insulation [in].
        conductivity: Of the insulation [Btu in/h ft2 degF].
        air_degf: Around it [degF].
        start_degf: Water at the start [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        ASHRAE Handbook Fundamentals 2019, insulation of mechanical systems (second hand): insulation alone resists.
    """
    bore = positive(inside_in, "inside diameter", "in", MOST_PIPE_IN)
    if not bore <= positive(pipe_in, "pipe diameter", "in", MOST_PIPE_IN) < jacket_in <= MOST_PIPE_IN:
        raise RatingError(f"diameters {inside_in:g}, {pipe_in:g} and {jacket_in:g} in do not lie around each other")
    lb_per_ft = LB_PER_FT3 * math.pi * (bore / 24.0) ** 2
    resistance = 12.0 * math.log(jacket_in / pipe_in) / (2.0 * math.pi)
    ua_per_ft = positive(conductivity, "conductivity", "Btu in/h ft2 degF", 1000.0) / resistance
    return constant_ua_hours(lb_per_ft, ua_per_ft, air_degf, 0.0, start_degf)


def _draughts(weather: Weather, shelter: float) -> tuple[Draught, Draught]:
    return draught_low(weather.wind_mph), draught_high(weather.wind_mph, shelter)


def _loss_of(basin: Basin, weather: Weather, draught: Draught) -> Callable[[float], float]:
    def loss_btuh(water_degf: float) -> float:
        return loss(basin, water_degf, weather, draught).total_btuh

    return loss_btuh


def _cools(start_degf: float, end_degf: float) -> None:
    if temperature(start_degf, "water at the start") < temperature(end_degf, "water at the end"):
        raise RatingError(f"water at the start is {start_degf:g} degF, colder than the {end_degf:g} degF it cools to")
