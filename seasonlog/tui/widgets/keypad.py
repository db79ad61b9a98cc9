"""A keypad on the screen for readings: digits, point, minus, over range, delete, and one key that goes on or saves."""

from dataclasses import dataclass
from typing import NamedTuple

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

COLUMNS, ROWS = 4, 4
GO = "go"
DELETE = "delete"
EXTRA = "extra"
_LAYOUT = (
    ("7", "8", "9", DELETE),
    ("4", "5", "6", "-"),
    ("1", "2", "3", GO),
    ("0", ".", EXTRA, GO),
)


class Cell(NamedTuple):
    """A key's place in cells of the widget."""

    key: str
    left: int
    right: int
    top: int
    bottom: int


class Keypad(Widget):
    """Sixteen places to tap, one key of them two rows high."""

    COMPONENT_CLASSES = {"keypad--key", "keypad--go", "keypad--down"}

    go_words: reactive[str] = reactive("SAVE")
    """What the big key does now."""
    extra_words: reactive[str] = reactive("OL")
    """Over range, or the stopwatch."""
    down: reactive[str] = reactive("")
    """The key under the finger."""

    @dataclass
    class Tapped(Message):
        """A key was tapped."""

        key: str

    def cells(self) -> list[Cell]:
        """Every key with its place; the big key once."""
        columns = [self.size.width * i // COLUMNS for i in range(COLUMNS + 1)]
        rows = [self.size.height * i // ROWS for i in range(ROWS + 1)]
        found: dict[str, Cell] = {}
        for y, row in enumerate(_LAYOUT):
            for x, key in enumerate(row):
                cell = Cell(key, columns[x], columns[x + 1], rows[y], rows[y + 1])
                found[key] = found[key]._replace(bottom=cell.bottom) if key in found else cell
        return list(found.values())

    def words(self, key: str) -> str:
        """What stands on a key."""
        return {GO: self.go_words, DELETE: "DEL", "-": "−", EXTRA: self.extra_words}.get(key, key)

    def render_line(self, y: int) -> Strip:
        """The faces of the keys that this line crosses; a face ends half a line above the next."""
        ground = self.visual_style.rich_style
        segments: list[Segment] = []
        for cell in sorted((c for c in self.cells() if c.top <= y < c.bottom), key=lambda c: c.left):
            segments += self._face(cell, y, ground)
        return Strip(segments).adjust_cell_length(self.size.width, ground)

    def _face(self, cell: Cell, y: int, ground: Style) -> list[Segment]:
        name = "down" if cell.key == self.down else "go" if cell.key == GO else "key"
        face = self.get_visual_style(f"keypad--{name}").rich_style
        width = cell.right - cell.left - 1
        if y == cell.bottom - 1:
            edge = Style(color=face.bgcolor, bgcolor=ground.bgcolor)
            return [Segment("▀" * width, edge), Segment(" ", ground)]
        middle = (cell.top + cell.bottom - 1) // 2
        text = self.words(cell.key) if y == middle else ""
        return [Segment(f"{text:^{width}.{width}}", face), Segment(" ", ground)]

    def key_at(self, x: int, y: int) -> str:
        """The key under a point, or empty."""
        return next((c.key for c in self.cells() if c.left <= x < c.right and c.top <= y < c.bottom), "")

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """The key gives way under the finger."""
        self.down = self.key_at(event.x, event.y)

    def on_mouse_up(self) -> None:
        """And comes back."""
        self.down = ""

    def on_leave(self) -> None:
        """The finger slid off."""
        self.down = ""

    def on_click(self, event: events.Click) -> None:
        """A tap."""
        event.stop()
        key = self.key_at(event.x, event.y)
        if key:
            self.post_message(self.Tapped(key))
