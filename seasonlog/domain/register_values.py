"""One value of a register field: read strictly, written back, and the sentence when it is not allowed.

A value arrives as text (spreadsheet, log) or as what a TOML reader makes of it. Nothing is guessed or repaired: a
number is digits with a point, never `1e3`, `1_000`, `0x1F`, `nan` or digits of another script.
"""

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from decimal import Decimal
from types import MappingProxyType
from typing import TypeAlias

from seasonlog.domain.fields import Kind, Spec
from seasonlog.domain.text import as_stored, visible

Value: TypeAlias = str | bool | int | Decimal | date | tuple[str, ...] | Mapping[str, Decimal]
"""What a field of a record holds."""
Item: TypeAlias = str | bool | list[str] | dict[str, str]
"""What the log stores for a field: no floats, numbers as decimal text."""

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,31}", re.ASCII)
_NUMBER = re.compile(r"-?\d{1,7}(\.\d{1,6})?", re.ASCII)
_WHOLE = re.compile(r"-?\d{1,7}", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_MONTH_DAY = re.compile(r"\d\d-\d\d", re.ASCII)
_ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+-]*(/[A-Za-z0-9_+-]+){0,2}", re.ASCII)
_CONDUCTOR = re.compile(r"\d{1,2}|[1-4]/0|\d{3,4} ?kcmil|\d{1,3}(\.\d{1,2})? ?mm2", re.ASCII)
_NAME = re.compile(r"[a-z][a-z0-9_]{0,63}", re.ASCII)
_BREAKS_A_LINE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_UNSTORABLE = re.compile("[\ud800-\udfff]")
_TRUTH = {"yes": True, "true": True, "no": False, "false": False}
_SHOWN = 60


class NotAllowedError(ValueError):
    """A value a field cannot hold. Its text is the whole sentence."""


class Unquoted(str):
    """A TOML number as it stands in the file, kept as text so that no digit is lost and nothing is rounded."""

    __slots__ = ()


def shown(given: object) -> str:
    """A refused value as it may be quoted in a sentence: made visible, shortened, never a traceback."""
    if isinstance(given, int) and not isinstance(given, bool) and abs(given) >= 10**_SHOWN:
        return "a number of more than 60 digits"
    text = given if isinstance(given, str) else str(given)
    short = text if len(text) <= _SHOWN else text[:_SHOWN] + "..."
    return f'"{visible(short)}"'


def allowed(spec: Spec) -> str:
    """What the field may hold, as a phrase that ends a sentence."""
    few = ", ".join(spec.choices)
    return {
        Kind.IDENT: "1 to 32 of A-Z, a-z, 0-9, point, hyphen and underscore, the first a letter or digit",
        Kind.REFERENCE: f"the id of a {' or '.join(spec.refers)}",
        Kind.LINE: f"one line of text, in quotes in a site file, at most {spec.longest} characters",
        Kind.NOTE: f"text, in quotes in a site file, at most {spec.longest} characters",
        Kind.NUMBER: f"a number from {spec.low:f} to {spec.high:f}{_in_unit(spec)}" if spec.low is not None else "",
        Kind.WHOLE: f"one of {few}" if few else f"a whole number from {spec.low} to {spec.high}",
        Kind.YES_NO: "yes or no",
        Kind.CHOICE: f"one of {few}",
        Kind.SEVERAL: f"one or more of {few}, each once",
        Kind.DAY: "a day from 1900 to 2199 as YYYY-MM-DD",
        Kind.MONTH_DAY: "a day of any year as MM-DD",
        Kind.ZONE: "a time zone by its IANA name, such as America/Chicago",
        Kind.CONDUCTOR: 'a conductor size such as "10", "1/0", "250 kcmil" or "6 mm2"',
        Kind.NUMBERS: "names of constants (a-z, 0-9, underscore), each with a number",
    }[spec.kind]


def _in_unit(spec: Spec) -> str:
    return f" {spec.unit}, digits with a point" if spec.unit else ", digits with a point"


def read_value(spec: Spec, given: object) -> Value:
    """The value a field holds when this was given.

    Args:
        spec: The field.
        given: Text, or a bool, int, date, list or mapping out of a TOML file.

    Raises:
        NotAllowedError: with one sentence that quotes the value and says what is allowed.
    """
    try:
        return _READERS[spec.kind](spec, given)
    except NotAllowedError:
        raise
    except (ValueError, TypeError) as error:
        raise NotAllowedError(f"{shown(given)} is not allowed: {allowed(spec)}") from error


def write_value(value: Value) -> Item:
    """The value as the log stores it."""
    if isinstance(value, str | bool):
        return value
    if isinstance(value, tuple):
        return list(value)
    if isinstance(value, Mapping):
        return {name: f"{each:f}" for name, each in value.items()}
    return value.isoformat() if isinstance(value, date) else f"{Decimal(value):f}"


def _matched(pattern: re.Pattern[str], given: object) -> str:
    text = given.strip(" ") if isinstance(given, str) else str(given) if type(given) is int else ""
    if not pattern.fullmatch(text):
        raise ValueError(text)
    return text


def _text(given: object) -> str:
    if not isinstance(given, str) or isinstance(given, Unquoted) or _UNSTORABLE.search(given):
        raise TypeError
    return as_stored(given)


def _line(spec: Spec, given: object) -> str:
    text = _text(given).strip(" ")
    if hidden := _BREAKS_A_LINE.search(text):
        raise NotAllowedError(
            f"{shown(text)} contains the control character {visible(hidden[0])}; allowed is {allowed(spec)}"
        )
    return _not_too_long(spec, text)


def _note(spec: Spec, given: object) -> str:
    return _not_too_long(spec, _text(given))


def _not_too_long(spec: Spec, text: str) -> str:
    if len(text) > spec.longest:
        raise NotAllowedError(f"{shown(text)} has {len(text)} characters; allowed is {allowed(spec)}")
    if not text.strip():
        raise NotAllowedError(f"{shown(text)} says nothing; leave it out, or give {allowed(spec)}")
    return text


def _ident(spec: Spec, given: object) -> str:
    if not isinstance(given, str) or isinstance(given, Unquoted) or not _ID.fullmatch(given):
        raise ValueError(given)
    return given


def _number(spec: Spec, given: object) -> Decimal:
    return _within(spec, Decimal(_matched(_NUMBER, given)))


def _whole(spec: Spec, given: object) -> int:
    value = int(_within(spec, Decimal(_matched(_WHOLE, given))))
    if spec.choices and str(value) not in spec.choices:
        raise ValueError(value)
    return value


def _within(spec: Spec, value: Decimal) -> Decimal:
    if (spec.low is not None and value < spec.low) or (spec.high is not None and value > spec.high):
        raise ValueError(value)
    return value


def _yes_no(spec: Spec, given: object) -> bool:
    if isinstance(given, bool):
        return given
    if not isinstance(given, str) or given.strip(" ").lower() not in _TRUTH:
        raise ValueError(given)
    return _TRUTH[given.strip(" ").lower()]


def _choice(spec: Spec, given: object) -> str:
    text = _text(str(given) if type(given) is int else given).strip(" ")
    if text not in spec.choices:
        raise ValueError(text)
    return text


def _several(spec: Spec, given: object) -> tuple[str, ...]:
    chosen = tuple(_choice(spec, each) for each in given) if isinstance(given, list) else ()
    if not chosen or len(set(chosen)) != len(chosen):
        raise ValueError(given)
    return chosen


def _day(spec: Spec, given: object) -> date:
    text = given.isoformat() if isinstance(given, date) and not isinstance(given, datetime) else given
    found = date.fromisoformat(_matched(_DAY, text))
    if not 1900 <= found.year < 2200:
        raise ValueError(given)
    return found


def _month_day(spec: Spec, given: object) -> str:
    text = _matched(_MONTH_DAY, given)
    date.fromisoformat(f"2001-{text}")  # a year of 365 days: the day must exist in every year
    return text


def _zone(spec: Spec, given: object) -> str:
    return _matched(_ZONE, given)


def _conductor(spec: Spec, given: object) -> str:
    return _matched(_CONDUCTOR, given)


def _numbers(spec: Spec, given: object) -> Mapping[str, Decimal]:
    if not isinstance(given, dict):
        raise TypeError(given)
    return {_matched(_NAME, name): Decimal(_matched(_NUMBER, each)) for name, each in given.items()}


_READERS: Mapping[Kind, Callable[[Spec, object], Value]] = MappingProxyType(
    {
        Kind.IDENT: _ident, Kind.REFERENCE: _ident, Kind.LINE: _line, Kind.NOTE: _note, Kind.NUMBER: _number,
        Kind.WHOLE: _whole, Kind.YES_NO: _yes_no, Kind.CHOICE: _choice, Kind.SEVERAL: _several, Kind.DAY: _day,
        Kind.MONTH_DAY: _month_day, Kind.ZONE: _zone, Kind.CONDUCTOR: _conductor, Kind.NUMBERS: _numbers,
    }
)  # fmt: skip
