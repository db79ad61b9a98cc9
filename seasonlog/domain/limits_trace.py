"""Limits of heat trace: insulation, volts, and amps where amps mean something."""

from seasonlog.calc import supply
from seasonlog.calc.heater import Band, amps_at
from seasonlog.calc.instrument import amps_uncertainty
from seasonlog.calc.units import MOST_VOLTS, positive, within
from seasonlog.domain.guard import COMMON, Edges, Meter, Rule, Steps, figure, limit
from seasonlog.domain.limit import Limit, LimitContext, Quantity
from seasonlog.domain.limit_facts import MissingFactError, answered_number, both, known, meter, reader, the_trace

_INSULATION = Rule("trace_insulation_mohm", "Mohm", f"IEEE 515, 20 Mohm (from memory); {COMMON}", "trace_insulation/1")
_VOLTS = Rule("trace_volts", "V", "ANSI C84.1 Range A (from memory)", "trace_volts/1")
_AMPS = Rule("trace_amps", "A", f"circuit theory; tolerance {COMMON}", "trace_amps/1")


def trace_insulation(context: LimitContext) -> Limit:
    """Insulation of the cable to its braid, at the test volts its maker allows."""
    trace = the_trace(context)
    least = context.practice.value("trace_insulation_mohm")
    wet = context.practice.value("trace_insulation_fail_mohm")
    at = f"{trace.insulation_test_volts:f} V dc" if trace.insulation_test_volts else "test volts not in the register"
    basis = f"cable to braid, {at}: {least:g} Mohm or more; below {wet:g} there is water in it"
    return limit(_INSULATION, Edges(low=least), basis, meter(context, "insulation", "Mohm"), Steps(fail_low=wet))


def trace_volts(context: LimitContext) -> Limit:
    """Volts at the cable, energised."""
    trace = the_trace(context)
    percent = context.practice.value("supply_range_percent")
    band = supply.service_range(float(trace.volts), percent)
    basis = f"{trace.volts:f} V rated +/-{percent:g} %: {figure(band.low)} to {figure(band.high)} V"
    return limit(_VOLTS, Edges(band.low, band.high), basis, meter(context, "voltmeter", "V"))


def trace_amps(context: LimitContext) -> Limit:
    """Amps of a constant-watt cable at the volts measured on it. Self-regulating cable is not judged by amps."""
    trace = the_trace(context)
    if trace.kind != "constant_watt":
        raise MissingFactError("self-regulating cable draws what the pipe's cold asks: its amps alone prove nothing")
    volts = answered_number(context, "trace_volts")
    if volts is None:
        raise MissingFactError("trace volts not measured in this visit yet")
    length = known(trace.length_ft, f"length of {trace.id}")
    watts = length * known(trace.w_per_ft, f"watts per foot of {trace.id}")
    rated_volts = float(trace.volts)
    rated = positive(watts, "heat trace power", "W", 1e6) / rated_volts
    amps = amps_at(rated, rated_volts, positive(volts, "trace volts", "V", MOST_VOLTS))
    share = within(context.practice.value("trace_watts_percent"), "heat trace tolerance", "%", 0.0, 50.0) / 100.0
    band = Band(amps * (1.0 - share), amps * (1.0 + share))
    basis = (
        f"{length:g} ft x {watts / length:g} W/ft, {rated_volts:g} V: {rated:.2f} A; at {volts:g} V measured "
        f"{amps:.2f} A; +/-{100 * share:g} %: {band.low:.2f} to {band.high:.2f} A"
    )
    return limit(_AMPS, Edges(band.low, band.high), basis, _clamp_at(context, volts))


def _clamp_at(context: LimitContext, volts: float) -> Meter:
    clamp, voltmeter = reader(context, "clamp", "A"), reader(context, "voltmeter", "V")
    return Meter(
        lambda amps: amps_uncertainty(amps, clamp.accuracy, volts, voltmeter.accuracy),
        both(clamp, voltmeter),
        clamp.reach,
    )


TRACE_QUANTITIES = (
    Quantity(
        "trace_insulation_mohm", "Mohm", "insulation", 0, 99999, "Heat trace cable to its braid", trace_insulation
    ),
    Quantity("trace_volts", "V", "voltmeter", 0, 600, "Volts at the heat trace", trace_volts),
    Quantity("trace_amps", "A", "clamp", 0, 200, "Amps of the heat trace", trace_amps),
)
