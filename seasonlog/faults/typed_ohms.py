"""Ohms as a meter shows them and a person types them: `0.2`, `4.7k`, `2.2 Mohm`, `100000`, `OL`."""

import math
import re

OPEN_WORDS = ("ol", "0l", "o.l", "o.l.", "0.l", "0.l.", "open", "inf", "infinite", "over", "over range")
TAKEN = "type ohms as the meter shows them, such as 0.2, 4.7k, 2.2M or 100000, or OL for an open circuit"
_READING = re.compile(
    r"(?P<number>[0-9]{1,10}(?:\.[0-9]{0,6})?|\.[0-9]{1,6})\s*(?P<scale>[kKM]?)\s*(?P<unit>[^\W\d_]*)"
)
_SCALES = {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_UNITS = ("", "ohm", "ohms", "\u03c9")


def ohms_typed(raw: str) -> float | None:
    """The reading [ohm]; infinite of an open circuit; None when it is none.

    A small m is not taken: it may be meant as a thousandth or as a million.
    """
    text = raw.strip()
    if text.casefold() in OPEN_WORDS:
        return math.inf
    found = _READING.fullmatch(text.replace("Meg", "M").replace("meg", "M"))
    if found is None or found["unit"].casefold() not in _UNITS:
        return None
    return float(found["number"]) * _SCALES[found["scale"]]
