"""An answer against its limit: the verdict, in a word and in a sentence, with the limits that were used.

Readings go to `domain.limits`; observations are judged by what the checklist expects. Three lines are judged each
and together (unbalance); the worst counts.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from seasonlog.calc import supply
from seasonlog.calc.float_leads import float_wiring
from seasonlog.calc.insulation import temperature_note
from seasonlog.calc.signature_words import Cause
from seasonlog.calc.supply import unbalance_percent
from seasonlog.calc.units import degc_from_degf
from seasonlog.domain.answers import OVER_RANGE, Parsed
from seasonlog.domain.checklist import Step, StepKind
from seasonlog.domain.limit_facts import answered_number
from seasonlog.domain.limits import Limit, LimitContext, Verdict, judge, limit_for, worst
from seasonlog.domain.named_faults import causes_words, named_causes
from seasonlog.domain.plain_words import NOTED
from seasonlog.errors import RatingError

_FAR = {"<": float("-inf"), ">": float("inf")}
"""Where a reading known only by its bound may lie."""
HEATER_DEGF = "heater_degf"
"""The step that reads the heater's temperature beside its insulation."""
_EVENNESS = {"line_amps": "amps_unbalance_percent", "supply_volts": "volts_unbalance_percent"}


@dataclass(frozen=True, slots=True)
class Judgement:
    """What an answer is worth."""

    verdict: Verdict
    says: str
    """One sentence: what was read and what is allowed."""
    limits: tuple[Limit, ...] = ()
    """The limit of the reading first, then of the unbalance where three lines were read."""
    causes: tuple[Cause, ...] = ()
    """What would explain amps that did not pass, best first."""


def judged(step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    """The verdict on an answer.

    Args:
        step: The checklist step.
        parsed: A well-formed answer to it.
        context: What the limit depends on: circuit, volts measured in this visit, instrument, table.
    """
    return _JUDGES[step.kind](step, parsed, context)


def _noted(step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    return Judgement(Verdict.PASS, "acknowledged" if step.kind is StepKind.CAUTION else NOTED)


def _expected(step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    if parsed.value == step.expect:
        return Judgement(Verdict.PASS, f"{parsed.value}")
    return Judgement(Verdict.FAIL, f"{parsed.value}; {step.expect} is wanted")


def _chosen(step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    choice = next(c for c in step.choices if c.value == parsed.value)
    told = Judgement(Verdict(choice.verdict), choice.says)
    return _with_leg(told, context) if step.id == "float_leg_found" else told


def _with_leg(told: Judgement, context: LimitContext) -> Judgement:
    """What the volts of the float's leads say of its leg, beside what the person found."""
    read = [answered_number(context, f"float_{name}_volts") for name in ("lead_a", "lead_b", "open_a", "open_b")]
    circuit = context.circuit
    a, b, open_a, open_b = read
    if circuit is None or circuit.control_volts is None or a is None or b is None or open_a is None or open_b is None:
        return told
    try:
        found = float_wiring((a, b), (open_a, open_b), float(circuit.control_volts))
    except RatingError:
        return told
    return replace(told, says=f"{told.says}; by the volts read: {found.says}")


def _measured(step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    shown = f"{_shown(parsed)} {step.unit}".strip()
    if not step.quantity:
        return Judgement(Verdict.PASS, f"{shown}, recorded")
    limit = limit_for(step.quantity, context)
    verdict = worst(_bounded(n, sign, limit) for n, sign in zip(parsed.numbers, parsed.bounds, strict=True))
    first = Judgement(verdict, f"{shown}: {_why(limit, verdict)}", (limit,))
    told = _with_causes(_with_evenness(first, step, parsed, context), step, parsed, context)
    return _with_temperature(told, step, parsed, context)


def _bounded(number: float, sign: str, limit: Limit) -> Verdict:
    """The verdict on a reading that may be only a bound, such as `>2000`: what holds at it and far beyond it."""
    at_bound = judge(number, limit)
    beyond = judge(_FAR[sign], limit) if sign else at_bound
    return at_bound if at_bound is beyond else Verdict.CANNOT_TELL


def _with_evenness(first: Judgement, step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    name = _EVENNESS.get(step.quantity)
    numbers = parsed.numbers
    if name is None or len(numbers) != 3 or not 0 < sum(numbers) < float("inf"):
        return first
    percent = unbalance_percent(numbers)
    limit = limit_for(name, context)
    verdict = judge(percent, limit)
    says = f"{first.says}; unbalance {percent:.1f} %, {_why(limit, verdict)}"
    return Judgement(worst((first.verdict, verdict)), says, (*first.limits, limit))


def _with_causes(first: Judgement, step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    """Amps that did not pass get a name at once."""
    if step.quantity != "line_amps" or first.verdict in (Verdict.PASS, Verdict.NEAR_PASS) or any(parsed.bounds):
        return first
    causes = named_causes(parsed.numbers, context)
    words = f"{first.says}; {causes_words(causes)}" if causes else first.says
    return replace(first, says=words, causes=causes)


def _with_temperature(told: Judgement, step: Step, parsed: Parsed, context: LimitContext) -> Judgement:
    """The temperature stands beside an insulation reading and changes nothing about its verdict."""
    degf = answered_number(context, HEATER_DEGF)
    if step.quantity != "insulation_mohm" or degf is None or parsed.value == OVER_RANGE or any(parsed.bounds):
        return told
    try:
        note = temperature_note(parsed.numbers[0], degc_from_degf(degf))
    except RatingError:  # no temperature of a heater, or no reading: it is kept as it is
        return told
    return replace(told, says=f"{told.says}; {note}")


def _why(limit: Limit, verdict: Verdict) -> str:
    return limit.missing if limit.missing and verdict is Verdict.CANNOT_TELL else band_words(limit)


def band_words(limit: Limit) -> str:
    """The limit as a reader wants it: `limit 19.49 to 22.73 A, pass 20.09 to 22.04 A`."""
    words = f"limit {_edges(limit.low, limit.high)} {limit.unit}"
    if not limit.decides:
        return f"{words}; this instrument is too coarse to prove it"
    return f"{words}, pass {_edges(limit.pass_low, limit.pass_high)}"


def _edges(low: float | None, high: float | None) -> str:
    if low is None:
        return "any" if high is None else f"up to {high:.4g}"
    return f"from {low:.4g}" if high is None else f"{low:.4g} to {high:.4g}"


def _shown(parsed: Parsed) -> str:
    values = (parsed.value,) if isinstance(parsed.value, str) else parsed.value
    return " / ".join(sign + value for sign, value in zip(parsed.bounds, values, strict=True))


def limit_record(limit: Limit) -> dict[str, Any]:
    """A limit as an entry keeps it: numbers as decimal text, so that the verdict can be recomputed for ever."""
    edges = ("low", "high", "pass_low", "pass_high", "fail_low", "fail_high")
    return {name: _text(getattr(limit, name)) for name in edges} | {
        "quantity": limit.quantity,
        "unit": limit.unit,
        "basis": limit.basis,
        "source": limit.source,
        "formula": limit.formula,
        "decides": limit.decides,
        "missing": limit.missing,
    }


def limit_from_record(record: dict[str, Any]) -> Limit:
    """The limit an old entry was judged by."""
    edges = ("low", "high", "pass_low", "pass_high", "fail_low", "fail_high")
    return Limit(**record | {name: None if record[name] is None else float(record[name]) for name in edges})


def _text(edge: float | None) -> str | None:
    return None if edge is None else f"{edge:.10g}"


def mean_volts(value: str | tuple[str, ...]) -> float | None:
    """Supply volts answered in a visit [V] (`supply.mean_volts`); None when a line was over range."""
    values = (value,) if isinstance(value, str) else value
    if not values or OVER_RANGE in values:
        return None
    volts = [float(v) for v in values]
    return supply.mean_volts(volts) if any(volts) else 0.0


_JUDGES: dict[StepKind, Callable[[Step, Parsed, LimitContext], Judgement]] = {
    StepKind.CAUTION: _noted,
    StepKind.TEXT: _noted,
    StepKind.YES_NO: _expected,
    StepKind.CHOICE: _chosen,
    StepKind.READING: _measured,
    StepKind.TIMED: _measured,
    StepKind.THREE_LINES: _measured,
}
