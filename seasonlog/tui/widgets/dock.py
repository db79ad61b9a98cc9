"""The answer area of a visit: one question, the widgets its answer takes, and a place for why it was not taken.

It shows and says what was asked for; it knows no rule. The screen tells it what to show and saves what it hands over.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static

from seasonlog.domain.answers import Raw
from seasonlog.domain.checklist import Step, StepKind
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.field import Field
from seasonlog.tui.widgets.keypad import DELETE, EXTRA, GO, Keypad
from seasonlog.tui.wording import say
from seasonlog.tui.words import line_names

PAIR, SHORT = 2, 24
"""Two short answers stand side by side."""
MANY = 5
"""So many answers stand closer, so that what is asked stays in view."""
READ = "read"
ANSWER = "answer:"
"""Prefix of the key of a button that answers."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One button."""

    key: str
    """What it does, or `answer:VALUE`."""
    words: Content
    style: str = ""
    """`-go` for the way on; `-small` for what is seldom wanted: these share a line."""


class Dock(Vertical, can_focus=True):
    """The answer area."""

    @dataclass
    class Asked(Message):
        """A button that does not answer was pressed."""

        key: str

    @dataclass
    class Given(Message):
        """An answer was handed in."""

        raw: Raw

    @dataclass
    class Typed(Message):
        """The fields changed; one text per field, empty ones too."""

        texts: tuple[str, ...]

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self._choices: Sequence[Choice] = ()
        self._timer_start: int | None = None
        self._field: Field | None = None

    def compose(self) -> ComposeResult:
        """A place for refusals over a place for the answer."""
        yield Static(Content(""), id="wrong", classes="wrong")
        yield Vertical(id="answer")

    async def _fill(self, *widgets: Widget, kind: str) -> None:
        for name in ("-keypad", "-buttons", "-text", "-pair"):
            self.set_class(name == f"-{kind}", name)
        self.can_focus = kind == "buttons"
        self._timer_start, self._field = None, None
        self.refuse("")
        place = self.query_one("#answer", Vertical)
        await place.remove_children()
        await place.mount(*widgets)

    async def show_buttons(self, choices: Sequence[Choice], words: Content | None = None) -> None:
        """Buttons, under words where there are any. With a way on, Enter takes it; an answer needs its own key."""
        self._choices = choices
        buttons = [BigButton(c.words, key=c.key, classes=c.style) for c in choices]
        shown = [VerticalScroll(Static(words), classes="dock-words", can_focus=False)] if words is not None else []
        main, small = [b for b in buttons if not b.has_class("-small")], [b for b in buttons if b.has_class("-small")]
        pair = len(main) == PAIR and max(c.words.cell_length for c in choices) < SHORT
        column = Vertical(*main, classes="-many" if len(main) >= MANY else "")
        rows = [Horizontal(*main) if pair else column, *([Horizontal(*small)] if small else [])]
        await self._fill(*shown, *rows, kind="buttons")
        way_on = next((b for b in buttons if b.has_class("-go")), None)
        (way_on or self).focus()

    async def show_text(self, value: str = "") -> None:
        """A line to type in and a button."""
        self._choices = ()
        save = BigButton(Content("SAVE"), key="save", classes="-go")
        await self._fill(Field(value, label="Words"), save, kind="text")
        self.query_one(Field).focus()

    async def show_reading(self, step: Step, unit: str) -> None:
        """One field or three, over a keypad."""
        names = line_names(step.quantity, 3 if step.kind is StepKind.THREE_LINES else 1)
        await self.show_fields(names, unit, "START" if step.kind is StepKind.TIMED else "OL")

    async def show_fields(self, names: Sequence[str], unit: str, extra: str) -> None:
        """Fields over a keypad, the unit at the last one.

        Args:
            names: What each field is called; empty for the usual name.
            unit: Unit of all of them.
            extra: What the keypad's odd key says.
        """
        self._choices = ()
        fields = [
            Field(label=name or "Reading", unit=unit if i == len(names) - 1 else "") for i, name in enumerate(names)
        ]
        for field in fields:
            field.passes = ":"  # no reading holds one, and it leads to the line for phrases
        keypad = Keypad()
        keypad.extra_words = extra
        await self._fill(Horizontal(*fields, classes="fields"), keypad, kind="keypad")
        self._name_go()
        fields[0].focus()

    def refuse(self, sentence: str) -> None:
        """Say why the answer was not taken; what was typed stays."""
        wrong = self.query_one("#wrong", Static)
        wrong.update(say(sentence))
        wrong.set_class(bool(sentence), "-shown")

    @property
    def fields(self) -> list[Field]:
        """The fields, in order."""
        return list(self.query(Field))

    @property
    def texts(self) -> tuple[str, ...]:
        """What stands in the fields."""
        return tuple(f.value for f in self.fields)

    def fill(self, texts: Sequence[str]) -> None:
        """Put what was said by phrase into the fields; empty texts leave theirs as they are."""
        for field, text in zip(self.fields, texts, strict=False):
            if text and field.value != text:
                field.value = text
                field.put_cursor_last()

    def take_focus(self) -> None:
        """The next keys answer: the first empty field, the way on, or the area itself."""
        empty = next((f for f in self.fields if not f.value.strip()), None)
        go = next(iter(self.query("BigButton.-go")), None)
        (empty or next(iter(self.fields), None) or go or self).focus()

    def pick(self, number: int) -> None:
        """Answer with the button of that number, from 1."""
        answers = [c for c in self._choices if c.key.startswith(ANSWER)]
        if 1 <= number <= len(answers):
            self._pressed(answers[number - 1].key)

    def pick_value(self, value: str) -> None:
        """Answer with the button of that value, if there is one."""
        if any(c.key == f"{ANSWER}{value}" for c in self._choices):
            self._pressed(f"{ANSWER}{value}")

    def _pressed(self, key: str) -> None:
        if key.startswith(ANSWER):
            self.post_message(self.Given(key.removeprefix(ANSWER)))
        elif key == "save":
            self.hand_in()
        else:
            self.post_message(self.Asked(key))

    def hand_in(self) -> None:
        """Hand over what was typed, or go to the first field that is still empty."""
        empty = next((f for f in self.fields if not f.value.strip()), None)
        if empty is not None and len(self.fields) > 1:
            empty.focus()
            return
        texts = self.texts
        self.post_message(self.Given(texts[0] if len(texts) == 1 else texts))

    def on_big_button_pressed(self, event: BigButton.Pressed) -> None:
        """A button."""
        event.stop()
        self._pressed(event.button.key)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.hand_in()

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        event.stop()
        self._name_go()
        self.post_message(self.Typed(self.texts))

    def _name_go(self) -> None:
        for keypad in self.query(Keypad):
            keypad.go_words = "NEXT" if any(not f.value.strip() for f in self._others()) else "SAVE"

    def _others(self) -> Iterator[Field]:
        return (f for f in self.fields if f is not self._field)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """The big key goes on to the next empty line, or saves; the other keys go where the cursor is or was."""
        if isinstance(event.widget, Field):
            self._field = event.widget
        self._name_go()

    @on(Keypad.Tapped)
    def _tapped(self, event: Keypad.Tapped) -> None:
        event.stop()
        field = self._field or self.fields[0]
        field.focus()
        if event.key == GO:
            self.hand_in()
        elif event.key == DELETE:
            field.rub_out()
        elif event.key == EXTRA:
            self._extra(field)
        else:
            field.put(event.key)

    def _extra(self, field: Field) -> None:
        keypad = self.query_one(Keypad)
        if keypad.extra_words == "OL":
            field.value = "OL"
            field.put_cursor_last()
        else:
            self.post_message(self.Asked("stopwatch"))

    def stopwatch(self, wall_ms: int) -> None:
        """Start it; the second time, the seconds between go into the field.

        Args:
            wall_ms: The clock now [ms].
        """
        keypad = self.query_one(Keypad)
        if self._timer_start is None:
            self._timer_start, keypad.extra_words = wall_ms, "STOP"
            return
        seconds = (wall_ms - self._timer_start) / 1000
        self._timer_start, keypad.extra_words = None, "START"
        self.fields[0].value = f"{seconds:.1f}"
        self.fields[0].put_cursor_last()
