"""A visit: one checklist carried out on one tower. What is answered, what waits, may it be signed.

Pure: built from what the log's views hold, asked by services and screens. The rules of order live here and nowhere
else: a step waits for its gates, sign-off waits for every required step and for every temporary change to be undone.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from seasonlog.domain.verdict import Verdict

if TYPE_CHECKING:
    from seasonlog.domain.checklist import Checklist, StepInstance
    from seasonlog.domain.register import Register


class VisitState(StrEnum):
    """Where a visit stands."""

    OPEN = "open"
    COMPLETE = "complete"
    """Signed off: every required step was dealt with."""
    INCOMPLETE = "incomplete"
    """Closed with a reason before everything was answered; proves nothing and is due again."""
    NOT_POSSIBLE = "not_possible"
    """No access, unsafe, no shutdown, refused; proves nothing and is due again."""


class Meaning(StrEnum):
    """What a signature states."""

    DONE_BY = "done_by"
    REVIEWED_BY = "reviewed_by"
    RECEIVED_BY = "received_by"


@dataclass(frozen=True, slots=True)
class Signature:
    """A name and what it stands for."""

    meaning: Meaning
    name: str
    words: str
    wall_ms: int
    signs: str = ""
    """Hash of what was signed; empty in older logs."""
    moved: bool = False
    """It was made for another record; it counts for nothing here."""


@dataclass(frozen=True, slots=True)
class TemporaryChange:
    """A jumper, a lifted wire, a lock: made in a visit, undone before sign-off."""

    id: str
    what: str
    where: str
    who: str
    restored: bool


@dataclass(frozen=True, slots=True)
class Saved:
    """An answer, or a reason for none, as the log has it."""

    step: str
    """Step key in the visit."""
    step_id: str
    target: str
    raw: str | tuple[str, ...]
    value: str | tuple[str, ...]
    unit: str
    verdict: Verdict | None
    """None when the step was skipped."""
    says: str
    """Verdict in words, or the reason it was skipped."""
    limits: tuple[Mapping[str, Any], ...]
    instrument: str
    seq: int
    uid: str
    who: str
    wall_ms: int
    note: str = ""
    qualified: bool = True
    """False for energised work by a person not on record as qualified for it on the day."""
    observed_at: str = ""
    """Entered late from paper: when it was read, by the site's clock; empty when entered on the spot."""
    from_paper: str = ""
    """Who filled in the paper."""
    corrects: str = ""
    """Uid of the answer this one corrects; empty for a first one."""
    hash: str = ""
    """Hash of its entry, hex."""
    day: str = ""
    """The day it was seen, YYYY-MM-DD: of a correction, that of the first observation."""
    place: int = field(default=0, compare=False)
    """Its place in the log's causal order: of a correction, that of the first observation; 0 when just saved."""
    recalled: str = ""
    """Id of the recall that doubts it, whose review lets it stand or does not yet; empty for none."""
    recalled_instrument: str = ""
    """The instrument recalled: its own, or the one with which was read what its limit rests on."""

    @property
    def is_skipped(self) -> bool:
        """A reason was given instead of an answer."""
        return self.verdict is None

    @property
    def is_good(self) -> bool:
        """Counts as proof: pass or near pass."""
        return self.verdict in (Verdict.PASS, Verdict.NEAR_PASS)


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit as it stands now."""

    id: str
    tower: str
    checklist: str
    sha256: str
    season: int
    ordinal: int
    state: VisitState
    who: str
    started_wall_ms: int
    qualified: bool
    """The person was on record as qualified for energised work on the day."""
    instruments: Mapping[str, str] = field(default_factory=dict)
    """Instrument kind to instrument id."""
    uncalibrated: frozenset[str] = frozenset()
    """Instruments used that were overdue on the day."""
    told: Mapping[str, str] = field(default_factory=dict)
    """Instrument to what was known against it when it was chosen, and told then."""
    signatures: tuple[Signature, ...] = ()
    closed_words: str = ""
    closed_wall_ms: int = 0
    day: str = ""
    """Local day it was closed, or started while it is open; from paper, the day it was made."""
    record: str = ""
    """Hash of the entry that started it: what a signature of this visit names."""


@dataclass(frozen=True, slots=True)
class Progress:
    """A visit with its steps and what has been answered."""

    visit: Visit
    checklist: "Checklist"
    register: "Register"
    """The tower's part of the register."""
    instances: "tuple[StepInstance, ...]"
    """The steps that apply to this tower, in order."""
    answers: Mapping[str, Saved]
    """Newest answer or skip of each step key."""
    changes: tuple[TemporaryChange, ...] = ()
    doubts: Mapping[str, str] = field(default_factory=dict)
    """Instruments in use whose readings prove nothing today, with the reason; only while the visit is open."""

    @property
    def units(self) -> str:
        """Units that people at the tower's site read."""
        return self.register.site_of(self.visit.tower).units

    def doubt_of(self, instance: "StepInstance") -> str:
        """Why a reading of a step would prove nothing, by its instrument; empty where nothing is against it."""
        ident = self.instrument_of(instance)
        return f"{ident}: {self.doubts[ident]}" if ident in self.doubts else ""

    def instrument_of(self, instance: "StepInstance") -> str:
        """Id of the instrument that a step is read with; empty where none is, or none was named."""
        return self.visit.instruments.get(instance.step.instrument, "") if instance.step.instrument else ""

    def is_untold(self, ident: str) -> bool:
        """Something is known against an instrument that whoever chose it was not told."""
        return ident in self.doubts and self.visit.told.get(ident) != self.doubts[ident]

    def with_answer(self, saved: Saved) -> "Progress":
        """The visit with one more answer, the newest one last."""
        others = {key: answer for key, answer in self.answers.items() if key != saved.step}
        return replace(self, answers={**others, saved.step: saved})

    def instance(self, key: str) -> "StepInstance | None":
        """The step of a key, or None when it does not apply here."""
        return next((i for i in self.instances if i.key == key), None)

    def waits_for(self, key: str) -> tuple[str, ...]:
        """Step keys that must come first; empty when the step may be answered now."""
        instance = self.instance(key)
        if instance is None:
            return ()
        from seasonlog.domain.checklist import gate_keys  # a list of visits is shown before any checklist is read

        after, after_pass = gate_keys(instance, self.instances)
        return tuple(k for k in after if not self._dealt_with(k)) + tuple(k for k in after_pass if not self._good(k))

    def barred_by(self, key: str) -> tuple[str, ...]:
        """Gates that bar even what is reported after the event: those that failed, and proofs that must come first."""
        waits = self.waits_for(key)
        instance = self.instance(key)
        proofs = instance.step.after_pass if instance else ()
        return tuple(k for k in waits if k in self.answers or k.partition("@")[0] in proofs)

    def _dealt_with(self, key: str) -> bool:
        saved = self.answers.get(key)
        return saved is not None and saved.verdict is not Verdict.FAIL

    def _good(self, key: str) -> bool:
        saved = self.answers.get(key)
        return saved is not None and saved.is_good

    @property
    def remaining(self) -> "tuple[StepInstance, ...]":
        """Steps with neither an answer nor a reason."""
        return tuple(i for i in self.instances if i.key not in self.answers)

    @property
    def next_step(self) -> "StepInstance | None":
        """The first step that can be answered now."""
        return next((i for i in self.remaining if not self.waits_for(i.key)), None)

    @property
    def open_changes(self) -> tuple[TemporaryChange, ...]:
        """Temporary changes not undone yet."""
        return tuple(c for c in self.changes if not c.restored)

    @property
    def bad(self) -> tuple[Saved, ...]:
        """Answers that opened a finding."""
        return tuple(a for a in self.answers.values() if a.verdict in (Verdict.FAIL, Verdict.NEAR_FAIL))

    @property
    def hindrances(self) -> tuple[str, ...]:
        """Why the visit cannot be signed off yet, one sentence each; empty when it can."""
        missing = [i for i in self.remaining if i.step.required]
        many = f"{len(missing)} required steps are" if len(missing) > 1 else "1 required step is"
        words = [f"{many} unanswered, first {missing[0].named}"] if missing else []
        return tuple(words + [f"temporary change still in place: {c.what}, {c.where}" for c in self.open_changes])
