"""Contradictions of a heater and its branch: plate, supply, breaker, conductor, subdivision."""

from collections.abc import Iterator

from seasonlog.calc import branch, heater, supply
from seasonlog.calc.nameplate import plate_check
from seasonlog.domain.contradictions_facts import Contradiction, Facts, Rule, at
from seasonlog.domain.limits_heater import plate, rated_amps
from seasonlog.domain.register import Circuit
from seasonlog.domain.severity import Severity

_SIXTY_COLUMN_AMPS = 100
"""Up to this the 60 C column holds where terminals are not marked. Source: NEC 110.14(C)(1)(a)."""


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


def breaker_too_small(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The breaker is below 125 % of the heater's amps and trips in the cold."""
    if circuit.breaker_amps is None:
        return
    amps = rated_amps(circuit)
    least = branch.minimum_amps(amps)
    if float(circuit.breaker_amps) >= least:
        return
    says = (
        f"breaker {circuit.breaker_amps:f} A is below 1.25 x {amps:.2f} = {least:.2f} A of a continuous load and may "
        f"trip; the next standard size is {branch.next_ocpd_amps(least)} A"
    )
    yield Contradiction(Severity.FREEZE_RISK, at(circuit, "breaker_amps"), says)


def breaker_too_large(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The breaker lets through more than the conductor may carry."""
    if circuit.breaker_amps is None or circuit.conductor_awg is None:
        return
    column, words = _column(circuit)
    most = branch.most_ocpd_amps(circuit.conductor_awg, column)
    if most is None or float(circuit.breaker_amps) <= most:
        return
    says = (
        f"breaker {circuit.breaker_amps:f} A does not protect {circuit.conductor_awg} AWG copper "
        f"({branch.ampacity_amps(circuit.conductor_awg, column)} A, {words}): {most} A is the most"
    )
    yield Contradiction(Severity.SHOCK_RISK, at(circuit, "breaker_amps"), says)


def conductor_too_small(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """The conductor carries less than 125 % of the heater's amps."""
    if circuit.conductor_awg is None:
        return
    column, words = _column(circuit)
    carries = branch.ampacity_amps(circuit.conductor_awg, column)
    amps = rated_amps(circuit)
    least = branch.minimum_amps(amps)
    if carries is None or carries >= least:
        return
    says = (
        f"{circuit.conductor_awg} AWG copper carries {carries} A ({words}), below 1.25 x {amps:.2f} = {least:.2f} A "
        "of a continuous load"
    )
    yield Contradiction(Severity.SHOCK_RISK, at(circuit, "conductor_awg"), says)


def _column(circuit: Circuit) -> tuple[int, str]:
    if circuit.terminal_degc is not None:
        return circuit.terminal_degc, f"terminals {circuit.terminal_degc} C"
    column = 60 if (circuit.breaker_amps or 0) <= _SIXTY_COLUMN_AMPS else 75
    return column, f"terminals not known, so {column} C"


def not_subdivided(circuit: Circuit, facts: Facts) -> Iterator[Contradiction]:
    """More amps on one circuit than resistance elements may draw undivided."""
    amps = rated_amps(circuit)
    if amps <= branch.MOST_CIRCUIT_AMPS:
        return
    says = (
        f"{plate(circuit)} is {amps:.2f} A, above the {branch.MOST_CIRCUIT_AMPS:g} A of one circuit: elements are to "
        f"be split into circuits of {branch.MOST_CIRCUIT_OCPD_AMPS:g} A protection at most; register each as its own"
    )
    yield Contradiction(Severity.RECORD_GAP, at(circuit, "kw"), says)


HEATER_RULES: tuple[Rule, ...] = (
    plate_amps, supply_volts, breaker_too_small, breaker_too_large, conductor_too_small, not_subdivided,
)  # fmt: skip
