"""What is wrong with a heater, from three clamp readings, the volts, and where measured the ohms.

Nothing is looked up: each guess is solved as a network (`network`), bent inside the tolerance of elements and meters
as near to the readings as it goes (`signature_fit`), and kept if it can explain them. Several guesses often can; all
are told, best first, each with the measurement that tells it from the others.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from seasonlog.calc.heater import CUSTOMARY, Tolerance
from seasonlog.calc.instrument import Accuracy
from seasonlog.calc.network import supply
from seasonlog.calc.signature_cases import Case, Load, cases, has_quantity
from seasonlog.calc.signature_fit import Fitted, Seen, fitted
from seasonlog.calc.signature_words import expected_words, next_test, power_kw, says
from seasonlog.calc.supply import RANGE_A_PERCENT, service_range, unbalance_percent
from seasonlog.calc.units import MOST_AMPS, MOST_KW, MOST_OHMS, MOST_VOLTS, phase_count, positive, within
from seasonlog.errors import RatingError

CAUSES = (
    "healthy", "line_open", "element_open", "two_elements_open", "parallel_element_open", "turns_shorted",
    "reconnected", "wrong_voltage", "one_heater_dead", "ground_fault", "cannot_tell",
)  # fmt: skip
"""Every cause that can be named."""
CONNECTIONS = ("wye", "delta", "unknown")
LEAST_FIT = 0.05
SURE = 0.9
"""From this on a healthy heater needs no other explanation."""
STRAIN = 0.7
"""A fault that uses up every tolerance is worth half of one that fits as it stands. A healthy heater may use them."""
UNSURE = 0.4
"""Below this the best cause is told together with the doubt."""
SURE_SHARE = 0.6
"""Beside a healthy heater only what fits nearly as well is told."""
LEAST_SHARE = 0.25
"""A cause that fits less than this share of the best one is not told."""
MOST_CAUSES = 8
JAW_SHARE = 0.01
"""Share of the line amps by which one line may read off from the others: place in the jaw, uneven supply. Common
practice, no source."""
TOO_COARSE = 0.12
"""Last digits of a clamp above this share of the line amps cannot tell faults apart. Derived: half the smallest
step, from 1 to 0.764, of an opened parallel element."""
_HEALTHY = ("healthy", "")
EVEN_PERCENT = 10.0
"""Volts less even than this are a lost line, not an uneven supply."""


@dataclass(frozen=True, slots=True)
class Meters:
    """Accuracy of the meters used. Customary ones when not given; common practice, no source."""

    clamp: Accuracy = field(default=Accuracy(2.0, 5.0, 0.1))
    voltmeter: Accuracy = field(default=Accuracy(1.0, 2.0, 1.0))
    ohmmeter: Accuracy = field(default=Accuracy(1.0, 2.0, 0.1))


@dataclass(frozen=True, slots=True)
class Readings:
    """What was read with the heater on, and cold."""

    amps: tuple[float, ...]
    """Lines A, B, C; of a single-phase heater one line, or both [A]."""
    volts: tuple[float, ...] = ()
    """Line to line at the contactor's load side, heater on: A-B, B-C, C-A; or one value; or not measured [V]."""
    ohms: tuple[float, ...] = ()
    """Cold, locked out, leads nulled: A-B, B-C, C-A; of a single-phase heater one value; infinite is open [ohm]."""
    residual_amps: float | None = None
    """A clamp around all lines together [A]."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that would explain the readings."""

    cause: str
    """One of `CAUSES`."""
    where: str
    """Line `A`, element `A-B`, supply `208 V`, `1 of 2` heaters; empty where it has no place."""
    fit: float
    """0 to 1: how well the readings agree, lessened for causes that are rarer or would explain almost anything."""
    says: str
    left_kw: float
    """Power of the heater with this fault, at these volts [kW]; not a number when nothing fits."""
    next_test: str
    """What to measure next, and what it would show."""


@dataclass(frozen=True, slots=True)
class Signature:
    """What three readings say."""

    causes: tuple[Cause, ...]
    """Best first; never empty."""
    unbalance_percent: float | None
    """Largest deviation from the mean; None without three lines that carry current."""
    expected_amps: float
    """Line amps of the healthy heater at the volts of the readings [A]."""


def signature(
    load: Load, readings: Readings, meters: Meters | None = None, tolerance: Tolerance = CUSTOMARY
) -> Signature:
    """Name what would explain the readings.

    Args:
        load: The plate of what hangs on the contactor: kW, V, phases, connection, heaters.
        readings: Amps, and what else was measured.
        meters: Accuracy of the meters; customary ones when None.
        tolerance: Of the elements.

    Raises:
        RatingError: the plate or a reading is impossible.

    Source:
        Circuit theory. Element tolerance: trade custom, watts +5/-10 %. Weights of causes: common practice, no source.
    """
    _check(load, readings)
    meters = meters or Meters()
    for meter, what in ((meters.clamp, "clamp"), (meters.voltmeter, "voltmeter"), (meters.ohmmeter, "ohmmeter")):
        within(meter.percent, f"{what}'s percent of reading", "%", 0.0, 50.0)
        within(meter.counts, f"{what}'s counts", "", 0.0, 100.0)
        within(meter.resolution, f"{what}'s last digit", "", 1e-6, 1000.0)
    volts, at_supply = _lines_of(load, readings.volts)
    expected = load.amps * volts / load.volts
    seen = _seen(load, readings, meters, tolerance)
    found = _told(_fits(load, readings, seen, at_supply, volts), load)
    return Signature(_or_cannot_tell(found, seen, expected, meters), _unbalance(readings), expected)


def _check(load: Load, readings: Readings) -> None:
    positive(load.power_kw, "heater power", "kW", MOST_KW)
    positive(load.volts, "heater volts", "V", MOST_VOLTS)
    phase_count(load.phases)
    if load.connection not in CONNECTIONS:
        raise RatingError(f"connection is {load.connection!r}: wye, delta or unknown is wanted")
    if load.heaters is not None:
        within(load.heaters, "heaters on the contactor", "", 1, 40)
    _count(readings.amps, "amps", (3,) if load.phases == 3 else (1, 2))
    _count(readings.volts, "volts", (0, 1, 3) if load.phases == 3 else (0, 1))
    _count(readings.ohms, "ohms", (0, 3) if load.phases == 3 else (0, 1))
    for amps in (*readings.amps, *((readings.residual_amps,) if readings.residual_amps is not None else ())):
        within(amps, "line amps", "A", 0.0, MOST_AMPS)
    for volts in readings.volts:
        positive(volts, "measured volts", "V", MOST_VOLTS)
    if len(readings.volts) == 3 and 2.0 * max(readings.volts) > 1.03 * math.fsum(readings.volts):
        shown = ", ".join(f"{v:g}" for v in readings.volts)
        raise RatingError(f"{shown} V cannot be between three lines, not even with one of them dead; measure again")
    for ohms in readings.ohms:
        if ohms != math.inf:
            within(ohms, "ohms between lines", "ohm", 0.0, MOST_OHMS)


def _count(values: Sequence[float], what: str, allowed: tuple[int, ...]) -> None:
    if len(values) not in allowed:
        wanted = " or ".join(str(n) for n in allowed)
        raise RatingError(f"{len(values)} {what} were given: {wanted} are wanted for this heater")


def _lines_of(load: Load, measured: tuple[float, ...]) -> tuple[float, dict[str, complex]]:
    """Mean volts of the supply, and its lines; a lost line is no part of the supply's volts."""
    if load.phases == 1:
        volts = measured[0] if measured else load.volts
        return volts, {"A": volts / 2.0 + 0j, "B": -volts / 2.0 + 0j, "C": 0j, "0": 0j}
    if len(measured) == 3 and _is_even(measured):
        return math.fsum(measured) / 3.0, supply(measured)
    volts = max(measured, default=load.volts)
    return volts, supply((volts, volts, volts))


def _is_even(volts: Sequence[float]) -> bool:
    return len(volts) < 3 or unbalance_percent(volts) <= EVEN_PERCENT


def _seen(load: Load, readings: Readings, meters: Meters, tolerance: Tolerance) -> Seen:
    volts = max(readings.volts, default=load.volts)
    off = meters.voltmeter.at(volts) / volts if readings.volts else RANGE_A_PERCENT / 100.0
    counts = meters.clamp.counts * meters.clamp.resolution
    siemens = tuple(0.0 if o == math.inf else 1.0 / max(o, 1e-3) for o in readings.ohms)
    return Seen(
        amps=readings.amps,
        amps_error=counts + JAW_SHARE * load.amps,
        scale_error=meters.clamp.percent / 100.0 + off,
        siemens=siemens,
        siemens_error=tuple(_siemens_error(load, s, meters.ohmmeter) for s in siemens),
        residual_amps=readings.residual_amps,
        tolerance=tolerance,
    )


def _siemens_error(load: Load, siemens: float, meter: Accuracy) -> float:
    least = 0.01 * 1000.0 * load.power_kw / load.volts**2
    return least + (siemens * siemens * meter.at(1.0 / siemens) if siemens else 0.0)


def _fits(
    load: Load, readings: Readings, seen: Seen, at_supply: dict[str, complex], volts: float
) -> list[tuple[float, Fitted]]:
    """Cases that fit, best first. Those that would bend to anything are not asked where all is as it should be."""
    every = sorted(cases(load), key=has_quantity)
    found: dict[tuple[str, str], tuple[float, Fitted]] = {}
    for case in every:
        if has_quantity(case) and found.get(_HEALTHY, (0.0,))[0] >= SURE:
            break
        fitting = _fit_of(case, load, readings, seen, at_supply, volts)
        if fitting is not None:
            key = (fitting[1].case.cause, fitting[1].case.where)
            found[key] = max(found.get(key, fitting), fitting, key=lambda each: each[0])
    best = sorted(found.values(), key=lambda each: -each[0])
    share = SURE_SHARE if best and best[0][1].case.cause == "healthy" else LEAST_SHARE
    return [each for each in best if each[0] >= max(LEAST_FIT, share * best[0][0])][:MOST_CAUSES]


def _fit_of(
    case: Case, load: Load, readings: Readings, seen: Seen, at_supply: dict[str, complex], volts: float
) -> tuple[float, Fitted] | None:
    agreed = _by_volts(case, load, readings, volts)
    if agreed is None:
        return None
    lines = at_supply
    if agreed.supply_volts is not None:
        _, lines = _lines_of(load, (agreed.supply_volts,))
        seen = replace(seen, scale_error=seen.scale_error - RANGE_A_PERCENT / 200.0)
    fit = fitted(agreed, seen, lines)
    if fit is None:
        return None
    strain = 1.0 if agreed.cause == "healthy" else math.exp(-STRAIN * fit.strain)
    return fit.agreement * strain * agreed.weight, fit


def _by_volts(case: Case, load: Load, readings: Readings, volts: float) -> Case | None:
    """The case as the measured volts leave it: another cause, the same, or none."""
    if case.cause == "wrong_voltage":
        return None if readings.volts or (load.phases == 1 and case.supply_volts == volts) else case
    if case.cause == "healthy" and not service_range(load.volts).holds(volts):
        return replace(case, cause="wrong_voltage", where=f"{volts:.4g} V", weight=0.98)
    if not _is_even(readings.volts):
        return case if _dead_line(readings.volts) in case.open_lines else None
    return case


def _dead_line(volts: Sequence[float]) -> str:
    """The line with the lowest volts to the other two."""
    ab, bc, ca = volts
    return min((("A", ab + ca), ("B", ab + bc), ("C", bc + ca)), key=lambda pair: pair[1])[0]


def _told(fits: Sequence[tuple[float, Fitted]], load: Load) -> list[Cause]:
    found = []
    for fit, each in fits:
        others = [other for _, other in fits if other is not each]
        case = each.case
        found.append(
            Cause(
                case.cause,
                case.where,
                round(fit, 3),
                says(each, load),
                power_kw(each.at),
                next_test(each, others, load),
            )
        )
    return found


def _or_cannot_tell(found: list[Cause], seen: Seen, expected: float, meters: Meters) -> tuple[Cause, ...]:
    if seen.amps_error > TOO_COARSE * expected:
        last = meters.clamp.counts * meters.clamp.resolution
        words = f"the clamp's last digits of {last:g} A are too coarse for {expected:.3g} A"
        return (Cause("cannot_tell", "", 1.0, words, math.nan, "Use a finer clamp, or several turns through its jaw."),)
    if found and found[0].fit >= UNSURE:
        return tuple(found)
    test = "Measure the volts between all lines, heater on, and the cold ohms between all lines, locked out."
    if found:
        words = "or no single fault: elements more uneven than their tolerance, a poor contact, an uneven supply"
        return (*found, Cause("cannot_tell", "", min(found[-1].fit, LEAST_FIT), words, math.nan, test))
    words = f"no single fault gives these readings; {expected_words(expected, len(seen.amps))} would be healthy"
    return (Cause("cannot_tell", "", 1.0, words, math.nan, test),)


def _unbalance(readings: Readings) -> float | None:
    if len(readings.amps) != 3 or not any(readings.amps):
        return None
    return unbalance_percent(readings.amps)
