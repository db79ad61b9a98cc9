"""The trend of one quantity at one place, with the limits each reading was judged by and a line at each new device.

The plot library is loaded with this module: when a trend is first looked at, and not before.
"""

import math
from collections.abc import Sequence
from datetime import UTC, datetime

from textual_plotext import PlotextPlot

from seasonlog.domain.trend import Trend as Found
from seasonlog.domain.trend import TrendPoint
from seasonlog.export.plots import nice_step

MARKS = ("A", "B", "C")
ONE = "●"
DEVICE_INK = "gray"
APART = 0.02
"""Three lines closer together than this part of their size are drawn as one mark."""
DAY_MS = 86_400_000
MOST_LABELS = 4
CELLS_A_LABEL = 14
ROWS_A_LABEL = 3


class Trend(PlotextPlot):
    """Readings over days."""

    _found: Found | None = None

    def on_resize(self) -> None:
        """How many days are named below depends on the width, which may be known only after the trend."""
        if self._found is not None:
            self.show(self._found)

    def show(self, found: Found) -> None:
        """Draw a trend; over range is left out, and the words beside it tell of it."""
        self._found = found
        self.plt.clear_figure()
        points = found.points
        days = [point.wall_ms / DAY_MS for point in points]
        lines = _lines(points)
        for number, values in enumerate(lines):
            pairs = [(d, v) for d, v in zip(days, values, strict=True) if v is not None]
            if pairs:
                marker = ONE if _are_one(lines) else MARKS[number]
                self.plt.scatter([d for d, _ in pairs], [v for _, v in pairs], marker=marker)
        for edges in ([point.low for point in points], [point.high for point in points]):
            self._edge(days, edges)
        self._devices(found, days)
        self._ticks(days)
        self._heights(points)
        self.refresh()

    def _edge(self, days: Sequence[float], edges: Sequence[float | None]) -> None:
        pairs = [(day, edge) for day, edge in zip(days, edges, strict=True) if edge is not None]
        if len(pairs) == 1:  # one reading: its limit still shows as a line
            ((day, edge),) = pairs
            pairs = [(day - 1, edge), (day + 1, edge)]
        if pairs:
            self.plt.plot([day for day, _ in pairs], [edge for _, edge in pairs], marker="─")

    def _devices(self, found: Found, days: Sequence[float]) -> None:
        """A line where a device was put in between the first reading and the last."""
        for mark in found.marks:
            at = datetime(mark.on.year, mark.on.month, mark.on.day, tzinfo=UTC).timestamp() * 1000 / DAY_MS
            if days and min(days) < at < max(days):
                self.plt.vline(at, DEVICE_INK)

    def _ticks(self, days: Sequence[float]) -> None:
        labels = min(max(self.size.width // CELLS_A_LABEL, 2), MOST_LABELS)
        shown: list[float] = sorted({min(days), max(days)}) if days else []
        if len(shown) == 2:
            first, last = shown
            shown = [first + (last - first) * part / (labels - 1) for part in range(labels)]
        texts = [f"{datetime.fromtimestamp(d * DAY_MS / 1000, UTC):%Y-%m-%d}" for d in shown]
        self.plt.xticks(shown, texts)

    def _heights(self, points: Sequence[TrendPoint]) -> None:
        """The limits, and round numbers between them, as many as there is room for."""
        every = [v for p in points for v in (*p.values, p.low, p.high) if v is not None and math.isfinite(v)]
        if not every or min(every) == max(every):
            return
        least, most = min(every), max(every)
        step = nice_step(most - least, max(self.size.height // ROWS_A_LABEL, 2))
        limits = {edge for edge in (points[-1].low, points[-1].high) if edge is not None}
        even = [number * step for number in range(math.ceil(least / step), math.floor(most / step) + 1)]
        marks = sorted(limits | {e for e in even if all(abs(e - edge) > step / 2 for edge in limits)})
        self.plt.yticks(marks, [f"{mark:.4g}" for mark in marks])


def _are_one(lines: Sequence[Sequence[float | None]]) -> bool:
    """One line only, or three that lie so close that their marks would cover each other."""
    together = [[v for v in values if v is not None] for values in zip(*lines, strict=True)]
    return all(max(v) - min(v) <= APART * abs(max(v)) for v in together if v)


def _lines(points: Sequence[TrendPoint]) -> list[list[float | None]]:
    width = max((len(point.values) for point in points), default=1)
    return [[_number(point, line) for point in points] for line in range(width)]


def _number(point: TrendPoint, line: int) -> float | None:
    value = point.values[line] if line < len(point.values) else math.inf
    return value if math.isfinite(value) else None
