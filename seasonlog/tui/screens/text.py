"""A page of text over the screen, to read."""

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.tui.screens.sheet import Sheet


class TextSheet(Sheet[None]):
    """Words that may be longer than the screen; the arrow keys scroll."""

    BINDINGS = [Binding("enter", "cancel", "Close", show=False)]
    HELP = "A page to read. The arrow keys scroll, Escape closes it."
    CANCEL = "Close"

    def __init__(self, title: Content, words: Content) -> None:
        super().__init__(title)
        self.words = words

    def body(self) -> ComposeResult:
        """The words."""
        yield Static(self.words)

    def on_mount(self) -> None:
        """The arrow keys scroll."""
        self.add_class("-long")
        body = self.query_one(".sheet-body", VerticalScroll)
        body.can_focus = True
        body.focus()
