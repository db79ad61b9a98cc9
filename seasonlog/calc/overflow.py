"""What a make-up valve stuck open puts on a roof: the load if all of it stays, and the ice the cold can make of it.

Only the load is told. What a structure may carry is its engineer's to say.
"""

import math
from dataclasses import dataclass

from seasonlog.calc.ice import FUSION_BTU_PER_LB, MOST_FLUX, growth_in_per_h
from seasonlog.calc.units import GALLONS_PER_FT3, LB_PER_H_PER_GPM, positive, within
from seasonlog.errors import RatingError

ROOF_LIVE_LOAD_PSF = 20.0
"""Source: ASCE 7 minimum roof live load, 12 to 20 psf by slope and area (second hand)."""
SHARP_EDGE = 0.62
"""Discharge coefficient of an open port; 0.61 to 0.65 sharp, 0.80 short tube, 0.90 smooth. Source: handbooks (second
hand)."""
SUPPLY_DEGF = 40.0
HEAT_LOW, HEAT_HIGH = 100.0, 200.0
"""Heat the cold takes from a wet roof [Btu/h ft2]: about what `basin.loss` gives for open water at 32 degF with 0 to
10 degF outdoors and some 5 to 10 mph over it. Our choice, no source."""
ICE_PER_WATER = 1000.0 / 917.0
"""Depth of solid ice over that of the water it was. Source: densities, handbooks."""
HAZEN_WILLIAMS_C = 120.0
"""Steel pipe, not new. Source: handbooks (from memory)."""
MOST_GPM = 10_000.0
MOST_ROOF_FT2 = 1e6
MOST_PSI = 500.0
MOST_PORT_IN = 24.0
MOST_LENGTH_FT = 10_000.0
"""Outside these a number is a slip of the finger. Common sense, no source."""


@dataclass(frozen=True, slots=True)
class Overflow:
    """Water running on to a roof."""

    depth_in_per_h: float
    """Water, if all of it stays [in/h]."""
    load_psf_per_h: float
    """Its weight, as water or as ice, if all of it stays [psf/h]."""
    ice_all_in_per_h: float
    """Solid ice, if all of it froze [in/h]."""
    ice_low_in_per_h: float
    """Ice the low heat removal can make of it [in/h]."""
    ice_high_in_per_h: float
    """Ice the high heat removal can make of it [in/h]."""

    def hours_to(self, psf: float = ROOF_LIVE_LOAD_PSF) -> float:
        """Hours until a load is reached, if all of it stays [h].

        Args:
            psf: The load [psf].

        Raises:
            RatingError: it is not above zero.
        """
        return positive(psf, "load", "psf", 10_000.0) / self.load_psf_per_h


def overflow(
    gpm: float,
    roof_ft2: float,
    heat_low: float = HEAT_LOW,
    heat_high: float = HEAT_HIGH,
    supply_degf: float = SUPPLY_DEGF,
) -> Overflow:
    """What a flow puts on a roof in an hour.

    Args:
        gpm: Flow that runs on to it [gal/min].
        roof_ft2: Roof it spreads over [ft2].
        heat_low: Least heat the cold removes [Btu/h ft2].
        heat_high: Most heat it removes [Btu/h ft2].
        supply_degf: Water that runs out [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        Geometry; 500.4 lb/h in 1 gal/min; heat balance with 143.6 Btu/lb of fusion.
    """
    positive(gpm, "flow", "gal/min", MOST_GPM)
    positive(roof_ft2, "roof area", "ft2", MOST_ROOF_FT2)
    heat_per_lb = heat_to_freeze_btu_per_lb(supply_degf)
    depth, lb_per_h_ft2 = depth_in_per_h(gpm, roof_ft2), LB_PER_H_PER_GPM * gpm / roof_ft2
    ice_all = ICE_PER_WATER * depth

    def ice(flux: float) -> float:
        return min(ice_all, growth_in_per_h(flux) * FUSION_BTU_PER_LB / heat_per_lb)

    low, high = ice(heat_low), ice(heat_high)
    if heat_low > heat_high:
        raise RatingError(f"least heat removed is {heat_low:g} Btu/h ft2, more than the most, {heat_high:g}")
    return Overflow(depth, lb_per_h_ft2, ice_all, low, high)


def depth_in_per_h(gpm: float, area_ft2: float) -> float:
    """Depth a flow adds to an area in an hour: 96.25 gpm / ft2 [in/h]. Source: geometry."""
    return 12.0 * 60.0 / GALLONS_PER_FT3 * gpm / area_ft2


def heat_to_freeze_btu_per_lb(supply_degf: float = SUPPLY_DEGF) -> float:
    """Heat that must leave a pound of water before it is ice [Btu/lb].

    Args:
        supply_degf: Water that runs out [degF], 32 to 200.

    Raises:
        RatingError: it is outside.

    Source:
        1 Btu/lb degF down to 32 degF and 143.6 Btu/lb of fusion.
    """
    return within(supply_degf, "supply water", "degF", 32.0, 200.0) - 32.0 + FUSION_BTU_PER_LB


def area_that_freezes_ft2(gpm: float, flux_btuh_ft2: float, supply_degf: float = SUPPLY_DEGF) -> float:
    """Roof it takes to freeze all of a flow [ft2].

    Args:
        gpm: Flow [gal/min].
        flux_btuh_ft2: Heat the cold removes [Btu/h ft2].
        supply_degf: Water that runs out [degF].

    Raises:
        RatingError: a value is impossible.

    Source:
        Heat balance.
    """
    heat = LB_PER_H_PER_GPM * positive(gpm, "flow", "gal/min", MOST_GPM) * heat_to_freeze_btu_per_lb(supply_degf)
    return heat / positive(flux_btuh_ft2, "heat removed", "Btu/h ft2", MOST_FLUX)


def orifice_gpm(port_in: float, psi: float, discharge: float = SHARP_EDGE) -> float:
    """Flow out of an open port with this pressure right behind it [gal/min].

    Args:
        port_in: Diameter of the opening [in].
        psi: Pressure at the valve while it flows [psi].
        discharge: Coefficient, 0.62 sharp-edged to 0.9 smooth.

    Raises:
        RatingError: a value is impossible.

    Source:
        29.84 Cd d^2 sqrt(p), fire-protection handbooks (second hand).
    """
    positive(port_in, "valve port", "in", MOST_PORT_IN)
    positive(psi, "pressure", "psi", MOST_PSI)
    return 29.84 * within(discharge, "discharge coefficient", "", 0.1, 1.0) * port_in**2 * math.sqrt(psi)


def pipe_gpm(pipe_in: float, length_ft: float, psi: float, port_in: float, discharge: float = SHARP_EDGE) -> float:
    """Flow out of an open port at the end of a pipe that takes its share of the pressure [gal/min].

    Args:
        pipe_in: Inside diameter of the pipe [in].
        length_ft: Its length from the branch [ft].
        psi: Pressure at the branch [psi].
        port_in: Diameter of the opening [in].
        discharge: Coefficient of the opening.

    Raises:
        RatingError: a value is impossible.

    Source:
        Hazen and Williams, C 120, 4.52 Q^1.85 / (C^1.85 d^4.87) psi per FOOT (from memory), and the port's own loss.
    """
    most = orifice_gpm(port_in, psi, discharge)
    per_foot = 4.52 / (HAZEN_WILLIAMS_C**1.85 * positive(pipe_in, "pipe", "in", MOST_PORT_IN) ** 4.87)
    friction = per_foot * positive(length_ft, "pipe length", "ft", MOST_LENGTH_FT)
    low, high = 0.0, most
    while high - low > 1e-12 * most:
        middle = (low + high) / 2.0
        if friction * middle**1.85 + psi * (middle / most) ** 2 < psi:
            low = middle
        else:
            high = middle
    return high
