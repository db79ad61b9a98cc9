"""Help: what the screen is for, in plain words, and its keys. Both come from the screen itself."""

from textual.app import ComposeResult
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Static

from seasonlog.tui.commands import bindings_of
from seasonlog.tui.screens.text import TextSheet


class HelpSheet(TextSheet):
    """Explains the screen below it."""

    HELP = "This sheet explains the screen below it. Escape closes it."

    def __init__(self, about: Screen[object]) -> None:
        super().__init__(Content("Help"), Content(getattr(about, "HELP", "")))
        self.about = about

    def body(self) -> ComposeResult:
        """Words, then keys."""
        yield from super().body()
        yield Static(self._keys(type(self.about)), classes="help-keys")
        yield Static(Content("EVERYWHERE"), classes="help-head")
        yield Static(self._keys(type(self.app)), classes="help-keys")

    def _keys(self, owner: type) -> Content:
        lines = []
        for binding in bindings_of(owner):
            key = self.app.get_key_display(binding)
            words = binding.tooltip or binding.description
            name = Content.assemble((f" {key} ", "bold $tone-hot on $key"), " ", (binding.description, "bold"))
            lines += [name, Content.styled(words, "$soft")]
        return Content("\n").join(lines)
