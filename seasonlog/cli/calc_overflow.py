"""`seasonlog calc overflow`: what a stuck make-up valve puts on a roof, as water and as ice."""

import click

from seasonlog.calc import overflow as rules
from seasonlog.calc.ice import WATER_PSF_PER_IN
from seasonlog.calc.units import kpa_from_psf, mm_from_inches
from seasonlog.cli.calc_frame import Answer, json_option, number, show
from seasonlog.errors import UsageError

_BASIS = (
    "1 gal/min = 96.25 in/h on a square foot = 500.4 lb/h: geometry; ice 1.0905 times as deep as its water; freezing: "
    "heat balance, 143.6 Btu/lb; ponded water 5.2 psf per inch: ASCE 7 rain load (second hand)",
    "20 psf: ASCE 7 minimum roof live load (second hand); it may be reduced to 12, and snow comes on top",
    "port: 29.84 Cd d^2 sqrt(p), Cd 0.62 sharp-edged (second hand); pipe: Hazen and Williams, C 120 (from memory)",
    "heat removed 100 to 200 Btu/h ft2 when not given: our choice, no source",
)
_CAUTION = (
    "CAUTION: this is the load, not what the roof can carry: that is its structural engineer's to say. Shut the "
    "make-up off upstream, keep people off and out from under it, and call the engineer before anyone clears it."
)


@click.command()
@number("--gpm", "GAL/MIN", "Flow that runs over; or --valve-in with --psi.")
@number("--roof-ft2", "FT2", "Roof it spreads over.", required=True)
@number("--valve-in", "IN", "Opening of the stuck valve, instead of --gpm.")
@number("--psi", "PSI", "Pressure at the valve, or where the pipe of --pipe-in begins.")
@number("--pipe-in", "IN", "Inside diameter of the pipe that feeds the valve, with --pipe-ft.")
@number("--pipe-ft", "FT", "Its length.")
@number("--heat-btuh-ft2", "BTU/H FT2", "Heat the cold removes; 100 to 200 when not given.")
@number("--supply-degf", "DEGF", "Water that runs out.", default=rules.SUPPLY_DEGF)
@json_option
def overflow(
    gpm: float | None, roof_ft2: float, valve_in: float | None, psi: float | None, pipe_in: float | None,
    pipe_ft: float | None, heat_btuh_ft2: float | None, supply_degf: float, as_json: bool,
) -> int:  # fmt: skip
    """Load and ice that running water puts on a roof.

    seasonlog calc overflow --gpm 5 --roof-ft2 500
    """
    flow, how = _flow(gpm, valve_in, psi, pipe_in, pipe_ft)
    heats = (rules.HEAT_LOW, rules.HEAT_HIGH) if heat_btuh_ft2 is None else (heat_btuh_ft2, heat_btuh_ft2)
    found = rules.overflow(flow, roof_ft2, *heats, supply_degf)
    hours, most = found.hours_to(), rules.ROOF_LIVE_LOAD_PSF
    areas = [rules.area_that_freezes_ft2(flow, each, supply_degf) for each in heats]
    load = f"{found.load_psf_per_h:.2f} psf every hour ({kpa_from_psf(found.load_psf_per_h):.2f} kPa)"
    plain = [
        f"if all of it stays: {load}, {most:g} psf ({kpa_from_psf(most):.2f} kPa) after {hours:.1f} h",
        f"as water {found.depth_in_per_h:.2f} in/h ({mm_from_inches(found.depth_in_per_h):.0f} mm/h); all frozen "
        f"{found.ice_all_in_per_h:.2f} in/h ({mm_from_inches(found.ice_all_in_per_h):.0f} mm/h)",
        f"the cold can freeze {found.ice_low_in_per_h:.2f} in/h (low) to {found.ice_high_in_per_h:.2f} in/h (high) of "
        "it; the rest drains, or ponds where drains are iced",
    ]
    working = [
        *([how] if how else []),
        f"96.25 x {flow:.4g} gal/min / {roof_ft2:g} ft2 = {found.depth_in_per_h:.2f} in/h; 500.4 x {flow:.4g} / "
        f"{roof_ft2:g} = {found.load_psf_per_h:.2f} psf/h; {most:g} / {found.load_psf_per_h:.2f} = {hours:.1f} h",
        f"{heats[0]:g} to {heats[1]:g} Btu/h ft2 over {rules.heat_to_freeze_btu_per_lb(supply_degf):.1f} Btu/lb; "
        f"freezing all of it takes {max(areas):.0f} to {min(areas):.0f} ft2",
        f"{most:g} psf is {most / WATER_PSF_PER_IN:.1f} in of ponded water",
    ]
    document = {
        "gpm": flow, "depth_in_per_h": found.depth_in_per_h, "load_psf_per_h": found.load_psf_per_h,
        "ice_all_in_per_h": found.ice_all_in_per_h, "ice_low_in_per_h": found.ice_low_in_per_h,
        "ice_high_in_per_h": found.ice_high_in_per_h, "hours_to_20_psf": hours,
        "freezing_area_low_ft2": min(areas), "freezing_area_high_ft2": max(areas),
    }  # fmt: skip
    return show(Answer(plain, document, working, _BASIS, (_CAUTION,)), as_json)


def _flow(
    gpm: float | None, valve_in: float | None, psi: float | None, pipe_in: float | None, pipe_ft: float | None
) -> tuple[float, str]:
    """The flow [gal/min], and how it was found when it was not given.

    Raises:
        UsageError: neither the flow nor a valve with its pressure is told, or both are, or half a pipe.
    """
    if gpm is not None and valve_in is psi is pipe_in is pipe_ft is None:
        return gpm, ""
    if gpm is not None or valve_in is None or psi is None:
        raise UsageError("Tell the flow by --gpm, or by --valve-in and --psi together; not both.")
    if pipe_in is pipe_ft is None:
        flow = rules.orifice_gpm(valve_in, psi)
        return flow, f"29.84 x {rules.SHARP_EDGE:g} x {valve_in:g}^2 x sqrt({psi:g} psi) = {flow:.1f} gal/min"
    if pipe_in is None or pipe_ft is None:
        raise UsageError("A pipe wants both --pipe-in and --pipe-ft.")
    flow = rules.pipe_gpm(pipe_in, pipe_ft, psi, valve_in)
    return flow, f"port {valve_in:g} in behind {pipe_ft:g} ft of {pipe_in:g} in pipe at {psi:g} psi: {flow:.1f} gal/min"
