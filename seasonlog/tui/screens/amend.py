"""A correction after sign-off, before it is saved: what was observed first, what stands, what would stand, and why."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.verdict import Verdict
from seasonlog.tui.screens.sheet import Sheet
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.wording import VERDICTS, say
from seasonlog.tui.words import time_words

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Answer
    from seasonlog.services.corrections import Amendment


class AmendSheet(Sheet[bool]):
    """The answer is True once the person agrees; nothing is saved here."""

    HELP = (
        "Both answers with both verdicts. The new one is judged as on the day it was observed, by the limit of that "
        "day. Nothing is changed or lost: the first observation stays in the record, with who signed then, and every "
        "report shows that it was corrected, by whom and why. Escape leaves it as it was."
    )

    def __init__(self, title: str, found: "Amendment") -> None:
        super().__init__(say(title))
        self._found = found

    def body(self) -> ComposeResult:
        """From the first observation to what would stand."""
        yield Static(Content("\n\n").join(self._parts()))

    def _parts(self) -> Iterator[Content]:
        found, offset = self._found, self.book.around.clock.offset_minutes()
        first, last = found.chain[0], found.chain[-1]
        if first.uid != last.uid:
            yield _part("FIRST OBSERVED", _of(first, offset, found.units))
        yield _part("AS IT STANDS", _of(last, offset, found.units))
        new = Content.assemble(VERDICTS[found.judgement.verdict].badge(), "  ", say(found.new, "bold"))
        why = Content.assemble(("because: ", "$soft"), say(found.because, "bold"))
        yield _part("CORRECTED", Content("\n").join([new, why, say(found.says)]))
        yield Content.styled("The first observation stays in the record beside it, with who signed then.", "$soft")

    def buttons(self) -> ComposeResult:
        """Save it, or leave."""
        yield BigButton(Content("CORRECT IT"), id="go", classes="-go")
        yield from super().buttons()

    def on_mount(self) -> None:
        """The way on takes Enter."""
        self.add_class("-long")
        self.query_one("#go", BigButton).focus()

    def on_big_button_pressed(self, event: BigButton.Pressed) -> None:
        """Save it, or leave."""
        super().on_big_button_pressed(event)
        if event.button.id == "go":
            event.stop()
            self.dismiss(True)


def _part(name: str, words: Content) -> Content:
    return Content.assemble((f"{name}\n", "bold $soft"), words)


def _of(answer: "Answer", offset: int, units: str) -> Content:
    body = answer.body
    look = VERDICTS[Verdict(body["verdict"])]
    head = Content.assemble(look.badge(), "  ", say(answer.value_in(units), "bold"))
    return Content("\n").join([head, say(answer.says_in(units)), say(written(answer, offset), "$soft")])


def written(answer: "Answer", offset: int) -> str:
    """Who gave an answer and when; of a correction, why."""
    why = f", because: {answer.body['because']}" if answer.body.get("because") else ""
    return f"{answer.who}, {time_words(answer.wall_ms, offset)}{why}"


def history(chain: "tuple[Answer, ...]", offset: int, units: str) -> Content:
    """Under an answer that was corrected: every one before it, first observation first; nothing for any other."""
    lines = [
        say(f"{'First observed' if n == 0 else 'Then'}: {a.value_in(units)}", "bold")
        + say(f", {str(a.body['verdict']).replace('_', ' ')}. {written(a, offset)}")
        for n, a in enumerate(chain[:-1])
    ]
    return Content("\n").join(lines)
