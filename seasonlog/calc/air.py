"""Winter air: how much vapour it holds, where frost begins, and how cold the sky above it looks."""

import math
from functools import lru_cache

from seasonlog.calc.units import degc_from_degf, degf_from_degc, inhg_from_psi, within

LEAST_AIR_DEGF = -148.0
MOST_AIR_DEGF = 392.0
"""Where the saturation formulas hold: -100 to 200 degC."""
FREEZING_DEGF = 32.0
RANKINE = 459.67
KELVIN = 273.15
_KEPT = 2048
"""Pressures remembered: a year of hours holds some 700 temperatures, a held basin one."""


@lru_cache(_KEPT)
def saturation_inhg(degf: float) -> float:
    """Saturation pressure of water vapour: over ice at and below 32 degF, over water above [inHg].

    Args:
        degf: Temperature [degF].

    Raises:
        RatingError: it is outside -148 to 392 degF.

    Source:
        Hyland and Wexler 1983 as in ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 and 6 (second hand).
    """
    within(degf, "temperature", "degF", LEAST_AIR_DEGF, MOST_AIR_DEGF)
    return _over_ice_inhg(degf) if degf <= FREEZING_DEGF else water_saturation_inhg(degf)


@lru_cache(_KEPT)
def water_saturation_inhg(degf: float) -> float:
    """Saturation pressure over liquid water, from 32 to 392 degF; not checked, see `saturation_inhg` [inHg]."""
    t = degf + RANKINE
    ln_psia = (
        -1.0440397e4 / t
        - 1.1294650e1
        + t * (-2.7022355e-2 + t * (1.2890360e-5 - t * 2.4780681e-9))
        + 6.5459673 * math.log(t)
    )
    return inhg_from_psi(math.exp(ln_psia))


def _over_ice_inhg(degf: float) -> float:
    t = degf + RANKINE
    powers = -5.3765794e-3 + t * (1.9202377e-7 + t * (3.5575832e-10 - t * 9.0344688e-14))
    return inhg_from_psi(math.exp(-1.0214165e4 / t - 4.8932428 + t * powers + 4.1635019 * math.log(t)))


LEAST_INHG, MOST_INHG = saturation_inhg(LEAST_AIR_DEGF), saturation_inhg(MOST_AIR_DEGF)
"""Vapour pressures a dew point can be told for."""


def vapour_inhg(air_degf: float, humidity_percent: float) -> float:
    """Vapour pressure of air [inHg].

    Below freezing the humidity is taken over ice.

    Args:
        air_degf: Dry bulb [degF].
        humidity_percent: Relative humidity [%], 0 to 100.

    Raises:
        RatingError: a value is impossible.

    Source:
        Definition of relative humidity.
    """
    share = within(humidity_percent, "relative humidity", "%", 0.0, 100.0) / 100.0
    return share * saturation_inhg(air_degf)


def dew_degf(vapour_inhg: float) -> float:
    """Dew point, or frost point at and below 32 degF, of air with this vapour pressure [degF].

    Args:
        vapour_inhg: Vapour pressure [inHg].

    Raises:
        RatingError: no temperature from -148 to 392 degF has it.

    Source:
        Inverse of `saturation_inhg`, by Newton's rule on the logarithm of the pressure.
    """
    within(vapour_inhg, "vapour pressure", "inHg", LEAST_INHG, MOST_INHG)
    over_ice = vapour_inhg <= _over_ice_inhg(FREEZING_DEGF)
    pressure = _over_ice_inhg if over_ice else water_saturation_inhg
    bottom, top = (LEAST_AIR_DEGF, FREEZING_DEGF) if over_ice else (FREEZING_DEGF, MOST_AIR_DEGF)
    wanted, degf = math.log(vapour_inhg), FREEZING_DEGF
    for _ in range(50):
        step = (wanted - math.log(pressure(degf))) / _log_slope(degf, over_ice)
        degf = min(max(degf + step, bottom), top)
        if abs(step) < 1e-11:
            break
    return degf


def _log_slope(degf: float, over_ice: bool) -> float:
    """Slope of ln p with temperature [1/degF], by Clausius and Clapeyron; Newton needs it only roughly."""
    heat_over_gas_constant = 11_070.0 if over_ice else 9_300.0
    return heat_over_gas_constant / (degf + RANKINE) ** 2


def sky_emissivity(air_degf: float, dew_degf: float, cloud_tenths: float) -> float:
    """How much of a black body's long-wave radiation the sky sends down, seen from a level surface.

    Args:
        air_degf: Dry bulb [degF].
        dew_degf: Dew or frost point [degF], not above the dry bulb.
        cloud_tenths: Opaque sky cover, 0 clear to 10 overcast.

    Raises:
        RatingError: a value is impossible.

    Source:
        Clark and Allen 1978 with the cloud terms of Walton, NBSIR 83-2655 (second hand; cubic cloud term from memory).
        Under cloud with a dew point above 86 degF the fit passes 1; held at 1 there, by definition of a black body.
    """
    within(air_degf, "air", "degF", LEAST_AIR_DEGF, MOST_AIR_DEGF)
    within(dew_degf, "dew point", "degF", LEAST_AIR_DEGF, air_degf + 1e-6)
    n = within(cloud_tenths, "cloud cover", "tenths", 0.0, 10.0)
    clear = 0.787 + 0.764 * math.log((degc_from_degf(dew_degf) + KELVIN) / 273.0)
    return min(1.0, clear * (1.0 + n * (0.0224 + n * (-0.0035 + n * 0.00028))))


def sky_degf(air_degf: float, dew_degf: float, cloud_tenths: float) -> float:
    """Temperature a black sky would have to send the same radiation [degF]. Arguments, errors as `sky_emissivity`."""
    kelvin = degc_from_degf(air_degf) + KELVIN
    fourth_root = math.sqrt(math.sqrt(sky_emissivity(air_degf, dew_degf, cloud_tenths)))
    return degf_from_degc(float(fourth_root * kelvin) - KELVIN)
