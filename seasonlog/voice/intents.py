"""The words of the dialogue: what may be said now (`Ground`), what a phrase means (`Intent`), how sure it is.

All values are frozen and hashable; nothing here reads a log, a clock or a sound.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from seasonlog.domain.checklist import Choice, StepKind

if TYPE_CHECKING:
    from seasonlog.voice.naming import Names
    from seasonlog.voice.words import Vocabulary

Raw = str | tuple[str, ...]


class Expecting(StrEnum):
    """What is to be said next. Each has words of its own, so that `pass` is never listened for where `yes` is."""

    ANSWER = "answer"
    CAUTION = "caution"
    """A caution was read out and is to be acknowledged: `understood`."""
    CONFIRM = "confirm"
    """A question was asked back: yes or no."""
    TOLD = "told"
    """The step is answered; only commands and corrections."""
    WAITS = "waits"
    """Other steps come first."""
    CLOSED = "closed"
    """The visit is over."""


@dataclass(frozen=True, slots=True)
class AskedStep:
    """One step of the visit, as far as a phrase may be about it."""

    key: str
    step_id: str
    title: str
    kind: StepKind
    target: str
    """Id of the circuit, basin, trace or source; empty for the tower."""
    target_words: str
    """The target's name in the register; empty where it has none or there is only one."""
    says: str
    """What is measured, in the words of the table of quantities; else empty."""
    section: str
    per: str
    """What it is asked once per: tower, basin, circuit, trace or source."""
    unit: str
    quantity: str
    lines: int
    """How many values are wanted: 3 for three lines, else 1."""
    least: float
    """Below this no such reading can be, in `unit`. This is what the instrument and nature allow, never the limit."""
    most: float
    choices: tuple[Choice, ...]
    expect: str
    caution: str
    do: str
    live: bool
    edges: tuple[float, ...]
    """The numbers at which the verdict changes: the limit and its guard bands; only known for the step at hand."""
    limit_low: float | None
    limit_high: float | None
    limit_words: str
    """The limit and its basis as the screen has it; empty where nothing is judged."""
    is_open: bool
    """Neither an answer nor a reason yet."""
    saved: Raw
    """The answer that stands; empty where there is none."""
    is_unread: bool = False
    """Its caution was not acknowledged yet in this sitting."""
    metric: bool = False
    """A temperature that people of this site read in degC."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What may be said now."""

    current: str
    """Key of the step at hand."""
    steps: tuple[AskedStep, ...] = field(repr=False)
    """All steps of the visit, in order."""
    expecting: Expecting
    asked_back: "Answer | Skip | Command | None" = None
    """What yes would take."""
    lines_said: tuple[str, ...] = ()
    """Lines of the step at hand already said, in order; empty texts for those still wanted."""
    waits: tuple[str, ...] = ()
    """Titles of the steps that come before the one at hand."""
    last: str = ""
    """Key of the step answered last; empty where none was in this sitting."""
    typed: bool = False
    """The phrase was typed: `yes` cannot be a `pass` that was heard wrong."""
    vocabulary: "Vocabulary | None" = None
    """What people call things; None: the table that comes with the program."""
    names: "tuple[Names, ...]" = field(default=(), compare=False, repr=False)
    """The words of each step, in the order of `steps`; empty: not worked out yet."""
    choices: frozenset[tuple[str, ...]] | None = field(default=None, compare=False, repr=False)
    """What is said for any choice of any step; None: not worked out yet."""

    @property
    def step(self) -> AskedStep:
        """The step at hand."""
        return next(each for each in self.steps if each.key == self.current)

    @property
    def left(self) -> tuple[AskedStep, ...]:
        """The steps still open, in order."""
        return tuple(each for each in self.steps if each.is_open)


class Word(StrEnum):
    """Commands: said whole, nothing else beside them."""

    STOP = "stop_not_safe"
    """Heard in every state."""
    YES = "yes"
    NO = "no"
    UNDERSTOOD = "understood"
    UNDO = "undo"
    BACK = "back"
    NEXT = "next"
    REPEAT = "repeat"
    LIMIT = "limit"
    READ_BACK = "read_back"
    HOW_MANY = "how_many"
    WHAT_NOW = "what_now"
    LISTEN_OFF = "stop_listening"
    HELP = "help"
    RETEST = "retest"


@dataclass(frozen=True, slots=True)
class Command:
    """A command."""

    word: Word


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer to one step."""

    step: str
    """Step key."""
    raw: Raw
    """As `services.rounds.answer` takes it: `21.6`, `4.5 C`, `yes`, a choice's value, or one text per line."""
    line: int | None = None
    """Only this line, from 0, of a step of three."""
    corrects: bool = False
    """Said as a correction of what was saved."""


@dataclass(frozen=True, slots=True)
class Skip:
    """Leave a step out; the reason was said."""

    step: str
    because: str


@dataclass(frozen=True, slots=True)
class Note:
    """Words beside a step, as they were heard."""

    step: str
    text: str


@dataclass(frozen=True, slots=True)
class Go:
    """Show another step."""

    step: str


Intent = Command | Answer | Skip | Note | Go


@dataclass(frozen=True, slots=True)
class Refused:
    """A phrase that means nothing here, or more than one thing."""

    says: str
    """One short sentence, fit to be spoken."""
    ambiguous: bool = False
    """It could be read in several ways."""
    is_stray: bool = False
    """Talk beside the work, as far as can be told: shown, and nothing is said or done."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Sure enough: done, and read back."""

    intent: Intent
    text: str
    """The words it was read from."""
    posterior: float


@dataclass(frozen=True, slots=True)
class Ask:
    """Plausible: asked back, done only on yes."""

    intent: Intent
    text: str
    posterior: float
    why: str
    """Why it is asked back."""


Judged = Taken | Ask | Refused
