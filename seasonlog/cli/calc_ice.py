"""`seasonlog calc ice`: how thick ice grows in so many degree-days of frost, and what it weighs."""

import click

from seasonlog.calc import ice as rules
from seasonlog.calc.units import kpa_from_psf, mm_from_inches
from seasonlog.cli.calc_frame import Answer, json_option, number, show

_BASIS = (
    "thin ice with the air's own resistance: Ashton 1989 (second hand); 2.24 W/mK, 916 kg/m3, 334 kJ/kg: an "
    "encyclopaedia's article on lake ice; weight: 57.25 lb/ft3 (917 kg/m3)",
    "lake rule: US Army Cold Regions laboratory, technical note 04-3 (second hand), snow to windy bare lake; it "
    "overstates the first inch",
)
_CAUTION = (
    "CAUTION: for still, fresh water without snow. Spray, splash and overflow build ice much faster. The figure is no "
    "licence to walk on ice. It tells a load; what a structure carries is its engineer's to say."
)


@click.command()
@number("--afdd", "FDAYS", "Freezing degree-days: the sum of 32 less each day's mean, in degF days.", required=True)
@number("--film", "W/M2K", "Heat passed on from ice to air: 10 calm and cloudy, 30 windy.", default=rules.FILM)
@number("--start-in", "IN", "Ice there at the start.", default=0.0)
@json_option
def ice(afdd: float, film: float, start_in: float, as_json: bool) -> int:
    """Thickness and weight of the ice that frost makes on still water.

    seasonlog calc ice --afdd 50
    """
    films = min(film, rules.FILM_CALM), film, max(film, rules.FILM_WINDY)
    low, usual, high = (rules.thickness_in(afdd, each, start_in) for each in films)
    inch_more = rules.afdd_for(usual + 1.0, film, start_in) - afdd
    weights = [rules.ice_psf(each) for each in (low, usual, high)]
    lake = sorted(rules.degree_day_in(afdd, each) for each in rules.LAKE_COEFFICIENTS.values())
    plain = [
        f"{usual:.2f} in of ice ({mm_from_inches(usual):.0f} mm), {low:.2f} in (low) to {high:.2f} in (high)",
        f"it weighs {weights[1]:.1f} psf ({kpa_from_psf(weights[1]):.2f} kPa), {weights[0]:.1f} psf (low) to "
        f"{weights[2]:.1f} psf (high)",
        f"an inch (25 mm) more takes {inch_more:.0f} degF days ({inch_more / 1.8:.0f} degC days)",
    ]
    working = [
        f"sqrt(({start_in:g} + k/H)^2 + {rules.conduction_limit_in(1.0):.3f}^2 x {afdd:g}) - k/H, H {films[0]:g} / "
        f"{films[1]:g} / {films[2]:g} W/m2K: {low:.2f} / {usual:.2f} / {high:.2f} in",
        f"never more than {rules.conduction_limit_in(afdd):.2f} in from bare water; the lake rule gives {lake[0]:.2f} "
        f"to {lake[-1]:.2f} in",
        f"{usual:.2f} in x {rules.ice_psf(1.0):.2f} psf/in = {weights[1]:.1f} psf",
    ]
    document = {
        "thickness_in": usual, "thickness_low_in": low, "thickness_high_in": high, "weight_psf": weights[1],
        "weight_low_psf": weights[0], "weight_high_psf": weights[2], "next_inch_afdd": inch_more, "film_w_m2k": film,
    }  # fmt: skip
    return show(Answer(plain, document, working, _BASIS, (_CAUTION,)), as_json)
