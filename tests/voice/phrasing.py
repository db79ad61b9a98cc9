"""How a person would say the answers of the tests: one phrase for every kind of step."""

from seasonlog.domain.answers import Raw
from seasonlog.domain.checklist import MEASURED, StepInstance, StepKind
from seasonlog.voice.numbers import say_number


def said(instance: StepInstance, raw: Raw, *, metric: bool = False) -> str:
    """A phrase for an answer to the step at hand; on a metric site degF are named."""
    step = instance.step
    if isinstance(raw, tuple):
        return ", ".join(value(text) for text in raw)
    if step.kind in MEASURED:
        return f"{value(raw)} fahrenheit" if metric and step.unit.casefold() == "degf" else value(raw)
    if step.kind is StepKind.YES_NO:
        return "pass" if raw == step.expect else "fail"
    if step.kind is StepKind.CAUTION:
        return "understood"
    if step.kind is StepKind.TEXT:
        return f"write {raw}"
    return next(choice.value for choice in step.choices if choice.value == raw).replace("_", " ")


def value(text: str) -> str:
    """A number in words, with the unit where one is needed."""
    number, _, unit = text.partition(" ")
    return f"{say_number(number)} {unit}".strip()
