"""Trends: readings over the years with the limit each was judged by, and every change of the device read."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from seasonlog.export.plots import FORMS, WIDTH, nice_step
from seasonlog.export.plots_time import MONTHS
from seasonlog.export.report_model import Area, Figure, Label, Line, Shape, Sign, Tone

ACROSS = 2
"""Trends side by side."""
_WIDE, _HIGH = WIDTH / ACROSS, 138.0
_LINE = 10.0
"""From one line of words to the next."""
_To = Callable[[float], float]
_OnDay = Callable[[date], float]


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """One reading of a trend."""

    on: date
    values: tuple[float, ...]
    """One, or one a line; not finite when over range."""
    low: float | None
    high: float | None
    tone: Tone
    word: str


@dataclass(frozen=True, slots=True)
class TrendPlot:
    """Readings of one quantity at one place."""

    name: str
    unit: str
    points: tuple[TrendPoint, ...]
    """Oldest first."""
    changes: tuple[tuple[date, str], ...] = ()
    """When a device was changed, and to what."""


@dataclass(frozen=True, slots=True)
class _Panel:
    """Where one trend stands in the picture [units]."""

    left: float
    right: float
    top: float
    bottom: float


def trends(plots: Sequence[TrendPlot], caption: str) -> Figure:
    """Several trends in one picture, two in a row.

    Args:
        plots: Each with one reading at least.
        caption: What they are of.
    """
    shapes = [shape for number, plot in enumerate(plots) for shape in _trend(plot, _panel(number))]
    rows = -(-len(plots) // ACROSS)
    return Figure(caption, ". ".join(map(_words, plots)), WIDTH, rows * _HIGH, tuple(shapes))


def _panel(number: int) -> _Panel:
    left, top = (number % ACROSS) * _WIDE, (number // ACROSS) * _HIGH
    return _Panel(left + 38.0, left + _WIDE - 56.0, top + 29.0, top + _HIGH - 26.0)


def _trend(plot: TrendPlot, at: _Panel) -> Iterator[Shape]:
    x, days = _across(plot, at)
    y, span = _up(plot, at)
    unit = f" [{plot.unit}]" if plot.unit else ""
    name = plot.name if len(plot.name) <= 54 else plot.name[:53] + "…"
    yield Label(at.left - 36.0, at.top - 14.0, f"{name}{unit}", size=10.5, is_bold=True)
    yield from _limits(plot, at, x, y)
    yield from _ticks(span, at, y)
    yield from _days(days, at, x)
    yield from _devices(plot, at, x)
    yield from _points(plot, x, y)


def _across(plot: TrendPlot, at: _Panel) -> tuple[_OnDay, tuple[date, date]]:
    every = [point.on for point in plot.points] + [on for on, _ in plot.changes]
    first, last = min(every), max(every)
    air = max((last - first).days // 16, 4)
    first, last = first - timedelta(days=air), last + timedelta(days=air)
    whole = (last - first).days
    return (lambda on: at.left + (at.right - at.left) * (on - first).days / whole), (first, last)


def _up(plot: TrendPlot, at: _Panel) -> tuple[_To, tuple[float, float]]:
    edges = [edge for p in plot.points for edge in (p.low, p.high) if edge is not None]
    every = [v for p in plot.points for v in p.values if math.isfinite(v)] + edges or [0.0, 1.0]
    least, most = min(every), max(every)
    air = 0.12 * (most - least) or abs(most) * 0.1 or 1.0
    least, most = (0.0 if least >= 0.0 and least - air < 0.0 else least - air), most + air
    return (lambda value: at.bottom - (at.bottom - at.top) * (value - least) / (most - least)), (least, most)


def _ticks(span: tuple[float, float], at: _Panel, y: _To) -> Iterator[Shape]:
    least, most = span
    step = nice_step(most - least, 3)
    for number in range(math.ceil(least / step - 1e-9), math.floor(most / step + 1e-9) + 1):
        place = y(number * step)
        yield Line(at.left, place, at.right, place, "faint", 0.5)
        yield Label(at.left - 4.0, place + 3.2, f"{number * step:.5g}", "end", "soft", 9.8)


def _days(days: tuple[date, date], at: _Panel, x: _OnDay) -> Iterator[Shape]:
    first, last = days
    months = [date(year, month, 1) for year in range(first.year, last.year + 1) for month in range(1, 13)]
    inside = [each for each in months if first <= each <= last]
    for each in inside[:: max(1, math.ceil(len(inside) / 4))]:
        yield Line(x(each), at.bottom, x(each), at.bottom + 3.0, "soft", 0.8)
        yield Label(x(each), at.bottom + 12.0, f"{MONTHS[each.month - 1]} {each.year}", "middle", "soft", 9.8)
    yield Line(at.left, at.bottom, at.right, at.bottom, "soft", 0.8)


def _limits(plot: TrendPlot, at: _Panel, x: _OnDay, y: _To) -> Iterator[Shape]:
    """Each limit holds from its own reading half way to those beside it."""
    places = [x(point.on) for point in plot.points]
    cuts = [at.left, *((a + b) / 2 for a, b in pairwise(places)), at.right]
    for point, (left, right) in zip(plot.points, pairwise(cuts), strict=True):
        edges = [edge for edge in (point.low, point.high) if edge is not None]
        if edges:
            top = at.top if point.high is None else y(point.high)
            bottom = at.bottom if point.low is None else y(point.low)
            yield Area(left, top, right - left, bottom - top, "pass_ground", 0.7)
        for edge in edges:
            yield Line(left, y(edge), right, y(edge), "bad", 1.2, "5 3")
    last = plot.points[-1]
    named = [(edge, word) for edge, word in ((last.low, "low"), (last.high, "high")) if edge is not None]
    close = len(named) == 2 and abs(y(named[0][0]) - y(named[1][0])) < _LINE
    for (edge, word), aside in zip(named, (_LINE / 2, -_LINE / 2) if close else (0.0, 0.0), strict=False):
        yield Label(at.right + 4.0, y(edge) + 3.2 + aside, f"{word} {edge:.4g}", ink="bad", size=9.6)


def _devices(plot: TrendPlot, at: _Panel, x: _OnDay) -> Iterator[Shape]:
    for on, words in plot.changes:
        yield Line(x(on), at.top - 8.0, x(on), at.bottom, "unsure", 1.4, "2 2")
        side = "end" if x(on) > (at.left + at.right) / 2 else "start"
        yield Label(x(on) + (-3.0 if side == "end" else 3.0), at.top - 2.0, words[:44], side, "unsure", 9.2)


def _points(plot: TrendPlot, x: _OnDay, y: _To) -> Iterator[Shape]:
    """Joined as long as they are of one device; each line by itself."""
    drawn = [[(x(p.on), y(v)) for v in p.values if math.isfinite(v)] for p in plot.points]
    for (here, there), (before, after) in zip(pairwise(drawn), pairwise(plot.points), strict=True):
        same_device = not any(before.on < on <= after.on for on, _ in plot.changes)
        if same_device and len(here) == len(there):
            for (x1, y1), (x2, y2) in zip(here, there, strict=True):
                yield Line(x1, y1, x2, y2, "accent", 1.1)
    for point, places in zip(plot.points, drawn, strict=True):
        for at_x, at_y in places:
            yield Sign(at_x, at_y, FORMS[point.tone], point.tone, 3.6)


def _words(plot: TrendPlot) -> str:
    changed = "".join(f"; {on.isoformat()} {words}" for on, words in plot.changes)
    read = "; ".join(f"{p.on.isoformat()} {' / '.join(f'{v:.5g}' for v in p.values)} {p.word}" for p in plot.points)
    return f"{plot.name} in {plot.unit}: {read}{changed}"
