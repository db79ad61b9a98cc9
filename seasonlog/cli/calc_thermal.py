"""What the calculations of a cold basin share: its options, its words and what they leave out."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

import click

from seasonlog.calc.basin import DESIGN_WIND_MPH, WALL_WORDS, WALLS, Basin, Draught, Weather
from seasonlog.calc.freeze import SKIN_ICE, START_DEGF
from seasonlog.calc.units import degc_from_degf
from seasonlog.cli.calc_frame import number

_F = TypeVar("_F", bound=Callable[..., Any])

BASIS = (
    "evaporation: ASHRAE Handbook HVAC Applications, pools (second hand), 74 % of it as the low side (ASHRAE "
    "Transactions 104(1A) 1998, abstract); convection: Bowen 1926; walls: ASHRAE surface conductances (from memory)",
    "wind at the water: still to 5 mph spans what was measured on natural waters (National Research Council Canada, "
    "NRCC 7495, abstract); the share of the free wind behind casing and louvers is an assumption, no source",
)
NOT_THE_BASIN_ALONE = (
    "CAUTION: the basin is not all that freezes. Make-up line, float valve, drain, equaliser and pump suction stand in "
    "the same air and hold less water; these figures say nothing about them."
)
NOTES = (SKIN_ICE,)


def basin_options(function: _F) -> _F:
    """The options of a basin and the air around it."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


_OPTIONS = (
    number("--area-ft2", "FT2", "Water surface of the basin.", required=True),
    number("--depth-ft", "FT", "Depth of the water.", required=True),
    number("--wall-ft2", "FT2", "Walls and floor in the outdoor air; estimated from a square basin when not given."),
    click.option("--wall", type=click.Choice(list(WALLS)), default="steel", help="Walls; steel when not given."),
    number("--outdoor-degf", "DEGF", "Outdoor air.", required=True),
    number("--wind-mph", "MPH", "Free wind at the site; the high side never takes less than 5 at the water.",
           default=DESIGN_WIND_MPH),
    number("--water-degf", "DEGF", "Water in the basin; at the start, where time is asked.", default=START_DEGF),
    number("--sky-view", "SHARE", "Share of the sky the water sees: 0 under a casing, 1 in the open.", default=0.0),
    number("--humidity-percent", "PERCENT", "Relative humidity of the air.", default=80.0),
    number("--shelter", "SHARE", "Share of the free wind that reaches the water on the high side; 1/3 when not given."),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cold:
    """A basin in its weather, as asked."""

    basin: Basin
    weather: Weather
    note: str
    """How its wall area was found; empty when it was given."""


def cold_basin(
    area_ft2: float, depth_ft: float, wall_ft2: float | None, wall: str,
    outdoor_degf: float, wind_mph: float, sky_view: float, humidity_percent: float,
) -> Cold:  # fmt: skip
    """The basin and the weather the options tell.

    Raises:
        RatingError: a value is impossible.
    """
    basin = Basin(area_ft2, depth_ft, wall_ft2 or 0.0, wall, sky_view)
    weather = Weather(outdoor_degf, wind_mph, humidity_percent)
    if wall_ft2 is not None:
        return Cold(basin, weather, "")
    estimated = area_ft2 + 4.0 * math.sqrt(area_ft2) * depth_ft
    note = (
        f"walls and floor not given: {estimated:.0f} ft2 estimated, floor {area_ft2:g} + 4 x sqrt({area_ft2:g}) x "
        f"{depth_ft:g} of a square basin; --wall-ft2 tells them"
    )
    return Cold(Basin(area_ft2, depth_ft, estimated, wall, sky_view), weather, note)


def both(degf: float) -> str:
    """A temperature in degF, and in degC in brackets."""
    return f"{degf:.4g} degF ({degc_from_degf(degf):.1f} C)"


def draught_words(draught: Draught) -> str:
    """The wind a loss was worked in."""
    return (
        f"{draught.water_mph:.3g} mph at the water, factor {draught.activity:g}, {draught.wall_mph:g} mph at the walls"
    )


def setting(cold: Cold) -> list[str]:
    """What stands where, and how its wall area was found."""
    basin, weather = cold.basin, cold.weather
    line = (
        f"basin {basin.area_ft2:g} ft2 x {basin.depth_ft:g} ft, {basin.wall_ft2:.4g} ft2 of {WALL_WORDS[basin.wall]}; "
        f"air {both(weather.air_degf)}, free wind {weather.wind_mph:g} mph, {weather.humidity_percent:g} % humidity"
    )
    return [line, cold.note] if cold.note else [line]
