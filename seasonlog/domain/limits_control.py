"""Limits of the control circuit: control volts, contacts, float leads, and what must read nothing when off."""

from seasonlog.calc.supply import at_heater
from seasonlog.domain.guard import COMMON, Edges, Rule, Steps, figure, limit
from seasonlog.domain.limit import Limit, LimitContext, Quantity
from seasonlog.domain.limit_facts import (
    MissingFactError,
    answered_number,
    known,
    meter,
    the_basin,
    the_circuit,
)
from seasonlog.domain.register import Circuit

_COIL = "IEC 60947-4-1 and NEMA ICS 2, 85 to 110 % (from memory)"
_CONTROL = Rule("control_volts", "V", _COIL, "control_volts/1")
_ELECTRODE = Rule("electrode_volts", "V", f"electrode plate; {_COIL}", "electrode_volts/1")
_CONTACT = Rule("contact_ohms", "ohm", COMMON, "contact_ohms/1")
_FLOAT_VOLTS = Rule("float_lead_volts", "V", f"circuit theory; {COMMON}", "float_lead_volts/1")
_FLOAT_MOHM = Rule("float_lead_mohm", "Mohm", COMMON, "float_lead_mohm/1")
_OFF_VOLTS = Rule("off_terminal_volts", "V", COMMON, "off_terminal_volts/1")
_DROP = Rule("relay_drop_seconds", "s", COMMON, "relay_drop_seconds/1")

_TO_NEUTRAL = frozenset({120.0, 127.0, 277.0, 347.0})
"""Single-phase heaters whose second wire is the neutral, so that one switched pole is all of them."""


def control_volts(context: LimitContext) -> Limit:
    """Volts of the control circuit at the coil, contactor pulled in."""
    circuit = the_circuit(context)
    rated = known(circuit.control_volts, f"control volts of {circuit.id}")
    edges, words = _coil_range(context, rated)
    return limit(_CONTROL, edges, words, meter(context, "voltmeter", "V"))


def _coil_range(context: LimitContext, rated: float) -> tuple[Edges, str]:
    low, high = context.practice.value("control_low_percent"), context.practice.value("control_high_percent")
    edges = Edges(rated * low / 100.0, rated * high / 100.0)
    return edges, f"{rated:g} V rated, {low:g} to {high:g} %: {rated * low / 100:.1f} to {rated * high / 100:.1f} V"


def electrode_volts(context: LimitContext) -> Limit:
    """Volts at the electrodes of a conductance probe, from its plate as answered in the visit."""
    plate_volts = answered_number(context, "electrode_plate_volts")
    if plate_volts is None or plate_volts <= 0:
        raise MissingFactError("electrode volts stand on the controller's plate: answer electrode_plate_volts first")
    edges, words = _coil_range(context, plate_volts)
    return limit(_ELECTRODE, edges, f"electrode plate, {words}", meter(context, "voltmeter", "V"))


def contact_ohms(context: LimitContext) -> Limit:
    """Ohms across a closed dry contact, power off, leads nulled."""
    good, most = context.practice.value("contact_ohms"), context.practice.value("contact_fail_ohms")
    basis = f"closed dry contact, leads nulled: up to {good:g} ohm good, to {most:g} clean and retest, above not"
    return limit(_CONTACT, Edges(high=good), basis, meter(context, "ohmmeter", "ohm"), Steps(fail_high=most))


def float_lead_volts(context: LimitContext) -> Limit:
    """Volts of a float lead to ground with the basin full, by the wiring in the register."""
    circuit = the_circuit(context)
    _refuse_electrodes(context)
    if circuit.float_leg == "unknown":
        raise MissingFactError("which leg the float breaks is not known: find it out and put it in the register")
    if circuit.float_leg == "isolated":
        return _isolated_float(context)
    return _grounded_float(context, circuit)


def _refuse_electrodes(context: LimitContext) -> None:
    device = the_basin(context).level_device
    if device == "conductance_probe":
        raise MissingFactError("a conductance probe carries volts by design: read its electrode volts instead")
    if device == "none":
        raise MissingFactError("the basin has no level device")


def _isolated_float(context: LimitContext) -> Limit:
    most = context.practice.value("isolated_float_volts")
    basis = f"isolated low-energy float circuit: not above {most:g} V to ground"
    return limit(_FLOAT_VOLTS, Edges(high=most), basis, meter(context, "voltmeter", "V"))


def _grounded_float(context: LimitContext, circuit: Circuit) -> Limit:
    if circuit.control_grounded_leg not in ("x1", "x2"):
        known_not = "not known" if circuit.control_grounded_leg == "unknown" else "none"
        raise MissingFactError(
            f"grounded side of the control secondary is {known_not}: volts to ground tell nothing yet"
        )
    rated = known(circuit.control_volts, f"control volts of {circuit.id}")
    if circuit.float_leg == "hot":
        edges, words = _coil_range(context, rated)
        basis = f"float in the hot leg, basin full: both leads live; {words}"
    else:
        percent = context.practice.value("float_zero_percent")
        edges = Edges(high=rated * percent / 100.0)
        basis = f"float in the neutral leg, basin full: both leads dead, up to {percent:g} % of {rated:g} V"
    return limit(_FLOAT_VOLTS, edges, basis, meter(context, "voltmeter", "V"))


def float_lead_mohm(context: LimitContext) -> Limit:
    """Insulation of the disconnected float leads to ground, float in the water."""
    least = context.practice.value("float_lead_mohm")
    basis = (
        f"disconnected float leads to ground, in water: {least:g} Mohm or more; a leak of 17 to 47 kohm holds a relay"
    )
    return limit(_FLOAT_MOHM, Edges(low=least), basis, meter(context, "ohmmeter", "Mohm"))


def off_terminal_volts(context: LimitContext) -> Limit:
    """Volts of a heater terminal to ground with the contactor open; only where every pole is switched."""
    circuit = the_circuit(context)
    _refuse_unswitched(circuit)
    good = context.practice.value("off_terminal_volts")
    most = context.practice.value("off_terminal_fail_volts")
    basis = (
        f"contactor open, every pole switched: up to {good:g} V; to {figure(most)} V stray, prove it with a "
        "low-impedance tester; above, live"
    )
    return limit(_OFF_VOLTS, Edges(high=good), basis, meter(context, "voltmeter", "V"), Steps(fail_high=most))


def poles_needed(circuit: Circuit) -> int:
    """Poles that must open so that no heater terminal stays live."""
    if circuit.phases == 3:
        return 3
    rated, panel = float(circuit.volts), float(circuit.supply_volts or circuit.volts)
    return 1 if rated in _TO_NEUTRAL or at_heater(panel, rated, 1) != panel else 2


def _refuse_unswitched(circuit: Circuit) -> None:
    if circuit.poles_switched == "unknown":
        raise MissingFactError("how many poles are switched is not known: unswitched poles stay live until locked out")
    needed = poles_needed(circuit)
    if int(circuit.poles_switched) < needed:
        raise MissingFactError(
            f"{circuit.poles_switched} of {needed} poles switched: unswitched poles stay live until locked out"
        )


def relay_drop_seconds(context: LimitContext) -> Limit:
    """Seconds until the level relay drops after the water or the float is down."""
    most = context.practice.value("relay_drop_seconds")
    return limit(_DROP, Edges(high=most), f"relay out within {most:g} s", meter(context, "timer", "s"))


CONTROL_QUANTITIES = (
    Quantity("control_volts", "V", "voltmeter", 0, 600, "Control volts at the contactor coil", control_volts),
    Quantity("electrode_volts", "V", "voltmeter", 0, 600, "Volts at the electrodes of a level probe", electrode_volts),
    Quantity("contact_ohms", "ohm", "ohmmeter", 0, 99999, "Ohms across a closed dry contact", contact_ohms),
    Quantity("float_lead_volts", "V", "voltmeter", 0, 600, "Float lead to ground, basin full", float_lead_volts),
    Quantity("float_lead_mohm", "Mohm", "ohmmeter", 0, 99999, "Insulation of the float leads", float_lead_mohm),
    Quantity("off_terminal_volts", "V", "voltmeter", 0, 1000, "Heater terminal to ground, off", off_terminal_volts),
    Quantity("relay_drop_seconds", "s", "timer", 0, 600, "Seconds until the level relay drops", relay_drop_seconds),
)
