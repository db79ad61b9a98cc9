"""Phrases on the visit screen: typed in the one line or heard by a recogniser, both through the same session.

The recogniser works in a thread of its own and only posts what it heard; nothing here waits for it. Without the extra
one sentence says how to add it, and the same phrases can be typed.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.content import Content
from textual.message import Message

from seasonlog.domain.desk import Desk
from seasonlog.errors import SeasonlogError
from seasonlog.tui.wording import say
from seasonlog.voice.hearing import Hearing, Listener, typed
from seasonlog.voice.intents import Ask, Command, Word
from seasonlog.voice.prompts import example_prompts
from seasonlog.voice.session import Outcome, Session
from seasonlog.voice.tiers import judge

if TYPE_CHECKING:
    from seasonlog.tui.screens.visit import VisitScreen
    from seasonlog.voice.engines.protocols import Speaker


@dataclass
class Heard(Message):
    """The recogniser heard something; posted from its thread."""

    hearing: Hearing


@dataclass
class Deaf(Message):
    """Listening ended by itself; posted from its thread."""

    says: str


class VisitVoice:
    """The dialogue of one visit screen, its listener and its speaker."""

    def __init__(self, screen: "VisitScreen", desk: Desk) -> None:
        self.screen = screen
        self.session = Session(screen.book, desk)
        self._listener: Listener | None = None
        self._hands_free = False
        self._speaker: Speaker | None = None

    @property
    def is_on(self) -> bool:
        """Somebody listens."""
        return self._listener is not None

    @property
    def is_asking(self) -> bool:
        """A question was asked back: yes and no answer it, and nothing else."""
        return self.session.state.pending is not None

    @property
    def ears(self) -> Content:
        """What the bar says of the microphone."""
        if not self.is_on:
            return Content("")
        words = "LISTENING" if self._hands_free else "SPEAK, then F12"
        kept = " · KEPT" if self._keeps_clips() else ""
        return Content.styled(f" ● {words}{kept} ", "bold $tone-hot")

    def hear(self, hearing: Hearing, lines: Sequence[str]) -> Outcome:
        """What a phrase leads to.

        Args:
            hearing: Typed or heard.
            lines: What stands in the fields of a step of three lines.
        """
        self.session.fill(lines)
        outcome = self.session.hear(hearing)
        if not hearing.is_typed:
            self._speak(outcome.said)
        if "listen_off" in outcome.left:
            self.stop()
        return outcome

    def type(self, text: str, lines: Sequence[str]) -> Outcome:
        """The same for a phrase from the keyboard."""
        return self.hear(typed(text), lines)

    def sync(self) -> None:
        """Something changed by keys: the dialogue follows, and says what is asked now while somebody listens."""
        outcome = self.session.moved()
        if self.is_on:
            self._speak(outcome.said)

    def toggle(self, *, hands_free: bool) -> None:
        """Listen, or stop listening. Without the extra the sentence how to add it is shown."""
        if self.is_on:
            self.stop()
            return
        try:
            self._listener = self._opened(hands_free)
            self._hands_free = hands_free
            self._listener.start(self._heard, lambda: example_prompts(self.session.state.ground))
            self._speak((self.session.state.told,) if hands_free else ())
        except SeasonlogError as error:
            self._listener = None
            self.screen.tell(f"{error} Until then, type the phrase: press : first.")

    def _opened(self, hands_free: bool) -> Listener:
        from seasonlog.services import settings
        from seasonlog.voice.engines import ready

        kept = settings.kept(self.screen.book.places)
        self._speaker = ready.speaker(kept)
        return ready.listener(kept, hands_free=hands_free, is_muted=self._is_speaking, failed=self._failed)

    def _keeps_clips(self) -> bool:
        """Sounds are kept where this person wants it and the site allows it."""
        from seasonlog.services import privacy, settings
        from seasonlog.voice.engines import ready

        at, book = self.screen.at_desk.at, self.screen.book
        allowed = privacy.recording(book, at.register.site_of(at.visit.tower).id).allowed
        return allowed and settings.kept(book.places).get(ready.KEEP_CLIPS) == "yes"

    def _is_speaking(self) -> bool:
        return self._speaker is not None and self._speaker.is_speaking

    def _heard(self, hearing: Hearing) -> None:
        self.screen.post_message(Heard(hearing))

    def _failed(self, says: str) -> None:
        self.screen.post_message(Deaf(says))

    def stop(self) -> None:
        """Stop listening."""
        if self._listener is not None:
            self._listener.stop()
        self._listener = None

    def _speak(self, said: Sequence[str]) -> None:
        words = " ".join(each for each in said if each)
        if self._speaker is not None and words:
            self._speaker.say(words)


def is_for(screen: "VisitScreen", hearing: Hearing) -> bool:
    """Whether the visit listens: behind a sheet only to "stop, not safe", which puts the sheet away."""
    if screen.app.screen is screen:
        return True
    found = judge(hearing, screen.voice.session.state.ground)
    if not (isinstance(found, Ask) and found.intent == Command(Word.STOP)):
        return False
    while screen.app.screen is not screen and len(screen.app.screen_stack) > 1:
        screen.app.pop_screen()
    return True


def told(outcome: Outcome, *, is_told: bool) -> Content:
    """The voice bar's words: what came of a phrase, what was heard, how sure, how far over the noise.

    What is asked back stands first: a narrow screen has it whole.

    Args:
        outcome: Of the phrase.
        is_told: The screen itself tells what was saved; "taken" is enough here.
    """
    shown = outcome.shown
    came = "taken" if is_told and outcome.saved else " ".join(outcome.said)
    came = came or (shown.came if shown is not None else "")
    tone = "bold $tone-pass" if outcome.saved else "bold"
    if shown is None:
        return say(came, tone)
    sure = "" if shown.share is None or shown.share == 1.0 else f" · {round(100 * shown.share)} % sure"
    noise = "" if shown.noise_db is None else f" · {shown.noise_db:.0f} dB over the noise"
    heard = say(f"{shown.heard}{sure}{noise}", "$soft")
    return Content.assemble(say(came, tone), "  " if came else "", ("‹ ", "bold $tone-cold"), heard)
