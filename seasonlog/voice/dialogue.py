"""The dialogue of a visit, as a pure machine: a state and an event give the next state and what is to be done.

It writes nothing and knows no log: effects are carried out by whoever drives it (`session`), who tells it with `Moved`
or `Saved` what came of them. Nothing is ever answered but the step that was meant; what is in doubt is asked back, and
after two failures it is the keys' turn. "Stop, not safe" halts it in every state.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from seasonlog.domain.limits import Verdict
from seasonlog.voice import spoken
from seasonlog.voice.hearing import Hearing
from seasonlog.voice.intents import (
    Answer,
    Ask,
    AskedStep,
    Command,
    Expecting,
    Ground,
    Intent,
    Note,
    Raw,
    Refused,
    Skip,
    Taken,
    Word,
)
from seasonlog.voice.tiers import judge

MOST_FAILURES = 2
"""After so many in a row the keys are asked for."""


@dataclass(frozen=True, slots=True)
class Heard:
    """How an answer was given, as the record keeps it."""

    text: str
    """The words it was read from."""
    tier: str
    """`sure`, `confirmed` or `typed`."""
    engine: str
    model: str
    clips: tuple[bytes, ...] = ()
    """The sound, where the person wants it kept."""

    def with_more(self, other: "Heard") -> "Heard":
        """Two phrases that gave one answer; the answer is as sure as the less sure of them."""
        tier = self.tier if self.tier == "confirmed" else other.tier
        return replace(other, text=f"{self.text}; {other.text}", tier=tier, clips=self.clips + other.clips)


@dataclass(frozen=True, slots=True)
class Say:
    """Read a sentence aloud."""

    text: str


@dataclass(frozen=True, slots=True)
class Show:
    """What the voice bar tells: what was heard, how sure, what came of it."""

    heard: str
    share: float | None
    came: str
    noise_db: float | None = None
    """Voice over noise [dB], where it was measured."""


@dataclass(frozen=True, slots=True)
class Take:
    """Save an answer."""

    step: str
    raw: Raw
    corrects: bool
    heard: Heard


@dataclass(frozen=True, slots=True)
class LeaveOut:
    """Save that a step is skipped."""

    step: str
    because: str
    heard: Heard


@dataclass(frozen=True, slots=True)
class AddNote:
    """Save a note."""

    step: str
    text: str
    heard: Heard


@dataclass(frozen=True, slots=True)
class TakeBack:
    """Take the answer of a step back."""

    step: str


@dataclass(frozen=True, slots=True)
class GoTo:
    """Show a step."""

    step: str


@dataclass(frozen=True, slots=True)
class Walk:
    """The next step, or the one before."""

    by: int


@dataclass(frozen=True, slots=True)
class Plain:
    """Something without more to say: `caution_read`, `stop_visit`, `listen_off`, `use_keys`, `retest`."""

    what: str


Effect = Say | Show | Take | LeaveOut | AddNote | TakeBack | GoTo | Walk | Plain
Effects = tuple[Effect, ...]


@dataclass(frozen=True, slots=True)
class Moved:
    """The screen shows something else, by key or by phrase, or the visit changed."""

    ground: Ground


@dataclass(frozen=True, slots=True)
class Saved:
    """An answer is on disk."""

    ground: Ground
    """As it is now."""
    step: AskedStep
    """The step that was answered, with the limit it was judged by."""
    raw: Raw
    verdict: Verdict
    says: str


@dataclass(frozen=True, slots=True)
class State:
    """Where the dialogue stands."""

    ground: Ground
    pending: Ask | None = None
    """Asked back and not answered yet."""
    pending_heard: Heard | None = None
    before: Expecting | None = None
    """What was expected before the question."""
    lines: tuple[str, ...] = ()
    lines_heard: Heard | None = None
    failures: int = 0
    told: str = ""
    """What was said last, for `repeat`."""


Event = Hearing | Moved | Saved
Step = tuple[State, Effects]


def opened(ground: Ground) -> Step:
    """The dialogue at a place, and what it says first."""
    return _telling(State(ground), spoken.asked(ground))


def step(state: State, event: Event) -> Step:
    """What follows from an event."""
    if isinstance(event, Moved):
        return _moved(state, event.ground)
    if isinstance(event, Saved):
        return _saved(state, event)
    return _heard(state, event)


def _telling(state: State, text: str, *effects: Effect) -> Step:
    return replace(state, told=text), (*effects, Say(text))


def _moved(state: State, ground: Ground) -> Step:
    """Another step: nothing asked back or half said is carried over to it."""
    same = ground.current == state.ground.current and ground.expecting is state.ground.expecting
    if same and state.pending is None:
        return replace(state, ground=replace(ground, lines_said=state.lines)), ()
    return _telling(State(ground), spoken.asked(ground))


def _saved(state: State, event: Saved) -> Step:
    told = spoken.read_back(event.step, event.raw, event.verdict, event.says)
    onward = spoken.asked(event.ground) if event.ground.current != event.step.key else "Next goes on."
    return replace(State(event.ground), told=f"{told} {onward}"), (Say(told), Say(onward))


# -- hearing --------------------------------------------------------------------------------------------------------


def _heard(state: State, hearing: Hearing) -> Step:
    judged = judge(hearing, state.ground)
    if isinstance(judged, Refused):
        return _refused(state, judged, hearing)
    heard = _heard_as(hearing, judged)
    if isinstance(judged, Ask):
        return _ask_back(state, judged, heard, hearing.noise_db)
    after, effects = _done(state, judged.intent, heard)
    return after, (Show(judged.text, judged.posterior, _came(judged, effects), hearing.noise_db), *effects)


def _heard_as(hearing: Hearing, judged: Taken | Ask) -> Heard:
    tier = "typed" if hearing.is_typed else "sure" if isinstance(judged, Taken) else "confirmed"
    clips = (hearing.clip,) if hearing.clip is not None else ()
    return Heard(judged.text, tier, hearing.engine, hearing.model, clips)


def _came(judged: Taken, effects: Effects) -> str:
    said = next((each.text for each in effects if isinstance(each, Say)), "")
    return said or ("taken" if any(isinstance(each, Take | LeaveOut | AddNote) for each in effects) else "")


def _refused(state: State, refused: Refused, hearing: Hearing) -> Step:
    """Talk beside the work changes nothing; what was meant for the log and not understood counts as a failure."""
    shown = Show(hearing.best, None, refused.says, hearing.noise_db)
    if refused.is_stray and not hearing.is_typed:
        return state, (shown,)
    if hearing.is_typed:
        return state, (shown, Say(refused.says))
    return _failed(state, f"{spoken.SAY_AGAIN}: {refused.says}.", shown)


def _failed(state: State, says: str, *effects: Effect) -> Step:
    failures = state.failures + 1
    if failures < MOST_FAILURES:
        return _telling(replace(state, failures=failures), says, *effects)
    calm = _unasked(replace(state, failures=0))
    return _telling(calm, spoken.USE_KEYS, *effects, Plain("use_keys"))


def _ask_back(state: State, asked: Ask, heard: Heard, noise_db: float | None) -> Step:
    before = state.before or state.ground.expecting
    question = spoken.question(asked.intent, state.ground)
    back = asked.intent if isinstance(asked.intent, Answer | Skip | Command) else Command(Word.YES)
    ground = replace(state.ground, expecting=Expecting.CONFIRM, asked_back=back)
    after = replace(state, ground=ground, pending=asked, pending_heard=heard, before=before)
    return _telling(after, question, Show(asked.text, asked.posterior, f"asked back: {asked.why}", noise_db))


def _unasked(state: State) -> State:
    """The question is dropped; what was expected before it is expected again."""
    if state.pending is None:
        return state
    ground = replace(state.ground, expecting=state.before or Expecting.ANSWER, asked_back=None)
    return replace(state, ground=ground, pending=None, pending_heard=None, before=None)


# -- doing ----------------------------------------------------------------------------------------------------------


def _done(state: State, intent: Intent, heard: Heard) -> Step:
    if isinstance(intent, Command):
        return _COMMANDS[intent.word](state)
    state = replace(state, failures=0)
    if isinstance(intent, Answer):
        return _answer(state, intent, heard)
    if isinstance(intent, Skip):
        return state, (LeaveOut(intent.step, intent.because, heard),)
    if isinstance(intent, Note):
        return _telling(state, "Noted.", AddNote(intent.step, intent.text, heard))
    return state, (GoTo(intent.step),)


def _answer(state: State, answer: Answer, heard: Heard) -> Step:
    asked = next(each for each in state.ground.steps if each.key == answer.step)
    if answer.step != state.ground.current and not answer.corrects and (asked.is_unread or answer.line is not None):
        return state, (GoTo(answer.step),)
    if answer.line is not None:
        return _line(state, answer, heard)
    return _with_lines(state, ()), (Take(answer.step, answer.raw, answer.corrects, heard),)


def _line(state: State, answer: Answer, heard: Heard) -> Step:
    """One line of three: kept until all are said."""
    line, raw = answer.line or 0, str(answer.raw)
    lines = list(state.lines or ("", "", ""))
    lines[line] = raw
    so_far = state.lines_heard.with_more(heard) if state.lines_heard is not None else heard
    if all(lines):
        return _with_lines(state, ()), (Take(answer.step, tuple(lines), answer.corrects, so_far),)
    kept = replace(_with_lines(state, tuple(lines)), lines_heard=so_far)
    return _telling(kept, spoken.line_taken(kept.ground.step, line, raw, lines.index("")))


def _with_lines(state: State, lines: tuple[str, ...]) -> State:
    return replace(state, lines=lines, lines_heard=None, ground=replace(state.ground, lines_said=lines))


# -- commands -------------------------------------------------------------------------------------------------------


def _yes(state: State) -> Step:
    pending, heard = state.pending, state.pending_heard
    if pending is None or heard is None:
        return state, ()
    calm = _unasked(state)
    if pending.intent == Command(Word.STOP):
        return calm, (Plain("stop_visit"),)
    return _done(calm, pending.intent, heard)


def _no(state: State) -> Step:
    """Heard wrong: that counts as a failure, unless it was about stopping."""
    if state.pending is None or isinstance(state.pending.intent, Command):
        calm = replace(_unasked(state), failures=0)
        return _telling(calm, f"Going on. {spoken.asked(calm.ground)}")
    return _failed(_unasked(state), f"Not taken. {spoken.SAY_AGAIN}.")


def _undo(state: State) -> Step:
    """The last line said, else the answer given last."""
    if any(state.lines):
        return _telling(_with_lines(state, ()), f"Lines dropped. {spoken.asked(state.ground)}")
    if not state.ground.last:
        return _telling(state, "There is nothing to take back.")
    return replace(state, failures=0), (TakeBack(state.ground.last),)


def _repeat(state: State) -> Step:
    return state, (Say(state.told or spoken.asked(state.ground)),)


def _next(state: State) -> Step:
    return state, (Walk(1),)


def _back(state: State) -> Step:
    return state, (Walk(-1),)


def _plain(what: str) -> Callable[[State], Step]:
    return lambda state: (state, (Plain(what),))


def _says(words: Callable[[Ground], str]) -> Callable[[State], Step]:
    return lambda state: (state, (Say(words(state.ground)),))


_COMMANDS: Mapping[Word, Callable[[State], Step]] = {
    Word.YES: _yes,
    Word.NO: _no,
    Word.UNDERSTOOD: _plain("caution_read"),
    Word.UNDO: _undo,
    Word.BACK: _back,
    Word.NEXT: _next,
    Word.REPEAT: _repeat,
    Word.LIMIT: _says(spoken.limit_aloud),
    Word.READ_BACK: _says(spoken.taken_last),
    Word.HOW_MANY: _says(spoken.left),
    Word.WHAT_NOW: _says(spoken.asked),
    Word.LISTEN_OFF: _plain("listen_off"),
    Word.HELP: _says(spoken.may_say),
    Word.RETEST: _plain("retest"),
    Word.STOP: _repeat,  # it is always asked back, and yes then ends the visit
}
