"""The wiring of a circuit drawn terminal by terminal, and that drawing as plain text."""

import textwrap
from itertools import pairwise

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing_ladder import draw_rungs
from seasonlog.faults.drawing_power import draw_power, draw_transformer
from seasonlog.faults.drawing_sheet import WIDTH, Cell, Part, Sheet
from seasonlog.faults.drawing_words import assumed, cautions, notes, plate, title

_STEPS = {(0, -1): 1, (1, 0): 2, (0, 1): 4, (-1, 0): 8}
"""Up, right, down, left."""
_BOX = dict(enumerate(" │─└││┌├─┘─┴┐┤┬┼"))
"""Directions in which a wire leaves a cell, added up -> its character."""
_ASCII = {1: "|", 4: "|", 5: "|", 2: "-", 8: "-", 10: "-"}
"""The same; everything else is a plus sign."""


def drawing(circuit: Circuit) -> Sheet:
    """The whole drawing on the grid, without the words above and below it."""
    sheet = Sheet()
    last = draw_power(sheet, circuit)
    transformer = last + 3
    draw_transformer(sheet, circuit, transformer)
    draw_rungs(sheet, circuit, transformer + 3, transformer + 7)
    return sheet


def wiring_text(circuit: Circuit, ascii_only: bool = False) -> str:
    """The wiring as plain text, no line wider than 76 columns, ended by a line feed.

    Args:
        circuit: From `circuit_of`.
        ascii_only: For a terminal or printer without box-drawing characters.
    """
    above = [title(circuit), *_wrapped(plate(circuit)), ""]
    below = notes(circuit, "Stars" if ascii_only else "Dots"), cautions(circuit), assumed(circuit)
    said = [line for part in below for line in _listed(part)]
    lines = [*above, *_drawn(drawing(circuit), ascii_only), *said]
    text = "\n".join(line.rstrip() for line in lines) + "\n"
    return text.encode("ascii", "replace").decode() if ascii_only else text


def _listed(paragraphs: tuple[str, ...]) -> list[str]:
    lines = [line for paragraph in paragraphs for line in _wrapped(paragraph)]
    return ["", *lines] if lines else []


def _wrapped(paragraph: str) -> list[str]:
    return textwrap.wrap(paragraph, WIDTH, subsequent_indent="  ")


def _drawn(sheet: Sheet, ascii_only: bool) -> list[str]:
    cells = {cell: _corner(ways, ascii_only) for cell, ways in wire_cells(sheet).items()}
    for (x, top), (_, bottom) in sheet.links:
        cells |= {(x, y): ":" for y in range(top + 1, bottom)}
    for part in sheet.parts:
        for down, row in enumerate(part.picture(ascii_only)):
            _put(cells, row, (part.at[0], part.at[1] + down))
    for label in sheet.labels:
        _put(cells, label.text, label.start)
    for mark in sheet.marks:
        cells[mark.at] = "*" if ascii_only else "●"
        _put(cells, mark.name, (mark.label_at[0] - len(mark.name) // 2, mark.label_at[1]))
    return ["".join(cells.get((x, y), " ") for x in range(WIDTH)) for y in range(sheet.rows)]


def _put(cells: dict[Cell, str], text: str, at: Cell) -> None:
    cells |= {(at[0] + along, at[1]): char for along, char in enumerate(text) if char != " "}


def _corner(ways: int, ascii_only: bool) -> str:
    return _ASCII.get(ways, "+") if ascii_only else _BOX[ways]


def wire_cells(sheet: Sheet) -> dict[Cell, int]:
    """Every cell a wire runs through, and the directions it leaves in: up 1, right 2, down 4, left 8, added up."""
    found: dict[Cell, int] = {}
    for path in sheet.wires:
        for one, other in pairwise(path):
            _lay(found, one, other)
    for part in sheet.parts:
        for end in part.ends:
            _meet(found, part, end)
    return found


def _meet(found: dict[Cell, int], part: Part, end: Cell) -> None:
    """The wire at a part that lies above or below its end."""
    (x, y), (width, _) = part.at, part.size
    if x <= end[0] < x + width:
        found[end] = found.get(end, 0) | (4 if end[1] < y else 1)


def _lay(found: dict[Cell, int], one: Cell, other: Cell) -> None:
    step = tuple((b > a) - (b < a) for a, b in zip(one, other, strict=True))
    here, way, back = one, _STEPS[step[0], step[1]], _STEPS[-step[0], -step[1]]
    while here != other:
        found[here] = found.get(here, 0) | way
        here = (here[0] + step[0], here[1] + step[1])
        found[here] = found.get(here, 0) | back
