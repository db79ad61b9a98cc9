"""A visit driven by phrases: the dialogue's effects carried out on the log, and told back to it.

Screen, command line and tests drive the same session; it knows no widget and no sound. What it cannot do itself
(be silent, show the keys, end with a sheet) it hands to its driver.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.desk import Again, Desk
from seasonlog.domain.units_shown import ALOUD, in_units
from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError, SeasonlogError
from seasonlog.services import closing, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.voice import dialogue, spoken
from seasonlog.voice.dialogue import (
    AddNote,
    Effect,
    GoTo,
    Heard,
    LeaveOut,
    Moved,
    Plain,
    Saved,
    Say,
    Show,
    State,
    Take,
    TakeBack,
    Walk,
)
from seasonlog.voice.ground import Said, ground_of, own_vocabulary
from seasonlog.voice.hearing import Hearing, typed
from seasonlog.voice.intents import Ground
from seasonlog.voice.words import Vocabulary

NOT_SAFE = "not safe"
"""The reason a visit is closed with when somebody stops it."""
OWN_PHRASES = "phrases.toml"
"""A person's own words, beside the log."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one phrase led to."""

    said: tuple[str, ...]
    """Sentences to read aloud, in order."""
    shown: Show | None
    """For the voice bar."""
    left: tuple[str, ...]
    """What the driver must do: `listen_off`, `use_keys`."""
    saved: bool
    """Something was written."""


@dataclass(slots=True)
class Session:
    """A visit, the place in it, and the dialogue there."""

    book: Logbook
    desk: Desk
    vocabulary: Vocabulary | None = None
    last: str = ""
    """Step answered last in this sitting."""
    greeting: tuple[str, ...] = field(init=False, default=())
    """What is said first."""
    state: State = field(init=False)
    _told: list[str] = field(init=False, default_factory=list)
    _left: list[str] = field(init=False, default_factory=list)
    _wrote: bool = field(init=False, default=False)
    _seen: str = field(init=False, default="")

    def __post_init__(self) -> None:
        self._seen = self._newest()
        self.vocabulary = self.vocabulary or _own(self.book)
        self.state, effects = dialogue.opened(self.ground())
        self.greeting = tuple(each.text for each in effects if isinstance(each, Say))

    def _newest(self) -> str:
        """The step answered last, by phrase or by key."""
        return next((key for key, saved in reversed(list(self.desk.at.answers.items())) if not saved.is_skipped), "")

    def ground(self) -> Ground:
        """What may be said at this place."""
        return ground_of(self.book, self.desk, Said(last=self.last), self.vocabulary)

    def type(self, text: str) -> Outcome:
        """A phrase from the keyboard."""
        return self.hear(typed(text))

    def hear(self, hearing: Hearing) -> Outcome:
        """A phrase: the dialogue's next step, carried out."""
        self._told, self._left, self._wrote = [], [], False
        shown = self._follow(hearing)
        return Outcome(tuple(self._told), shown, tuple(self._left), self._wrote)

    def fill(self, lines: Sequence[str]) -> None:
        """Lines of the step at hand that were typed by key: a phrase goes on from there."""
        if len(lines) == 3 and any(lines) and self.state.pending is None:
            ground = replace(self.state.ground, lines_said=tuple(lines))
            self.state = replace(self.state, ground=ground, lines=tuple(lines))

    def moved(self) -> Outcome:
        """The place or the visit was changed by other means: keys, another sheet. Undo then means what was keyed in."""
        if self._newest() != self._seen:
            self.last = self._seen = self._newest()
        self._told, self._left, self._wrote = [], [], False
        self._follow(Moved(self.ground()))
        return Outcome(tuple(self._told), None, (), False)

    def _follow(self, event: dialogue.Event) -> Show | None:
        self.state, effects = dialogue.step(self.state, event)
        shown = None
        for effect in effects:
            if isinstance(effect, Show):
                shown = effect
            else:
                self._carry_out(effect)
        return shown

    def _carry_out(self, effect: Effect) -> None:
        if isinstance(effect, Say):
            self._told.append(effect.text)
            return
        try:
            self._write(effect)
        except SeasonlogError as error:
            self._told.append(_sentence(error))

    def _write(self, effect: Effect) -> None:
        if isinstance(effect, Take):
            self._take(effect)
        elif isinstance(effect, LeaveOut):
            self._leave_out(effect)
        elif isinstance(effect, AddNote):
            at = self.desk.at.visit
            record = self._record(effect.heard, effect.step)
            rounds.add_note(self.book, at.tower, effect.text, at.id, effect.step, record)
            self._wrote = True
        elif isinstance(effect, TakeBack):
            self._take_back(effect.step)
        elif isinstance(effect, GoTo | Walk):
            self._go(effect)
        elif isinstance(effect, Plain):
            self._plain(effect.what)

    def _take(self, take: Take) -> None:
        before = self.desk.key
        if take.step != before:
            self.desk.go_to(take.step)
        step, again = self.ground().step, self.desk.again or Again()
        because = f'said again: "{take.heard.text}"' if take.corrects else again.because
        options = rounds.AnswerOptions(because=because, retest=again.retest, heard=self._record(take.heard, take.step))
        try:
            self.desk.saw(rounds.answer(self.book, self.desk.at, take.step, take.raw, options))
        except SeasonlogError:
            self.desk.go_to(before)
            raise
        self.last = self._seen = take.step
        self._wrote = True
        self._go_on(before if take.corrects else "")
        saved = self.desk.at.answers[take.step]
        if saved.verdict is not None:
            says = in_units(saved.says, self.desk.at.units, ALOUD)
            self._follow(Saved(self.ground(), step, take.raw, saved.verdict, says))

    def _go_on(self, back_to: str) -> None:
        """Good answers lead on at once, corrections back to where the person was; the others stay to be read."""
        saved = self.desk.saved
        if saved is None or not (saved.is_good or saved.is_skipped):
            return
        onward = back_to if back_to and back_to != self.desk.key else self.desk.following
        if onward:
            self.desk.go_to(onward)

    def _leave_out(self, out: LeaveOut) -> None:
        options = rounds.AnswerOptions(heard=self._record(out.heard, out.step))
        self.desk.saw(rounds.skip(self.book, self.desk.at, out.step, out.because, options=options))
        self._wrote = True
        self._told.append(f"Skipped, because: {spoken.ended(out.because)}")
        self._go_on("")
        self._follow(Moved(self.ground()))

    def _take_back(self, step: str) -> None:
        self.desk.saw(rounds.take_back(self.book, self.desk.at, step))
        self.desk.go_to(step)
        self.desk.again = Again()
        self.last, self._wrote = "", True
        self._seen = self._newest()
        self._told.append("Taken back.")
        self._follow(Moved(self.ground()))

    def _go(self, effect: GoTo | Walk) -> None:
        if isinstance(effect, GoTo):
            self.desk.go_to(effect.step)
        elif effect.by > 0 and self.desk.saved is not None and self.desk.following:
            self.desk.go_to(self.desk.following)
        else:
            self.desk.step_by(effect.by)
        self._follow(Moved(self.ground()))

    def _plain(self, what: str) -> None:
        if what == "caution_read":
            self.desk.read_caution()
            self._follow(Moved(self.ground()))
        elif what == "retest":
            self.desk.again = Again(retest=True)
            self._follow(Moved(self.ground()))
        elif what == "stop_visit":
            closed = closing.close_unfinished(self.book, self.desk.at, VisitState.NOT_POSSIBLE, NOT_SAFE)
            self.desk.saw(closed)
            self._wrote = True
            self._follow(Moved(self.ground()))
        else:
            self._left.append(what)

    def _record(self, heard: Heard, step: str) -> Mapping[str, object]:
        """How it was heard, as the entry keeps it; sounds are kept beside the log where the site allows it."""
        names = [name for clip in heard.clips if (name := self._kept(clip, step))]
        record = {"text": heard.text[:MOST_TEXT], "tier": heard.tier, "engine": heard.engine, "model": heard.model}
        return {**record, **({"clips": names} if names else {})}

    def _kept(self, clip: bytes, step: str) -> str:
        from seasonlog.services import attachments

        clock = self.book.around.clock
        zone = timezone(timedelta(minutes=clock.offset_minutes()))
        now = datetime.fromtimestamp(clock.wall_ms() / 1000, zone)
        file = attachments.Handed("", len(clip), clip[:64], now, lambda: clip)
        wish = attachments.Wish(visit=self.desk.at.visit.id, step=step, sounds=True)
        kept = attachments.attach(self.book, attachments.proposals(self.book, [file], wish), wish)
        return kept[0].sha256 if kept else ""


def _own(book: Logbook) -> Vocabulary | None:
    path = book.places.home / OWN_PHRASES
    return own_vocabulary(path.read_bytes().decode("utf-8", "replace")) if path.is_file() else None


def _sentence(error: SeasonlogError) -> str:
    if isinstance(error, InputRefusedError):
        return "; ".join(problem.says for problem in error.problems)
    return str(error)
