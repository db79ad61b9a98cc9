"""Two examples of what is said at a step, for a recogniser that is led by the text before. Pure.

Their values are invented and differ between the two; none lies inside the step's band or is the saved one: an example
that held the true value would be read back instead of what was said.
"""

from collections.abc import Sequence

from seasonlog.calc.units import degf_from_degc
from seasonlog.domain.checklist import MEASURED, StepKind
from seasonlog.voice.intents import AskedStep, Expecting, Ground
from seasonlog.voice.spoken import line_aloud, unit_aloud

_POOLS: tuple[tuple[float, ...], tuple[float, ...]] = (
    (17.3, 64.9, 33.1, 76.8, 12.7, 53.4, 91.2, 28.6, 231, 347, 613, 2.3, 0.37, 7.9, 1160),
    (27.7, 83.2, 15.9, 36.3, 71.8, 44.6, 58.1, 96.4, 263, 389, 571, 3.6, 0.61, 8.2, 1730),
)
"""Invented readings; the two have none in common."""
_MOVES = ("Next. Back. Repeat. What is the limit? Stop, not safe.", "Stop, not safe. Read back. How many left? Undo.")


def example_prompts(ground: Ground) -> tuple[str, str]:
    """Two decoder prompts for what may be said now, with disjoint invented values and never a true one.

    Args:
        ground: What may be said now.
    """
    first, second = _examples(ground)
    return f"{first} {_MOVES[0]}", f"{second} {_MOVES[1]}"


def _examples(ground: Ground) -> tuple[str, str]:
    step = ground.step
    if ground.expecting is Expecting.CONFIRM:
        return "Yes. No.", "No. Yes."
    if ground.expecting is Expecting.CAUTION or step.kind is StepKind.CAUTION:
        return "Understood. Caution read.", "Caution read. Understood."
    if step.kind in MEASURED:
        return _readings(step, 0), _readings(step, 1)
    if step.kind is StepKind.CHOICE:
        says = [choice.value.replace("_", " ").capitalize() for choice in step.choices]
        return ". ".join(says) + ".", ". ".join(reversed(says)) + "."
    if step.kind is StepKind.YES_NO:
        return f"Pass. Fail. {step.title} Pass.", f"{step.title} Fail. Fail. Pass."
    return "Write, the strainer was worn.", "Note, the ladder is loose."


def _readings(step: AskedStep, which: int) -> str:
    values = [f"{value:g}" for value in example_values(step, which)]
    unit = unit_aloud(step)
    name = step.title.split(",")[0].rstrip("?")
    if step.lines == 3:
        return " ".join(f"{line_aloud(step, line)} {value} {unit}." for line, value in enumerate(values))
    return f"{name} {values[0]} {unit}. {values[1]} {unit}. {name} {values[2]} {unit}."


def example_values(step: AskedStep, which: int) -> Sequence[float]:
    """Three invented readings of the size this step has, away from its limit and from what was saved.

    Args:
        step: The step at hand.
        which: 0 or 1: the two have no value in common.
    """
    saved = {step.saved} if isinstance(step.saved, str) else set(step.saved)
    fit = [value for value in _POOLS[which] if _is_away(value, step) and f"{value:g}" not in saved]
    size = max((abs(edge) for edge in step.edges), default=min(step.most, 50.0)) or 1.0
    return sorted(fit, key=lambda value: abs(value - size))[:3]


def _is_away(value: float, step: AskedStep) -> bool:
    value = degf_from_degc(value) if step.metric else value
    if not step.least <= value <= step.most:
        return False
    low, high = step.limit_low, step.limit_high
    return low is None or high is None or not low <= value <= high
