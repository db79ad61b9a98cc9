"""A line to type in. Keeps what was typed or pasted as it is, and shows every character that could act as a stand-in.

One cell stands for one character, so that the cursor stays where one sees it; the record keeps the characters.
"""

from rich.text import Text
from textual import events
from textual.content import Content
from textual.widgets import Input
from textual.widgets.input import Selection

from seasonlog.domain.text import visible

STAND_IN = "␦"


def shown(value: str) -> str:
    """The value with one visible cell for each character that has none."""
    out = []
    for char in value:
        seen = visible(char)
        out.append(seen if len(seen) == 1 else STAND_IN)
    return "".join(out)


class Field(Input):
    """An input that cannot be made to act."""

    cursor_blink = False
    passes = ""
    """Characters that are not for this field: the screen may have a key for them."""

    def __init__(
        self, value: str = "", *, label: str = "", unit: str = "", id: str | None = None, most: int = 0
    ) -> None:
        super().__init__(value, id=id, max_length=most, select_on_focus=False)
        self.border_title = Content(label)
        self.border_subtitle = Content(unit)

    @property
    def _value(self) -> Text:
        return Text(shown(self.value), no_wrap=True, overflow="ignore", end="")

    async def _on_key(self, event: events.Key) -> None:
        """What is not for the field goes on to the screen."""
        if event.character is not None and event.character in self.passes:
            event.prevent_default()

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """The screen's keys are shown where the field lets them pass."""
        passes = character is not None and character in self.passes
        return not passes and super().check_consume_key(key, character)

    def _on_paste(self, event: events.Paste) -> None:
        """All of it, line breaks too: nothing handed in is dropped without a word."""
        event.stop()
        event.prevent_default()
        selection = self.selection
        if selection.is_empty:
            self.insert_text_at_cursor(event.text)
        else:
            self.replace(event.text, *selection)

    def put(self, text: str) -> None:
        """As if typed on the keys."""
        self.insert_text_at_cursor(text)

    def rub_out(self) -> None:
        """Take back the last character."""
        if self.cursor_position:
            self.delete(self.cursor_position - 1, self.cursor_position)

    def put_cursor_last(self) -> None:
        """To the end of what is there."""
        self.selection = Selection.cursor(len(self.value))
