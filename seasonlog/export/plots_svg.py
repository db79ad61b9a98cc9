"""A figure as SVG: text as text, nothing from outside."""

from collections.abc import Callable, Iterator
from html import escape
from math import sqrt

from seasonlog.export.report_look import INKS
from seasonlog.export.report_model import Area, Figure, Label, Line, Shape, Sign, shown

SCREEN_FONT = "system-ui,Segoe UI,Helvetica Neue,Arial,sans-serif"


def to_svg(figure: Figure, font: str = SCREEN_FONT) -> str:
    """The figure as an SVG element.

    Args:
        figure: What is drawn.
        font: Family of its words.
    """
    name = escape(shown(figure.alt), quote=True)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {figure.width:g} {figure.height:g}" '
        f'width="{figure.width:g}" height="{figure.height:g}" role="img" aria-label="{name}" font-family="{font}">'
    )
    return "".join([head, *(part for shape in figure.shapes for part in _drawn(shape)), "</svg>"])


def _drawn(shape: Shape) -> Iterator[str]:
    match shape:
        case Line():
            yield _line(shape)
        case Area():
            yield _area(shape)
        case Sign():
            yield _FORMS[shape.form](shape)
        case Label():
            yield _label(shape)


def _line(line: Line) -> str:
    dashes = f' stroke-dasharray="{line.dashes}"' if line.dashes else ""
    return (
        f'<line x1="{line.x1:.5g}" y1="{line.y1:.5g}" x2="{line.x2:.5g}" y2="{line.y2:.5g}" '
        f'stroke="{INKS[line.ink]}" stroke-width="{line.width:g}"{dashes}/>'
    )


def _area(area: Area) -> str:
    rounded = f' rx="{area.round:g}"' if area.round else ""
    return (
        f'<rect x="{area.x:.5g}" y="{area.y:.5g}" width="{max(area.width, 0.0):.5g}" height="{area.height:.5g}"'
        f'{rounded} fill="{INKS[area.ink]}" fill-opacity="{area.opacity:g}"/>'
    )


def _label(label: Label) -> str:
    weight = ' font-weight="bold"' if label.is_bold else ""
    anchor = f' text-anchor="{label.anchor}"' if label.anchor != "start" else ""
    words = escape(shown(label.text), quote=True)
    return (
        f'<text x="{label.x:.5g}" y="{label.y:.5g}" font-size="{label.size:g}" fill="{INKS[label.ink]}"'
        f"{weight}{anchor}>{words}</text>"
    )


def _dot(at: Sign) -> str:
    return f'<circle cx="{at.x:.5g}" cy="{at.y:.5g}" r="{at.size:g}" fill="{INKS[at.ink]}"/>'


def _ring(at: Sign) -> str:
    return (
        f'<circle cx="{at.x:.5g}" cy="{at.y:.5g}" r="{at.size:g}" fill="{INKS["ground"]}" '
        f'stroke="{INKS[at.ink]}" stroke-width="2"/>'
    )


def _cross(at: Sign) -> str:
    s, x, y = at.size, at.x, at.y
    data = f"M{x - s:.5g} {y - s:.5g}L{x + s:.5g} {y + s:.5g}M{x - s:.5g} {y + s:.5g}L{x + s:.5g} {y - s:.5g}"
    return f'<path d="{data}" stroke="{INKS[at.ink]}" stroke-width="2.4" fill="none"/>'


def _polygon(at: Sign, *corners: tuple[float, float]) -> str:
    points = " ".join(f"{at.x + dx * at.size:.5g},{at.y + dy * at.size:.5g}" for dx, dy in corners)
    return f'<polygon points="{points}" fill="{INKS[at.ink]}"/>'


def _square(at: Sign) -> str:
    return _polygon(at, (-1, -1), (1, -1), (1, 1), (-1, 1))


def _diamond(at: Sign) -> str:
    return _polygon(at, (0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0))


def _triangle(at: Sign) -> str:
    high = sqrt(3) / 2
    return _polygon(at, (0, -1.2), (1.2 * high, 0.8), (-1.2 * high, 0.8))


def _bar(at: Sign) -> str:
    return _polygon(at, (-0.28, -1.9), (0.28, -1.9), (0.28, 1.9), (-0.28, 1.9))


_FORMS: dict[str, Callable[[Sign], str]] = {
    "dot": _dot, "ring": _ring, "cross": _cross, "square": _square, "diamond": _diamond, "triangle": _triangle,
    "bar": _bar,
}  # fmt: skip
