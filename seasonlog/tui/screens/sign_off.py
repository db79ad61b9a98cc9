"""Sign-off: what still stands in the way, who did it, who received it. Refused while anything is open."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Input, Static

from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress
from seasonlog.errors import SeasonlogError
from seasonlog.services import attachments, closing
from seasonlog.tui import visit_sheets as sheets
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.step_page import answer_words, of_step
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.field import Field
from seasonlog.tui.wording import VERDICTS, counted, say

if TYPE_CHECKING:
    from seasonlog.tui.screens.visit import VisitScreen

NOBODY = "Say who received it, or NOT AVAILABLE, or in which words it was declined."


class SignOffScreen(SeasonScreen):
    """The end of a visit that was carried out."""

    BINDINGS = [
        Binding("f7", "changes", "Changes", tooltip="Restore what is still in place"),
        Binding("f9", "not_available", "Absent", tooltip="The customer was not available to receive it"),
        Binding("f10", "sign", "Sign", tooltip="Sign: done by you, received by the name given"),
    ]
    HELP = (
        "Sign-off closes the visit. Done by is you. Received by is the customer's name; or not available; or "
        "declined, with their words. While a required step is unanswered or a temporary change is in place it "
        "is refused, and says which. A visit that cannot be finished closes as incomplete instead (End, on "
        "the visit's screen)."
    )

    def __init__(self, visit: "VisitScreen") -> None:
        super().__init__()
        self.visit_screen = visit

    @property
    def at(self) -> Progress:
        """The visit as it stands."""
        return self.visit_screen.at_desk.at

    def headings(self) -> tuple[Content, ...]:
        """Tower and what this is."""
        return (say(self.at.visit.tower, "bold") + Content("  Sign off"),)

    def body(self) -> ComposeResult:
        """What was found, what stands in the way, names, the button."""
        with VerticalScroll(id="sign", can_focus=False):
            yield Static(summary(self.at), id="summary")
            yield Static(hindrances(self.at), id="hindrances")
            yield from self._photos()
            yield BigButton(Content("Go to the first open step"), id="first", classes="small")
            yield Static(Content.assemble(("DONE BY  ", "bold $soft"), say(self.book.who, "bold")), id="done-by")
            yield Field(label="Received by (customer's name)", id="received")
            yield BigButton(Content("NOT AVAILABLE"), id="absent")
            yield Field(label="or declined, in their words", id="declined")
        yield Static(Content(""), id="sign-wrong", classes="wrong")
        yield BigButton(Content("SIGN OFF"), id="do-sign", classes="-go")

    def _photos(self) -> ComposeResult:
        """Photos still wanted; they may come after the signature, and none is a hindrance."""
        missing = attachments.wanted(self.book, self.at)
        if missing:
            words = f"◉ {counted(len(missing), 'photo')} wanted, also after signing: {'; '.join(missing)}"
            yield Static(say(words, "$tone-cold"), id="photos")

    def on_mount(self) -> None:
        """The first thing to do."""
        first = self.query_one("#first", BigButton)
        first.display = any(i.step.required for i in self.at.remaining)
        (first if first.display else self.query_one("#received", Field)).focus(scroll_visible=False)

    def redraw(self) -> None:
        """A change was restored meanwhile."""
        self.query_one("#hindrances", Static).update(hindrances(self.at))

    @on(BigButton.Pressed)
    async def _pressed(self, event: BigButton.Pressed) -> None:
        event.stop()
        if event.button.id == "first":
            self.app.pop_screen()
            await self.visit_screen.action_following()
        elif event.button.id == "absent":
            self.action_not_available()
        else:
            self.action_sign()

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_sign()

    @on(Input.Changed)
    def _changed(self) -> None:
        self._refuse("")

    def _refuse(self, sentence: str) -> None:
        self.query_one("#sign-wrong", Static).update(say(sentence))

    def action_changes(self) -> None:
        """Restore what is still in place."""
        sheets.changes(self.visit_screen, self.redraw)

    def action_not_available(self) -> None:
        """Nobody to receive it."""
        received = self.query_one("#received", Field)
        received.value = closing.NOT_AVAILABLE
        received.put_cursor_last()
        self.query_one("#do-sign").focus()

    def action_sign(self) -> None:
        """Sign; a refusal says why and nothing is lost."""
        declined = self.query_one("#declined", Field).value
        received = closing.DECLINED if declined.strip() else self.query_one("#received", Field).value
        if not received.strip() and not self.at.hindrances:
            self._refuse(NOBODY)
            return
        try:
            at = closing.sign_off(self.book, self.at, received, declined)
        except SeasonlogError as error:
            self._refuse(str(error))
            return
        self.visit_screen.at_desk.saw(at)
        self.app.pop_screen()
        self.visit_screen.call_later(self.visit_screen.refresh_visit)


def summary(at: Progress) -> Content:
    """How the answers stand, verdict by verdict."""
    counts = [(look, sum(s.verdict is v for s in at.answers.values())) for v, look in VERDICTS.items()]
    parts = [look.badge(f" {count}") for look, count in counts if count]
    skipped = sum(s.is_skipped for s in at.answers.values())
    words = Content("   ").join([*parts, say(counted(skipped, "step") + " skipped", "bold")] if skipped else parts)
    return Content("\n").join([say(at.checklist.title, "bold"), words, *_not_proven(at)])


def _not_proven(at: Progress) -> Iterator[Content]:
    """What failed, then what could not be told."""
    unsure = (s for s in at.answers.values() if s.verdict is Verdict.CANNOT_TELL)
    for saved in (*at.bad, *unsure):
        instance = at.instance(saved.step)
        if instance and saved.verdict:
            look = VERDICTS[saved.verdict]
            mark = Content.styled(f"{look.symbol} ", look.ink)
            yield mark + say(of_step(instance.named, answer_words(at, saved)))


def hindrances(at: Progress) -> Content:
    """What stands in the way of signing; empty when nothing does."""
    lines = [Content.styled("✗ ", "bold $tone-fail") + say(words.replace("_", " "), "bold") for words in at.hindrances]
    if not lines:
        return Content.styled("✓ Nothing stands in the way.", "bold $tone-pass")
    return Content("\n").join([Content.styled("CANNOT BE SIGNED YET", "bold $tone-fail"), *lines])
