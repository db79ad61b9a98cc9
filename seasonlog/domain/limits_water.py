"""Limits of water and level: cut-in, cut-out, temperatures, plumb, levels, ice, drain time, coil fluid."""

from seasonlog.calc.thermostat import FREEZING_DEGF, ICE_POINT_DEGF, switching
from seasonlog.domain.guard import COMMON, Edges, Meter, Rule, Steps, figure, limit
from seasonlog.domain.limit import Limit, LimitContext, Quantity
from seasonlog.domain.limit_facts import (
    MissingFactError,
    answered_number,
    known,
    meter,
    reader,
    the_basin,
    the_site,
)
from seasonlog.domain.register import Basin, Circuit

_CUT_IN = Rule("cut_in_degf", "degf", f"freezing point of water; margin {COMMON}", "cut_in/1")
_CUT_OUT = Rule("cut_out_degf", "degf", f"definition of the differential; {COMMON}", "cut_out/1")
_WATER = Rule("water_degf", "degf", f"freezing point of water; margin {COMMON}", "water_degf/1")
_ICE_POINT = Rule("thermometer_ice_point_degf", "degf", f"ice point ASTM E563; +/-1 degF {COMMON}", "ice_point/1")
_GLYCOL = Rule("glycol_freeze_point_degf", "degf", COMMON, "glycol_freeze_point/1")
_PLUMB = Rule("probe_plumb_deg", "deg", f"one trade text on stem floats; {COMMON}", "probe_plumb/1")
_COVER = Rule("level_above_heater_in", "in", COMMON, "level_above_heater/1")
_ICE = Rule("ice_depth_in", "in", COMMON, "ice_depth/1")
_DRAIN = Rule("drain_minutes", "min", COMMON, "drain_minutes/1")


def cut_in(context: LimitContext) -> Limit:
    """Water temperature at which the heater comes on."""
    value = context.practice.value
    margin, good, most = value("freeze_margin_degf"), value("cut_in_pass_high_degf"), value("cut_in_high_degf")
    basis = (
        f"32 + {margin:g} degF margin and the thermometer's error; above {good:g} heat is wasted, above {most:g} "
        f"too much{_by_dial(context.circuit)}"
    )
    edges = Edges(FREEZING_DEGF + margin, most)
    return limit(_CUT_IN, edges, basis, meter(context, "thermometer", "degf"), Steps(pass_high=good))


def _by_dial(circuit: Circuit | None) -> str:
    """What the dial promises, in words; nothing where something about it is not known."""
    if circuit is None or circuit.dial_degf is None or circuit.differential_degf is None or circuit.mark == "unknown":
        return ""
    expected = switching(float(circuit.dial_degf), float(circuit.differential_degf), circuit.mark)
    return (
        f"; dial {circuit.dial_degf:f}, differential {circuit.differential_degf:f}, mark {circuit.mark}: "
        f"{expected.cut_in_degf:g} on, {expected.cut_out_degf:g} off"
    )


def cut_out(context: LimitContext) -> Limit:
    """Water temperature at which the heater goes off, held against the cut-in measured in the same visit."""
    on_degf = answered_number(context, "cut_in_degf")
    if on_degf is None:
        raise MissingFactError("cut-in not measured in this visit yet")
    most = context.practice.value("cut_out_high_degf")
    differential = context.circuit.differential_degf if context.circuit is not None else None
    steps, words = _differential_steps(context, on_degf, float(differential) if differential is not None else None)
    basis = f"above the cut-in of {on_degf:g} measured, not above {most:g} degf{words}"
    return limit(_CUT_OUT, Edges(on_degf, most), basis, meter(context, "thermometer", "degf"), steps)


def _differential_steps(context: LimitContext, on_degf: float, differential: float | None) -> tuple[Steps, str]:
    if differential is None:
        return Steps(), "; differential not known"
    spread = context.practice.value("cut_out_spread_degf")
    off_degf = on_degf + differential
    words = f"; with the differential of {differential:g}: {off_degf:g} +/-{spread:g}"
    return Steps(pass_low=off_degf - spread, pass_high=off_degf + spread), words


def water(context: LimitContext) -> Limit:
    """Temperature of the basin water."""
    margin = context.practice.value("freeze_margin_degf")
    basis = f"32 + {margin:g} degF margin{_by_dial(context.circuit)}"
    return limit(_WATER, Edges(low=FREEZING_DEGF + margin), basis, meter(context, "thermometer", "degf"))


def ice_point(context: LimitContext) -> Limit:
    """Reading of a thermometer in ice and water, itself on trial, so only the bath's own error is guarded."""
    off = context.practice.value("ice_point_degf")
    bath = context.practice.value("ice_bath_degf")
    basis = f"32.0 degF +/-{off:g}; add 32.0 minus the reading to later readings"
    edges = Edges(ICE_POINT_DEGF - off, ICE_POINT_DEGF + off)
    return limit(_ICE_POINT, edges, basis, Meter(lambda _: bath, "the ice bath itself"))


def glycol_freeze_point(context: LimitContext) -> Limit:
    """Freeze point of the coil's fluid against the lowest air temperature on record."""
    site = the_site(context)
    lowest = site.record_low_degf if site.record_low_degf is not None else site.design_degf
    coldest = known(lowest, f"record low or design temperature of {site.id}")
    margin = context.practice.value("glycol_margin_degf")
    which = "record low" if site.record_low_degf is not None else "design temperature"
    basis = f"{which} {coldest:g} degf less {margin:g} margin: {coldest - margin:g} or lower"
    return limit(_GLYCOL, Edges(high=coldest - margin), basis, meter(context, "refractometer", "degf"))


def probe_plumb(context: LimitContext) -> Limit:
    """Degrees a stem float hangs off vertical, the worse of two faces at right angles."""
    basin = the_basin(context)
    _refuse_no_stem(basin)
    good, most = context.practice.value("plumb_deg"), context.practice.value("plumb_fail_deg")
    basis = f"stem off vertical: up to {good:g} deg good, to {most:g} correct it, above it may hang"
    return limit(_PLUMB, Edges(high=good), basis, meter(context, "angle", "deg"), Steps(fail_high=most))


def _refuse_no_stem(basin: Basin) -> None:
    if basin.level_device in ("conductance_probe", "none"):
        raise MissingFactError(f"level device of {basin.id} is {basin.level_device}: no stem to hold a gauge against")
    if basin.level_device_form in ("side_arm", "tethered"):
        raise MissingFactError(
            f"level device of {basin.id} is a {basin.level_device_form}: look at it, no angle applies"
        )


def level_above_heater(context: LimitContext) -> Limit:
    """Water over the heater's highest hot part."""
    basin = the_basin(context)
    cover = context.practice.value("heater_cover_in")
    left = _cover_at_trip(basin)
    least = cover if left is None else max(cover, left)
    why = f"water over the heater, {cover:g} in at least"
    words = why if left is None else f"{why}; {left:g} in are left when the level device trips"
    return limit(_COVER, Edges(low=least), words, steps=Steps(fail_low=0.0))


def _cover_at_trip(basin: Basin) -> float | None:
    if basin.trip_level_in is None or basin.heater_top_in is None:
        return None
    return float(basin.trip_level_in - basin.heater_top_in)


def ice_depth(context: LimitContext) -> Limit:
    """Thickness of ice on the basin water."""
    skin, most = context.practice.value("ice_depth_in"), context.practice.value("ice_depth_fail_in")
    basis = f"no ice on a heated basin; up to {skin:g} in is skin ice, above {most:g} in heat does not hold"
    return limit(_ICE, Edges(high=skin), basis, steps=Steps(pass_high=0.0, fail_high=most))


def drain_minutes(context: LimitContext) -> Limit:
    """Minutes from pump stop until the tower has drained to its remote sump."""
    stated = answered_number(context, "drain_minutes_stated")
    most = stated if stated is not None and stated > 0 else context.practice.value("drain_minutes")
    whose = "as stated for this tower" if most == stated else "customary, no time stated for this tower"
    basis = f"drained within {figure(most)} min, {whose}"
    return limit(_DRAIN, Edges(high=most), basis, reader(context, "timer", "min").meter)


WATER_QUANTITIES = (
    Quantity("cut_in_degf", "degf", "thermometer", -40, 212, "Water temperature when the heater comes on", cut_in),
    Quantity("cut_out_degf", "degf", "thermometer", -40, 212, "Water temperature when the heater goes off", cut_out),
    Quantity("water_degf", "degf", "thermometer", -40, 212, "Temperature of the basin water", water),
    Quantity("thermometer_ice_point_degf", "degf", "thermometer", 0, 80, "Thermometer in ice and water", ice_point),
    Quantity(
        "glycol_freeze_point_degf", "degf", "refractometer", -100, 60, "Freeze point of fluid", glycol_freeze_point
    ),
    Quantity("probe_plumb_deg", "deg", "angle", 0, 90, "Stem of the level device off vertical", probe_plumb),
    Quantity("level_above_heater_in", "in", "", -120, 720, "Water over the heater's top", level_above_heater),
    Quantity("ice_depth_in", "in", "", 0, 240, "Thickness of ice on the basin", ice_depth),
    Quantity("drain_minutes", "min", "timer", 0, 1440, "Minutes until the tower has drained", drain_minutes),
)
