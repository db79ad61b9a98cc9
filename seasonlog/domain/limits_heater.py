"""Limits of what a meter shows on the heater itself and its supply: amps, ohms, volts, insulation, bonds."""

import math

from seasonlog.calc import heater, supply
from seasonlog.calc.instrument import Accuracy, amps_uncertainty, turns_needed
from seasonlog.calc.units import SQRT3
from seasonlog.domain.guard import COMMON, Edges, Meter, Rule, Steps, figure, limit
from seasonlog.domain.limit import Limit, LimitContext, Quantity
from seasonlog.domain.limit_facts import MissingFactError, Reader, answered, both, known, meter, reader, the_circuit
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Circuit

FIRING = frozenset({"ssr", "scr_burst", "phase_angle"})
"""Ways of switching that chop the current: a clamp sees the rated amps only at full output."""
LEAST_SHARE = 0.5 / SQRT3
"""Smallest line current a broken heater still draws, share of rated: a delta with one element and one line open.
Source: circuit theory, 0.289."""

_AMPS = Rule("line_amps", "A", "circuit theory; trade custom +5/-10 % watts", "line_amps/1")
_AMPS_EVEN = Rule("amps_unbalance_percent", "%", "NEMA MG-1 formula; limits derived, not published", "amps_unbalance/1")
_OFF_AMPS = Rule("off_amps", "A", f"accuracy of the clamp; {COMMON}", "off_amps/1")
_OHMS = Rule("ohms_line_to_line", "ohm", "circuit theory; trade custom +5/-10 % watts", "ohms_line_to_line/1")
_VOLTS = Rule("supply_volts", "V", "ANSI C84.1 Range A (from memory)", "supply_volts/1")
_VOLTS_EVEN = Rule(
    "volts_unbalance_percent", "%", "NEMA MG-1 1 %, ANSI C84.1 3 % (second hand)", "volts_unbalance_percent/1"
)
_INSULATION = Rule(
    "insulation_mohm", "Mohm", "steps proposed from heater makers' published application notes", "insulation_mohm/2"
)
_BOND = Rule("bond_ohms", "ohm", "NETA 0.5 ohm (second hand)", "bond_ohms/1")


def plate(circuit: Circuit) -> str:
    """The heater's plate in words: `18 kW, 480 V, 3-phase`."""
    return f"{circuit.kw:f} kW, {circuit.volts:f} V, {circuit.phases}-phase"


def rated_amps(circuit: Circuit) -> float:
    """Line amps at rated volts [A]."""
    return heater.line_amps(float(circuit.kw), float(circuit.volts), circuit.phases)


def tolerance(practice: PracticeTable) -> heater.Tolerance:
    """The elements' tolerance as the table has it."""
    return heater.Tolerance(
        practice.value("watts_below_percent"),
        practice.value("watts_above_percent"),
        practice.value("ohms_hot_over_cold"),
    )


def is_chopped(context: LimitContext, circuit: Circuit) -> bool:
    """Switched by a firing control that was not proved at full output in this visit: amps prove nothing."""
    return circuit.switching in FIRING and answered(context, "full_output_proven") != "yes"


def _refuse_chopped(context: LimitContext, circuit: Circuit) -> None:
    """Amps of a firing control prove something only at proven full output."""
    if is_chopped(context, circuit):
        raise MissingFactError(
            f"switched by {circuit.switching}: amps are judged only at proven full output, on a true-RMS meter"
        )


def line_amps(context: LimitContext) -> Limit:
    """Amps of each line at the volts measured in this visit."""
    circuit = the_circuit(context)
    _refuse_chopped(context, circuit)
    volts = context.measured_volts
    if volts is None:
        raise MissingFactError("supply volts not measured in this visit yet")
    rated = rated_amps(circuit)
    amps = heater.amps_at(rated, float(circuit.volts), volts)
    allowed = tolerance(context.practice)
    band = heater.amps_band(amps, allowed)
    basis = (
        f"{plate(circuit)}: {rated:.2f} A; at {volts:.4g} V {'assumed' if context.assumed_volts else 'measured'} "
        f"{amps:.2f} A; element tolerance -{allowed.watts_below_percent:g}/+{allowed.watts_above_percent:g} %: "
        f"{band.low:.2f} to {band.high:.2f} A{_power_words(context, circuit, volts)}"
    )
    return _guarded_amps(context, band, basis, volts)


def _power_words(context: LimitContext, circuit: Circuit, volts: float) -> str:
    """What the heater is worth at volts that are not its own: right amps for the volts are not yet the rated heat."""
    rated = float(circuit.volts)
    if supply.service_range(rated, context.practice.value("supply_range_percent")).holds(volts):
        return ""
    power = heater.power_at(float(circuit.kw), rated, volts)
    percent = 100.0 * heater.volts_ratio(rated, volts) ** 2
    return f"; at these volts it gives {percent:.1f} % of its power, {power:.3g} kW"


def _guarded_amps(context: LimitContext, band: heater.Band, basis: str, volts: float) -> Limit:
    clamp, voltmeter = _clamp(context), reader(context, "voltmeter", "V")

    def error_at(value: float, accuracy: Accuracy = clamp.accuracy) -> float:
        return amps_uncertainty(value, accuracy, volts, voltmeter.accuracy)

    turns = turns_needed(band.low, band.high, clamp.accuracy, error_at)
    advice = f"; {turns} turns through the jaw would decide" if turns and turns > 1 else ""
    return limit(
        _AMPS, Edges(band.low, band.high), f"{basis}{advice}", Meter(error_at, both(clamp, voltmeter), clamp.reach)
    )


def _clamp(context: LimitContext) -> Reader:
    """The clamp, with the turns through its jaw where the visit says so."""
    clamp = reader(context, "clamp", "A")
    turns = answered(context, "jaw_turns") or "1"
    if turns == "1":
        return clamp
    if not (turns.isascii() and turns.isdecimal()):
        raise MissingFactError(f"turns through the jaw is {turns!r}: a whole number is wanted")
    accuracy, end = clamp.accuracy.with_turns(int(turns)), clamp.reach.high
    reach = Edges(high=end / int(turns)) if end is not None else Edges()
    return Reader(accuracy, f"{clamp.who}, {turns} turns through the jaw", reach)


def amps_unbalance(context: LimitContext) -> Limit:
    """How uneven the three line amps may be; one meter, one range, so its own error cancels."""
    circuit = the_circuit(context)
    _refuse_chopped(context, circuit)
    resolution = _clamp(context).accuracy.resolution
    return _evenness(_AMPS_EVEN, context, circuit, rated_amps(circuit), resolution, "amps_unbalance")


def volts_unbalance(context: LimitContext) -> Limit:
    """How uneven the three supply volts may be."""
    circuit = the_circuit(context)
    volts = known(circuit.supply_volts, f"supply volts of {circuit.id}")
    resolution = reader(context, "voltmeter", "V").accuracy.resolution
    return _evenness(_VOLTS_EVEN, context, circuit, volts, resolution, "volts_unbalance")


def _evenness(rule: Rule, context: LimitContext, circuit: Circuit, mean: float, resolution: float, name: str) -> Limit:
    if circuit.phases != 3:
        raise MissingFactError("a single-phase heater has no unbalance")
    passes, most = context.practice.value(f"{name}_pass_percent"), context.practice.value(f"{name}_percent")
    error = supply.unbalance_uncertainty_percent(mean, resolution)
    basis = f"largest deviation from the mean, in percent of the mean: up to {passes:g} % good, above {most:g} % not"
    last_digit = Meter(lambda _: error, "last digit of one meter on one range")
    return limit(rule, Edges(high=most), basis, last_digit, Steps(pass_high=passes))


def off_amps(context: LimitContext) -> Limit:
    """Amps of a line that must be off: not above what the clamp shows of nothing."""
    circuit = the_circuit(context)
    clamp = _clamp(context)
    floor = clamp.accuracy.at(0.0)
    least = LEAST_SHARE * rated_amps(circuit)
    if 2.0 * floor > least:
        raise MissingFactError(
            f"the clamp's floor of {figure(floor)} A is too near the {figure(least)} A that a stuck pole of this "
            "heater may draw: use a finer one or more turns through the jaw"
        )
    basis = (
        f"off: not above the clamp's floor of {figure(floor)} A ({clamp.who}); a stuck pole draws {figure(least)} A "
        "or more"
    )
    return limit(_OFF_AMPS, Edges(high=floor), basis, steps=Steps(fail_high=2.0 * floor))


def ohms_line_to_line(context: LimitContext) -> Limit:
    """Cold ohms between any two heater terminals, leads nulled, power locked out."""
    circuit = the_circuit(context)
    allowed = tolerance(context.practice)
    ohms = heater.ohms_line_to_line(float(circuit.kw), float(circuit.volts), circuit.phases)
    band = heater.ohms_band(ohms, allowed)
    how = "2 V^2/P, wye or delta" if circuit.phases == 3 else "V^2/P"
    basis = (
        f"{plate(circuit)}: {how} = {ohms:.2f} ohm; watts -{allowed.watts_below_percent:g}/"
        f"+{allowed.watts_above_percent:g} % and cold {1 / allowed.hot_over_cold:.3f} of hot: "
        f"{band.low:.2f} to {band.high:.2f} ohm, leads nulled"
    )
    return limit(_OHMS, Edges(band.low, band.high), basis, meter(context, "ohmmeter", "ohm"))


def supply_volts(context: LimitContext) -> Limit:
    """Supply volts against the nominal volts of the panel, not against the heater's plate."""
    circuit = the_circuit(context)
    nominal = known(circuit.supply_volts, f"supply volts of {circuit.id}")
    volts = supply.at_heater(nominal, float(circuit.volts), circuit.phases)
    percent = context.practice.value("supply_range_percent")
    band = supply.service_range(volts, percent)
    between = f", {volts:.4g} V line to neutral" if volts != nominal else ""
    basis = f"{nominal:g} V nominal{between} +/-{percent:g} %: {figure(band.low)} to {figure(band.high)} V"
    return limit(_VOLTS, Edges(band.low, band.high), basis, meter(context, "voltmeter", "V"))


def insulation(context: LimitContext) -> Limit:
    """Insulation of the whole heater to its sheath."""
    the_circuit(context)
    value = context.practice.value
    good, least, fail = value("insulation_pass_mohm"), value("insulation_mohm"), value("insulation_fail_mohm")
    before = context.before.get(_INSULATION.quantity)
    half = min(good, 0.5 * before) if before is not None else 0.0
    fell = f"; it was {_shown(before)} before: below half of that, {half:.4g}, is a finding" if half > least else ""
    basis = (
        f"500 V dc, 60 s, whole heater to sheath, cold: {good:g} Mohm and more good, {least:g} to {good:g} watch, "
        f"{fail:g} to {least:g} dry out and retest, below {fail:g} do not energise{fell}"
    )
    least = max(least, half)
    steps = Steps(pass_low=good, fail_low=fail)
    return limit(_INSULATION, Edges(low=least), basis, meter(context, "insulation", "Mohm"), steps)


def _shown(mohm: float | None) -> str:
    return "over range" if mohm is None or math.isinf(mohm) else f"{mohm:.4g} Mohm"


def bond(context: LimitContext) -> Limit:
    """Ground path from the heater's sheath or box to the supply bond."""
    most = context.practice.value("bond_ohms")
    basis = f"investigate above {most:g} ohm, leads nulled"
    return limit(_BOND, Edges(high=most), basis, meter(context, "ohmmeter", "ohm"))


HEATER_QUANTITIES = (
    Quantity("line_amps", "A", "clamp", 0, 2000, "Amps of each line with the heater on", line_amps),
    Quantity("amps_unbalance_percent", "%", "", 0, 200, "Unevenness of the three line amps", amps_unbalance),
    Quantity("off_amps", "A", "clamp", 0, 2000, "Amps of each line with the heater off", off_amps),
    Quantity(
        "ohms_line_to_line", "ohm", "ohmmeter", 0, 99999, "Ohms between heater terminals, cold", ohms_line_to_line
    ),
    Quantity("supply_volts", "V", "voltmeter", 0, 1000, "Supply volts, line to line, heater on", supply_volts),
    Quantity("volts_unbalance_percent", "%", "", 0, 200, "Unevenness of the three supply volts", volts_unbalance),
    Quantity("insulation_mohm", "Mohm", "insulation", 0, 99999, "Insulation of the heater to its sheath", insulation),
    Quantity("bond_ohms", "ohm", "ohmmeter", 0, 99999, "Ohms from heater sheath to the supply bond", bond),
)
