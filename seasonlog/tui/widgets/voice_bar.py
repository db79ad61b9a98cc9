"""The voice bar of a visit: a line to type a phrase in, always there; what was heard, how sure, and what came of it.

It knows no phrase. The screen tells it what to show and is told what was typed.
"""

from dataclasses import dataclass

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import Input, Static

from seasonlog.tui.widgets.field import Field

WHAT = "a phrase, such as: leg one 21.6 · pass · limit · undo"
SHORT = "a phrase: leg one 21.6"


class VoiceBar(Vertical):
    """One line while nothing was said, more once something was."""

    @dataclass
    class Said(Message):
        """A phrase was typed."""

        text: str

    class Left(Message):
        """The person goes back to the answer area."""

    def __init__(self) -> None:
        super().__init__(id="voice")

    def compose(self) -> ComposeResult:
        """What came of the last phrase over the line for the next one."""
        yield Static(Content(""), id="heard")
        with Horizontal():
            yield Static(Content.styled(" : ", "bold $tone-hot"), id="prompt")
            yield Field(id="phrase")
            yield Static(Content(""), id="ears")

    def on_mount(self) -> None:
        """Say what the line is for."""
        self._place_hint()

    def on_resize(self) -> None:
        """A narrow screen has a shorter hint."""
        self._place_hint()

    def _place_hint(self) -> None:
        self.query_one("#phrase", Field).placeholder = WHAT if self.app.size.width >= 80 else SHORT

    def tell(self, words: Content) -> None:
        """What was heard, how sure, what came of it; nothing hides the line."""
        heard = self.query_one("#heard", Static)
        heard.update(words)
        heard.set_class(bool(words), "-shown")

    def ears(self, words: Content) -> None:
        """Whether somebody listens."""
        self.query_one("#ears", Static).update(words)

    @property
    def is_typed_in(self) -> bool:
        """The next keys go into the line."""
        return self.query_one("#phrase", Field).has_focus

    def take_focus(self) -> None:
        """The next keys go into the line."""
        self.query_one("#phrase", Field).focus()

    @on(Input.Submitted, "#phrase")
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        text = event.value.lstrip(": ").strip()  # the key that leads here, pressed once more, is no part of a phrase
        event.input.value = ""
        self.post_message(self.Said(text) if text else self.Left())

    @on(Input.Changed, "#phrase")
    def _changed(self, event: Input.Changed) -> None:
        event.stop()

    def on_key(self, event: events.Key) -> None:
        """Out of the line again, without leaving the visit."""
        if event.key == "escape" and self.is_typed_in:
            event.stop()
            self.post_message(self.Left())
