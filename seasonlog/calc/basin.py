"""Heat an idle basin loses: evaporation, convection, radiation from the water, and through walls and floor.

The wind that reaches the water is not known inside a casing, and it rules the loss. So a loss is worked twice, for a
low and a high draught, and never shown as one bare number. Left out: sun, splash, and the ice skin that stops
evaporation once it forms.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from seasonlog.calc import air as moist_air
from seasonlog.calc.units import LB_PER_FT3, LB_PER_H_PER_GPM, MOST_KW, kw_from_btuh, temperature, within
from seasonlog.errors import RatingError

STANDARD_INHG = 29.92
MOST_WIND_MPH = 150.0
LEAST_WATER_DEGF = 32.0
MOST_WATER_DEGF = 200.0
MOST_AREA_FT2 = 100_000.0
MOST_WALL_FT2 = 300_000.0
MOST_DEPTH_FT = 50.0
MOST_LEAK_GPM = 10_000.0
"""Outside these a number is a slip of the finger. Common sense, no source."""

WATER_BTU_PER_LB_DEGF = 1.0
FLUX_STILL, FLUX_PER_MPH = 95.0, 0.425 * 88.0
"""Evaporation, Btu/h ft2 inHg: 95 + 0.425 v with v in ft/min, 88 ft/min in a mile an hour.
Source: ASHRAE Handbook HVAC Applications, the Carrier pool equation (second hand)."""
BOWEN = 0.01006
"""Convection over evaporation, inHg/degF. Source: Bowen 1926, 0.46 with degC and mmHg, at 29.92 inHg."""
RADIANT = 0.95 * 0.1714e-8
"""Water's emissivity (from memory, 0.95 to 0.96) times Stefan and Boltzmann's constant, Btu/h ft2 degR4."""
SURFACE_OF_POOL = 0.74
"""Share of the pool equation that undisturbed pools lose. Source: ASHRAE Transactions 104(1A) 1998 (abstract)."""

INSIDE_FILM = 30.0
OUTSIDE_FILMS = ((0.0, 1.46), (7.5, 4.0), (15.0, 6.0))
"""Outside surface conductances by wind [mph, Btu/h ft2 degF], and water's at the inside of the wall.
Source: ASHRAE Handbook Fundamentals, surface conductances (from memory)."""
WALLS = {"steel": 0.0, "frp": 0.25 / 2.0, "r4": 4.0}
"""Resistance of bare sheet steel, 1/4 in glass-fibre plastic, and insulation of R-4 [h ft2 degF/Btu].
Source: definitions; glass-fibre plastic k = 2 Btu in/h ft2 degF (from memory)."""
WALL_WORDS = {"steel": "bare steel", "frp": "1/4 in glass-fibre plastic", "r4": "walls insulated to R-4"}


@dataclass(frozen=True, slots=True)
class Weather:
    """Outdoor air around the tower."""

    air_degf: float
    """Dry bulb [degF]."""
    wind_mph: float = 15.0
    """Free wind at the site [mph]. 15 mph: customary winter design wind."""
    humidity_percent: float = 80.0
    cloud_tenths: float | None = None
    """Opaque sky cover, 0 to 10; None is taken as a clear sky. Counts only where the water sees the sky."""
    pressure_inhg: float = STANDARD_INHG

    def __post_init__(self) -> None:
        """Refuse what no weather can be."""
        within(self.air_degf, "outdoor air", "degF", -100.0, 150.0)
        within(self.wind_mph, "wind", "mph", 0.0, MOST_WIND_MPH)
        within(self.humidity_percent, "relative humidity", "%", 0.0, 100.0)
        within(self.pressure_inhg, "air pressure", "inHg", 15.0, 32.0)
        if self.cloud_tenths is not None:
            within(self.cloud_tenths, "cloud cover", "tenths", 0.0, 10.0)


@dataclass(frozen=True, slots=True)
class Basin:
    """A cold-water basin, well mixed."""

    area_ft2: float
    """Water surface [ft2]."""
    depth_ft: float
    wall_ft2: float
    """Walls and floor that stand in the outdoor air [ft2]; 0 for a basin in the ground."""
    wall: str = "steel"
    """One of `WALLS`."""
    sky_view: float = 0.0
    """Share of the sky the water sees: 0 under a casing, 1 for an open pan. Common practice, no source."""

    def __post_init__(self) -> None:
        """Refuse what no basin can be."""
        within(self.area_ft2, "basin area", "ft2", 0.1, MOST_AREA_FT2)
        within(self.depth_ft, "basin depth", "ft", 0.01, MOST_DEPTH_FT)
        within(self.wall_ft2, "wall and floor area", "ft2", 0.0, MOST_WALL_FT2)
        within(self.sky_view, "share of sky seen", "", 0.0, 1.0)
        if self.wall not in WALLS:
            raise RatingError(f'basin wall is "{self.wall}": one of {", ".join(WALLS)} is wanted')

    @property
    def mass_lb(self) -> float:
        """Water in it [lb]."""
        return self.area_ft2 * self.depth_ft * LB_PER_FT3

    @property
    def capacity_btu_per_degf(self) -> float:
        """Heat that warms it by one degree [Btu/degF]."""
        return self.mass_lb * WATER_BTU_PER_LB_DEGF


@dataclass(frozen=True, slots=True)
class Draught:
    """Moving air at the water and at the walls."""

    water_mph: float
    """Wind at the water surface [mph]."""
    wall_mph: float
    """Wind at the outside of walls and floor [mph]."""
    activity: float
    """Factor on the pool equation: 1 as published, 0.74 as measured on undisturbed pools."""

    def __post_init__(self) -> None:
        """Refuse what no draught can be."""
        within(self.water_mph, "wind at the water", "mph", 0.0, MOST_WIND_MPH)
        within(self.wall_mph, "wind at the walls", "mph", 0.0, MOST_WIND_MPH)
        within(self.activity, "activity factor", "", 0.1, 2.0)


LEAST_HIGH_WATER_MPH = 5.0
"""0 to 5 mph at the water spans what was measured on natural waters, 2.0 to 5.1 Btu/h ft2 degF of the whole surface
(G.P. Williams, National Research Council Canada, NRCC 7495, abstract); ours at 0 degF is 1.8 to 5.1 under a casing."""
DESIGN_WIND_MPH = 15.0
"""Wind at the walls. Source: the customary winter design wind of ASHRAE's surface conductances (from memory)."""
SHELTER = 1.0 / 3.0
"""Share of the free wind that reaches the water behind casing and louvers on the high side. An assumption, no source;
through louvers on the windward side it can come near 1."""


def draught_low(wind_mph: float) -> Draught:
    """The least the air may do: still at the water, walls in the free wind up to 15 mph."""
    return Draught(0.0, min(wind_mph, DESIGN_WIND_MPH), SURFACE_OF_POOL)


def draught_high(wind_mph: float, shelter: float = SHELTER) -> Draught:
    """The most to plan for: 5 mph or the sheltered wind at the water, walls in 15 mph or more.

    Args:
        wind_mph: Free wind at the site [mph].
        shelter: Share of it that reaches the water, 0 to 1.
    """
    at_water = within(shelter, "share of the wind that reaches the water", "", 0.0, 1.0) * wind_mph
    return Draught(max(LEAST_HIGH_WATER_MPH, at_water), max(DESIGN_WIND_MPH, wind_mph), 1.0)


class Loss(NamedTuple):
    """Heat leaving a basin, by path [Btu/h]; negative where it comes in."""

    evaporation_btuh: float
    convection_btuh: float
    radiation_btuh: float
    walls_btuh: float

    @property
    def surface_btuh(self) -> float:
        """What leaves by the water surface [Btu/h]."""
        return self.evaporation_btuh + self.convection_btuh + self.radiation_btuh

    @property
    def total_btuh(self) -> float:
        """All of it [Btu/h]."""
        return self.surface_btuh + self.walls_btuh

    @property
    def kw(self) -> float:
        """All of it [kW]."""
        return kw_from_btuh(self.total_btuh)


class LossRange(NamedTuple):
    """The smaller and the larger loss of the two draughts."""

    low: Loss
    high: Loss

    @property
    def low_kw(self) -> float:
        """The smaller one [kW]."""
        return self.low.kw

    @property
    def high_kw(self) -> float:
        """The larger one [kW]."""
        return self.high.kw


class Exposure(NamedTuple):
    """What outdoor air does to one basin, whatever its water: worked once, good for many water temperatures."""

    air_degf: float
    vapour_inhg: float
    stirred: float
    """Evaporation of the whole surface by the pool equation as published [Btu/h inHg]."""
    bowen: float
    """Convection over evaporation at this air pressure [inHg/degF]."""
    around4: float
    """Fourth power of the absolute temperature the water radiates to [degR4]."""
    radiant: float
    """Radiation of the whole surface [Btu/h degR4]."""
    wall_ua: float
    """Walls and floor [Btu/h degF]."""

    def paths(self, water_degf: float, activity: float) -> tuple[float, float, float, float]:
        """Evaporation, convection, radiation and walls [Btu/h]; not checked, see `loss`."""
        air_degf, vapour, stirred, bowen, around4, radiant, wall_ua = self
        warmer, stirred = water_degf - air_degf, activity * stirred
        return (
            stirred * (moist_air.water_saturation_inhg(water_degf) - vapour),
            stirred * bowen * warmer,
            radiant * ((water_degf + moist_air.RANKINE) ** 4 - around4),
            wall_ua * warmer,
        )


def exposure(basin: Basin, air: Weather, water_mph: float, wall_mph: float) -> Exposure:
    """What the air does to a basin.

    Args:
        basin: Its size and walls.
        air: Outdoor air; its free wind is not used here.
        water_mph: Wind at the water surface [mph]; not checked, see `Draught`.
        wall_mph: Wind at the outside of walls and floor [mph]; as before.

    Source:
        See `loss`.
    """
    vapour = moist_air.vapour_inhg(air.air_degf, air.humidity_percent)
    return Exposure(
        air.air_degf,
        vapour,
        basin.area_ft2 * (FLUX_STILL + FLUX_PER_MPH * water_mph),
        BOWEN * (air.pressure_inhg / STANDARD_INHG),
        _around4(basin.sky_view, air, vapour),
        basin.area_ft2 * RADIANT,
        basin.wall_ft2 * wall_u(basin.wall, wall_mph),
    )


def loss(basin: Basin, water_degf: float, air: Weather, draught: Draught) -> Loss:
    """Heat a basin loses in one draught.

    Args:
        basin: Its size and walls.
        water_degf: Water, well mixed [degF], 32 to 200.
        air: Outdoor air; its free wind is not used here.
        draught: Moving air at the water and the walls.

    Raises:
        RatingError: the water is ice or steam.

    Source:
        Evaporation: ASHRAE Handbook HVAC Applications, pools (second hand). Convection: Bowen 1926. Radiation: Stefan
        and Boltzmann, sky of Clark and Allen 1978. Walls: ASHRAE surface conductances (from memory).
    """
    within(water_degf, "water", "degF", LEAST_WATER_DEGF, MOST_WATER_DEGF)
    met = exposure(basin, air, draught.water_mph, draught.wall_mph)
    return Loss(*met.paths(water_degf, draught.activity))


def loss_range(basin: Basin, water_degf: float, weather: Weather, shelter: float = SHELTER) -> LossRange:
    """Heat a basin loses, between a low and a high draught. Arguments and errors as `loss` and `draught_high`."""
    calm = loss(basin, water_degf, weather, draught_low(weather.wind_mph))
    windy = loss(basin, water_degf, weather, draught_high(weather.wind_mph, shelter))
    return LossRange(calm, windy) if calm.total_btuh <= windy.total_btuh else LossRange(windy, calm)


def adequate(kw: float, low_kw: float, high_kw: float) -> str:
    """Whether a power covers a loss: `yes` at or above the high one, `no` below the low one, else `cannot_tell`.

    Args:
        kw: Power that reaches the water [kW].
        low_kw: Loss in the low draught [kW].
        high_kw: Loss in the high draught [kW].

    Raises:
        RatingError: a value is impossible.
    """
    within(kw, "heater power", "kW", 0.0, MOST_KW)
    if kw >= high_kw:
        return "yes"
    return "no" if kw < low_kw else "cannot_tell"


@lru_cache(1024)
def wall_u(wall: str, wind_mph: float) -> float:
    """Heat through a wall [Btu/h ft2 degF]: inside film, wall and outside film in a row.

    Args:
        wall: One of `WALLS`.
        wind_mph: At the outside [mph].

    Source:
        1/U = 1/hi + R + 1/ho.
    """
    return 1.0 / (1.0 / INSIDE_FILM + WALLS[wall] + 1.0 / outside_film(wind_mph))


def outside_film(wind_mph: float) -> float:
    """Outside surface conductance [Btu/h ft2 degF].

    Straight between the published winds 0, 7.5 and 15 mph; above 15 the last line goes on, which no source gives.
    """
    (still, low), (middle, mid), (windy, high) = OUTSIDE_FILMS
    if wind_mph <= middle:
        return low + (mid - low) * (wind_mph - still) / (middle - still)
    return mid + (high - mid) * (wind_mph - middle) / (windy - middle)


def bleed_btuh(gpm: float, water_degf: float, supply_degf: float) -> float:
    """Heat that make-up takes to be warmed when water bleeds or leaks away [Btu/h].

    Args:
        gpm: Bleed or leak [gal/min].
        water_degf: Basin [degF].
        supply_degf: Make-up [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance, 500.4 lb/h in 1 gal/min.
    """
    within(gpm, "bleed", "gal/min", 0.0, MOST_LEAK_GPM)
    warmer = temperature(water_degf, "water") - temperature(supply_degf, "make-up water")
    return LB_PER_H_PER_GPM * gpm * warmer


def _around4(sky_view: float, air: Weather, vapour_inhg: float) -> float:
    """What water sends long-wave heat to, the casing at air temperature and the sky: absolute temperature^4 [degR4]."""
    around4 = (air.air_degf + moist_air.RANKINE) ** 4
    if not sky_view:
        return around4
    dew = moist_air.dew_degf(max(vapour_inhg, moist_air.LEAST_INHG))  # bone-dry air has none
    sky4 = moist_air.sky_emissivity(air.air_degf, dew, air.cloud_tenths or 0.0) * around4
    return around4 + sky_view * (sky4 - around4)
