"""How thick ice grows on still water in so many degree-days of frost, how fast it can, and what it weighs."""

import math
from collections.abc import Iterable

from seasonlog.calc.units import positive, temperature, within

FILM, FILM_CALM, FILM_WINDY = 20.0, 10.0, 30.0
"""Heat passed on from the ice to the air [W/m2K]: usual, calm and cloudy, windy. Source: Ashton, usually 10 to 30,
in an encyclopaedia's article on lake ice; the middle is ours."""
ICE_W_PER_M_K, ICE_KG_PER_M3, FUSION_J_PER_KG = 2.24, 916.0, 3.34e5
"""Conductivity, density and heat of fusion. Source: the same article."""
FUSION_BTU_PER_LB = 143.6
ICE_LB_PER_FT3 = 57.25
"""917 kg/m3. Source: handbooks."""
WATER_PSF_PER_IN = 5.2
"""Source: ASCE 7 rain load, 5.2 psf per inch (second hand)."""
LAKE_COEFFICIENTS = {"windy lake without snow": 0.8, "lake with snow, more": 0.7, "lake with snow, less": 0.5}
"""Inches per root of a degF day. Source: US Army Cold Regions laboratory, technical note 04-3 (second hand)."""
MOST_AFDD = 20_000.0
MOST_ICE_IN = 240.0
MOST_FLUX = 2_000.0
"""Outside these a number is a slip of the finger. Common sense, no source."""

_J_PER_M2_PER_W_PER_M2K = 5.0 / 9.0 * 86_400.0
_IN_PER_M = 1.0 / 0.0254


def thickness_in(afdd: float, film_w_m2k: float = FILM, start_in: float = 0.0) -> float:
    """Ice on still water after so much frost, with the air's own resistance counted: for thin ice [in].

    Args:
        afdd: Freezing degree-days, sum of 32 less the daily mean [degF day].
        film_w_m2k: Heat passed on from ice to air [W/m2K], 10 calm to 30 windy.
        start_in: Ice there at the start [in].

    Raises:
        RatingError: a value is impossible.

    Source:
        Ashton 1989: h = sqrt((h0 + k/H)^2 + 2 k S / (rho L)) - k/H (second hand).
    """
    within(start_in, "ice at the start", "in", 0.0, MOST_ICE_IN)
    film_in = _film_in(film_w_m2k)
    return math.sqrt((start_in + film_in) ** 2 + conduction_limit_in(afdd) ** 2) - film_in


def afdd_for(thickness_in: float, film_w_m2k: float = FILM, start_in: float = 0.0) -> float:
    """Freezing degree-days it takes to grow ice to a thickness [degF day]; the inverse of `thickness_in`.

    Args:
        thickness_in: Wanted [in], not below the start.
        film_w_m2k: As `thickness_in`.
        start_in: As `thickness_in`.

    Raises:
        RatingError: a value is impossible.

    Source:
        As `thickness_in`.
    """
    film_in = _film_in(film_w_m2k)
    start = within(start_in, "ice at the start", "in", 0.0, MOST_ICE_IN) + film_in
    end = within(thickness_in, "ice thickness", "in", start_in, MOST_ICE_IN) + film_in
    return (end - start) * (end + start) / conduction_limit_in(1.0) ** 2


def conduction_limit_in(afdd: float) -> float:
    """Ice if nothing but its own conductivity held the cold back: what no still water can pass [in].

    Args:
        afdd: Freezing degree-days [degF day].

    Raises:
        RatingError: it is negative or unbelievable.

    Source:
        Stefan: sqrt(2 k S / (rho L)), 1.04 in per root of a degF day.
    """
    seconds = _J_PER_M2_PER_W_PER_M2K * within(afdd, "freezing degree-days", "degF day", 0.0, MOST_AFDD)
    return _IN_PER_M * math.sqrt(2.0 * ICE_W_PER_M_K / (ICE_KG_PER_M3 * FUSION_J_PER_KG) * seconds)


def degree_day_in(afdd: float, coefficient: float) -> float:
    """Ice by the lake rule, inches = C sqrt(AFDD) [in]. It overstates the first inch: not for basins.

    Args:
        afdd: Freezing degree-days [degF day].
        coefficient: C, see `LAKE_COEFFICIENTS`.

    Raises:
        RatingError: a value is impossible.

    Source:
        US Army Cold Regions laboratory, technical note 04-3 (second hand).
    """
    positive(coefficient, "ice growth coefficient", "in per root of a degF day", 2.0)
    return coefficient * math.sqrt(within(afdd, "freezing degree-days", "degF day", 0.0, MOST_AFDD))


def afdd_peak(daily_mean_degf: Iterable[float]) -> float:
    """Largest running sum of 32 less the daily mean, never let below zero [degF day].

    Args:
        daily_mean_degf: Mean of each day in order [degF].

    Raises:
        RatingError: a day's mean is impossible.

    Source:
        Accumulated freezing degree-days, customary definition.
    """
    running = peak = 0.0
    for mean in daily_mean_degf:
        running = max(0.0, running + 32.0 - temperature(mean, "daily mean"))
        peak = max(peak, running)
    return peak


def growth_in_per_h(flux_btuh_ft2: float) -> float:
    """Ice that freezes when so much heat is taken from water at 32 degF [in/h].

    Args:
        flux_btuh_ft2: Heat removed [Btu/h ft2].

    Raises:
        RatingError: it is negative or unbelievable.

    Source:
        Heat of fusion, 143.6 Btu/lb, 57.25 lb/ft3.
    """
    within(flux_btuh_ft2, "heat removed", "Btu/h ft2", 0.0, MOST_FLUX)
    return 12.0 * flux_btuh_ft2 / (ICE_LB_PER_FT3 * FUSION_BTU_PER_LB)


def ice_psf(inches: float) -> float:
    """Weight of solid ice [psf].

    Args:
        inches: Its thickness [in].

    Raises:
        RatingError: it is negative or unbelievable.

    Source:
        57.25 lb/ft3, 917 kg/m3.
    """
    return ICE_LB_PER_FT3 / 12.0 * within(inches, "ice thickness", "in", 0.0, MOST_ICE_IN)


def water_psf(inches: float) -> float:
    """Weight of standing water [psf].

    Args:
        inches: Its depth [in].

    Raises:
        RatingError: it is negative or unbelievable.

    Source:
        ASCE 7 rain load, 5.2 psf per inch (second hand).
    """
    return WATER_PSF_PER_IN * within(inches, "water depth", "in", 0.0, MOST_ICE_IN)


def _film_in(film_w_m2k: float) -> float:
    """Thickness of ice that resists as much as the air film does [in]."""
    return _IN_PER_M * ICE_W_PER_M_K / within(film_w_m2k, "air film", "W/m2K", 1.0, 100.0)
