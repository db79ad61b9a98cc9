"""A button for a gloved finger: three lines high at least, its words wrapped rather than cut."""

from dataclasses import dataclass

from textual.binding import Binding
from textual.content import Content
from textual.message import Message
from textual.widgets import Static


class BigButton(Static, can_focus=True):
    """Words to tap."""

    BINDINGS = [Binding("enter,space", "press", "Press", show=False)]

    @dataclass
    class Pressed(Message):
        """It was tapped, or Enter or Space pressed on it."""

        button: "BigButton"

        @property
        def control(self) -> "BigButton":
            """The button, for `@on` with a selector."""
            return self.button

    def __init__(self, words: Content, *, key: str = "", id: str | None = None, classes: str = "") -> None:
        super().__init__(words, id=id, classes=classes)
        self.key = key
        """What the button stands for."""

    def on_click(self) -> None:
        """A tap."""
        self.action_press()

    def action_press(self) -> None:
        """Say that it was pressed."""
        if not self.disabled:
            self.post_message(self.Pressed(self))
