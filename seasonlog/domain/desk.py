"""Where a person is in a visit: which step, what may be done with it now, what comes next. Screen and voice share it.

Rules of order are the visit's own (`domain.visit`); this only decides what the screen asks for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from seasonlog.domain.checklist import StepInstance, StepKind
from seasonlog.domain.visit import Progress, Saved, VisitState


class Mode(StrEnum):
    """What the answer area is for."""

    READ_CAUTION = "read_caution"
    """The caution must be acknowledged first."""
    ASK = "ask"
    SAVED = "saved"
    """Answered; it can be corrected or tested again."""
    SKIPPED = "skipped"
    WAITS = "waits"
    """Other steps come first."""
    CLOSED = "closed"
    """The visit is over; it can only be read, and an answer corrected with a reason."""


@dataclass(frozen=True, slots=True)
class Again:
    """Why a step that was answered is asked again."""

    because: str = ""
    retest: bool = False


@dataclass(slots=True)
class Desk:
    """A visit and the place in it."""

    at: Progress
    key: str
    again: Again | None = None
    _read: set[tuple[str, str]] = field(default_factory=set)

    @property
    def instance(self) -> StepInstance:
        """The step."""
        found = self.at.instance(self.key)
        return found if found is not None else self.at.instances[0]

    @property
    def saved(self) -> Saved | None:
        """Its answer, or the reason for none."""
        return self.at.answers.get(self.key)

    @property
    def number(self) -> int:
        """Which step of the visit, from 1."""
        return 1 + [i.key for i in self.at.instances].index(self.instance.key)

    @property
    def mode(self) -> Mode:
        """What the answer area is for."""
        if self.at.visit.state is not VisitState.OPEN:
            return Mode.ASK if self.again is not None and self.again.because else Mode.CLOSED
        if self.saved is not None and self.again is None:
            return Mode.SKIPPED if self.saved.is_skipped else Mode.SAVED
        if self.waits_for:
            return Mode.WAITS
        return Mode.READ_CAUTION if self.is_unread(self.instance) else Mode.ASK

    @property
    def asks_of_doubt(self) -> bool:
        """What is to be acknowledged is about the instrument: use it anyway, or choose another."""
        return self.mode is Mode.READ_CAUTION and not self.has_unread_caution(self.instance)

    @property
    def waits_for(self) -> Sequence[StepInstance]:
        """The steps that come first."""
        keys = self.at.waits_for(self.key)
        return [i for i in self.at.instances if i.key in keys]

    def is_unread(self, instance: StepInstance) -> bool:
        """Something is to be acknowledged in this sitting before it is answered; a caution step is itself read."""
        return self.has_unread_caution(instance) or self.has_unread_doubt(instance)

    def has_unread_caution(self, instance: StepInstance) -> bool:
        """Of the step itself; it comes before what is told of the instrument."""
        step = instance.step
        return bool(step.caution) and step.kind is not StepKind.CAUTION and _caution(instance) not in self._read

    def has_unread_doubt(self, instance: StepInstance) -> bool:
        """Its instrument proves nothing, and whoever chose it was not told: asked once, use it anyway or another."""
        ident = self.at.instrument_of(instance)
        return self.at.is_untold(ident) and (_DOUBT, self.at.doubt_of(instance)) not in self._read

    def to_read(self, instance: StepInstance) -> str:
        """The words to be acknowledged before the step is answered; the step's own caution once there are none."""
        if self.has_unread_doubt(instance) and not self.has_unread_caution(instance):
            return f"Instrument {self.at.doubt_of(instance)}. Used anyway, the reading will say so."
        return instance.step.caution

    def read_caution(self) -> None:
        """It was read: within a section and on one target the same words are not asked for again in this sitting."""
        if self.has_unread_caution(self.instance):
            self._read.add(_caution(self.instance))
        else:
            self._read.add((_DOUBT, self.at.doubt_of(self.instance)))

    def go_to(self, key: str) -> None:
        """Another step."""
        if self.at.instance(key) is not None:
            self.key, self.again = key, None

    def step_by(self, step: int) -> None:
        """The step before or after, answered or not."""
        keys = [i.key for i in self.at.instances]
        self.go_to(keys[min(max(self.number - 1 + step, 0), len(keys) - 1)])

    @property
    def following(self) -> str:
        """The next step that can be answered now, from here on and round again; empty when none is left."""
        ahead = self.at.instances[self.number :] + self.at.instances[: self.number]
        return next((i.key for i in ahead if i.key not in self.at.answers and not self.at.waits_for(i.key)), "")

    def saw(self, at: Progress) -> None:
        """The visit as it stands now."""
        self.at, self.again = at, None


_DOUBT = "instrument"


def _caution(instance: StepInstance) -> tuple[str, str]:
    return f"{instance.step.section}|{instance.target}", instance.step.caution


def opened(at: Progress) -> Desk:
    """The place where a visit is taken up: the first step that can be answered, else the first."""
    following = at.next_step
    return Desk(at, following.key if following else at.instances[0].key)
