"""What was typed, said or read from a file, made into an answer of the step's kind; or a sentence saying why not.

The raw text stays beside the parsed value, so that parsing it again gives the same. Nothing here judges: an answer
is well-formed or not. Ambiguous or exotic digits are refused, never mended.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from seasonlog.domain.checklist import Step, StepKind
from seasonlog.domain.text import as_stored

Raw = str | tuple[str, ...]
"""As handed in: one text, or one per line."""

OVER_RANGE = "OL"
"""A meter's word for "more than I can show": an open circuit, or insulation better than its range."""

_NUMBER = re.compile(r"^([<>]?)(-?\d{1,5}(?:\.\d{1,3})?)\s*([A-Za-z°%Ωµ/]*)$", re.ASCII | re.IGNORECASE)
_YES = frozenset({"yes", "y", "true", "done"})
_NO = frozenset({"no", "n", "false"})
MOST_TEXT = 2000
"""Longest text answer or note, in characters."""

_SPELLINGS = {
    "degf": {"f", "degf", "°f"},
    "degc": {"c", "degc", "°c"},
    "a": {"a", "amp", "amps"},
    "v": {"v", "volt", "volts"},
    "ohm": {"ohm", "ohms", "r"},
    "mohm": {"mohm", "mohms", "megohm", "megohms", "meg"},
    "deg": {"deg", "degrees", "°"},
    "s": {"s", "sec", "seconds"},
    "min": {"min", "minutes"},
    "in": {"in", "inch", "inches"},
    "%": {"%", "percent"},
}
_CONVERT: dict[tuple[str, str], Callable[[Decimal], Decimal]] = {
    ("degc", "degf"): lambda c: c * 9 / 5 + 32,
    ("mm", "in"): lambda mm: mm / Decimal("25.4"),
    ("gohm", "mohm"): lambda g: g * 1000,
    ("kohm", "ohm"): lambda k: k * 1000,
    ("kohm", "mohm"): lambda k: k / 1000,
    ("min", "s"): lambda m: m * 60,
    ("ma", "a"): lambda ma: ma / 1000,
}


@dataclass(frozen=True, slots=True)
class Parsed:
    """A well-formed answer."""

    raw: Raw
    """As typed."""
    value: Raw
    """Decimal text in the step's unit, a word, or a list of decimal texts."""

    @property
    def numbers(self) -> tuple[float, ...]:
        """The value or values as numbers; over range is infinite. Only for readings."""
        values = (self.value,) if isinstance(self.value, str) else self.value
        return tuple(number_of(v) for v in values)

    @property
    def bounds(self) -> tuple[str, ...]:
        """`<` or `>` for each value typed with one (the meter showed no more than a bound), else empty."""
        typed = _separate(self.raw) if isinstance(self.raw, str) and not isinstance(self.value, str) else self.raw
        signs = ((text.strip()[:1]) for text in ((typed,) if isinstance(typed, str) else typed))
        return tuple(sign if sign in ("<", ">") else "" for sign in signs)


@dataclass(frozen=True, slots=True)
class Unfit:
    """Why an answer cannot be taken."""

    says: str
    """One sentence: what was given and what is allowed."""


def number_of(value: str) -> float:
    """The number behind a stored decimal text; `OL` is infinite."""
    return float("inf") if value == OVER_RANGE else float(value)


def parse_answer(step: Step, raw: Raw) -> Parsed | Unfit:
    """The answer in the form this step takes.

    Args:
        step: The checklist step.
        raw: Text as typed; a list of one to three texts for a three-line reading.
    """
    if step.kind is StepKind.THREE_LINES:
        return _three_lines(step, raw)
    if not isinstance(raw, str):
        if len(raw) != 1:
            return Unfit(f"one value is wanted, not {len(raw)}")
        raw = raw[0]
    typed = as_stored(raw)
    parsed = _ONE[step.kind](step, typed.strip())
    return parsed if isinstance(parsed, Unfit) else Parsed(typed, parsed.value)


def _caution(step: Step, raw: str) -> Parsed | Unfit:
    if raw.casefold() in _YES | {"acknowledged", "understood"}:
        return Parsed(raw, "yes")
    return Unfit(f'"{raw}" does not acknowledge the caution; answer yes, or skip it with a reason')


def _yes_no(step: Step, raw: str) -> Parsed | Unfit:
    word = raw.casefold()
    wanted = {"pass": step.expect, "ok": step.expect, "fail": "no" if step.expect == "yes" else "yes"}
    if word in wanted:
        return Parsed(raw, wanted[word])
    if word in _YES or word in _NO:
        return Parsed(raw, "yes" if word in _YES else "no")
    return Unfit(f'"{raw}" is neither yes nor no')


def _choice(step: Step, raw: str) -> Parsed | Unfit:
    word = raw.casefold().replace(" ", "_").replace("-", "_")
    for choice in step.choices:
        if word == choice.value.casefold().replace("-", "_"):
            return Parsed(raw, choice.value)
    return Unfit(f'"{raw}" is not a choice here; choose one of {", ".join(c.value for c in step.choices)}')


def _text(step: Step, raw: str) -> Parsed | Unfit:
    if not raw:
        return Unfit("a few words are wanted; to leave it out, skip it with a reason")
    if len(raw) > MOST_TEXT:
        return Unfit(f"the text has {len(raw)} characters; {MOST_TEXT} is the most")
    return Parsed(raw, raw)


def _reading(step: Step, raw: str) -> Parsed | Unfit:
    value = decimal_text(raw, step.unit)
    return value if isinstance(value, Unfit) else Parsed(raw, value)


def _three_lines(step: Step, raw: Raw) -> Parsed | Unfit:
    texts = _separate(raw) if isinstance(raw, str) else raw
    if not 1 <= len(texts) <= 3:
        return Unfit(f"three values are wanted, one per line (or one for a single-phase heater), not {len(texts)}")
    values = [decimal_text(text, step.unit) for text in texts]
    for value in values:
        if isinstance(value, Unfit):
            return value
    return Parsed(raw, tuple(v for v in values if isinstance(v, str)))


def _separate(raw: str) -> tuple[str, ...]:
    return tuple(re.split(r"[,;/\s]+", raw.strip()))


def decimal_text(raw: str, unit: str) -> str | Unfit:
    """A typed reading as decimal text in `unit`; a unit typed behind it is converted (`4.5 C` for a degF step).

    Args:
        raw: Such as `21.6`, `>2000`, `OL`, `4.5 C`.
        unit: Unit the step wants.
    """
    text = raw.strip()
    if text.upper() in {OVER_RANGE, "O.L", "O.L."}:
        return OVER_RANGE
    found = _NUMBER.match(text)
    if found is None:
        return Unfit(f'"{text}" is not a plain number such as 21.6 (digits, at most three decimals)')
    number, typed_unit = found[2], found[3]
    return _in_unit(number, typed_unit, unit) if typed_unit else number


def _in_unit(number: str, typed: str, wanted: str) -> str | Unfit:
    have, want = _canonical(typed), _canonical(wanted)
    if have == want:
        return number
    convert = _CONVERT.get((have, want))
    if convert is None:
        return Unfit(f'"{number} {typed}" has the wrong unit; this step is in {wanted}')
    return f"{convert(Decimal(number)).quantize(Decimal('0.001')).normalize():f}"


def _canonical(unit: str) -> str:
    folded = unit.casefold().replace("ω", "ohm")
    return next((name for name, spellings in _SPELLINGS.items() if folded in spellings), folded)


_ONE: dict[StepKind, Callable[[Step, str], Parsed | Unfit]] = {
    StepKind.CAUTION: _caution,
    StepKind.YES_NO: _yes_no,
    StepKind.CHOICE: _choice,
    StepKind.READING: _reading,
    StepKind.TIMED: _reading,
    StepKind.TEXT: _text,
}
