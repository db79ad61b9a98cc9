"""The words of a signature: what a cause means, and the measurement that tells it from the others that fit."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from seasonlog.calc.network import LINES, PAIRS, Flow, siemens_of_pairs
from seasonlog.calc.signature_cases import Load
from seasonlog.calc.signature_fit import Fitted

LEAST_FIT = 0.05
"""A cause that fits less is not told."""
UNSURE = 0.4
"""Below this the best cause is told together with the doubt."""

_MEANS = {
    "healthy": "the amps are those of a healthy heater within the tolerance of its elements and the meter",
    "line_open": "line {where} is open: blown fuse, contactor pole, lug or lead",
    "element_open": "element {where} is open",
    "two_elements_open": "elements {where} are open",
    "parallel_element_open": "part of leg {where} is open",
    "turns_shorted": "turns of element {where} are shorted",
    "reconnected": "the elements are joined the wrong way",
    "wrong_voltage": "the supply is not the heater's: {where} on a {rated:g} V heater",
    "one_heater_dead": "{where} heaters on the contactor draws nothing",
    "ground_fault": "element {where} touches its sheath: current returns through ground",
}
_LIVE = "Heater on (energised work: qualified person only)"
"""Before whatever is measured live: these words stand alone on a board, without the caution of a step."""
_OTHERWISE = {
    "healthy": "Amps show no ground fault of high resistance: clamp all lines together (nothing when healthy), and "
    "test the insulation.",
    "line_open": f"{_LIVE}: volts across each fuse, pole and lead of that line (0 when whole); locked out: fuse out, "
    "ohm it.",
    "wrong_voltage": f"{_LIVE}: volts between the lines; and read the plate again.",
    "ground_fault": f"{_LIVE}: clamp all lines together: healthy shows nothing. Lock out and test the insulation "
    "before it is energised again.",
    "one_heater_dead": f"{_LIVE}: clamp the leads of each heater on its own.",
    "turns_shorted": "Locked out, leads lifted: ohms between the lines; and the insulation to the sheath.",
    "reconnected": "Locked out: look at the links of the terminal box against the wiring diagram.",
}
_NO_CURRENT = (
    "Look first: is the contactor in, do the lamps burn, is the breaker on? Then, contactor in (energised work: "
    "qualified person only): volts between the lines at its line side and at its load side."
)
_ELEMENTS = "Locked out, leads lifted: ohms between the lines, then of each element with its links off."


class Amps(Protocol):
    """What was read, as far as the doubt hangs on it."""

    @property
    def amps(self) -> tuple[float, ...]:
        """Line amps [A]."""

    @property
    def volts(self) -> tuple[float, ...]:
        """Volts between the lines [V]; empty when not measured."""


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that would explain the readings."""

    cause: str
    """One of `signature.CAUSES`."""
    where: str
    """Line `A`, element `A-B`, supply `208 V`, `1 of 2` heaters; empty where it has no place."""
    fit: float
    """0 to 1: how well the readings agree, lessened for causes that are rarer or would explain almost anything."""
    says: str
    left_kw: float
    """Power of the heater with this fault, at these volts [kW]; not a number when nothing fits."""
    next_test: str
    """What to measure next, and what it would show."""


def says(fitted: Fitted, load: Load) -> str:
    """The cause in one sentence, with what is left of the power."""
    case = fitted.case
    means = _MEANS[case.cause].format(where=case.where, rated=load.volts)
    if case.cause == "line_open" and len(case.open_lines) > 1:
        means = case.detail
    elif case.detail:
        means = f"{means} ({case.detail})"
    kw = power_kw(fitted.at)
    return means if case.cause == "healthy" else f"{means}; {kw:.3g} of {load.power_kw:g} kW are left"


def power_kw(at: Flow) -> float:
    """What a solved network draws from its lines [kW]."""
    amps = zip(LINES, at.line_amps, strict=True)
    return _almost_none(abs(sum((at.volts[line] * i.conjugate()).real for line, i in amps)) / 1000.0)


def _almost_none(value: float) -> float:
    return value if value > 1e-3 else 0.0


def doubts(found: Sequence[Cause], readings: Amps, expected: float, coarse: bool) -> tuple[Cause, ...]:
    """The causes, with the doubt beside them where nothing fits well or the clamp is coarse.

    Args:
        found: What fits, best first.
        readings: Amps and volts that were read.
        expected: Healthy line amps [A].
        coarse: The clamp's counts are large beside them.
    """
    if coarse and (not found or found[0].cause == "healthy"):
        words = f"the clamp's last digits are too coarse for {expected:.3g} A"
        fit = found[0].fit if found else 1.0
        return (_cannot_tell(fit, words, "Use a finer clamp, or several turns through its jaw."), *found)
    if found and found[0].fit >= UNSURE:
        return tuple(found)
    test = "Heater on: volts across the terminals and joints of the low line (more than 0.1 V is a poor joint)" + (
        "; the volts between all lines" if not readings.volts else ""
    )
    test += "; locked out: cold ohms between all lines."
    if found:
        words = "or no single fault: a poor joint in the low line, elements beyond their tolerance, an uneven supply"
        return (*found, _cannot_tell(min(found[-1].fit, LEAST_FIT), words, test))
    lines = " in each line" if len(readings.amps) == 3 else ""
    return (_cannot_tell(1.0, f"no single fault gives these readings; {expected:.2f} A{lines} would be healthy", test),)


def _cannot_tell(fit: float, words: str, test: str) -> Cause:
    return Cause("cannot_tell", "", fit, words, math.nan, test)


def next_test(fitted: Fitted, others: Sequence[Fitted], load: Load) -> str:
    """The measurement that tells this cause from the best of the others, with what it would show in each case."""
    if not any(fitted.at.amps) and fitted.case.cause == "line_open":
        return _NO_CURRENT
    for other in others:
        for test in (_by_ohms, _by_volts, _by_ground, _by_heater):
            words = test(fitted, other, load)
            if words:
                return words
    return _OTHERWISE.get(fitted.case.cause, _ELEMENTS)


def _named(fitted: Fitted) -> str:
    return f"{fitted.case.cause.replace('_', ' ')} {fitted.case.where}".strip()


def _by_ohms(fitted: Fitted, other: Fitted, load: Load) -> str:
    mine, theirs = _ohms(fitted, load), _ohms(other, load)
    if not _differ(mine, theirs):
        return ""
    pairs = ", ".join("-".join(pair) for pair in _pairs(load))
    return (
        f"Locked out, leads lifted, ohms {pairs}: {_ohm_words(mine)} if {_named(fitted)}, {_ohm_words(theirs)} if "
        f"{_named(other)}."
    )


def _pairs(load: Load) -> Sequence[tuple[str, str]]:
    return PAIRS if load.phases == 3 else PAIRS[:1]


def _ohms(fitted: Fitted, load: Load) -> list[float]:
    """Between the heater's own terminals, where an open lead no longer counts."""
    joined = [(one.removesuffix("lead"), other.removesuffix("lead"), g) for one, other, g in fitted.branches]
    whole = [branch for branch in joined if "tap" not in branch] if fitted.case.tapped is None else joined
    return [1.0 / s if s > 0.0 else math.inf for s in siemens_of_pairs(whole, _pairs(load))]


def _ohm_words(ohms: Sequence[float]) -> str:
    return " / ".join("open" if o == math.inf else f"{o:.3g}" for o in ohms)


def _differ(mine: Sequence[float], theirs: Sequence[float], share: float = 0.15) -> bool:
    def apart(one: float, other: float) -> bool:
        return one != other and (math.inf in (one, other) or abs(one - other) > share * max(one, other))

    return any(apart(one, other) for one, other in zip(mine, theirs, strict=True))


def _by_volts(fitted: Fitted, other: Fitted, load: Load) -> str:
    if load.phases == 1 or "wrong_voltage" in (fitted.case.cause, other.case.cause):
        return _by_supply(fitted, other)
    mine, theirs = fitted.at.between(), other.at.between()
    if not _differ(mine, theirs):
        return ""
    return (
        f"{_LIVE}: volts between its terminals A-B, B-C, C-A: {_volt_words(mine)} if {_named(fitted)}, "
        f"{_volt_words(theirs)} if {_named(other)}."
    )


def _by_supply(fitted: Fitted, other: Fitted) -> str:
    if (fitted.case.cause == "wrong_voltage") == (other.case.cause == "wrong_voltage"):
        return ""
    mine, theirs = (each.at.between()[0] for each in (fitted, other))
    return f"{_LIVE}: volts between the lines: {mine:.3g} if {_named(fitted)}, {theirs:.3g} if {_named(other)}."


def _volt_words(volts: Sequence[float]) -> str:
    return " / ".join(f"{v:.0f}" for v in volts)


def _by_ground(fitted: Fitted, other: Fitted, load: Load) -> str:
    mine, theirs = (_almost_none(each.at.residual_amps) for each in (fitted, other))
    if abs(mine - theirs) < 0.05 * load.amps:
        return ""
    return f"{_LIVE}: clamp all lines together: {mine:.2g} A if {_named(fitted)}, {theirs:.2g} A if {_named(other)}."


def _by_heater(fitted: Fitted, other: Fitted, load: Load) -> str:
    several = "one_heater_dead" in (fitted.case.cause, other.case.cause) or "heater of" in fitted.case.detail
    return f"Clamp the leads of each heater on its own; {_named(other)} fits the sum as well." if several else ""
