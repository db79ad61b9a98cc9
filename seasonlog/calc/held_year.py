"""A basin under its thermostat through a weather record, hour by hour."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from seasonlog.calc.cycling import HeldBasin
from seasonlog.calc.units import temperature
from seasonlog.errors import RatingError


@dataclass(frozen=True, slots=True)
class HeldYear:
    """What a thermostat and its heater did through a weather record."""

    kwh: float
    hours_on: float
    starts: int
    """Times the heater was switched on."""
    lowest_degf: float
    """Coldest the water was at the end of an hour or at a switching [degF]; below 32 it would be freezing."""
    ends_degf: float


def held_year(held: HeldBasin, air_degf: Sequence[float], start_degf: float | None = None) -> HeldYear:
    """A basin under its thermostat, hour by hour; the air steady within each hour, the switching times exact.

    Args:
        held: Basin, heater and thermostat; one loss coefficient.
        air_degf: One temperature for each hour [degF].
        start_degf: Water at the beginning [degF], heater off above cut-in; cut-out when not given.

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance M cp dT/dt = P - UA (T - Ta), solved exactly within each hour and between switchings.
    """
    if not air_degf:
        raise RatingError("no hour of weather is given; one temperature an hour is wanted")
    for each in (min(air_degf), max(air_degf), math.fsum(air_degf) / len(air_degf)):
        temperature(each, "outdoor air")
    water = temperature(held.cut_out_degf if start_degf is None else start_degf, "water at the beginning")
    return _run(held, air_degf, water)


def _run(held: HeldBasin, air_degf: Sequence[float], water: float) -> HeldYear:
    """The hours one after the other. An hour that reaches no edge costs one multiplication."""
    slow, rise = held.time_constant_hours, held.rise_degf
    cut_in, cut_out = held.cut_in_degf, held.cut_out_degf
    kept = math.exp(-1.0 / slow)
    on, starts, hours_on, lowest = water <= cut_in, int(water <= cut_in), 0.0, water
    for air in air_degf:
        toward = air + rise if on else air
        after = toward + (water - toward) * kept
        if after < cut_out if on else after > cut_in:
            water = after
            hours_on += on
        else:
            water, on, began, spent = _switching_hour(held, slow, rise, water, on, air)
            starts += began
            hours_on += spent
            lowest = min(lowest, cut_in) if began else lowest
        if water < lowest:
            lowest = water
    return HeldYear(hours_on * held.kw, hours_on, starts, lowest, water)


def _switching_hour(
    held: HeldBasin, slow: float, rise: float, water: float, on: bool, air: float
) -> tuple[float, bool, int, float]:
    """One hour with one or more switchings: water and heater at its end, times switched on, hours on."""
    left, began, spent = 1.0, 0, 0.0
    while True:
        toward = air + rise if on else air
        edge = held.cut_out_degf if on else held.cut_in_degf
        reaches = toward > edge if on else toward < edge
        until = slow * math.log((water - toward) / (edge - toward)) if reaches else math.inf
        step = min(until, left)
        spent += step if on else 0.0
        if until >= left:
            return toward + (water - toward) * math.exp(-left / slow), on, began, spent
        left -= until
        water, on = edge, not on
        began += on
