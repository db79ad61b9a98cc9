"""The trends of a report: each quantity of a tower over the years as `services.trends` tells it, drawn."""

import math
from collections.abc import Iterator

from seasonlog.domain.trend import Trend
from seasonlog.domain.trend import TrendPoint as Read
from seasonlog.domain.units_shown import unit_words
from seasonlog.domain.verdict import Verdict
from seasonlog.export.plots_trend import TrendPlot, TrendPoint, trends
from seasonlog.export.report_model import Badge, Block, Notice, Tone
from seasonlog.services import reports_words as say
from seasonlog.services import trends as service
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_tower import TowerRecord

LEAST_DAYS = 2
"""Days with a reading that make a trend."""
MOST_POINTS = 40
"""Newest readings drawn in one."""
ON_A_PICTURE = 4
CAPTION = (
    "Readings that stand, with the limit each was judged by (dashed) and devices fitted (dotted); a circle is a pass, "
    "a diamond near, a ring cannot tell, a cross a fail."
)
_QUIET = frozenset({"off_amps", "off_terminal_volts", "thermometer_ice_point_degf", "ice_depth_in", "trace_amps"})
"""Readings that are nothing or tell of the day alone: no trend is to be seen in them."""


def of_tower(book: Logbook, record: TowerRecord) -> tuple[Block, ...]:
    """What a person must look at, then each quantity read on several days at one place, four to a picture."""
    found = [t.as_read() for t in service.trends(book, record.tower) if t.quantity not in _QUIET]
    look = tuple(record.words.text(words) for t in found for words in t.concerns)
    plots = [plot for t in found for plot in _plots(t, record)]
    notice = (Notice(Badge("!", "TO BE LOOKED AT", Tone.NEAR), look),) if look else ()
    parts = [plots[at : at + ON_A_PICTURE] for at in range(0, len(plots), ON_A_PICTURE)]
    figures = (
        trends(part, f"{f'Part {number} of {len(parts)}.' if number > 1 else CAPTION}")
        for number, part in enumerate(parts, 1)
    )
    return (*notice, *figures)


def _name(found: Trend) -> str:
    return found.says + (f", {found.target}" if found.target else "")


def _plots(found: Trend, record: TowerRecord) -> Iterator[TrendPlot]:
    read = [point for point in found.points if point.on <= record.on][-MOST_POINTS:]
    if len({point.on for point in read}) < LEAST_DAYS or not any(math.isfinite(v) for p in read for v in p.values):
        return
    points = tuple(map(_point, read))
    fitted = tuple(
        (mark.on, f"new {mark.says.replace(' put in: ', ' ')}")
        for mark in found.marks
        if points[0].on < mark.on <= points[-1].on
    )
    yield TrendPlot(_name(found), unit_words(found.unit), points, fitted)


def _point(read: Read) -> TrendPoint:
    badge = say.VERDICTS[Verdict(read.verdict)]
    return TrendPoint(read.on, read.values, read.low, read.high, badge.tone, badge.word)
