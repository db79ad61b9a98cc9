"""Which part of a screen is shown, where there is no room for all: a row of places to tap, numbered for the keys."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rich.segment import Segment
from textual import events
from textual.message import Message
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

TALL = 3


class Segments(Widget):
    """Names side by side, one of them chosen."""

    COMPONENT_CLASSES = {"segments--name", "segments--chosen"}

    chosen: reactive[int] = reactive(0)
    names: reactive[tuple[str, ...]] = reactive(())
    """Our own words; `Readings|Reads` gives a shorter form for where the long one does not fit."""

    @dataclass
    class Chosen(Message):
        """Another part was asked for."""

        number: int

    def __init__(self, names: Sequence[str], *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.set_reactive(Segments.names, tuple(names))

    def _cells(self) -> list[tuple[int, int]]:
        count = max(len(self.names), 1)
        edges = [self.size.width * i // count for i in range(count + 1)]
        return list(pairwise(edges))

    def render_line(self, y: int) -> Strip:
        """Names; on a narrow screen three lines high."""
        middle = 1 if self.size.height >= TALL else 0
        cells = self._cells()
        words = self._words(min((end - start for start, end in cells), default=0) - 1)
        segments = []
        for number, (start, end) in enumerate(cells):
            name = "chosen" if number == self.chosen else "name"
            style = self.get_visual_style(f"segments--{name}").rich_style
            mark = "▌" if number == self.chosen else " "
            text = words[number] if y == middle else ""
            segments.append(Segment(f"{mark}{text:^{end - start - 1}.{end - start - 1}}", style))
        return Strip(segments).adjust_cell_length(self.size.width, self.visual_style.rich_style)

    def _words(self, room: int) -> list[str]:
        """All with their number where all fit, else all short."""
        whole = [f"{number} {name.partition('|')[0]}" for number, name in enumerate(self.names, 1)]
        if all(len(each) <= room for each in whole):
            return whole
        return [name.rpartition("|")[2] for name in self.names]

    def on_click(self, event: events.Click) -> None:
        """A tap chooses."""
        for number, (start, end) in enumerate(self._cells()):
            if start <= event.x < end:
                self.post_message(self.Chosen(number))
