"""What is said, and what it means: drawn at random from a seed, for the steps of real checklists.

Numbers are spelled by num2words and by the few forms of speech below, neither of which the program reads by. Values
lie about what a healthy heater reads, and well outside.
"""

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from num2words import num2words

from seasonlog.domain.checklist import MEASURED, StepInstance, StepKind

UNITS = {
    "A": ("amps", ""), "V": ("volts", ""), "ohm": ("ohms", ""), "Mohm": ("megohms", "meg", ""), "s": ("seconds", ""),
    "deg": ("degrees", ""), "degF": ("degrees", "degrees fahrenheit", ""), "in": ("inches", ""), "%": ("percent",),
}  # fmt: skip
"""How units are said; empty: left out."""
LINES = ("leg one", "leg two", "leg three"), ("line A", "line B", "line C")
PAIRS = (("A to B", "B to C", "C to A"),)
COMMANDS = ("yes", "no", "undo", "repeat", "next", "go back", "help", "stop not safe")
BACKGROUND = (
    "did you bring the other ladder up here", "the truck is parked by the loading dock",
    "I told him we would be done before lunch", "watch out for that hose on the deck",
    "somebody call the front desk about the roof door", "what are you having for dinner tonight",
    "the weather looks bad over there", "hand me the small screwdriver please", "it was colder last year I think",
    "we need to order more filters for the air handler",
)  # fmt: skip
"""Other people's talk: nothing of it may be taken."""


@dataclass(frozen=True)
class Utterance:
    """One thing said at one step."""

    step: str
    """Key of the step on the screen."""
    kind: str
    """Of the step, or `command`, `background`."""
    text: str
    raw: str | tuple[str, ...] | None
    """What it means: a value, three of them, a word; None: nothing may be taken."""
    line: int | None = None
    """Which of three lines, from 0."""


def drawn(instances: Sequence[StepInstance], middle: Callable[[StepInstance], str], seed: str) -> Iterator[Utterance]:
    """Utterances without end.

    Args:
        instances: Steps of a visit.
        middle: What a healthy heater would read at a step: decimal text.
        seed: The same seed gives the same utterances.
    """
    dice = random.Random(seed)
    measured = [i for i in instances if i.step.kind in MEASURED]
    others = [i for i in instances if i.step.kind in (StepKind.YES_NO, StepKind.CHOICE)]
    while True:
        instance = dice.choice(measured if dice.random() < 0.8 else others)
        yield _of(instance, middle(instance) if instance.step.kind in MEASURED else "", dice)


def commands(instances: Sequence[StepInstance], seed: str) -> Iterator[Utterance]:
    """Commands without end."""
    dice = random.Random(seed)
    while True:
        text = dice.choice(COMMANDS)
        yield Utterance(dice.choice(list(instances)).key, "command", text, text)


def background(instances: Sequence[StepInstance], seed: str) -> Iterator[Utterance]:
    """Other talk without end."""
    dice = random.Random(seed)
    while True:
        yield Utterance(dice.choice(list(instances)).key, "background", dice.choice(BACKGROUND), None)


def _of(instance: StepInstance, middle: str, dice: random.Random) -> Utterance:
    step, key = instance.step, instance.key
    if step.kind is StepKind.YES_NO:
        word = dice.choice(("pass", "fail"))
        return Utterance(key, "yes_no", word, step.expect if word == "pass" else _other(step.expect))
    if step.kind is StepKind.CHOICE:
        value = dice.choice(step.choices).value
        return Utterance(key, "choice", value.replace("_", " "), value)
    unit = dice.choice(UNITS.get(step.unit, ("",)))
    if step.kind is not StepKind.THREE_LINES:
        value = near(middle, dice)
        return Utterance(key, step.kind.value, f"{spelled(value, dice)} {unit}".strip(), value)
    return _three(key, [near(middle, dice) for _ in range(3)], unit, step.quantity, dice)


def _other(expected: str) -> str:
    return "no" if expected == "yes" else "yes"


def _three(key: str, values: list[str], unit: str, quantity: str, dice: random.Random) -> Utterance:
    names = dice.choice(PAIRS if quantity in ("supply_volts", "ohms_line_to_line") else LINES)
    if dice.random() < 0.3:
        said = ", ".join(spelled(value, dice) for value in values)
        return Utterance(key, "three_lines", f"{said} {unit}".strip(), tuple(values))
    line = dice.randrange(3)
    return Utterance(
        key, "three_lines", f"{names[line]} {spelled(values[line], dice)} {unit}".strip(), values[line], line
    )


def near(middle: str, dice: random.Random) -> str:
    """A value as a meter shows it: mostly about the middle, one in five well outside."""
    spread = dice.uniform(0.85, 1.15) if dice.random() < 0.8 else dice.choice((0.1, 0.5, 0.67, 1.5, 2.0))
    value = abs(Decimal(middle)) * Decimal(str(spread))
    places = 0 if value >= 100 else 1 if value >= 1 else 2
    return str(round(value, places) if places else int(value))


def spelled(value: str, dice: random.Random) -> str:
    """A value in words, in one of the ways people say it."""
    whole, _, decimals = value.partition(".")
    words = _whole(int(whole), dice)
    if not decimals:
        return words
    digits = " ".join("oh" if d == "0" and dice.random() < 0.5 else num2words(int(d)) for d in decimals)
    return f"point {digits}" if whole == "0" and dice.random() < 0.5 else f"{words} point {digits}"


def _whole(number: int, dice: random.Random) -> str:
    hundreds, below = divmod(number, 100)
    plain = num2words(number).replace("-", " ").replace(",", "")
    if not 1 <= hundreds <= 9 or dice.random() < 0.3:
        return plain if dice.random() < 0.5 else plain.replace(" and ", " ")
    if below >= 10:
        return f"{num2words(hundreds)} {num2words(below).replace('-', ' ')}"
    return f"{num2words(hundreds)} oh {num2words(below)}" if below else plain
