"""The wiring drawing of a circuit as one page of SVG: black on white, text as text, nothing from outside."""

import re
import textwrap
from collections.abc import Callable, Iterator
from html import escape

from seasonlog.faults.circuit import Circuit
from seasonlog.faults.drawing import drawing
from seasonlog.faults.drawing_sheet import WIDTH, Cell, Label, Mark, Part, Sheet
from seasonlog.faults.drawing_words import CAUTION, assumed, cautions, notes, plate, title

COLUMN, ROW, MARGIN = 9.0, 18.0, 32.0
"""Units of the picture per cell of the sheet, and around it."""
NOTE_ROW, NOTE_WIDTH = 13.0, 124
"""Units per line of words below the drawing, and its characters."""
RADIUS = 9.0
"""Of a coil or lamp."""
HEAD = 52.0
"""Units the title takes."""
ASPECT = 11.0 / 8.5
"""Of the page, a US letter."""
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Source: Char of XML 1.0."""
STYLE = (
    "text{font-family:Helvetica,Arial,sans-serif;font-size:11px;fill:#000}"
    ".title{font-size:17px;font-weight:bold}.plate{font-size:11.5px}.point{font-size:12px;font-weight:bold}"
    ".note{font-size:10px}.head{font-weight:bold}"
    ".wire,.part{stroke:#000;stroke-width:1.4;fill:none;stroke-linecap:round;stroke-linejoin:round}"
    ".filled{fill:#fff}.thin{stroke:#000;stroke-width:1;fill:none}.link{stroke:#000;stroke-dasharray:3 3;fill:none}"
)


def wiring_svg(circuit: Circuit) -> str:
    """The wiring as an SVG document of one page.

    Args:
        circuit: From `circuit_of`.
    """
    sheet = drawing(circuit)
    top = MARGIN + HEAD
    body = [*_head(circuit), f'<g transform="translate({MARGIN:g} {top:g})">', *_drawn(sheet), "</g>"]
    words, bottom = _words(circuit, top + sheet.rows * ROW + 22.0)
    width = 2 * MARGIN + WIDTH * COLUMN
    height = max(bottom + MARGIN, width * ASPECT)
    name = _safe(title(circuit))
    return "\n".join([
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="8.5in" height="11in" viewBox="0 0 {width:g} {height:g}" '
        f'role="img" aria-label="{name}">',
        f"<title>{name}</title>", f"<style>{STYLE}</style>",
        f'<rect width="{width:g}" height="{height:g}" fill="#fff"/>',
        *body, *words, "</svg>", "",
    ])  # fmt: skip


def _safe(text: str) -> str:
    return escape(_FORBIDDEN.sub("\ufffd", text))


def _text(text: str, x: float, y: float, kind: str = "", anchor: str = "") -> str:
    extra = f' class="{kind}"' if kind else ""
    extra += f' text-anchor="{anchor}"' if anchor else ""
    return f'<text x="{x:g}" y="{y:g}"{extra}>{_safe(text)}</text>'


def _head(circuit: Circuit) -> list[str]:
    right = MARGIN + WIDTH * COLUMN
    return [
        _text(title(circuit), MARGIN, MARGIN + 12.0, "title"),
        _text(plate(circuit), MARGIN, MARGIN + 29.0, "plate"),
        f'<path class="thin" d="M{MARGIN:g} {MARGIN + 37.0:g}H{right:g}"/>',
    ]


def _words(circuit: Circuit, top: float) -> tuple[list[str], float]:
    """What stands below the drawing, and where it ends."""
    lines: list[str] = []
    for paragraph in (*notes(circuit), *cautions(circuit), *assumed(circuit)):
        for line in textwrap.wrap(paragraph, NOTE_WIDTH):
            lines.append(_text(line, MARGIN, top, "note").replace(CAUTION, f'<tspan class="head">{CAUTION}</tspan>'))
            top += NOTE_ROW
        top += 4.0
    return lines, top


def _at(cell: Cell) -> tuple[float, float]:
    """The middle of a cell."""
    return (cell[0] + 0.5) * COLUMN, (cell[1] + 0.5) * ROW


def _drawn(sheet: Sheet) -> Iterator[str]:
    for path in sheet.wires:
        yield f'<path class="wire" d="M{"L".join("{:g} {:g}".format(*_at(cell)) for cell in path)}"/>'
    for ends in sheet.links:
        yield f'<path class="link" d="M{"L".join("{:g} {:g}".format(*_at(cell)) for cell in ends)}"/>'
    for part in sheet.parts:
        yield from _SYMBOLS[part.kind](part)
    yield from map(_label, sheet.labels)
    for mark in sheet.marks:
        yield from _mark(mark)


def _label(label: Label) -> str:
    x, y = _at(label.at)
    return _text(label.text, x, y + 4.0, anchor="middle")


def _mark(mark: Mark) -> Iterator[str]:
    x, y = _at(mark.at)
    yield f'<circle cx="{x:g}" cy="{y:g}" r="3"/>'
    x, y = _at(mark.label_at)
    yield _text(mark.name, x, y + 4.0, "point", "middle")


def _path(data: str, kind: str = "part") -> str:
    return f'<path class="{kind}" d="{data}"/>'


def _span(part: Part) -> tuple[float, float, float, float]:
    """Where a part in a row of wire takes over from the wire, its left and right edge, and its height on the page."""
    x, y = _at(part.at)
    width = part.size[0]
    return x - COLUMN, x - COLUMN / 2, x + (width - 0.5) * COLUMN, y


def _stubs(part: Part, left: float, right: float) -> str:
    """The wire up to both edges of a part."""
    start, _, edge, y = _span(part)
    return f"M{start:g} {y:g}H{left:g}M{right:g} {y:g}H{edge + COLUMN / 2:g}"


def _contact(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    left, right = left + 7.0, right - 7.0
    yield _path(f"{_stubs(part, left, right)}M{left:g} {y - 8:g}v16M{right:g} {y - 8:g}v16")
    if part.kind == "closed":
        yield _path(f"M{left - 4:g} {y + 9:g}L{right + 4:g} {y - 9:g}")


def _fuse(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    yield _path(f"{_stubs(part, left, right)}M{left:g} {y - 4:g}H{right:g}v8H{left:g}zM{left:g} {y:g}H{right:g}")


def _terminals(part: Part, left: float, right: float) -> str:
    _, _, _, y = _span(part)
    return "".join(f'<circle class="part filled" cx="{x:g}" cy="{y:g}" r="2.6"/>' for x in (left, right))


def _breaker(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    left, right = left + 3.0, right - 3.0
    yield _path(f"{_stubs(part, left, right)}M{left:g} {y - 6:g}Q{(left + right) / 2:g} {y - 15:g} {right:g} {y - 6:g}")
    yield _terminals(part, left, right)


def _switch(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    left, right = left + 3.0, right - 3.0
    arm = {"jumper": f"M{left:g} {y:g}H{right:g}", "switch": f"M{left:g} {y:g}L{right - 2:g} {y - 10:g}"}
    yield _path(_stubs(part, left, right))
    if part.kind == "float":
        middle = (left + right) / 2
        yield _path(f"M{left:g} {y:g}L{right - 1:g} {y + 9:g}M{middle + 1:g} {y + 5:g}v6")
        yield f'<circle class="part filled" cx="{middle + 1:g}" cy="{y + 14:g}" r="4"/>'
    else:
        yield _path(arm[part.kind])
    yield _terminals(part, left, right)


def _round(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    middle = (left + right) / 2
    yield _path(_stubs(part, middle - RADIUS, middle + RADIUS))
    yield f'<circle class="part" cx="{middle:g}" cy="{y:g}" r="{RADIUS:g}"/>'
    yield _text(part.letter, middle, y + 4.0, "point", "middle")


def _form_c(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    left, right = left + COLUMN / 2, right - COLUMN / 2
    yield _path(f"{_stubs(part, left, right)}M{left:g} {y:g}L{right:g} {y + ROW - 3:g}")
    yield _terminals(part, left, right)
    yield f'<circle class="part filled" cx="{right:g}" cy="{y + ROW:g}" r="2.6"/>'


def _transformer(part: Part) -> Iterator[str]:
    start, left, right, y = _span(part)
    end, turns = right + COLUMN / 2, 8
    turn = (right - left) / turns
    for row, sweep, core in ((y, 0, y + ROW - 2), (y + 2 * ROW, 1, y + ROW + 2)):
        bumps = "".join(f"a{turn / 2:g} {turn / 2:g} 0 0 {sweep} {turn:g} 0" for _ in range(turns))
        yield _path(f"M{start:g} {row:g}H{left:g}{bumps}H{end:g}M{left:g} {core:g}H{right:g}")


def _element(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    yield _path(f"{_stubs(part, left, right)}M{left:g} {y - 6:g}H{right:g}v12H{left:g}z")


def _element_down(part: Part) -> Iterator[str]:
    x, y = _at(part.at)
    x, top, bottom = x + COLUMN, y - ROW / 2, y + 1.5 * ROW
    box = f"M{x - 6:g} {top + 2:g}h12V{bottom - 2:g}h-12z"
    yield _path(f"M{x:g} {y - ROW:g}V{top + 2:g}{box}M{x:g} {bottom - 2:g}V{y + 2 * ROW:g}")


def _ground(part: Part) -> Iterator[str]:
    x, y = _at(part.at)
    x, y = x + COLUMN, y - 4.0
    yield _path(f"M{x:g} {y - ROW + 4:g}V{y:g}M{x - 10:g} {y:g}h20M{x - 6.5:g} {y + 4:g}h13M{x - 3:g} {y + 8:g}h6")


def _arrow(part: Part) -> Iterator[str]:
    start, left, right, y = _span(part)
    tip, base = (left, right) if part.kind == "from" else (right, left)
    end = right + COLUMN / 2 if part.kind == "from" else start
    yield _path(f"M{base:g} {y - 5:g}L{tip:g} {y:g}L{base:g} {y + 5:g}M{tip:g} {y:g}H{end:g}")


def _water(part: Part) -> Iterator[str]:
    _, left, right, y = _span(part)
    waves = 9
    half = (right - left) / waves / 2
    yield _path(f"M{left:g} {y:g}" + f"q{half / 2:g} -4 {half:g} 0t{half:g} 0" * waves, "thin")


_SYMBOLS: dict[str, Callable[[Part], Iterator[str]]] = {
    "open": _contact, "closed": _contact, "fuse": _fuse, "breaker": _breaker, "switch": _switch, "float": _switch,
    "jumper": _switch, "round": _round, "form_c": _form_c, "transformer": _transformer, "element": _element,
    "element_down": _element_down, "ground": _ground, "from": _arrow, "to": _arrow, "water": _water,
}  # fmt: skip
