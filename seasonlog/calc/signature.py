"""What is wrong with a heater, from three clamp readings, the volts, and where measured the ohms.

Nothing is looked up: each guess is solved as a network (`network`), bent inside the tolerance of elements and meters
as near to the readings as it goes (`signature_fit`), and kept if it can explain them. Several guesses often can; all
are told, best first, each with the measurement that tells it from the others.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from seasonlog.calc.heater import CUSTOMARY, Tolerance, amps_band, ohms_line_to_line
from seasonlog.calc.instrument import Accuracy
from seasonlog.calc.network import supply
from seasonlog.calc.signature_cases import Case, Load, cases, has_quantity
from seasonlog.calc.signature_fit import Fitted, Seen, fitted
from seasonlog.calc.signature_words import LEAST_FIT, Cause, doubts, next_test, power_kw, says
from seasonlog.calc.supply import RANGE_A_PERCENT, is_even, mean_volts, service_range, unbalance_percent
from seasonlog.calc.units import MOST_AMPS, MOST_KW, MOST_OHMS, MOST_VOLTS, phase_count, positive, within
from seasonlog.errors import RatingError

CAUSES = (
    "healthy", "line_open", "element_open", "two_elements_open", "parallel_element_open", "turns_shorted",
    "reconnected", "wrong_voltage", "one_heater_dead", "ground_fault", "cannot_tell",
)  # fmt: skip
"""Every cause that can be named."""
CONNECTIONS = ("wye", "delta", "unknown")
SURE = 0.9
"""From this on a healthy heater needs no other explanation."""
STRAIN = 0.7
"""A fault that uses up every tolerance is worth half of one that fits as it stands. A healthy heater may use them."""
BEYOND_LIMITS = 0.3
"""What is left of the fit of a healthy heater whose amps break its limits, though tolerance and meter might explain."""
EVEN_AMPS_PERCENT = 6.3
"""Worst +5/-10 % elements on an even supply give 5.33 %, 1 % of supply unbalance makes 6.3 %; derived."""
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
NO_CURRENT_AMPS = 1e-6


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
    found = _told(_fits(load, readings, seen, at_supply, volts), load, readings)
    doubted = doubts(_with_ground(found, seen), readings, expected, seen.offset_error > TOO_COARSE * expected)
    return Signature(doubted, _unbalance(readings), expected)


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
    volts = mean_volts(measured) if measured else load.volts
    return volts, supply(measured if len(measured) == 3 and is_even(measured) else (volts, volts, volts))


def _seen(load: Load, readings: Readings, meters: Meters, tolerance: Tolerance) -> Seen:
    volts = max(readings.volts, default=load.volts)
    off = meters.voltmeter.at(volts) / volts if readings.volts else RANGE_A_PERCENT / 100.0
    clamp, healthy = meters.clamp, ohms_line_to_line(load.power_kw, load.volts, load.phases)
    return Seen(
        amps=readings.amps,
        amps_error=clamp.resolution + JAW_SHARE * load.amps,
        offset_error=clamp.counts * clamp.resolution,
        scale_error=clamp.percent / 100.0 + off,
        shares=tuple(1.0 if o == math.inf else o / (o + healthy) for o in readings.ohms),
        shares_error=tuple(_share_error(o, healthy, meters.ohmmeter) for o in readings.ohms),
        healthy_ohms=healthy,
        residual_amps=readings.residual_amps,
        residual_error=clamp.counts * clamp.resolution + 0.003 * load.amps,
        tolerance=tolerance,
    )


def _share_error(ohms: float, healthy: float, meter: Accuracy) -> float:
    """How far R / (R + R0) may be off by the ohmmeter; a little is left for leads and joints."""
    return 0.01 + (0.0 if ohms == math.inf else healthy / (ohms + healthy) ** 2 * meter.at(ohms))


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
    sure = bool(best) and best[0][1].case.cause == "healthy" and best[0][0] >= SURE
    least = max(LEAST_FIT, (SURE_SHARE if sure else LEAST_SHARE) * best[0][0]) if best else LEAST_FIT
    return _few([each for each in best if each[0] >= least])


def _few(best: list[tuple[float, Fitted]]) -> list[tuple[float, Fitted]]:
    """Not more than a person reads; of the volts that would fit only the nearest two."""
    volts = [each for each in best if each[1].case.cause == "wrong_voltage"][2:]
    return [each for each in best if each not in volts][:MOST_CAUSES]


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
    if agreed.cause == "healthy":
        return fit.agreement * (BEYOND_LIMITS if beyond_limits(load, readings) else 1.0), fit
    measured = agreed.tapped is not None and _returns_elsewhere(seen)
    weight = 1.0 if measured else agreed.weight
    return fit.agreement * math.exp(-STRAIN * fit.strain) * weight, fit


def _returns_elsewhere(seen: Seen) -> bool:
    """A clamp around all lines together shows more than its own error."""
    return seen.residual_amps is not None and seen.residual_amps > seen.residual_error


def beyond_limits(load: Load, readings: Readings) -> str:
    """What a heater's limits are exceeded by, in words; empty when they hold.

    Source:
        Trade custom, watts +5/-10 %; unbalance up to 6.3 % derived from it. Not measured volts: ANSI C84.1 Range A.
    """
    volts, _ = _lines_of(load, readings.volts)
    room = 1.0 if readings.volts else 1.0 + RANGE_A_PERCENT / 100.0
    band = amps_band(load.amps * volts / load.volts)
    uneven = _unbalance(readings)
    if uneven is not None and uneven > EVEN_AMPS_PERCENT:
        return f"unbalance {uneven:.1f} %, tolerance explains {EVEN_AMPS_PERCENT:g} %"
    if any(not band.low / room <= amps <= band.high * room for amps in readings.amps):
        return f"a line is outside {band.low / room:.3g} to {band.high * room:.3g} A"
    return ""


def _by_volts(case: Case, load: Load, readings: Readings, volts: float) -> Case | None:
    """The case as the measured volts leave it: another cause, the same, or none."""
    if case.cause == "wrong_voltage":
        return None if readings.volts or (load.phases == 1 and case.supply_volts == volts) else case
    if case.cause == "healthy" and not service_range(load.volts).holds(volts):
        return replace(case, cause="wrong_voltage", where=f"{volts:.4g} V", weight=0.98)
    if not is_even(readings.volts):
        return case if _dead_line(readings.volts) in case.open_lines else None
    return case


def _dead_line(volts: Sequence[float]) -> str:
    """The line with the lowest volts to the other two."""
    ab, bc, ca = volts
    return min((("A", ab + ca), ("B", ab + bc), ("C", bc + ca)), key=lambda pair: pair[1])[0]


def _says(fitting: Fitted, load: Load, readings: Readings) -> str:
    beyond = beyond_limits(load, readings) if fitting.case.cause == "healthy" else ""
    return f"{says(fitting, load)}; yet {beyond}: read again" if beyond else says(fitting, load)


def _told(fits: Sequence[tuple[float, Fitted]], load: Load, readings: Readings) -> list[Cause]:
    found = []
    for fit, each in fits:
        others = [other for _, other in fits if other is not each]
        case = each.case
        found.append(
            Cause(
                case.cause,
                case.where,
                round(fit, 3),
                _says(each, load, readings),
                power_kw(each.at),
                next_test(each, others, load),
            )
        )
    return found


def _with_ground(found: list[Cause], seen: Seen) -> list[Cause]:
    """A clamp around all lines reads the current to ground directly, whatever the lines show."""
    known = any(cause.cause == "ground_fault" or "neutral" in cause.says for cause in found)
    if not _returns_elsewhere(seen) or known:
        return found
    words = f"{seen.residual_amps:g} A return another way than by the lines: something touches ground"
    test = "Lock out and test the insulation before it is energised again; then clamp all lines together once more."
    least = found[0].fit if found else 1.0
    return [Cause("ground_fault", "", least, words, math.nan, test), *found]


def _unbalance(readings: Readings) -> float | None:
    if len(readings.amps) != 3 or max(readings.amps) < NO_CURRENT_AMPS:
        return None
    return unbalance_percent(readings.amps)
