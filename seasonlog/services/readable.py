"""An answer as handed in, made well-formed or refused in one sentence; what it is worth is asked elsewhere."""

from seasonlog.domain.answers import Parsed, Raw, Unfit, parse_answer
from seasonlog.domain.checklist import Step, StepInstance, StepKind
from seasonlog.domain.limits import QUANTITIES
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units
from seasonlog.domain.visit import Progress
from seasonlog.services.limits import circuit_of
from seasonlog.services.reasons import refuse


def readable(at: Progress, instance: StepInstance, raw: Raw) -> Parsed:
    """The answer in the form its step takes.

    Raises:
        InputRefusedError: no answer of this kind, a number that cannot be, or lines missing.
    """
    parsed = parse_answer(instance.step, raw)
    if isinstance(parsed, Unfit):
        raise refuse(instance.key, parsed.says)
    _plausible(instance.step, parsed, at.units)
    _every_line(at, instance, parsed)
    return parsed


def _every_line(at: Progress, instance: StepInstance, parsed: Parsed) -> None:
    """One clamp reading says nothing about the other two lines, and a lost line is what is looked for."""
    circuit = circuit_of(at.register, at.visit.tower, instance)
    lines = 1 if isinstance(parsed.value, str) else len(parsed.value)
    if instance.step.kind is StepKind.THREE_LINES and circuit and circuit.phases == 3 and lines != 3:
        raise refuse(
            f"step {instance.key}", f"{circuit.id} has three phases: one value per line is wanted, not {lines}"
        )


def _plausible(step: Step, parsed: Parsed, units: str) -> None:
    """A slip of the finger is refused; whether a plausible value passes is not asked here."""
    quantity = QUANTITIES.get(step.quantity)
    if quantity is None:
        return
    for number in parsed.numbers:
        if not quantity.least <= number <= quantity.most and number != float("inf"):
            words = f"{number:g} {step.unit} cannot be; {quantity.least:g} to {quantity.most:g} {step.unit} is taken"
            raise refuse(f"step {step.id}", in_units(words, units, IN_PLAIN_LETTERS))
