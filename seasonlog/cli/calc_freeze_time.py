"""`seasonlog calc freeze-time`: hours until a basin reaches 32 degF, or what its heater holds."""

import click

from seasonlog.calc.basin import MOST_WATER_DEGF, SHELTER, draught_high, draught_low
from seasonlog.calc.freeze import freeze_hours, steady_range
from seasonlog.cli.calc_frame import Answer, json_option, number, show
from seasonlog.cli.calc_thermal import (
    BASIS,
    NOT_THE_BASIN_ALONE,
    NOTES,
    basin_options,
    both,
    cold_basin,
    draught_words,
    setting,
)

_CAUTION = (
    "CAUTION: air and wind are taken to stay as they are; a falling temperature or a rising wind makes it shorter. Act "
    "on the low figure. At 32 degF the water is not yet solid, and valves and lines freeze first."
)


@click.command("freeze-time")
@basin_options
@number("--kw", "KW", "Power the heaters still give; off when not given.", default=0.0)
@json_option
def freeze_time(
    area_ft2: float, depth_ft: float, wall_ft2: float | None, wall: str, outdoor_degf: float, wind_mph: float,
    water_degf: float, sky_view: float, humidity_percent: float, shelter: float | None, kw: float, as_json: bool,
) -> int:  # fmt: skip
    """Hours until a basin reaches 32 degF with its heater off or weak, low and high.

    seasonlog calc freeze-time --area-ft2 100 --depth-ft 1 --wall-ft2 140 --outdoor-degf 0
    """
    cold = cold_basin(area_ft2, depth_ft, wall_ft2, wall, outdoor_degf, wind_mph, sky_view, humidity_percent)
    share = SHELTER if shelter is None else shelter
    low, high = freeze_hours(cold.basin, cold.weather, kw, water_degf, share)
    held = steady_range(cold.basin, cold.weather, kw, share)
    never = _never(low, high, held)
    hours = None if low is None else _hours_words(low, high, water_degf)
    plain = [*(each for each in (hours, never) if each), *NOTES]
    working = [
        *setting(cold),
        f"{cold.basin.mass_lb:.0f} lb of water x 1 Btu/lb degF, cooled by loss - heater ({kw:g} kW), summed over "
        f"temperature from {both(water_degf)} to 32 degF",
        f"low hours: {draught_words(draught_high(wind_mph, share))}",
        f"high hours: {draught_words(draught_low(wind_mph))}",
    ]
    document = {
        "hours_low": low, "hours_high": high, "never": never, "holds_degf": held[0], "holds_high_degf": held[1],
        "kw": kw, "start_degf": water_degf, "wall_ft2": cold.basin.wall_ft2, "wall_ft2_estimated": wall_ft2 is None,
        "notes": list(NOTES),
    }  # fmt: skip
    return show(Answer(plain, document, working, BASIS, (_CAUTION, NOT_THE_BASIN_ALONE)), as_json)


def _hours_words(low: float, high: float | None, water_degf: float) -> str:
    if low == high:
        return f"{low:.2f} h (low and high): the water is at {both(water_degf)} already"
    until = "no end" if high is None else f"{high:.2f} h"
    return f"{low:.2f} h (low) to {until} (high) until water of {both(water_degf)} reaches 32 degF (0 C)"


def _never(low: float | None, high: float | None, held: tuple[float | None, float | None]) -> str | None:
    """What is held, in words, where it never gets to 32 degF; None where it does in both draughts."""
    if high is not None:
        return None
    cold, warm = (_degf_words(each) for each in held)
    if low is None:
        return f"never in this weather: the water settles between {cold} (low) and {warm} (high)"
    return f"never in the low draught: the water settles at {warm} there; in the high draught it does reach 32 degF"


def _degf_words(degf: float | None) -> str:
    if degf is None:
        return "32 degF (0 C) or below"
    return both(degf) + (" or hotter" if degf >= MOST_WATER_DEGF - 0.01 else "")
