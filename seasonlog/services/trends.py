"""Trends: any quantity of a tower over the years, with its limits, its devices, and what a person must look at."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any

from seasonlog.domain.answers import number_of
from seasonlog.domain.limits import QUANTITIES
from seasonlog.domain.plain_words import counted
from seasonlog.domain.register import Register
from seasonlog.domain.trend import Trend, TrendPoint
from seasonlog.domain.trend_rules import Followed, followed, inside_warranty, marks_of, position_of, runs
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, difference_as
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import audit_queries
from seasonlog.journal.audit_queries import ReadingRow
from seasonlog.services import registry
from seasonlog.services.days import day
from seasonlog.services.instrument_doubts import recalled_since
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook

LEAST = 2
"""Readings from which a series is worth a line."""
LEAST_TOLD = 5
"""Fewer cannot be told from chance: four in order still have one of twelve (Kendall's exact test)."""


def trend(book: Logbook, tower: str, quantity: str, target: str = "") -> Trend:
    """One quantity at one place, over all years on record.

    Args:
        book: The log.
        tower: Tower id.
        quantity: Its name, as in `limits.QUANTITIES`.
        target: Circuit, basin or trace; may be left out where the tower has readings of one alone.

    Raises:
        InputRefusedError: no such tower or quantity, no reading of it, or several places and none named.
    """
    register = _known(book, tower)
    known = audit_queries.series(book.db, tower)
    places = [place for name, place, _ in known if name == quantity]
    where = f"{tower} {quantity}"
    if not places:
        names = ", ".join(sorted({name for name, _, _ in known})) or "none yet"
        raise InputRefusedError([Problem(where, f"has no reading; there are readings of: {names}")])
    if target and target not in places:
        raise InputRefusedError([Problem(where, f"has no reading at {target}; there are {', '.join(places)}")])
    if not target and len(places) > 1:
        raise InputRefusedError([Problem(where, f"is read at {', '.join(places)}; name one with --target")])
    return _trend(book, register, tower, quantity, target or places[0])


def trends(book: Logbook, tower: str, least: int = LEAST) -> tuple[Trend, ...]:
    """Every series of a tower with at least so many readings, those that matter first.

    Raises:
        InputRefusedError: no such tower.
    """
    register = _known(book, tower)
    known = [(name, place) for name, place, count in audit_queries.series(book.db, tower) if count >= least]
    found = [_trend(book, register, tower, name, place) for name, place in known]
    return tuple(sorted(found, key=lambda each: (not each.matters, each.says, each.target)))


def _known(book: Logbook, tower: str) -> Register:
    """Also of a tower that was retired: its readings stay."""
    registry.refuse_unknown(book.db, tower=tower)
    return registry.of_tower_ever(book.db, tower)


def concerns(book: Logbook, tower: str, register: Register | None = None) -> tuple[str, ...]:
    """What a person must look at on a tower: drifts that matter, and devices that came out inside their warranty.

    Args:
        book: The log.
        tower: Tower id.
        register: The tower's part of the register, when the caller has it already.

    Raises:
        InputRefusedError: no such tower.
    """
    known = register or _known(book, tower)
    long = [(name, place) for name, place, count in audit_queries.series(book.db, tower) if count >= LEAST_TOLD]
    found = [_trend(book, known, tower, name, place) for name, place in long if name in QUANTITIES]
    early = [words for device in known.devices.values() if (words := inside_warranty(device))]
    return (*(run.says for each in found for run in each.runs[-1:] if run.matters), *early)


def _trend(book: Logbook, register: Register, tower: str, quantity: str, target: str) -> Trend:
    known = QUANTITIES.get(quantity)
    says, unit = (known.says, known.unit) if known else (quantity.replace("_", " "), "")
    recalled = {each.instrument for each in audit_queries.recalls(book.db)}
    points = tuple(
        replace(_point(quantity, row), doubted_since=_doubted(book, row) if row.instrument in recalled else "")
        for row in audit_queries.readings_of(book.db, tower, quantity, target)
    )
    marks = marks_of(register.devices_at(position_of(quantity), target or tower))
    site = register.site_of(tower)
    named = says + (f" at {target}" if target else "")
    asked = Followed(named, unit, practice_table().with_site(site.tighten), site.units)
    return Trend(tower, target, quantity, says, unit, points, marks, runs(points, marks, asked), site.units)


def _doubted(book: Logbook, row: ReadingRow) -> str:
    return recalled_since(book.db, row.instrument, day(row.day), row.visit)


def _point(quantity: str, row: ReadingRow) -> TrendPoint:
    values = tuple(number_of(value) for value in row.values)
    return TrendPoint(
        on=day(row.day),
        wall_ms=row.wall_ms,
        values=values,
        value=followed(quantity, values),
        verdict=row.verdict,
        low=None if row.low is None else float(row.low),
        high=None if row.high is None else float(row.high),
        uid=row.uid,
        who=row.who,
        instrument=row.instrument,
    )


def document(found: Trend) -> dict[str, Any]:
    """For a script: numbers in the unit of the record, words as people of the site read them.

    Over range is the text OL, since JSON knows no infinity.
    """
    plain = asdict(found)
    return {
        "tower": found.tower,
        "target": found.target,
        "quantity": found.quantity,
        "says": found.says,
        "unit": found.unit,
        "site_units": found.units,
        "points": [
            point | {"on": str(point["on"]), "values": _told(point["values"]), "value": _told([point["value"]])[0]}
            for point in plain["points"]
        ],
        "devices": [mark | {"on": str(mark["on"])} for mark in plain["marks"]],
        "runs": [
            run | {"first": str(run["first"]), "last": str(run["last"]), "drift": str(run["drift"])}
            for run in plain["runs"]
        ],
        "concerns": list(found.concerns),
    }


def _told(values: Sequence[float]) -> list[float | str]:
    return ["OL" if value == float("inf") else value for value in values]


def lines(found: Trend, *, whole: bool) -> list[str]:
    """A trend in words and in the units of the site.

    Args:
        found: The trend.
        whole: With every reading and every device.
    """
    place = f" at {found.target}" if found.target else ""
    told = [f"{found.tower}{place}: {found.quantity}, {counted(len(found.points), 'reading')}"]
    if whole:
        dated = [(mark.on, f"  {mark.on}  -- {mark.device}: {mark.says}") for mark in found.marks]
        read = found.as_read()
        unit = difference_as(found.unit, found.units)[0]
        dated += [(point.on, f"  {point.on}  {_line(point, unit)}") for point in read.points]
        told += [words for _, words in sorted(dated, key=lambda pair: pair[0])]
    named = ((f"{run.device}: " if run.device else "", run.says) for run in found.runs)
    told += [f"  {name}{says}" for name, says in named if name or says not in found.concerns]  # else told below
    return told + [f"  LOOK: {words}" for words in found.concerns]


def _line(point: TrendPoint, unit: str) -> str:
    read = " / ".join("OL" if value == float("inf") else f"{_rounded(value, unit):g}" for value in point.values)
    edges = [
        f"{word} {_rounded(edge, unit):.4g}"
        for word, edge in (("from", point.low), ("up to", point.high))
        if edge is not None
    ]
    band = f", limit {' '.join(edges)}" if edges else ""
    doubt = f", not counted: {point.instrument} is recalled since {point.doubted_since}" if point.doubted_since else ""
    return f"{read} {unit}{band}, {point.verdict.replace('_', ' ')}, {point.who}{doubt}"


def _rounded(value: float, unit: str) -> float:
    """A temperature that was converted has no more figures than a thermometer."""
    return round(value, 1) if unit == IN_PLAIN_LETTERS[1] else value
