"""Contradictions of a heater and its branch: plate, supply, breaker, conductor, subdivision."""

from collections.abc import Iterator, Mapping

from seasonlog.calc import heater, supply
from seasonlog.calc.branch import audit
from seasonlog.calc.nameplate import plate_check
from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule, at
from seasonlog.domain.limits_heater import rated_amps
from seasonlog.domain.register import Circuit
from seasonlog.domain.severity import Severity


def plate_amps(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The amps on the plate do not belong to its power, volts and phases."""
    if circuit.plate_amps is None:
        return
    check = plate_check(
        float(circuit.kw),
        float(circuit.volts),
        circuit.phases,
        float(circuit.plate_amps),
        heaters=circuit.heaters,
        percent=facts.practice_at(circuit.tower).value("plate_amps_percent"),
    )
    if not check.agrees:
        yield Contradiction(Severity.RECORD_GAP, at(circuit, "plate_amps"), check.says)


def supply_volts(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The panel's volts are not the heater's."""
    if circuit.supply_volts is None:
        return
    rated = float(circuit.volts)
    have = supply.at_heater(float(circuit.supply_volts), rated, circuit.phases)
    percent = facts.practice_at(circuit.tower).value("supply_range_percent")
    if supply.service_range(rated, percent).holds(have):
        return
    share, power = heater.volts_ratio(rated, have), heater.power_at(float(circuit.kw), rated, have)
    end = "too little heat" if share < 1 else "its elements burn out"
    says = (
        f"a {rated:g} V heater on a {have:.4g} V supply draws {have:.4g}/{rated:g} = {100 * share:.1f} % of its amps "
        f"and gives {100 * share * share:.1f} % of its power: {circuit.kw:f} kW becomes {power:.3g} kW, {end}"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(circuit, "supply_volts"), says)


_BRANCH: Mapping[str, tuple[Severity, str, str]] = {
    "ocpd_too_small": (Severity.FREEZE_RISK, "breaker_amps", ""),
    "ocpd_too_large": (Severity.SHOCK_RISK, "breaker_amps", ""),
    "conductor_too_small": (Severity.SHOCK_RISK, "conductor_awg", ""),
    "not_subdivided": (Severity.RECORD_GAP, "kw", "; register each as its own"),
}
"""What each fault of a branch may lead to, the key it sits at, and what the register wants then."""


def branch_faults(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """Breaker, conductor or circuit are not what the heater's amps ask for."""
    breaker = None if circuit.breaker_amps is None else float(circuit.breaker_amps)
    for fault in audit(rated_amps(circuit), breaker, circuit.conductor_awg, circuit.terminal_degc):
        severity, key, then = _BRANCH[fault.name]
        yield Contradiction(severity, at(circuit, key), f"{fault.says}{then}")


HEATER_RULES: tuple[Rule, ...] = (plate_amps, supply_volts, branch_faults)
