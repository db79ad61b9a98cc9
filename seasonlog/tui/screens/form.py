"""Words that go into the record: one or a few lines, saved by the caller. What was typed stays until it is saved."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Input, Static

from seasonlog.errors import SeasonlogError
from seasonlog.tui.screens.sheet import Sheet
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.field import Field
from seasonlog.tui.wording import say

Typed = Mapping[str, str]
"""Field name to what was typed."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a form."""

    name: str
    label: str
    value: str = ""
    """What stands there at first."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a form is about."""

    title: str
    words: str = ""
    save: str = "Save"
    """What the button says."""
    stop: bool = False
    """Shown as a stop, not as a way on."""


class FormSheet(Sheet[bool]):
    """Lines to fill and save; the answer is True once saved, None when left."""

    HELP = (
        "Type the words and press Enter, or tap the button. Nothing is saved until then; Escape leaves it "
        "unsaved. If it cannot be saved, it says why and your words stay here."
    )
    AUTO_FOCUS = "Field"

    def __init__(self, asked: Asked, lines: Sequence[Line], save: Callable[[Typed], object]) -> None:
        super().__init__(say(asked.title))
        self._asked = asked
        self._lines = lines
        self._save = save

    def body(self) -> ComposeResult:
        """Words, lines, and a place for what went wrong."""
        if self._asked.words:
            yield Static(say(self._asked.words), classes="sheet-words")
        for line in self._lines:
            yield Field(line.value, label=line.label, id=f"line-{line.name}")
        yield Static(Content(""), classes="wrong")

    def buttons(self) -> ComposeResult:
        """Save or leave."""
        yield BigButton(Content(self._asked.save), id="save", classes="-stop" if self._asked.stop else "-go")
        yield from super().buttons()

    def on_big_button_pressed(self, event: BigButton.Pressed) -> None:
        """Save or leave."""
        super().on_big_button_pressed(event)
        if event.button.id == "save":
            event.stop()
            self.save()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        fields = list(self.query(Field))
        following = fields[fields.index(event.input) + 1 :] if isinstance(event.input, Field) else []
        if following:
            following[0].focus()
        else:
            self.save()

    def save(self) -> None:
        """Hand the words over; on a refusal they stay, with the reason."""
        typed = {line.name: self.query_one(f"#line-{line.name}", Field).value for line in self._lines}
        try:
            self._save(typed)
        except SeasonlogError as error:
            self.query_one(".wrong", Static).update(say(str(error)))
            return
        self.dismiss(True)
