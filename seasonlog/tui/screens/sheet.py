"""A sheet over the screen: a question with few answers. Escape always leaves it as if it had not been asked."""

from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar, cast

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from seasonlog.services.logbook import Logbook
from seasonlog.tui.screens.base import STYLES
from seasonlog.tui.widgets.banner import DEMONSTRATION
from seasonlog.tui.widgets.big_button import BigButton

if TYPE_CHECKING:
    from seasonlog.tui.app import SeasonlogApp

Result = TypeVar("Result")


class Sheet(ModalScreen[Result | None], Generic[Result]):
    """A modal sheet with a title, a body and buttons."""

    CSS_PATH = STYLES
    BINDINGS = [
        Binding("escape", "cancel", "Close", tooltip="Leave this without an answer"),
        Binding("f1", "app.help", "Help", show=False, tooltip="What this is for, and its keys"),
    ]
    HELP: ClassVar[str] = ""
    CANCEL: ClassVar[str] = "Cancel"

    def __init__(self, title: Content) -> None:
        super().__init__()
        self.sheet_title = title

    @property
    def seasonlog(self) -> "SeasonlogApp":
        """The app, by its own type."""
        return cast("SeasonlogApp", self.app)

    @property
    def book(self) -> Logbook:
        """The log."""
        return self.seasonlog.book

    def compose(self) -> ComposeResult:
        """Title, body, buttons."""
        with Vertical(classes="sheet"):
            with Horizontal(classes="sheet-head"):
                yield Static(self.sheet_title, classes="sheet-title")
                if self.book.journal.is_demonstration:
                    yield Static(DEMONSTRATION, classes="demo")
            with VerticalScroll(classes="sheet-body", can_focus=False):
                yield from self.body()
            with Horizontal(classes="sheet-foot"):
                yield from self.buttons()

    def body(self) -> ComposeResult:
        """What is asked."""
        yield from ()

    def buttons(self) -> ComposeResult:
        """The way out, and more."""
        yield BigButton(Content(self.CANCEL), id="cancel")

    def on_big_button_pressed(self, event: BigButton.Pressed) -> None:
        """The way out."""
        if event.button.id == "cancel":
            event.stop()
            self.action_cancel()

    def action_cancel(self) -> None:
        """Close without an answer."""
        self.dismiss(None)
