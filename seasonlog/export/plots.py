"""The pictures of a report, built from plain numbers: readings on their limits, hours to freeze.

Pure: a picture is a row of shapes (`report_model`), and all it shows is said in its words too.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from seasonlog.export.report_model import Area, Figure, Label, Line, Shape, Sign, Tone

WIDTH = 700.0
"""Of every picture [units]; the text column is as wide."""
FORMS = {Tone.PASS: "dot", Tone.NEAR: "diamond", Tone.UNSURE: "ring", Tone.BAD: "cross", Tone.CALM: "dot"}
"""A verdict's mark, told apart without colour."""
_To = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Band:
    """One reading on its limit."""

    name: str
    values: tuple[float, ...]
    """One, or one a line."""
    low: float | None
    high: float | None
    pass_low: float | None
    pass_high: float | None
    read: str
    """The reading with its unit, in words."""
    limit: str
    """The limit in words."""
    word: str
    """The verdict."""
    tone: Tone


_NAME, _SCALE, _ROW, _TOP = 215.0, 265.0, 30.0, 26.0
_READ = _NAME + _SCALE + 14.0


def bands(rows: Sequence[Band], caption: str) -> Figure:
    """Readings, each on a scale of its own: from the edge of the limit to the pass zone inside it.

    Args:
        rows: The readings; those over range have no mark.
        caption: What they are of.
    """
    shapes = [*_band_heads(), *(shape for i, row in enumerate(rows) for shape in _band(row, _TOP + i * _ROW))]
    alt = ". ".join(f"{row.name}: {row.read}, limit {row.limit}, {row.word.casefold()}" for row in rows)
    return Figure(caption, alt, WIDTH, _TOP + len(rows) * _ROW + 4.0, tuple(shapes))


def _band_heads() -> Iterator[Shape]:
    for x, words in (
        (0.0, "Reading of"),
        (_NAME, "limit (long lines), pass zone (green, between dots)"),
        (_READ, "read, and the limit"),
    ):
        yield Label(x, 12.0, words, size=9.5, ink="soft")


def _band(row: Band, top: float) -> Iterator[Shape]:
    yield Line(0.0, top - 2.0, WIDTH, top - 2.0, "faint", 0.6)
    yield Label(0.0, top + 17.0, _cut(row.name, 36), size=11.0)
    yield from _scale(row, top)
    yield Label(_READ, top + 12.0, _cut(f"{row.read}  {row.word}", 36), size=10.5, ink=row.tone, is_bold=True)
    yield Label(_READ, top + 23.0, _cut(row.limit, 42), size=9.6, ink="soft")


def _scale(row: Band, top: float) -> Iterator[Shape]:
    edges = [edge for edge in (row.low, row.high, row.pass_low, row.pass_high) if edge is not None]
    finite = [value for value in row.values if math.isfinite(value)]
    first, last = _spread(edges, finite, one_sided=row.low is None or row.high is None)

    def x(value: float) -> float:
        return _NAME + _SCALE * min(max((value - first) / (last - first), 0.0), 1.0)

    yield Area(_NAME, top + 5.0, _SCALE, 14.0, "bad_ground", round=2.0)
    if edges:
        left = first if row.low is None else row.low
        right = last if row.high is None else row.high
        yield Area(x(left), top + 5.0, x(right) - x(left), 14.0, "near_ground")
        yield from _pass_zone(row, left, right, top, x)
    for edge in (row.low, row.high):
        if edge is not None:
            yield Line(x(edge), top + 3.0, x(edge), top + 21.0, "soft", 1.3)
    for value in dict.fromkeys(finite):
        yield Sign(x(value), top + 12.0, FORMS[row.tone], row.tone if row.tone != Tone.CALM else "accent", 4.6)


def _pass_zone(row: Band, left: float, right: float, top: float, x: _To) -> Iterator[Shape]:
    inner = left if row.pass_low is None else row.pass_low
    outer = right if row.pass_high is None else row.pass_high
    if (row.low is None or row.pass_low is not None) and (row.high is None or row.pass_high is not None):
        yield Area(x(inner), top + 5.0, x(outer) - x(inner), 14.0, "pass_ground")
        for edge in (row.pass_low, row.pass_high):
            if edge is not None:  # on paper without colour the zone still has its edges
                yield Line(x(edge), top + 5.0, x(edge), top + 19.0, "pass", 1.0, "2 2")


def _spread(edges: Sequence[float], values: Sequence[float], *, one_sided: bool) -> tuple[float, float]:
    """The span of a scale: the limit and the reading, with air at both ends; from zero where one edge is no limit."""
    every = [*edges, *values] or [0.0]
    first, last = min(every), max(every)
    if one_sided and first >= 0.0:
        return 0.0, 1.25 * last or 1.0
    air = (last - first) * 0.25 or abs(first) * 0.25 or 1.0
    return first - air, last + air


def _cut(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


@dataclass(frozen=True, slots=True)
class FreezeBar:
    """How long one body of water lasts without heat."""

    name: str
    weather: str
    low_hours: float | None
    """Fewest hours to 32 degF; None: never in this weather."""
    high_hours: float | None
    words: str


_BAR_NAME, _BAR_ROW, _BAR_END = 245.0, 26.0, 560.0


def freeze_hours(rows: Sequence[FreezeBar], caption: str) -> Figure:
    """Hours from the loss of heat to 32 degF, fewest to most, as bars on one scale.

    Args:
        rows: Basins in a weather.
        caption: What is shown.
    """
    most = max((hours for row in rows for hours in (row.low_hours, row.high_hours) if hours is not None), default=1.0)
    top, step = 20.0, nice_step(most, 5)
    end = math.ceil(most / step) * step

    def x(hours: float) -> float:
        return _BAR_NAME + (_BAR_END - _BAR_NAME) * min(hours / end, 1.0)

    bottom = top + len(rows) * _BAR_ROW
    shapes: list[Shape] = []
    for number in range(round(end / step) + 1):
        at = x(number * step)
        shapes += [
            Line(at, top - 4.0, at, bottom, "faint", 0.6),
            Label(at, 11.0, f"{number * step:g} h", "middle", "soft", 9.5),
        ]
    for i, row in enumerate(rows):
        shapes += _bar(row, top + i * _BAR_ROW, x)
    alt = ". ".join(f"{row.name}, {row.weather}: {row.words}" for row in rows)
    return Figure(caption, alt, WIDTH, bottom + 4.0, tuple(shapes))


def _bar(row: FreezeBar, top: float, x: _To) -> Iterator[Shape]:
    yield Label(0.0, top + 11.0, _cut(row.name, 40), size=11.0)
    yield Label(0.0, top + 21.0, row.weather, size=9.6, ink="soft")
    if row.low_hours is not None:
        yield Area(_BAR_NAME, top + 5.0, x(row.low_hours) - _BAR_NAME, 13.0, "frost", 0.28)
        end = x(row.high_hours) if row.high_hours is not None else _BAR_END
        yield Area(x(row.low_hours), top + 5.0, max(end - x(row.low_hours), 2.0), 13.0, "frost", 0.85)
    yield Label(_BAR_END + 10.0, top + 15.0, row.words, size=10.5, is_bold=True)


def nice_step(most: float, parts: int) -> float:
    """A round step (1, 2, 2.5 or 5 times a power of ten) that divides a span into some parts.

    Args:
        most: Length of the span, above 0.
        parts: About how many.
    """
    rough = max(most, 1e-9) / parts
    power = 10.0 ** math.floor(math.log10(rough))
    return next(step * power for step in (1.0, 2.0, 2.5, 5.0, 10.0) if step * power >= rough * 0.999)
