"""A checklist's file, once read as tables, made into a `Checklist`; or every problem it has, each at its line.

The tables of keys below are the file format: what they do not name is refused. How steps fit together (gates, repeated
ids, conditions that can never be tried) is checked by `checklist_rules`. Knows no file and no TOML: it is handed tables
and told where each key stands.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Protocol, TypeAlias

from seasonlog.domain.checklist import MEASURED, VERDICT_WORDS, Checklist, Choice, Step, StepKind
from seasonlog.domain.checklist_rules import problems_between
from seasonlog.domain.condition import SEES, Condition, read_condition, why_not
from seasonlog.domain.fields import specs_of
from seasonlog.domain.register import Instrument
from seasonlog.domain.register_items import nearest
from seasonlog.domain.register_values import shown
from seasonlog.domain.severity import Severity
from seasonlog.domain.text import visible
from seasonlog.errors import Problem

WHEN = ("commissioning", "fall", "winter", "spring", "cold_snap", "repair", "emergency", "short", "yearly")
"""Occasions a checklist is for."""
PROVES = ("season", "provisional", "off", "")
"""What a passed visit can prove."""
TITLE_CHARS = 40
"""Longest title: it must fit one line of a phone's screen."""
LINE_CHARS = 320
"""Longest other text: it must be readable at a glance, in the cold."""
MOST_STEPS = 400
"""Steps a checklist may have: more is not a checklist."""

Path: TypeAlias = tuple[str | int, ...]
LineOf: TypeAlias = Callable[[Path], int]
_Tables: TypeAlias = Sequence[tuple[Mapping[str, Any], Path]]


class Measured(Protocol):
    """What a checklist needs to know of a quantity."""

    @property
    def unit(self) -> str:
        """Unit its limit is given in."""

    @property
    def instrument(self) -> str:
        """Kind of instrument that measures it."""


Quantities: TypeAlias = Mapping[str, Measured]

CHECKLIST_KEYS = ("id", "title", "version", "purpose", "when", "proves", "section")
SECTION_KEYS = ("title", "per", "live", "caution", "only_if", "after", "step")
STEP_KEYS = (
    "id", "kind", "title", "do", "why", "photo", "caution", "severity", "quantity", "unit", "instrument", "expect",
    "choices", "per", "only_if", "after", "after_pass", "required", "live", "parts", "unprotected",
)  # fmt: skip
CHOICE_KEYS = ("value", "says", "verdict")

_ONLY_FOR: Mapping[str, frozenset[StepKind]] = MappingProxyType(
    {
        "expect": frozenset({StepKind.YES_NO}),
        "choices": frozenset({StepKind.CHOICE}),
        "quantity": MEASURED,
        "unit": MEASURED,
        "instrument": MEASURED,
    }
)
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f]")
_STEP_ID = re.compile(r"[a-z][a-z0-9_]{0,39}")
_FILE_ID = re.compile(r"[a-z][a-z0-9-]{0,31}")
_VALUE = re.compile(r"[a-z0-9][a-z0-9_]{0,31}")


@dataclass(slots=True)
class _File:
    """The file being read: its name, its lines, what was found wrong so far."""

    name: str
    line_of: LineOf
    quantities: Quantities
    problems: list[Problem] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Table:
    """One table of the file, read key by key; a bad value is a problem and reads as empty."""

    file: _File
    values: Mapping[str, Any]
    path: Path
    label: str
    """`step line_amps`, `section 3`, or empty for the file itself."""

    def wrong(self, key: str, says: str) -> None:
        where = f"{self.file.name}, line {self.file.line_of((*self.path, key))}"
        where += f", {self.label}" if self.label else ""
        where += f", key {visible(key[:64])}" if key else ""
        self.file.problems.append(Problem(where, says))

    def knows(self, keys: Sequence[str], what: str) -> None:
        for key in self.values.keys() - set(keys):
            self.wrong(key, f"{shown(key)} is not a key of {what}; {nearest(key, keys)}")

    def text(self, key: str, *, needed: bool = False, longest: int = LINE_CHARS) -> str:
        value = self.values.get(key, "")
        if not isinstance(value, str):
            self.wrong(key, "must be text in quotation marks")
            return ""
        text = value.strip()
        if needed and not text:
            self.wrong(key if key in self.values else "", f"{key} is missing or empty; say it in one line")
        if len(text) > longest:
            self.wrong(key, f"is {len(text)} characters long; at most {longest} fit")
        if _CONTROL.search(text):
            self.wrong(key, "must be one line without tabs or control characters")
        return text

    def word(self, key: str, allowed: Sequence[str], *, default: str | None = None) -> str:
        value = self.values.get(key, default)
        if value is None:
            self.wrong("", f"{key} is missing; choose one of {_listed(allowed)}")
        elif not isinstance(value, str) or value not in allowed:
            self.wrong(key, f"{shown(value)} is not allowed; {nearest(str(value), [word for word in allowed if word])}")
        else:
            return value
        return ""

    def name(self, key: str, form: re.Pattern[str], says: str) -> str:
        value = self.values.get(key)
        if isinstance(value, str) and form.fullmatch(value):
            return value
        self.wrong(key if key in self.values else "", f"{key} must be {says}")
        return ""

    def flag(self, key: str, *, default: bool) -> bool:
        value = self.values.get(key, default)
        if not isinstance(value, bool):
            self.wrong(key, "must be true or false, without quotation marks")
            return default
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) and item.strip() for item in value):
            self.wrong(key, 'must be a list of texts, such as ["one", "two"]')
            return ()
        return tuple(value)

    def tables(self, key: str, what: str) -> _Tables:
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            self.wrong(key, f"must be {what}")
            return ()
        return [(item, (*self.path, key, place)) for place, item in enumerate(value)]


def _listed(words: Iterable[str]) -> str:
    return ", ".join(word or '""' for word in words)


def checklist_from(
    tables: Mapping[str, Any], name: str, line_of: LineOf, quantities: Quantities
) -> tuple[Checklist, list[Problem]]:
    """The checklist a file's tables say, with everything that is wrong in them.

    Args:
        tables: The file as nested tables; `sha256` and `text` of the result are left empty.
        name: File name, for the problems' places.
        line_of: Line of a key given by its path.
        quantities: Every quantity a step may name.

    Returns:
        The checklist and the problems; with a problem the checklist must not be used.
    """
    file = _File(name, line_of, quantities)
    top = _Table(file, tables, (), "")
    top.knows(CHECKLIST_KEYS, "a checklist")
    steps = [
        step
        for at, table in enumerate(top.tables("section", "[[section]] tables"))
        for step in _section(file, at, *table)
    ]
    if not steps:
        top.wrong("", "has no step; write a [[section]] and under it [[section.step]]")
    checklist = Checklist(
        id=top.name("id", _FILE_ID, "small letters, digits and hyphens, such as fall-enable"),
        title=top.text("title", needed=True, longest=TITLE_CHARS),
        version=_version(top),
        purpose=top.text("purpose", needed=True),
        when=top.word("when", WHEN),
        proves=top.word("proves", PROVES, default=""),
        steps=tuple(step for step, _ in steps),
        sha256="",
        text="",
    )
    if len(steps) > MOST_STEPS:
        top.wrong("", f"has {len(steps)} steps; at most {MOST_STEPS} are taken")
    else:
        file.problems.extend(problems_between(steps, name))
    return checklist, sorted(file.problems, key=lambda problem: _line_in(problem.where))


def _line_in(where: str) -> int:
    found = re.search(r", line (\d+)", where)
    return int(found[1]) if found else 0


def _version(top: _Table) -> int:
    value = top.values.get("version")
    if isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 9999:
        return value
    top.wrong(
        "version" if "version" in top.values else "", "version must be a whole number from 1, without quotation marks"
    )
    return 0


def _section(file: _File, place: int, values: Mapping[str, Any], path: Path) -> list[tuple[Step, int]]:
    section = _Table(file, values, path, f"section {place + 1}")
    section.knows(SECTION_KEYS, "a section")
    title = section.text("title", needed=True, longest=TITLE_CHARS)
    shared = _Shared(
        title,
        section.word("per", tuple(SEES), default="tower"),
        section.flag("live", default=False),
        section.text("caution"),
        section.texts("only_if"),
        section.texts("after"),
    )
    return [_step(file, shared, *table) for table in section.tables("step", "[[section.step]] tables")]


@dataclass(frozen=True, slots=True)
class _Shared:
    """What a section says for all its steps."""

    title: str
    per: str
    live: bool
    caution: str
    only_if: tuple[str, ...]
    after: tuple[str, ...]


def _step(file: _File, shared: _Shared, values: Mapping[str, Any], path: Path) -> tuple[Step, int]:
    label = _called(values, "id", path)
    table = _Table(file, values, path, f"step {label}")
    table.knows(STEP_KEYS, "a step")
    per = table.word("per", tuple(SEES), default=shared.per) or "tower"
    live = table.flag("live", default=shared.live)
    kind = table.word("kind", tuple(StepKind))
    quantity, unit, instrument = _measure(table)
    step = Step(
        id=table.name("id", _STEP_ID, "small letters, digits and _, such as line_amps"),
        kind=StepKind(kind or "text"),
        section=shared.title,
        title=table.text("title", needed=True, longest=TITLE_CHARS),
        do=table.text("do", needed=True),
        why=table.text("why", needed=True),
        caution=table.text("caution") or shared.caution,
        severity=_severity(table),
        quantity=quantity,
        unit=unit,
        instrument=instrument,
        expect=table.word("expect", ("yes", "no"), default="") if "expect" in values else "",
        choices=_choices(table),
        per=per,
        only_if=_conditions(table, shared, per),
        after=(*shared.after, *table.texts("after")),
        after_pass=table.texts("after_pass"),
        required=table.flag("required", default=True),
        live=live,
        parts=table.texts("parts"),
        unprotected=table.text("unprotected"),
        photo=table.flag("photo", default=False),
    )
    if kind:
        _fits_its_kind(table, step)
    return step, file.line_of((*path, "id"))


def _called(values: Mapping[str, Any], key: str, path: Path) -> str:
    name = values.get(key)
    return visible(name[:40]) if isinstance(name, str) else f"number {int(path[-1]) + 1}"


def _severity(table: _Table) -> Severity | None:
    if "severity" not in table.values:
        return None
    word = table.word("severity", tuple(Severity))
    return Severity(word) if word else Severity.RECORD_GAP


def _measure(table: _Table) -> tuple[str, str, str]:
    quantity, unit = table.text("quantity"), table.text("unit")
    instrument = table.word("instrument", specs_of(Instrument)["kind"].choices) if "instrument" in table.values else ""
    if not quantity:
        return "", unit, instrument
    known = table.file.quantities.get(quantity)
    if known is None:
        table.wrong(
            "quantity", f"{shown(quantity)} is not a known quantity; {nearest(quantity, table.file.quantities)}"
        )
        return quantity, unit, instrument
    if unit and unit != known.unit:
        table.wrong("unit", f"{quantity} is judged in {known.unit}, not in {shown(unit)}; leave the key out")
    return quantity, known.unit, instrument or known.instrument


def _choices(table: _Table) -> tuple[Choice, ...]:
    what = 'a list of { value = "...", says = "...", verdict = "..." }'
    return tuple(_choice(table, values, path) for values, path in table.tables("choices", what))


def _choice(step: _Table, values: Mapping[str, Any], path: Path) -> Choice:
    table = _Table(step.file, values, path, f"{step.label}, choice {_called(values, 'value', path)}")
    table.knows(CHOICE_KEYS, "a choice")
    value = table.name("value", _VALUE, "small letters, digits and _, such as ice_bath")
    return Choice(value, table.text("says", needed=True), table.word("verdict", VERDICT_WORDS))


def _conditions(table: _Table, shared: _Shared, per: str) -> tuple[Condition, ...]:
    return tuple(c for line in (*shared.only_if, *table.texts("only_if")) if (c := _condition(table, line, per)))


def _condition(table: _Table, line: str, per: str) -> Condition | None:
    condition = read_condition(line)
    if condition is None:
        table.wrong("only_if", f'{shown(line)} is not a condition; write it like "circuit.ground_fault != none"')
    elif reason := why_not(condition, per):
        table.wrong("only_if", f"{shown(line)}: {reason}")
    else:
        return condition
    return None


def _fits_its_kind(table: _Table, step: Step) -> None:
    for key, kinds in _ONLY_FOR.items():
        if key in table.values and step.kind not in kinds:
            table.wrong(key, f"a step of kind {step.kind} has no {key}; {key} is for {_listed(sorted(kinds))}")
    if step.live and not step.caution:
        table.wrong("", "is energised work and has no caution; say what can hurt and who may do it")
    if step.kind is StepKind.YES_NO and "expect" not in table.values:
        table.wrong("", 'expect is missing; say which answer is good, "yes" or "no"')
    if step.kind is StepKind.CHOICE:
        _choices_make_sense(table, step)
    if step.kind in MEASURED and not step.quantity and not step.unit:
        table.wrong("", "quantity is missing; name the quantity to judge, or a unit to record only")
    if can_fail(step) and "severity" not in table.values:
        table.wrong("", f"severity is missing; a failed answer opens a finding: {_listed(Severity)}")


def _choices_make_sense(table: _Table, step: Step) -> None:
    values = [choice.value for choice in step.choices]
    if len(values) < 2:
        table.wrong("choices" if values else "", "a choice step needs two choices or more, each with its verdict")
    for value in {v for v in values if v and values.count(v) > 1}:
        table.wrong("choices", f"{shown(value)} is there twice")


def can_fail(step: Step) -> bool:
    """Whether some answer to the step opens a finding."""
    if step.kind is StepKind.CHOICE:
        return any(choice.verdict in ("near_fail", "fail") for choice in step.choices)
    return step.kind is StepKind.YES_NO or bool(step.quantity)
