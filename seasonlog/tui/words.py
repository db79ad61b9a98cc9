"""Days, times and units as the person on this site reads them. Converts at the edge; decides nothing."""

import re
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from seasonlog.services.days import moment

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

UNITS = {
    "degf": "°F", "degc": "°C", "deg": "°", "mohm": "MΩ", "ohm": "Ω", "a": "A", "v": "V", "s": "s", "min": "min",
    "in": "in", "ft2": "ft²", "%": "%",
}  # fmt: skip
"""Units as they are printed on a meter."""

_DEGF = re.compile(r"(-?\d+(?:\.\d+)?) degF\b")
_FEET = re.compile(r"(\d+(?:\.\d+)?) ft\b")
_LINES = ("A", "B", "C")
_PAIRS = ("A-B", "B-C", "C-A")
_BETWEEN_LINES = frozenset({"supply_volts", "ohms_line_to_line"})


def day_words(day: date) -> str:
    """`Tue 6 Oct 2026`, the same in every locale."""
    return f"{_DAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]} {day.year}"


def time_words(wall_ms: int, offset_minutes: int) -> str:
    """`6 Oct 2026 07:42`."""
    at = moment(wall_ms, offset_minutes)
    return f"{at.day} {_MONTHS[at.month - 1]} {at.year} {at:%H:%M}"


def unit_words(unit: str) -> str:
    """`degF` is `°F`."""
    return UNITS.get(unit.casefold(), unit)


def line_names(quantity: str, count: int) -> Sequence[str]:
    """What the fields of a reading are called: lines, or pairs of lines; one field has no name."""
    if count == 1:
        return ("",)
    return _PAIRS[:count] if quantity in _BETWEEN_LINES else _LINES[:count]


def is_metric(unit: str, site_units: str) -> bool:
    """A temperature in degF, on a site where people read degC."""
    return unit.casefold() == "degf" and site_units == "si"


def degc(degf: float) -> float:
    """The same temperature in degC."""
    return (degf - 32.0) / 1.8


def shown_as(unit: str, site_units: str) -> tuple[str, Callable[[float], float]]:
    """The unit a person of this site reads, and how to get there from the step's own."""
    if is_metric(unit, site_units):
        return "°C", degc
    return unit_words(unit), lambda value: value


def in_units(text: str, site_units: str) -> str:
    """A sentence with its temperatures and lengths as people of the site read them: `39.2 degF` is `4 °C`."""
    if site_units != "si":
        return text.replace(" degF", " °F")
    text = _DEGF.sub(lambda found: f"{number(round(degc(float(found[1])), 1))} °C", text)
    return _FEET.sub(lambda found: f"{number(round(0.3048 * float(found[1]), 1))} m", text)


def number(value: float) -> str:
    """Four figures are enough on a scale: `21.65`, `480`, `0.05`."""
    return f"{value:.4g}" if abs(value) < 10000 else f"{value:.0f}"


def joined(value: Any) -> str:
    """A stored value of one or more lines: `18.7 / 18.9 / 18.8`."""
    return value if isinstance(value, str) else " / ".join(str(v) for v in value)
