"""A list that draws only what is on the screen: ten thousand towers cost no more than thirty.

Rows come whole (`show`), or by number from a function for long lists (`show_many`), which is asked again when the list
says `Wanted`. Very many rows are all of one height, so that none needs to be laid out before it is seen. One tap opens
a row; keys move and open.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from time import monotonic

from textual import events
from textual.binding import Binding
from textual.content import Content
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip
from textual.style import Style

from seasonlog.tui.widgets.paint import segments_of
from seasonlog.tui.widgets.row import Row, laid_out

MANY = 300
"""So many rows are shown each as high as it needs; more of them all in `LINES`."""
LINES, NARROW_LINES, NARROW = 3, 5, 60
"""Lines a row of very many takes, and below how many cells across it takes more."""
HEADING_LINES = 2
"""A free line and the heading; at the top of a list without the free line."""
SETTLES_S = 0.7
"""So long after rows moved by themselves a tap opens nothing: it was meant for what stood there before."""


class RowList(ScrollView, can_focus=True):
    """Rows of a title, marks and words."""

    BINDINGS = [
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "leaf(-1)", "Page up", show=False),
        Binding("pagedown", "leaf(1)", "Page down", show=False),
        Binding("home", "edge(-1)", "First", show=False),
        Binding("end", "edge(1)", "Last", show=False),
        Binding("enter", "open", "Open", show=False),
    ]
    COMPONENT_CLASSES = {"row-list--pick"}

    cursor: reactive[int] = reactive(-1, repaint=False)
    """Number of the picked row; -1 when there is none."""

    @dataclass
    class Opened(Message):
        """A row was tapped, or Enter pressed on it."""

        rows: "RowList"
        key: str

        @property
        def control(self) -> "RowList":
            """The list, for `@on` with a selector."""
            return self.rows

    @dataclass
    class Wanted(Message):
        """These rows came into view; who shows the list may now know more about them."""

        rows: "RowList"
        first: int
        last: int

        @property
        def control(self) -> "RowList":
            """The list, for `@on` with a selector."""
            return self.rows

    def __init__(
        self, *, id: str | None = None, classes: str | None = None, keeps_pick: bool = False, most_lines: int = 0
    ) -> None:
        """A list.

        Args:
            id: Id of the widget.
            classes: Its classes.
            keeps_pick: Show the picked row also while the keys go elsewhere.
            most_lines: Lines a row may take; 0: as many as it needs.
        """
        super().__init__(id=id, classes=classes)
        self._keeps_pick, self._most_lines = keeps_pick, most_lines
        self._row_at: Callable[[int], Row] = ().__getitem__
        self._count = 0
        self._height: int | None = None
        self._is_even = False
        self._headings: frozenset[int] = frozenset()
        """Of very many rows those that name what follows: they take no more lines than they need."""
        self._tops: Sequence[int] = [0]
        self._lines: dict[int, list[Content]] = {}
        self._asked = (-1, -1)
        self._moved = False
        self._held: _Place | None = None
        self._slipped_at = float("-inf")

    def hold(self) -> None:
        """What is shown next came by itself: the picked row stays picked, and the rows stay where they are."""
        last = self.scroll_offset.y + self.size.height
        at = self.cursor if 0 <= self.cursor < self._count else -1
        if not (at >= 0 and self.scroll_offset.y <= self._tops[at] < last):
            at = self._at_line(self.scroll_offset.y) if self._count else -1
        anchor = self._row_at(at) if 0 <= at < self._count else None
        line = self._tops[at] - self.scroll_offset.y if anchor else 0
        self._held = _Place(self.picked, anchor, line)

    def let_go(self) -> None:
        """What is shown next is asked for by the person again."""
        self._held = None

    def show(self, rows: Sequence[Row]) -> None:
        """Show these rows, each as high as it needs. A cursor that was moved stays on the row of the same key."""
        key = self.picked.key if self.picked and self._moved else ""
        self._row_at, self._count, self._height = list(rows).__getitem__, len(rows), None
        self._is_even = len(rows) > MANY
        self._headings = frozenset(i for i, row in enumerate(rows) if row.heading) if self._is_even else frozenset()
        self._lay_out()
        if self._held is not None:
            self._stay(self._held)
            return
        same = next((i for i, row in enumerate(rows) if row.can_open and row.key == key), -1)
        self.cursor = same if same >= 0 else self._nearest(min(max(self.cursor, 0), len(rows)) if key else 0, 1)
        self._show_cursor()

    def show_many(self, count: int, row_at: Callable[[int], Row], height: int | None = None) -> None:
        """Show `count` rows of one height, each made by `row_at` when it comes into view."""
        self._row_at, self._count, self._height = row_at, count, height
        self._is_even, self._headings = height is None, frozenset()
        self._lay_out()
        if self._held is not None:
            self._stay(self._held)
        self.cursor = self._nearest(min(max(self.cursor, 0), count - 1), 1)
        self._asked = (-1, -1)
        self.call_after_refresh(self._ask)

    def _stay(self, place: "_Place") -> None:
        """The picked row stays picked, and on its line of the screen; where it is gone, the one in its place is."""
        at = self._index_of(place.picked, self.cursor) if place.picked else -1
        self.cursor = at if at >= 0 else self._nearest(min(max(self.cursor, 0), self._count - 1), 1)
        anchor = self._index_of(place.anchor, self.cursor) if place.anchor else -1
        if anchor >= 0:
            self.scroll_to(y=self._tops[anchor] - place.line, animate=False, force=True)
        if anchor < 0 or self._tops[anchor] - self.scroll_offset.y != place.line:
            self._slipped_at = monotonic()

    def _index_of(self, row: Row, near: int) -> int:
        """Number of the row that stands for the same; looked for where it was first. -1: it is gone."""
        everywhere = (near, *range(self._count))
        return next((i for i in everywhere if 0 <= i < self._count and _is_same(self._row_at(i), row)), -1)

    def redraw(self) -> None:
        """Ask for the rows in view again: more is known about them now."""
        self._lines.clear()
        self.refresh()

    def go_to(self, key: str) -> None:
        """Put the cursor on the row of this key."""
        index = next((i for i in range(self._count) if self._row_at(i).key == key), -1)
        if index >= 0 and not (self._held and index == self.cursor):
            self._moved, self.cursor = True, index
            self.scroll_to(y=self._tops[index] - self.size.height // 2, animate=False, force=True)

    @property
    def picked(self) -> Row | None:
        """The row under the cursor."""
        return self._row_at(self.cursor) if 0 <= self.cursor < self._count else None

    @property
    def count(self) -> int:
        """How many rows there are."""
        return self._count

    def row(self, index: int) -> Row:
        """One row."""
        return self._row_at(index)

    def top_of(self, index: int) -> int:
        """First line of a row in the whole list."""
        return self._tops[index]

    def _lay_out(self) -> None:
        self._lines.clear()
        width = self.scrollable_content_region.width
        if self._is_even:
            self._height = NARROW_LINES if width < NARROW else LINES
        if self._headings and self._height is not None:
            self._tops = list(accumulate((self._even_height(i) for i in range(self._count)), initial=0))
        elif self._height is not None:
            self._tops = range(0, self._count * self._height + 1, self._height)
        else:
            tops = [0]
            for index in range(self._count):
                tops.append(tops[-1] + len(self._laid(index, width)))
            self._tops = tops
        self.virtual_size = Size(width, self._tops[-1] if self._count else 0)
        self.refresh()

    def _even_height(self, index: int) -> int:
        return (self._height or 0) if index not in self._headings else HEADING_LINES if index else HEADING_LINES - 1

    def _laid(self, index: int, width: int) -> list[Content]:
        found = self._lines.get(index)
        if found is None:
            height = None if index in self._headings else self._height
            found = laid_out(self._row_at(index), width, height)
            if self._most_lines and not self._row_at(index).heading and len(found) > self._most_lines:
                found = laid_out(self._row_at(index), width, self._most_lines)
            if height is None and index == 0 and self._row_at(0).heading:
                found = found[1:]
            self._lines[index] = found
        return found

    def _at_line(self, line: int) -> int:
        return bisect_right(self._tops, line) - 1

    def render_line(self, y: int) -> Strip:
        """One line of the list."""
        width = self.scrollable_content_region.width
        base = self.visual_style
        line = y + self.scroll_offset.y
        if not self._count or line >= self._tops[-1]:
            return Strip.blank(self.size.width, base.rich_style)
        index = self._at_line(line)
        content = self._laid(index, width)[line - self._tops[index]]
        if index == self.cursor and (self.has_focus or self._keeps_pick):
            return _strip(content.without_spans, self.get_visual_style("row-list--pick"), width)
        return _strip(content, base, width)

    def on_resize(self, event: events.Resize) -> None:
        """The lines break elsewhere now."""
        self._lay_out()
        self._show_cursor()
        self._ask()

    def watch_scroll_y(self, old_value: float, new_value: float) -> None:
        """Other rows came into view."""
        super().watch_scroll_y(old_value, new_value)
        self._ask()

    def _ask(self) -> None:
        if self._height is None or not self._count or not self.size.height:
            return
        first = self._at_line(self.scroll_offset.y)
        last = min(self._at_line(self.scroll_offset.y + self.size.height - 1), self._count - 1)
        if (first, last) != self._asked:
            self._asked = (first, last)
            self.post_message(self.Wanted(self, first, last))

    def watch_cursor(self) -> None:
        """Keep the picked row in view."""
        self._show_cursor()
        self.refresh()

    def _show_cursor(self) -> None:
        if not 0 <= self.cursor < self._count or self._held is not None:
            return
        first = self.cursor <= 3 and not any(self._row_at(i).can_open for i in range(self.cursor))
        start = 0 if first else self._tops[self.cursor]  # the heading above the first row comes into view with it
        height = self._tops[self.cursor + 1] - start
        self.scroll_to_region(Region(0, start, 1, height), animate=False, force=True)

    def _nearest(self, index: int, step: int) -> int:
        """The first row from `index` on, in the direction of `step`, that can be opened; else the cursor as it is."""
        at = index
        while 0 <= at < self._count:
            if self._row_at(at).can_open:
                return at
            at += step
        return self.cursor if 0 <= self.cursor < self._count else -1

    def action_move(self, step: int) -> None:
        """One row up or down."""
        self._moved = True
        if self.cursor < 0:
            self.scroll_relative(y=step, animate=False)
        elif self._count:
            self.cursor = self._nearest(self.cursor + step, step)

    def action_leaf(self, step: int) -> None:
        """One screen up or down."""
        self._moved = True
        if self.cursor < 0:
            self.scroll_relative(y=step * (self.size.height - 1), animate=False)
        elif self._count:
            line = self._tops[max(self.cursor, 0)] + step * max(self.size.height - 1, 1)
            index = min(max(self._at_line(max(line, 0)), 0), self._count - 1)
            self.cursor = self._nearest(index, -step if index in (0, self._count - 1) else step)

    def action_edge(self, step: int) -> None:
        """The first or the last row."""
        self._moved = True
        if self._count:
            self.cursor = self._nearest(0, 1) if step < 0 else self._nearest(self._count - 1, -1)

    def action_open(self) -> None:
        """Open the picked row."""
        if self.picked is not None and self.picked.can_open:
            self.post_message(self.Opened(self, self.picked.key))

    def on_click(self, event: events.Click) -> None:
        """A tap picks and opens."""
        line = event.get_content_offset_capture(self).y + self.scroll_offset.y
        if monotonic() - self._slipped_at < SETTLES_S:
            return
        if self._count and line < self._tops[-1]:
            index = self._at_line(line)
            if self._row_at(index).can_open:
                self._moved, self.cursor = True, index
                self.action_open()

    def on_focus(self) -> None:
        """The cursor shows where the keys go."""
        self.refresh()

    def on_blur(self) -> None:
        """The cursor steps back."""
        self.refresh()


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a person is in a list."""

    picked: Row | None
    anchor: Row | None
    """A row in view: the picked one, else the topmost."""
    line: int
    """Its first line on the screen."""


def _is_same(row: Row, other: Row) -> bool:
    """Both stand for the same thing: by their key, headings by their words."""
    return row.key == other.key if row.key or other.key else row.title.plain == other.title.plain


def _strip(content: Content, base: Style, width: int) -> Strip:
    return Strip(segments_of(content, base), content.cell_length).adjust_cell_length(width, base.rich_style)
