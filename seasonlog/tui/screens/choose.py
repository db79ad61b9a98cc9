"""Choose one of a few."""

from collections.abc import Sequence

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from seasonlog.tui.screens.sheet import Sheet
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList

FEW = 5
"""More rows than this and the sheet takes the height there is; the list scrolls in it."""


class ChooseSheet(Sheet[str]):
    """A list; the key of the row chosen is the answer."""

    HELP = "Tap one line, or move with the arrow keys and press Enter. Escape leaves things as they were."
    AUTO_FOCUS = "RowList"

    def __init__(self, title: Content, rows: Sequence[Row], words: str = "", start: str = "") -> None:
        super().__init__(title)
        self._rows = rows
        self._words = words
        self._start = start

    def body(self) -> ComposeResult:
        """Words, then the list."""
        if self._words:
            yield Static(Content(self._words), classes="sheet-words")
        yield RowList(classes="choices")

    def on_mount(self) -> None:
        """Fill the list."""
        self.set_class(len(self._rows) > FEW, "-long")
        rows = self.query_one(RowList)
        rows.show(self._rows)
        if self._start:
            self.call_after_refresh(rows.go_to, self._start)

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        event.stop()
        self.dismiss(event.key)
