"""Help: what the screen is for, in plain words, and its keys. Both come from the screen itself."""

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from seasonlog.tui.commands import bindings_of
from seasonlog.tui.screens.sheet import Sheet

KEY_CELLS = 12


class HelpSheet(Sheet[None]):
    """Explains the screen below it."""

    BINDINGS = [Binding("enter", "cancel", "Close", show=False)]
    HELP = "This sheet explains the screen below it. Escape closes it."
    CANCEL = "Close"

    def __init__(self, about: Screen[object]) -> None:
        super().__init__(Content("Help"))
        self.about = about

    def body(self) -> ComposeResult:
        """Words, then keys."""
        yield Static(Content(getattr(self.about, "HELP", "")))
        yield Static(self._keys(type(self.about)), classes="help-keys")
        yield Static(Content("EVERYWHERE"), classes="help-head")
        yield Static(self._keys(type(self.app)), classes="help-keys")

    def on_mount(self) -> None:
        """The arrow keys scroll."""
        self.add_class("-long")
        body = self.query_one(".sheet-body", VerticalScroll)
        body.can_focus = True
        body.focus()

    def _keys(self, owner: type) -> Content:
        lines = []
        for binding in bindings_of(owner):
            key = self.app.get_key_display(binding)
            words = binding.tooltip or binding.description
            lines.append(
                Content.assemble(
                    (f" {key} ", "bold $tone-hot on $key"), " ", (binding.description, "bold"), (f"\n{words}", "$soft")
                )
            )
        return Content("\n").join(lines)
