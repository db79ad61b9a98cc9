"""A limit drawn as a scale: zones named by words and signs, and the reading or the three lines marked on it.

Each cell is coloured by the verdict a reading there would get, so the picture cannot disagree with the rule.
"""

from collections.abc import Callable, Mapping, Sequence
from itertools import groupby

from rich.segment import Segment
from textual.geometry import Size
from textual.reactive import reactive
from textual.strip import Strip
from textual.widget import Widget

from seasonlog.domain.limit import Limit, judge
from seasonlog.domain.verdict import Verdict
from seasonlog.tui.words import number

ZONES: Mapping[Verdict, tuple[str, str, tuple[str, ...]]] = {
    Verdict.PASS: ("pass", " ", ("PASS",)),
    Verdict.NEAR_PASS: ("near-pass", "~", ("NEAR PASS", "NEAR")),
    Verdict.CANNOT_TELL: ("unsure", "?", ("CANNOT TELL",)),
    Verdict.NEAR_FAIL: ("near-fail", "≈", ("NEAR FAIL", "NEAR")),
    Verdict.FAIL: ("fail", "×", ("FAIL",)),
}
"""Class, sign and words of each zone; the longest word that fits is written into it."""
MARGIN = 0.4
"""How far the scale goes beyond the outermost edges, in parts of what lies between them."""
HEIGHT = 4
Marker = tuple[str, float]
"""What is written beside the arrow, a line's name or the number read; and the reading in the limit's unit."""


def span(limit: Limit) -> tuple[float, float]:
    """The values at the ends of the scale. An open side reaches to zero, or well beyond the last edge."""
    known = (limit.fail_low, limit.low, limit.pass_low, limit.pass_high, limit.high, limit.fail_high)
    edges = [edge for edge in known if edge is not None]
    least, most = min(edges), max(edges)
    gap = most - least
    if limit.low is not None and limit.high is not None:
        room = gap * MARGIN or 1.0
        return least - room, most + room
    start = 0.0 if least > 0 else least - (gap or abs(least) or 1.0)
    return start, most + (most - start) * MARGIN


def zones(limit: Limit, width: int) -> list[Verdict]:
    """The verdict at the middle of each cell."""
    start, end = span(limit)
    step = (end - start) / width
    return [judge(start + step * (cell + 0.5), limit) for cell in range(width)]


def place(value: float, limit: Limit, width: int) -> int:
    """The cell of a reading; -1 and `width` when it lies beyond the ends."""
    start, end = span(limit)
    if value < start:
        return -1
    return width if value >= end else min(int((value - start) / (end - start) * width), width - 1)


class BandScale(Widget):
    """The scale."""

    COMPONENT_CLASSES = {
        f"scale--{name}" for name in ("pass", "near-pass", "unsure", "near-fail", "fail", "number", "mark")
    }

    limit: reactive[Limit | None] = reactive(None)
    markers: reactive[tuple[Marker, ...]] = reactive(())
    unit: reactive[str] = reactive("")
    in_unit: Callable[[float], float] = staticmethod(lambda value: value)

    def show(self, limit: Limit | None, unit: str, in_unit: Callable[[float], float]) -> None:
        """Draw a limit.

        Args:
            limit: In its own unit; None draws nothing.
            unit: The unit people read here.
            in_unit: From the limit's unit to that.
        """
        self.unit, self.in_unit, self.markers = unit, in_unit, ()
        self.limit = limit if limit is not None and not limit.missing and _has_edges(limit) else None
        self.set_class(self.limit is not None, "-shown")
        self.refresh()

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Numbers, zones, two lines of marks."""
        return HEIGHT

    def render_line(self, y: int) -> Strip:
        """One of the four lines."""
        width = self.size.width
        if self.limit is None or y >= HEIGHT or width < 8:
            return Strip.blank(width, self.visual_style.rich_style)
        if y == 0:
            return self._styled(self._numbers(self.limit, width), "number", width)
        if y == 1:
            return self._zones(self.limit, width)
        rows = mark_rows([(name, place(value, self.limit, width)) for name, value in self.markers], width)
        return self._styled(rows[y - 2], "mark", width)

    def _styled(self, text: str, name: str, width: int) -> Strip:
        style = self.get_visual_style(f"scale--{name}").rich_style
        return Strip([Segment(text, style)]).adjust_cell_length(width, style)

    def _numbers(self, limit: Limit, width: int) -> str:
        line = [" "] * width
        line[width - len(self.unit) :] = self.unit
        for edge in (limit.low, limit.high, limit.pass_low, limit.pass_high, limit.fail_low, limit.fail_high):
            if edge is not None:
                text = number(self.in_unit(edge))
                at = min(max(place(edge, limit, width) - len(text) // 2, 0), width - len(text))
                if all(c == " " for c in line[max(at - 1, 0) : at + len(text) + 1]):
                    line[at : at + len(text)] = text
        return "".join(line)

    def _zones(self, limit: Limit, width: int) -> Strip:
        segments = []
        for verdict, run in groupby(zones(limit, width)):
            cells = len(list(run))
            zone, sign, words = ZONES[verdict]
            word = next((f" {word} " for word in words if cells >= len(word) + 2), "")
            style = self.get_visual_style(f"scale--{zone}").rich_style
            segments.append(Segment(word.center(cells, sign), style))
        return Strip(segments).adjust_cell_length(width)


def _has_edges(limit: Limit) -> bool:
    return limit.low is not None or limit.high is not None


def mark_rows(placed: Sequence[tuple[str, int]], width: int) -> tuple[str, str]:
    """Arrows under the cells, each followed by the names that belong to it; a second line where they would collide."""
    rows = ([" "] * width, [" "] * width)
    together: dict[int, str] = {}
    for name, cell in placed:
        together[cell] = together.get(cell, "") + (f" {name}" if together.get(cell) else name)
    for cell, names in sorted(together.items()):
        text, at = _mark(cell, names, width)
        row = next((r for r in rows if all(c == " " for c in r[max(at - 1, 0) : at + len(text) + 1])), rows[1])
        row[at : at + len(text)] = text
    return "".join(rows[0])[:width], "".join(rows[1])[:width]


def _mark(cell: int, names: str, width: int) -> tuple[str, int]:
    if cell < 0:
        return f"◄{names}", 0
    if cell >= width:
        return f"{names}►", width - len(names) - 1
    return (f"▲{names}", cell) if cell + len(names) < width else (f"{names}▲", cell - len(names))
