"""Hours to the first ice: of a bare line, of a line whose heat trace is dead, of still water's skin, of a whole basin.

Low figures, remembered by their inputs: many towers are alike.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from seasonlog.calc import basin as thermal
from seasonlog.calc import freeze
from seasonlog.calc.units import LB_PER_FT3
from seasonlog.domain.heat_budget import CANNOT_TELL

LINE_BORE_IN, LINE_OUTSIDE_IN = 1.049, 1.315
"""A customary make-up line: 1 in pipe, schedule 40. Common practice, no source; the register holds no size."""
JACKET_IN, JACKET_CONDUCTIVITY = LINE_OUTSIDE_IN + 2 * 0.5, 0.30
"""Insulation over a traced line: half an inch, Btu in/h ft2 degF. Thin on purpose. Common practice, no source."""
DENSEST_DEGF = 39.2
"""Below it still water is coldest on top: from then on a skin of ice may form. Source: density of water."""
CACHED = 8192


@dataclass(frozen=True, slots=True)
class Worked:
    """One shape of basin in one weather: low figures, hours and kW."""

    loss_low_kw: float
    loss_high_kw: float
    adequate: str
    """`yes`, `no` or `cannot_tell`."""
    off_hours: float | None
    """To 32 degF with the heater off; None: never."""
    heated_hours: float | None
    """The same with the heat there is."""
    skin_off_hours: float | None
    """To the hour from which a skin of ice may form, heater off; None: not in this weather."""
    skin_heated_hours: float | None
    """The same with the heat there is."""
    holds_degf: float | None
    """Lowest temperature that the heat holds [degF]; None: below 32, or its heat is not in kW."""


@lru_cache(maxsize=CACHED)
def worked(shape: thermal.Basin, share: float, weather: thermal.Weather, water_degf: float, kw: float | None) -> Worked:
    """Low figures of one shape in one weather, remembered: many towers are alike.

    Args:
        shape: Size and walls.
        share: Share of the free wind at the water.
        weather: Outdoor air and wind.
        water_degf: Held in the basin at the start [degF].
        kw: Heat that reaches the water [kW]; None where nobody knows.

    Raises:
        RatingError: a value is impossible.
    """
    lost = thermal.loss_range(shape, water_degf, weather, share)
    low, high = max(0.0, lost.low_kw), max(0.0, lost.high_kw)
    heat = kw or 0.0
    off, heated = (freeze.freeze_hours(shape, weather, each, water_degf, share)[0] for each in (0.0, heat))
    return Worked(
        loss_low_kw=low,
        loss_high_kw=high,
        adequate=CANNOT_TELL if kw is None else thermal.adequate(kw, low, high),
        off_hours=off,
        heated_hours=heated,
        skin_off_hours=None if off is None else _skin_hours(shape, share, weather, water_degf, 0.0),
        skin_heated_hours=None if off is None else _skin_hours(shape, share, weather, water_degf, heat),
        holds_degf=None if kw is None else freeze.steady_range(shape, weather, kw, share)[0],
    )


def _skin_hours(
    shape: thermal.Basin, share: float, weather: thermal.Weather, water_degf: float, kw: float
) -> float | None:
    """Fewest hours until the mixed water is at its densest; None when it never is."""
    start = max(water_degf, DENSEST_DEGF)
    draughts = (thermal.draught_low(weather.wind_mph), thermal.draught_high(weather.wind_mph, share))
    hours = [freeze.hours_to(shape, weather, draught, kw, start, DENSEST_DEGF) for draught in draughts]
    return min((each for each in hours if each is not None), default=None)


@lru_cache(maxsize=CACHED)
def bare_line_hours(outdoor_degf: float, wind_mph: float, water_degf: float) -> float | None:
    """Hours until still water in a bare 1 in line reaches 32 degF; None for never.

    Args:
        outdoor_degf: Air around it [degF].
        wind_mph: On it [mph].
        water_degf: In it at the start [degF].

    Source:
        Lumped heat balance; film of ASHRAE's surface conductances (from memory), the pipe's own heat left out.
    """
    lb_per_ft = LB_PER_FT3 * math.pi * (LINE_BORE_IN / 24.0) ** 2
    ua_per_ft = thermal.outside_film(wind_mph) * math.pi * LINE_OUTSIDE_IN / 12.0
    return freeze.constant_ua_hours(lb_per_ft, ua_per_ft, outdoor_degf, 0.0, water_degf)


@lru_cache(maxsize=CACHED)
def jacketed_line_hours(outdoor_degf: float, water_degf: float) -> float | None:
    """Hours until still water in an insulated 1 in line reaches 32 degF, its heat trace dead; None for never.

    Source:
        `calc.freeze.pipe_hours`; size and insulation are common practice, no source.
    """
    return freeze.pipe_hours(
        LINE_BORE_IN, LINE_OUTSIDE_IN, JACKET_IN, JACKET_CONDUCTIVITY, outdoor_degf, water_degf
    )  # fmt: skip
