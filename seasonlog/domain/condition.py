"""Where a step applies: a condition on the facts of the register, and how it is read and tried.

A condition is one short line, `circuit.ground_fault != none` or `tower.winter in heated_basin, run_wet`. A step sees
the record it is about and the records above it. Records below it, or beside it, are asked for with a word in front:
`any basin.heat = electric` (at least one), `every ...` (all, and there is one), `no ...` (none).
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from seasonlog.domain.fields import Kind, Spec, specs_of
from seasonlog.domain.limits_control import poles_needed
from seasonlog.domain.register import TYPES, Circuit, Record, Tower
from seasonlog.domain.register_items import nearest
from seasonlog.domain.register_values import shown

SEES: Mapping[str, tuple[str, ...]] = {
    "tower": ("tower", "site"),
    "basin": ("basin", "tower", "site"),
    "circuit": ("circuit", "basin", "tower", "site"),
    "trace": ("trace", "tower", "site"),
    "source": ("source", "tower", "site"),
}
"""For a step asked per tower, basin ...: the records a condition may name without a word in front."""
COUNTED = ("basin", "circuit", "trace", "source")
"""Records a condition may name behind `any`, `every` or `no`: those of the tower."""
WORDS = ("any", "every", "no")

_FORM = re.compile(r"^(?:(any|every|no) )?([a-z]+)\.([a-z][a-z0-9_]*) (=|!=|in|not in) (\S.*)$")


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition, taken apart."""

    word: str
    """`any`, `every`, `no`, or empty for the step's own records."""
    record: str
    field: str
    wanted: bool
    """True for `=` and `in`; False for `!=` and `not in`."""
    values: tuple[str, ...]

    def __str__(self) -> str:
        sign = ("=" if self.wanted else "!=") if len(self.values) == 1 else ("in" if self.wanted else "not in")
        front = f"{self.word} " if self.word else ""
        return f"{front}{self.record}.{self.field} {sign} {', '.join(self.values)}"


@dataclass(frozen=True, slots=True)
class Facts:
    """What one step can see of the register."""

    own: Mapping[str, Record | None]
    """Type name -> the record the step is about, and those above it."""
    tower_records: Mapping[str, tuple[Record, ...]]
    """Type name -> all records of that type on the tower (for a basin's step: the circuits of that basin)."""


def read_condition(text: str) -> Condition | None:
    """The condition a line of a checklist says, or None when it has not the form `record.field = value`."""
    match = _FORM.match(" ".join(text.split()))
    if match is None:
        return None
    word, record, field, sign, rest = match.groups()
    values = tuple(v.strip() for v in rest.split(",")) if "in" in sign else (rest.strip(),)
    return Condition(word or "", record, field, sign in ("=", "in"), values)


def holds(condition: Condition, facts: Facts) -> bool:
    """Whether the condition is true for what the step sees."""
    if not condition.word:
        return _met(condition, facts.own.get(condition.record))
    met = [_met(condition, record) for record in facts.tower_records.get(condition.record, ())]
    if condition.word == "every":
        return bool(met) and all(met)
    return any(met) == (condition.word == "any")


def excludes(one: Condition, other: Condition) -> bool:
    """Whether the two can never both be true, as far as their words alone show it."""
    if one.word or other.word or (one.record, one.field) != (other.record, other.field):
        return False
    first, second = set(one.values), set(other.values)
    if one.wanted and other.wanted:
        return not first & second
    if one.wanted != other.wanted:
        return (first <= second) if one.wanted else (second <= first)
    return False


def fact_text(value: object) -> str:
    """A register value as a condition writes it: yes or no, none where nothing is known, numbers without idle zeros."""
    if value is None:
        return "none"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _plain(str(value))


def fields_of(record_type: str) -> Mapping[str, tuple[str, ...]]:
    """The facts a condition may name of a record type, each with the values it can have (empty: any text)."""
    known: type = TYPES[record_type]
    stored = {name: _values(spec) for name, spec in specs_of(known).items()}
    return {**stored, **{field: choices for (of, field), (choices, _) in _WORKED_OUT.items() if of == record_type}}


def _values(spec: Spec) -> tuple[str, ...]:
    choices = ("yes", "no") if spec.kind is Kind.YES_NO else spec.choices
    optional = not spec.required and spec.default is None
    return (*choices, "none") if choices and optional and "none" not in choices else choices


def _met(condition: Condition, record: Record | None) -> bool:
    return (_fact(condition, record) in _wanted(condition.values)) == condition.wanted


@lru_cache(maxsize=1024)
def _wanted(values: tuple[str, ...]) -> frozenset[str]:
    return frozenset(map(_plain, values))


def _fact(condition: Condition, record: Record | None) -> str:
    if record is None:
        return "unknown"
    worked_out = _WORKED_OUT.get((condition.record, condition.field))
    return worked_out[1](record) if worked_out else fact_text(getattr(record, condition.field, None))


def _all_poles(record: Record) -> str:
    if not isinstance(record, Circuit) or record.poles_switched == "unknown":
        return "unknown"
    return "yes" if int(record.poles_switched) >= poles_needed(record) else "no"


def _emptied(record: Record) -> str:
    gone = isinstance(record, Tower) and (record.winter == "drained" or record.drained_for_cleaning)
    return "yes" if gone else "no"


_WORKED_OUT: Mapping[tuple[str, str], tuple[tuple[str, ...], Callable[[Record], str]]] = {
    ("tower", "emptied"): (("yes", "no"), _emptied),
    ("circuit", "all_poles_switched"): (("yes", "no", "unknown"), _all_poles),
}
"""Facts no field holds but the fields give."""


@lru_cache(maxsize=4096)
def _plain(text: str) -> str:
    """Asked of the same few words for every tower, and few of them are numbers."""
    try:
        number = Decimal(text)
    except InvalidOperation:
        return text
    return f"{number.normalize():f}" if number.is_finite() else text


def why_not(condition: Condition, per: str) -> str:
    """Why a condition can never be tried by a step asked per `per`; empty when it can."""
    record, sees = condition.record, SEES[per]
    if condition.word and record not in COUNTED:
        return f"{condition.word} counts {', '.join(COUNTED)}; write {record}.{condition.field} without it"
    if not condition.word and record not in sees:
        return f"a step asked per {per} sees {', '.join(sees)}; for others write any, every or no in front"
    known = fields_of(record)
    if condition.field not in known:
        return f'a {record} has no "{condition.field}"; {nearest(condition.field, known)}'
    values = known[condition.field]
    unknown = [value for value in condition.values if values and value not in values]
    return f"{record}.{condition.field} is never {shown(unknown[0])}; allowed: {', '.join(values)}" if unknown else ""
