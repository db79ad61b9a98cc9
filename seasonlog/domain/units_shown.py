"""Temperatures and lengths as people of a site read them: the record is in degF and ft, a metric site in degC and m."""

import re
from collections.abc import Callable, Sequence

from seasonlog.calc.units import degc_from_degf

UNITS = {
    "degf": "°F", "degc": "°C", "deg": "°", "mohm": "MΩ", "ohm": "Ω", "a": "A", "v": "V", "s": "s", "min": "min",
    "in": "in", "ft2": "ft²", "%": "%",
}  # fmt: skip
"""Units as they are printed on a meter."""

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_N = _NUMBER.pattern
_SPAN = rf"(?:from |up to )?{_N}(?: to {_N})?"
_DEGF = re.compile(
    rf"(?P<off>\+/-)?(?P<limit>\blimit (?:from |up to )?)?(?:[<>]?(?:{_N}|OL)(?: to | / ))*[<>]?(?:{_N}|OL) deg[Ff]\b"
    rf"(?P<more>, pass {_SPAN}|, the limit is {_N})?"
)
"""A temperature, or a limit as a verdict tells it: `34 to 50 degF, pass 34.58 to 45`."""
_UNNUMBERED = re.compile(r" deg[Ff]\b")
_FEET = re.compile(r"(\d+(?:\.\d+)?) ft\b")
ON_SCREEN = ("°F", "°C")
IN_PLAIN_LETTERS = ("degF", "degC")
ALOUD = ("degrees Fahrenheit", "degrees Celsius")
"""Signs of degrees, US and metric: where any letter can be drawn, where a terminal may have few, and spoken."""
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


def difference_as(unit: str, site_units: str) -> tuple[str, Callable[[float], float]]:
    """The same for the difference of two values, in plain letters: 9 degF are 5 degC, whatever their zeros are."""
    if is_metric(unit, site_units):
        return IN_PLAIN_LETTERS[1], lambda value: value / 1.8
    return IN_PLAIN_LETTERS[0] if unit.casefold() == "degf" else unit, lambda value: value


def in_units(text: str, site_units: str, signs: tuple[str, str] = ON_SCREEN) -> str:
    """A sentence with its temperatures and lengths as people of the site read them: `39.2 degF` is `4 °C`.

    A difference of temperatures is never written in degF for a metric site: it comes from `difference_as`. Arithmetic
    is not worked again in other units: it goes through `as_recorded`.
    """
    if site_units != "si":
        return as_recorded(text, signs)
    text = _DEGF.sub(_in_degc, text)
    text = _FEET.sub(lambda found: f"{number(round(0.3048 * float(found[1]), 1))} m", text)
    return text.replace(" degC", f" {signs[1]}")  # what was told in them already


def with_unit_shown(text: str, unit: str, site_units: str) -> str:
    """What is recorded of digits typed beside the unit shown: `4.5` beside degC is `4.5 C`; a unit typed stays."""
    bare = text.strip()
    if not is_metric(unit, site_units) or not bare or any(c.isalpha() or c == "°" for c in bare):
        return text
    return f"{bare} C"


def as_recorded(text: str, signs: tuple[str, str] = ON_SCREEN) -> str:
    """A sentence in the units of the record."""
    return _UNNUMBERED.sub(f" {signs[0]}", text)


def basis_in_units(basis: str, unit: str, site_units: str, signs: tuple[str, str] = ON_SCREEN) -> str:
    """How a limit was arrived at: as recorded, which is said where that is not what people here read."""
    told = as_recorded(basis, signs)
    return f"{told} (arithmetic as recorded, in {signs[0]})" if told and is_metric(unit, site_units) else told


def _in_degc(found: re.Match[str]) -> str:
    convert = difference_as("degF", "si")[1] if found["off"] else degc_from_degf
    places = 2 if found["limit"] or found["more"] else 1  # edges finer than any thermometer
    told, _, more = found[0].removeprefix(found["off"] or "").partition(" deg")
    told, more = (
        _NUMBER.sub(lambda n: number(round(convert(float(n[0])), places) + 0.0), part) for part in (told, more)
    )
    return f"{found['off'] or ''}{told} {IN_PLAIN_LETTERS[1]}{more[1:]}"


def number(value: float) -> str:
    """Four figures are enough on a scale: `21.65`, `480`, `0.05`."""
    return f"{value:.4g}" if abs(value) < 10000 else f"{value:.0f}"
