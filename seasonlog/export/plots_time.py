"""A season drawn week by week: when it may freeze, the windows of its visits, what was done in them."""

from collections.abc import Iterator
from dataclasses import dataclass

from seasonlog.export.plots import WIDTH
from seasonlog.export.report_model import Area, Figure, Label, Line, Shape, Sign

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
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
    day: str
    """That day."""
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
            Label(min(x, WIDTH - 26.0), bottom + 12.0, plot.day, "middle", size=9.5),
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
    yield Label(0.0, 31.0, "may freeze (shaded)", size=9.5, ink="soft")


def _months(plot: SeasonPlot, bottom: float) -> Iterator[Shape]:
    for week, month in plot.months:
        yield Line(_week_x(week), 6.0, _week_x(week), bottom, "faint", 0.7)
        yield Label(_week_x(week) + 3.0, 13.0, MONTHS[month - 1], ink="soft", size=9.5)


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
