"""Temperatures and lengths as people of a site read them: the record is in degF and ft, a metric site in degC and m."""

import re
from collections.abc import Callable, Sequence

from seasonlog.calc.units import degc_from_degf

UNITS = {
    "degf": "°F", "degc": "°C", "deg": "°", "mohm": "MΩ", "ohm": "Ω", "a": "A", "v": "V", "s": "s", "min": "min",
    "in": "in", "ft2": "ft²", "%": "%",
}  # fmt: skip
"""Units as they are printed on a meter."""

_DEGF = re.compile(r"(-?\d+(?:\.\d+)?) degF\b")
_FEET = re.compile(r"(\d+(?:\.\d+)?) ft\b")
ON_SCREEN = ("°F", "°C")
IN_PLAIN_LETTERS = ("degF", "degC")
"""Signs of degrees, US and metric: where any letter can be drawn, and where a terminal may have few of them."""
_LINES = ("A", "B", "C")
_PAIRS = ("A-B", "B-C", "C-A")
BETWEEN_LINES = frozenset({"supply_volts", "ohms_line_to_line"})
"""Quantities read between two lines."""


def line_names(quantity: str, count: int) -> Sequence[str]:
    """What the values of a reading are called: lines, or pairs of lines; one alone has no name."""
    if count == 1:
        return ("",)
    return _PAIRS[:count] if quantity in BETWEEN_LINES else _LINES[:count]


def unit_words(unit: str) -> str:
    """`degF` is `°F`."""
    return UNITS.get(unit.casefold(), unit)


def is_metric(unit: str, site_units: str) -> bool:
    """A temperature in degF, on a site where people read degC."""
    return unit.casefold() == "degf" and site_units == "si"


def shown_as(unit: str, site_units: str) -> tuple[str, Callable[[float], float]]:
    """The unit a person of this site reads, and how to get there from the step's own."""
    if is_metric(unit, site_units):
        return ON_SCREEN[1], degc_from_degf
    return unit_words(unit), lambda value: value


def in_units(text: str, site_units: str, signs: tuple[str, str] = ON_SCREEN) -> str:
    """A sentence with its temperatures and lengths as people of the site read them: `39.2 degF` is `4 °C`."""
    if site_units != "si":
        return text.replace(" degF", f" {signs[0]}")
    text = _DEGF.sub(lambda found: f"{number(round(degc_from_degf(float(found[1])), 1))} {signs[1]}", text)
    return _FEET.sub(lambda found: f"{number(round(0.3048 * float(found[1]), 1))} m", text)


def number(value: float) -> str:
    """Four figures are enough on a scale: `21.65`, `480`, `0.05`."""
    return f"{value:.4g}" if abs(value) < 10000 else f"{value:.0f}"
