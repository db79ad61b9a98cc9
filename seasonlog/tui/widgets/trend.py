"""The trend of one quantity at one place, with the limits each reading was judged by.

The plot library is loaded with this module: when a trend is first looked at, and not before.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from textual_plotext import PlotextPlot

from seasonlog.tui.words import line_names

if TYPE_CHECKING:
    from seasonlog.journal.queries import Reading

MARKS = ("A", "B", "C")
_DAY_MS = 86_400_000
_BIG = 1e9


class Trend(PlotextPlot):
    """Readings over days."""

    def show(self, readings: Sequence["Reading"], quantity: str, title: str) -> None:
        """Draw these readings, oldest first.

        Args:
            readings: Of one quantity and one target.
            quantity: Its name, for the names of three lines.
            title: Words over the plot, our own.
        """
        self.plt.clear_figure()
        self.plt.title(title)
        days = [r.wall_ms / _DAY_MS for r in readings]
        for number, values in enumerate(_lines(readings)):
            pairs = [(d, v) for d, v in zip(days, values, strict=True) if v is not None]
            if pairs:
                marker = "●" if len(line_names(quantity, _width(readings))) == 1 else MARKS[number]
                self.plt.scatter([d for d, _ in pairs], [v for _, v in pairs], marker=marker)
        self._band(days, readings)
        self._ticks(days)
        self.refresh()

    def _band(self, days: Sequence[float], readings: Sequence["Reading"]) -> None:
        for edge, name in (("low", "low"), ("high", "high")):
            pairs = [(d, float(v)) for d, r in zip(days, readings, strict=True) if (v := getattr(r, edge)) is not None]
            if pairs:
                pairs = pairs if len(pairs) > 1 else [(pairs[0][0] - 1, pairs[0][1]), (pairs[0][0] + 1, pairs[0][1])]
                self.plt.plot([d for d, _ in pairs], [v for _, v in pairs], marker="─", label=f"limit, {name}")

    def _ticks(self, days: Sequence[float]) -> None:
        shown = sorted({min(days), max(days)}) if days else []
        labels = [f"{datetime.fromtimestamp(d * _DAY_MS / 1000, UTC):%Y-%m-%d}" for d in shown]
        self.plt.xticks(shown, labels)


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
