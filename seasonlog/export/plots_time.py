"""The pictures of a report along a calendar: a season's strips, and a trend with its limits and devices."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from seasonlog.export.plots import FORMS, WIDTH, nice_step
from seasonlog.export.report_model import Area, Figure, Label, Line, Shape, Sign, Tone

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WEEK_SIGNS = {
    "done": ("dot", "pass", "done"), "overdue": ("cross", "bad", "overdue"), "open": ("square", "near", "due now"),
    "planned": ("diamond", "accent", "planned with a person"), "upcoming": ("ring", "calm", "to come"),
    "dropped": ("bar", "calm", "taken out"),
}  # fmt: skip
"""What stands in a week: form, colour, word."""


@dataclass(frozen=True, slots=True)
class StripLane:
    """One row of a season: its windows and what stands in its weeks."""

    name: str
    spans: tuple[tuple[int, int], ...]
    """First and last week of each window."""
    marks: tuple[tuple[int, str], ...]
    """(week, what: a key of `WEEK_SIGNS`)."""
    words: str
    """How it stands, in words."""


@dataclass(frozen=True, slots=True)
class SeasonPlot:
    """A season of 52 weeks."""

    caption: str
    months: tuple[tuple[int, int], ...]
    """(week, month) in which each month begins."""
    today: int | None
    """Week of the day asked about, if it is of this season."""
    frost: tuple[float, ...]
    """Chance of each week to lie between first and last freeze, 0 to 1; empty where not known."""
    usual: tuple[int, ...]
    """Weeks of the usual first and last freeze, where only these are known."""
    frost_words: str
    lanes: tuple[StripLane, ...]


_LEFT, _LANE, _HEAD = 150.0, 26.0, 38.0
_WEEK = (WIDTH - _LEFT) / 52.0


def season_strips(plot: SeasonPlot) -> Figure:
    """The season week by week: when it may freeze, each visit's window, what was done in it."""
    bottom = _HEAD + len(plot.lanes) * _LANE
    shapes = [*_frost(plot, bottom), *_months(plot, bottom)]
    for i, lane in enumerate(plot.lanes):
        shapes += _lane(lane, _HEAD + i * _LANE)
    if plot.today is not None:
        x = _week_x(plot.today) + _WEEK / 2
        shapes += [
            Line(x, _HEAD - 4.0, x, bottom, "ink", 1.4, "4 2"),
            Label(x, bottom + 12.0, "today", "middle", size=9.5),
        ]
    shapes += _key(plot, bottom + 30.0)
    alt = f"{plot.frost_words}. " + ". ".join(f"{lane.name}: {lane.words}" for lane in plot.lanes)
    return Figure(plot.caption, alt, WIDTH, bottom + 38.0, tuple(shapes))


def _week_x(week: int) -> float:
    return _LEFT + week * _WEEK


def _frost(plot: SeasonPlot, bottom: float) -> Iterator[Shape]:
    for week, share in enumerate(plot.frost):
        if share > 0.01:
            yield Area(_week_x(week), 18.0, _WEEK + 0.2, bottom - 18.0, "frost", round(0.05 + 0.25 * share, 3))
    if plot.usual:
        first, last = plot.usual
        yield Area(_week_x(first), 18.0, _week_x(last + 1) - _week_x(first), bottom - 18.0, "frost", 0.2)
    yield Label(0.0, 31.0, "may freeze (blue)", size=9.5, ink="soft")


def _months(plot: SeasonPlot, bottom: float) -> Iterator[Shape]:
    for week, month in plot.months:
        yield Line(_week_x(week), 6.0, _week_x(week), bottom, "faint", 0.7)
        yield Label(_week_x(week) + 3.0, 13.0, _MONTHS[month - 1], ink="soft", size=9.5)


def _lane(lane: StripLane, top: float) -> Iterator[Shape]:
    yield Line(0.0, top, WIDTH, top, "faint", 0.7)
    yield Label(0.0, top + 17.0, lane.name if len(lane.name) < 27 else lane.name[:25] + "…", size=11.0)
    for first, last in lane.spans:
        yield Area(_week_x(first), top + 16.0, _week_x(last + 1) - _week_x(first) - 1.0, 4.5, "accent", 0.45, 2.0)
    for week, what in lane.marks:
        form, ink, _ = WEEK_SIGNS[what]
        yield Sign(_week_x(week) + _WEEK / 2, top + 10.0, form, ink, 4.2)


def _key(plot: SeasonPlot, y: float) -> Iterator[Shape]:
    held = {what for lane in plot.lanes for _, what in lane.marks}
    x = 0.0
    for what, (form, ink, word) in WEEK_SIGNS.items():
        if what in held:
            yield Sign(x + 5.0, y - 3.5, form, ink, 4.0)
            yield Label(x + 14.0, y, word, ink="soft", size=9.5)
            x += 28.0 + 5.2 * len(word)
    yield Area(x, y - 5.0, 22.0, 4.5, "accent", 0.45, 2.0)
    yield Label(x + 28.0, y, "window: from the first to the last sensible day", ink="soft", size=9.5)


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


_X0, _X1, _Y0, _Y1 = 48.0, 640.0, 14.0, 150.0


def trend(plot: TrendPlot) -> Figure:
    """A trend with the limits each reading was judged by, and the changes of its device."""
    x, days = _across(plot)
    y, (least, most) = _up(plot)
    shapes = [*_ticks(least, most, y), *_days(days, x), *_limits(plot, x, y), *_devices(plot, x), *_points(plot, x, y)]
    caption = f"{plot.name} [{plot.unit}]: readings and the limits they were judged by"
    return Figure(caption, _trend_words(plot), WIDTH, 182.0, tuple(shapes))


_To = Callable[[float], float]


def _across(plot: TrendPlot) -> tuple[Callable[[date], float], tuple[date, date]]:
    every = [point.on for point in plot.points] + [on for on, _ in plot.changes]
    first, last = min(every), max(every)
    air = max((last - first).days // 20, 4)
    first, last = first - timedelta(days=air), last + timedelta(days=air)
    return (lambda on: _X0 + (_X1 - _X0) * (on - first).days / (last - first).days), (first, last)


def _up(plot: TrendPlot) -> tuple[_To, tuple[float, float]]:
    edges = [edge for p in plot.points for edge in (p.low, p.high) if edge is not None]
    every = [v for p in plot.points for v in p.values if math.isfinite(v)] + edges or [0.0, 1.0]
    least, most = min(every), max(every)
    air = 0.12 * (most - least) or abs(most) * 0.1 or 1.0
    least, most = least - air, most + air
    return (lambda value: _Y1 - (_Y1 - _Y0) * (value - least) / (most - least)), (least, most)


def _ticks(least: float, most: float, y: _To) -> Iterator[Shape]:
    step = nice_step(most - least, 4)
    for number in range(math.ceil(least / step), math.floor(most / step) + 1):
        at = y(number * step)
        yield Line(_X0, at, _X1, at, "faint", 0.6)
        yield Label(_X0 - 6.0, at + 3.5, f"{number * step:.6g}", "end", "soft", 9.5)


def _days(days: tuple[date, date], x: Callable[[date], float]) -> Iterator[Shape]:
    first, last = days
    months = [date(year, month, 1) for year in range(first.year, last.year + 1) for month in range(1, 13)]
    inside = [each for each in months if first <= each <= last]
    every = max(1, math.ceil(len(inside) / 9))
    for each in inside[::every]:
        yield Line(x(each), _Y1, x(each), _Y1 + 4.0, "soft", 0.8)
        yield Label(x(each), _Y1 + 15.0, f"{_MONTHS[each.month - 1]} {each.year}", "middle", "soft", 9.5)
    yield Line(_X0, _Y1, _X1, _Y1, "soft", 0.8)


def _limits(plot: TrendPlot, x: Callable[[date], float], y: _To) -> Iterator[Shape]:
    """Each limit holds from its own reading half way to those beside it."""
    at = [x(point.on) for point in plot.points]
    cuts = [_X0, *((a + b) / 2 for a, b in pairwise(at)), _X1]
    for point, left, right in zip(plot.points, cuts, cuts[1:], strict=False):
        for edge in (point.low, point.high):
            if edge is not None:
                yield Line(left, y(edge), right, y(edge), "bad", 1.3, "5 3")
        if point.low is not None or point.high is not None:
            top = _Y0 if point.high is None else y(point.high)
            bottom = _Y1 if point.low is None else y(point.low)
            yield Area(left, top, right - left, bottom - top, "pass_ground", 0.6)
    last = plot.points[-1]
    for edge, word in ((last.low, "low"), (last.high, "high")):
        if edge is not None:
            yield Label(_X1 + 5.0, y(edge) + 3.5, f"{word} {edge:.4g}", ink="bad", size=9.5)


def _devices(plot: TrendPlot, x: Callable[[date], float]) -> Iterator[Shape]:
    for on, words in plot.changes:
        yield Line(x(on), _Y0 - 8.0, x(on), _Y1, "unsure", 1.4, "2 2")
        yield Label(x(on) + 4.0, _Y0 - 3.0, words[:60], ink="unsure", size=9.5)


def _points(plot: TrendPlot, x: Callable[[date], float], y: _To) -> Iterator[Shape]:
    drawn = [[(x(p.on), y(v)) for v in p.values if math.isfinite(v)] for p in plot.points]
    for here, there in pairwise(drawn):
        if len(here) == len(there) and here:
            for (x1, y1), (x2, y2) in zip(here, there, strict=True):
                yield Line(x1, y1, x2, y2, "accent", 1.1)
    for point, places in zip(plot.points, drawn, strict=True):
        for at_x, at_y in places:
            yield Sign(at_x, at_y, FORMS[point.tone], point.tone, 4.4)


def _trend_words(plot: TrendPlot) -> str:
    changed = "".join(f"; {on.isoformat()} {words}" for on, words in plot.changes)
    read = "; ".join(f"{p.on.isoformat()} {' / '.join(f'{v:.5g}' for v in p.values)} {p.word}" for p in plot.points)
    return f"{plot.name} in {plot.unit}: {read}{changed}"
