"""A checklist as a value: its steps, and which of them a tower is asked, for which circuit, basin, trace or source.

Decides what applies and what must come first. It judges nothing (`limits` does) and knows no file (`checklist_parse`).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby

from seasonlog.domain.condition import Condition, Facts, holds
from seasonlog.domain.register import Circuit, Record, Register
from seasonlog.domain.severity import Severity

VERDICT_WORDS = ("pass", "near_pass", "near_fail", "fail", "cannot_tell")
"""Verdicts a choice may carry."""


class StepKind(StrEnum):
    """What kind of answer a step takes."""

    CAUTION = "caution"
    """Acknowledged: `done`."""
    YES_NO = "yes_no"
    CHOICE = "choice"
    READING = "reading"
    """One number, judged against the limit of its quantity."""
    THREE_LINES = "three_lines"
    """Three numbers, one per line or pair of lines; the worst decides."""
    TIMED = "timed"
    """Seconds, judged like a reading."""
    TEXT = "text"


MEASURED = frozenset({StepKind.READING, StepKind.THREE_LINES, StepKind.TIMED})
"""Kinds that name a quantity and are judged against its limit."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a choice step."""

    value: str
    """The word that is recorded."""
    says: str
    """What the person reads."""
    verdict: str
    """One of `VERDICT_WORDS`."""


@dataclass(frozen=True, slots=True)
class Step:
    """One step, as written in the checklist's file."""

    id: str
    kind: StepKind
    section: str
    """The heading it stands under."""
    title: str
    do: str
    """What to do, in the imperative."""
    why: str
    """One line."""
    caution: str = ""
    """What can hurt; shown and spoken before the step can be answered."""
    severity: Severity | None = None
    """Of the finding a failed answer opens; None only where nothing can fail (caution, text)."""
    quantity: str = ""
    """Name of the measured quantity (reading, three_lines, timed)."""
    unit: str = ""
    instrument: str = ""
    """Kind of instrument to name (clamp, voltmeter ...)."""
    expect: str = ""
    """The good answer of a yes_no step: yes or no."""
    choices: tuple[Choice, ...] = ()
    per: str = "tower"
    """Asked once per tower, basin, circuit, trace or source."""
    only_if: tuple[Condition, ...] = ()
    """All must hold for the target, or the step is not asked."""
    after: tuple[str, ...] = ()
    """Ids of steps to be answered without a fail, or skipped with a reason, first."""
    after_pass: tuple[str, ...] = ()
    """Ids of steps that must be pass or near pass first."""
    required: bool = True
    live: bool = False
    """Energised work: for a qualified person."""
    parts: tuple[str, ...] = ()
    """What a repair usually needs."""
    unprotected: str = ""
    """Why the tower is unprotected tonight if this fails; empty when it is not."""
    photo: bool = False
    """A photo is wanted beside the answer."""


@dataclass(frozen=True, slots=True)
class Checklist:
    """One checklist file."""

    id: str
    title: str
    version: int
    purpose: str
    when: str
    """One of `checklist_parse.WHEN`."""
    proves: str
    """What a passed visit proves: season, provisional, off, or nothing."""
    steps: tuple[Step, ...]
    sha256: str
    """Hex digest of the file's bytes: its identity."""
    text: str
    """The file's text; `text.encode()` gives the bytes back."""


@dataclass(frozen=True, slots=True)
class StepInstance:
    """A step as one tower is asked it."""

    key: str
    """`line_amps`, or `line_amps@CIRCUIT` where the tower has several records of the target's type."""
    step: Step
    """The step; three lines are one reading on a single-phase circuit."""
    target: str | None
    """Id of the circuit, basin, trace or source; None for the tower itself."""
    target_type: str

    @property
    def named(self) -> str:
        """The step as a person names it: its title, and which circuit or basin where there are several."""
        return f"{self.step.title} ({self.target})" if "@" in self.key else self.step.title


def applicable(checklist: Checklist, register: Register, tower_id: str) -> tuple[StepInstance, ...]:
    """What this tower is asked, in the order of the file.

    A run of steps of one section asked of the same kind of target goes target by target: all tests of the first
    circuit, then all of the second, in the register's order.

    Raises:
        KeyError: the tower is not in the register.
    """
    records = _records(register, tower_id)
    out: list[StepInstance] = []
    for (_, per), run in groupby(checklist.steps, key=lambda step: (step.section, step.per)):
        steps = tuple(run)
        for record in records[per]:
            met = _Met(_facts(per, record, records, register))
            asked = [step for step in steps if all(map(met.__getitem__, step.only_if))]
            out.extend(_instance(step, record, many=len(records[per]) > 1) for step in asked)
    return tuple(out)


class _Met(dict[Condition, bool]):
    """Which conditions are true of a record: many steps ask the same, and each is worked out once."""

    def __init__(self, facts: Facts) -> None:
        self._facts = facts

    def __missing__(self, condition: Condition) -> bool:
        self[condition] = holds(condition, self._facts)
        return self[condition]


def gate_keys(instance: StepInstance, instances: Iterable[StepInstance]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Keys that must be answered first: (without fail or skipped with a reason, pass or near pass).

    A gate means the instance of the same target, else all instances of that step. Steps that do not apply to the tower
    are ignored.
    """
    among = tuple(instances)
    after = tuple(key for gate in instance.step.after for key in _gate(gate, instance, among))
    return after, tuple(key for gate in instance.step.after_pass for key in _gate(gate, instance, among))


def _gate(step_id: str, instance: StepInstance, among: Sequence[StepInstance]) -> list[str]:
    named = [other for other in among if other.step.id == step_id]
    same = [other for other in named if (other.target_type, other.target) == (instance.target_type, instance.target)]
    return [other.key for other in same or named]


def _instance(step: Step, record: Record, *, many: bool) -> StepInstance:
    if step.kind is StepKind.THREE_LINES and getattr(record, "phases", 3) == 1:
        step = replace(step, kind=StepKind.READING)
    if step.per == "tower":
        return StepInstance(step.id, step, None, "tower")
    return StepInstance(f"{step.id}@{record.id}" if many else step.id, step, record.id, step.per)


def _records(register: Register, tower_id: str) -> Mapping[str, tuple[Record, ...]]:
    return {
        "tower": (register.towers[tower_id],),
        "basin": register.basins_of(tower_id),
        "circuit": register.circuits_of(tower_id),
        "trace": register.traces_of(tower_id),
        "source": register.sources_of(tower_id),
    }


def _facts(per: str, record: Record, records: Mapping[str, tuple[Record, ...]], register: Register) -> Facts:
    tower = records["tower"][0]
    own: dict[str, Record | None] = {"tower": tower, "site": register.site_of(tower.id), per: record}
    if isinstance(record, Circuit):
        own["basin"] = register.basins.get(record.basin)
    if per != "basin":
        return Facts(own, records)
    here = tuple(c for c in records["circuit"] if isinstance(c, Circuit) and c.basin == record.id)
    return Facts(own, {**records, "circuit": here})
