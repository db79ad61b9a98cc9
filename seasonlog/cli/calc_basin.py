"""`seasonlog calc basin`: the heat an idle basin loses, and whether its heater is enough."""

from typing import Any

import click

from seasonlog.calc.basin import SHELTER, Loss, adequate, draught_high, draught_low, loss_range
from seasonlog.calc.units import MOST_KW, positive
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

_WORDS = {
    "yes": "adequate: yes ({kw:g} kW is at or above the high loss)",
    "no": "adequate: no ({kw:g} kW is below the low loss: the water cools)",
    "cannot_tell": "adequate: cannot tell ({kw:g} kW lies between the low and the high loss)",
}
_CAUTION = (
    "CAUTION: a heater gives its power only at its rated volts and with every element whole: measure its amps. "
    "Sun, splash, bleed and leaks are not in these figures."
)


@click.command()
@basin_options
@number("--kw", "KW", "Power of the heaters, to be held against the loss; not asked when not given.")
@json_option
def basin(
    area_ft2: float, depth_ft: float, wall_ft2: float | None, wall: str, outdoor_degf: float, wind_mph: float,
    water_degf: float, sky_view: float, humidity_percent: float, shelter: float | None, kw: float | None,
    as_json: bool,
) -> int:  # fmt: skip
    """Heat an idle basin loses, low and high, and whether a heater covers it.

    seasonlog calc basin --area-ft2 100 --depth-ft 1 --wall-ft2 140 --outdoor-degf 0 --kw 18
    """
    cold = cold_basin(area_ft2, depth_ft, wall_ft2, wall, outdoor_degf, wind_mph, sky_view, humidity_percent)
    share = SHELTER if shelter is None else shelter
    found = loss_range(cold.basin, water_degf, cold.weather, share)
    word = "cannot_tell"
    if kw is not None:
        word = adequate(positive(kw, "heater power", "kW", MOST_KW), found.low_kw, found.high_kw)
    gains = ": the air gives heat to the water" if found.high_kw <= 0 else ""
    plain = [
        f"loss {found.low_kw:.2f} kW (low) to {found.high_kw:.2f} kW (high), water at {both(water_degf)}{gains}",
        *([_WORDS[word].format(kw=kw)] if kw is not None else []),
        *NOTES,
    ]
    draughts = draught_low(wind_mph), draught_high(wind_mph, share)
    worked_for = " and for ".join(draught_words(each) for each in draughts)
    working = [*setting(cold), f"worked for {worked_for}", _sum("low", found.low), _sum("high", found.high)]
    document = {
        "loss_low_kw": found.low_kw, "loss_high_kw": found.high_kw, "adequate": word, "kw": kw,
        "low": _parts(found.low), "high": _parts(found.high), "water_degf": water_degf,
        "wall_ft2": cold.basin.wall_ft2, "wall_ft2_estimated": wall_ft2 is None, "notes": list(NOTES),
    }  # fmt: skip
    return show(Answer(plain, document, working, BASIS, (_CAUTION, NOT_THE_BASIN_ALONE)), as_json)


def _parts(loss: Loss) -> dict[str, Any]:
    names = ("evaporation_btuh", "convection_btuh", "radiation_btuh", "walls_btuh", "total_btuh")
    return {name: getattr(loss, name) for name in names}


def _sum(name: str, loss: Loss) -> str:
    return (
        f"{name}: evaporation {loss.evaporation_btuh:.0f} + convection {loss.convection_btuh:.0f} + radiation "
        f"{loss.radiation_btuh:.0f} + walls {loss.walls_btuh:.0f} = {loss.total_btuh:.0f} Btu/h / 3412.14 = "
        f"{loss.kw:.2f} kW"
    )
