"""The trend of one quantity at one place, with the limits each reading was judged by.

The plot library is loaded with this module: when a trend is first looked at, and not before.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from textual_plotext import PlotextPlot

if TYPE_CHECKING:
    from seasonlog.journal.queries import Reading

MARKS = ("A", "B", "C")
ONE = "●"
APART = 0.02
"""Three lines closer together than this part of their size are drawn as one mark."""
_DAY_MS = 86_400_000
_BIG = 1e9


class Trend(PlotextPlot):
    """Readings over days."""

    def show(self, readings: Sequence["Reading"]) -> None:
        """Draw these readings of one quantity and one target, oldest first."""
        self.plt.clear_figure()
        days = [r.wall_ms / _DAY_MS for r in readings]
        lines = _lines(readings)
        for number, values in enumerate(lines):
            pairs = [(d, v) for d, v in zip(days, values, strict=True) if v is not None]
            if pairs:
                marker = ONE if _are_one(lines) else MARKS[number]
                self.plt.scatter([d for d, _ in pairs], [v for _, v in pairs], marker=marker)
        for edge in ("low", "high"):
            self._edge(days, [getattr(r, edge) for r in readings])
        self._ticks(days)
        self.refresh()

    def _edge(self, days: Sequence[float], edges: Sequence[str | None]) -> None:
        pairs = [(day, float(edge)) for day, edge in zip(days, edges, strict=True) if edge is not None]
        if len(pairs) == 1:  # one reading: its limit still shows as a line
            ((day, edge),) = pairs
            pairs = [(day - 1, edge), (day + 1, edge)]
        if pairs:
            self.plt.plot([day for day, _ in pairs], [edge for _, edge in pairs], marker="─")

    def _ticks(self, days: Sequence[float]) -> None:
        shown = sorted({min(days), max(days)}) if days else []
        labels = [f"{datetime.fromtimestamp(d * _DAY_MS / 1000, UTC):%Y-%m-%d}" for d in shown]
        self.plt.xticks(shown, labels)


def _are_one(lines: Sequence[Sequence[float | None]]) -> bool:
    """One line only, or three that lie so close that their marks would cover each other."""
    together = [[v for v in values if v is not None] for values in zip(*lines, strict=True)]
    return all(max(v) - min(v) <= APART * abs(max(v)) for v in together if v)


def _width(readings: Sequence["Reading"]) -> int:
    return max((1 if isinstance(r.value, str) else len(r.value) for r in readings), default=1)


def _lines(readings: Sequence["Reading"]) -> list[list[float | None]]:
    return [[_number(r, line) for r in readings] for line in range(_width(readings))]


def _number(reading: "Reading", line: int) -> float | None:
    values = (reading.value,) if isinstance(reading.value, str) else reading.value
    if line >= len(values):
        return None
    value = float("inf") if values[line] == "OL" else float(values[line])
    return value if value < _BIG else None
