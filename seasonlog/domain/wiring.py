"""What a heater circuit should show a meter and what its wiring should be, from its plate."""

from dataclasses import dataclass

from seasonlog.calc import branch as rules
from seasonlog.calc import control, heater
from seasonlog.domain.limits_heater import plate, rated_amps, tolerance
from seasonlog.domain.practice import PracticeTable
from seasonlog.domain.register import Circuit


@dataclass(frozen=True, slots=True)
class Expected:
    """What a healthy heater shows."""

    volts: float
    """At which [V]."""
    line_amps: float
    amps_low: float
    amps_high: float
    kw: float
    ohms: float
    """Between any two lines, or across a single-phase heater, hot [ohm]."""
    ohms_low: float
    ohms_high: float
    """Cold [ohm]."""
    says: str


def expected(circuit: Circuit, practice: PracticeTable, volts: float | None = None) -> Expected:
    """Amps, ohms and power of the healthy heater.

    Args:
        circuit: Its plate.
        practice: The table of constants.
        volts: At the heater [V]; its rated volts when None.

    Raises:
        RatingError: a value is impossible.
    """
    rated = float(circuit.volts)
    at_volts = volts or rated
    amps = heater.amps_at(rated_amps(circuit), rated, at_volts)
    ohms = heater.ohms_line_to_line(float(circuit.kw), rated, circuit.phases)
    allowed = tolerance(practice)
    band, cold = heater.amps_band(amps, allowed), heater.ohms_band(ohms, allowed)
    kw = heater.power_at(float(circuit.kw), rated, at_volts)
    says = f"{plate(circuit)} at {at_volts:.4g} V: {amps:.2f} A in each line, {kw:.3g} kW; {ohms:.2f} ohm"
    return Expected(at_volts, amps, band.low, band.high, kw, ohms, cold.low, cold.high, says)


@dataclass(frozen=True, slots=True)
class Wiring:
    """What the branch and the control run should be, and what is wrong with those installed."""

    minimum_amps: float
    ocpd_amps: int
    conductor_awg: str
    subdivide: bool
    says: str
    faults: tuple[str, ...]
    control: tuple[str, ...]
    """The control run, as far as the register tells."""
    edition: str


def wiring(circuit: Circuit) -> Wiring:
    """Size of the branch by the adopted tables, held against what is installed.

    Raises:
        RatingError: the heater is beyond the tables.
    """
    amps = rated_amps(circuit)
    wanted = rules.branch(amps, circuit.terminal_degc)
    terminals = f"{circuit.terminal_degc} C terminals" if circuit.terminal_degc else "terminals not marked"
    says = (
        f"1.25 x {amps:.2f} = {wanted.minimum_amps:.1f} A: {wanted.ocpd_amps} A breaker or fuse, "
        f"{wanted.conductor_awg} AWG copper ({terminals})"
    )
    if wanted.subdivide:
        says += f"; above {rules.MOST_CIRCUIT_AMPS:g} A: {rules.circuits_needed(amps)} circuits"
    faults = rules.audit(amps, _number(circuit.breaker_amps), circuit.conductor_awg, circuit.terminal_degc)
    return Wiring(
        wanted.minimum_amps, wanted.ocpd_amps, wanted.conductor_awg, wanted.subdivide, says,
        tuple(fault.says for fault in faults), tuple(_run(circuit)), wanted.edition,
    )  # fmt: skip


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))


def _run(circuit: Circuit) -> list[str]:
    rated, inrush, awg = _number(circuit.coil_volts), _number(circuit.coil_inrush_va), circuit.control_awg
    if rated is None or inrush is None or awg not in control.OHMS_PER_KFT or circuit.control_run_ft is None:
        return []
    source, factor = control.SOURCE_SHARE * rated, control.INRUSH_POWER_FACTOR
    run_ft = float(circuit.control_run_ft)
    volts = control.volts_at_coil(source, rated, inrush, control.wire_ohms(awg, run_ft), factor)
    longest = control.max_run_ft(control.loop_budget_ohms(source, rated, inrush, factor), awg)
    return [
        f"control: {volts:.1f} of {rated:g} V at the coil while it pulls in ({run_ft:g} ft of {awg} AWG, "
        f"source at 95 %); longest run {longest:.0f} ft"
    ]
