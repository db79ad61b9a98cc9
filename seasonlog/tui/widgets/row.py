"""One entry of a list, and how it is laid out: symbol and title, marks at the right, words below.

Pure layout on plain content; the list widget only paints the lines it is given.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from textual.content import Content

from seasonlog.tui.wording import CALM, Look

NOTHING = Content("")
GAP = Content("   ")
EDGE, EDGE_END = "▌", "▘"
INDENT = 5
"""Edge bar, space, symbol of two cells, space."""
LEAST_TITLE = 14
"""Cells a title keeps before the marks go to a line of their own."""


@dataclass(frozen=True, slots=True)
class Row:
    """One entry."""

    key: str
    """What is opened; empty when nothing is."""
    title: Content
    words: Content = field(default=NOTHING)
    marks: tuple[Content, ...] = ()
    """Words at the right; none is ever broken over two lines."""
    look: Look = CALM
    heading: bool = False

    @property
    def can_open(self) -> bool:
        """May the cursor stand on it."""
        return bool(self.key) and not self.heading


def heading(text: str) -> Row:
    """A line that names what follows."""
    return Row("", Content(text), heading=True)


def laid_out(row: Row, width: int, height: int | None = None) -> list[Content]:
    """The row's lines.

    Args:
        row: The row.
        width: Cells across.
        height: Exactly so many lines, the last one shortened where it must be; None: as many as it takes.
    """
    if row.heading:
        return [NOTHING] * max((height or 0) - 1, 1) + [_heading(row, width)]
    lines = list(_lines(row, max(width - INDENT, 8)))
    if height is not None and len(lines) > height:
        lines = [*lines[: height - 1], _shortened(lines[height - 1], max(width - INDENT - 2, 1))]
    lines += [NOTHING] * ((height or 0) - len(lines))
    return [_gutter(row, line, first=i == 0, last=i == len(lines) - 1) for i, line in enumerate(lines)]


def _shortened(line: Content, width: int) -> Content:
    """The whole words of a line that goes on, and that it does."""
    whole = line.rstrip()
    kept = whole.truncate(width)
    if kept.cell_length < whole.cell_length and " " in kept.plain.strip():
        kept = kept[: kept.plain.rindex(" ")]
    return kept.rstrip(" .,;:·") + " …"


def _heading(row: Row, width: int) -> Content:
    text = row.title.truncate(width - 2, ellipsis=True)
    rest = max(width - text.cell_length - 2, 0)
    return Content.assemble((f" {text.plain} ", "bold $soft"), ("─" * rest, "$line"))


def _lines(row: Row, width: int) -> Iterator[Content]:
    marks = GAP.join(row.marks)
    room = width - marks.cell_length - 2
    if not marks:
        yield from row.title.stylize("bold").wrap(width)
    elif row.title.cell_length <= room or room >= LEAST_TITLE * 2:
        title = row.title.stylize("bold").truncate(room, ellipsis=True)
        yield title.pad_right(width - title.cell_length - marks.cell_length) + marks
    else:
        yield from row.title.stylize("bold").wrap(width)
        yield from _mark_lines(row.marks, width)
    if row.words:
        yield from row.words.stylize_before("$soft").wrap(width)


def _mark_lines(marks: tuple[Content, ...], width: int) -> Iterator[Content]:
    line = NOTHING
    for mark in marks:
        longer = line + GAP + mark if line else mark
        if line and longer.cell_length > width:
            yield line
            longer = mark
        line = longer
    yield line


def _gutter(row: Row, line: Content, *, first: bool, last: bool) -> Content:
    symbol = f"{row.look.symbol:<2}" if first else "  "
    edge = EDGE_END if last else EDGE  # half a line free, so that one row ends before the next begins
    return Content.assemble((f"{edge} ", row.look.ink), (f"{symbol} ", f"bold {row.look.ink}"), line)
