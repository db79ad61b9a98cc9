"""The trends of a report: what was read of one quantity at one place over the seasons, with limits and new devices."""

import math
from collections.abc import Iterator, Sequence
from datetime import date

from seasonlog.domain.limits import QUANTITIES
from seasonlog.domain.units_shown import shown_as
from seasonlog.domain.verdict import Verdict
from seasonlog.export.plots_trend import TrendPlot, TrendPoint, trends
from seasonlog.export.report_model import Figure
from seasonlog.journal import report_queries
from seasonlog.journal.report_queries import StandingReading
from seasonlog.services import reports_words as say
from seasonlog.services.days import day
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_tower import TowerRecord
from seasonlog.services.reports_visit import number_or_over
from seasonlog.services.reports_words import SiteWords, plain

LEAST_DAYS = 2
"""Days with a reading that make a trend."""
MOST_POINTS = 40
"""Newest readings drawn in one."""
ON_A_PICTURE = 6
CAPTION = (
    "Readings that stand, with the limit each was judged by (dashed) and devices fitted (dotted); a circle is a pass, "
    "a diamond near, a ring cannot tell, a cross a fail."
)
_QUIET = frozenset({"off_amps", "off_terminal_volts", "thermometer_ice_point_degf", "ice_depth_in", "trace_amps"})
"""Readings that are nothing or tell of the day alone: no trend is to be seen in them."""


def of_tower(book: Logbook, record: TowerRecord) -> tuple[Figure, ...]:
    """Each quantity read on several days at one place, six to a picture."""
    plots = list(_plots(book, record))
    return tuple(
        trends(plots[at : at + ON_A_PICTURE], "The same of other readings." if at else CAPTION)
        for at in range(0, len(plots), ON_A_PICTURE)
    )


def _plots(book: Logbook, record: TowerRecord) -> Iterator[TrendPlot]:
    found: dict[tuple[str, str], list[StandingReading]] = {}
    for read in report_queries.standing_readings(book.db, record.tower):
        if read.quantity not in _QUIET and read.day <= record.on.isoformat():
            found.setdefault((read.quantity, read.target), []).append(read)
    for (quantity, target), every in found.items():
        points = tuple(_point(read, quantity, record.words) for read in every[-MOST_POINTS:])
        if len({p.on for p in points}) >= LEAST_DAYS and any(math.isfinite(v) for p in points for v in p.values):
            name = say.quantity_words(quantity) + (f", {target}" if target else "")
            yield TrendPlot(name, _shown(quantity, record.words)[0], points, _fitted(record, quantity, target, points))


def _shown(quantity: str, words: SiteWords) -> tuple[str, say.Convert]:
    return shown_as(QUANTITIES[quantity].unit if quantity in QUANTITIES else "", words.site.units)


def _point(read: StandingReading, quantity: str, words: SiteWords) -> TrendPoint:
    texts = [read.value] if isinstance(read.value, str) else read.value
    badge, convert = say.VERDICTS[Verdict(read.verdict)], _shown(quantity, words)[1]
    low, high = (None if edge is None else convert(float(edge)) for edge in (read.low, read.high))
    values = tuple(convert(number_or_over(text)) for text in texts)
    return TrendPoint(day(read.day), values, low, high, badge.tone, badge.word)


_TELLS_OF = {
    "line_amps": "heater", "ohms_line_to_line": "heater", "insulation_mohm": "heater", "bond_ohms": "heater",
    "cut_in_degf": "thermostat", "cut_out_degf": "thermostat", "contact_ohms": "thermostat",
    "control_volts": "contactor", "relay_drop_seconds": "level_device", "probe_plumb_deg": "level_device",
    "float_lead_mohm": "level_device", "float_lead_volts": "level_device", "trace_insulation_mohm": "trace",
}  # fmt: skip
"""Quantity to the position whose device it tells of; others tell of none."""


def _fitted(
    record: TowerRecord, quantity: str, target: str, points: Sequence[TrendPoint]
) -> tuple[tuple[date, str], ...]:
    """Devices fitted after the first reading that this quantity tells of."""
    position = _TELLS_OF.get(quantity)
    devices = (d for d in record.register.devices.values() if d.of == target and d.position == position)
    return tuple(
        (d.installed, " ".join(w for w in ("new", plain(d.position), d.maker, d.model, d.serial) if w))
        for d in devices
        if d.installed is not None and points[0].on < d.installed <= points[-1].on
    )
