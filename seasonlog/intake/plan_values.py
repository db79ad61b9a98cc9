"""The values of a plan file, each read strictly: a time of day, a shift, days of leave, a number within bounds."""

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import NamedTuple

from seasonlog.domain.register_values import shown
from seasonlog.domain.text import as_stored

_IDENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", re.ASCII)
_NUMBER = re.compile(r"-?\d{1,7}(\.\d{1,9})?", re.ASCII)
_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_MINUTES = 24 * 60
LONGEST_LEAVE = 400
"""Days from the first to the last of one leave."""
MOST_LEAVES = 200
_YEARS = range(1900, 2200)


class WrongError(ValueError):
    """A value that is not allowed; its text is the sentence."""


class Hours(NamedTuple):
    """A shift within one day [minutes after midnight]."""

    start: int
    end: int


def ident(given: object) -> str:
    """An id of the register, a checklist or a base."""
    if not isinstance(given, str) or not _IDENT.fullmatch(given):
        raise WrongError(f"{shown(given)} is not an id; write it in quotes, as in the register")
    return as_stored(given)


def number_within(low: float, high: float) -> Callable[[object], float]:
    """A reader of numbers written in plain digits."""

    def read(given: object) -> float:
        text = str(given) if isinstance(given, str | int) and not isinstance(given, bool) else ""
        if not _NUMBER.fullmatch(text) or not low <= float(text) <= high:
            raise WrongError(f"{shown(given)} is not a number from {low:g} to {high:g}, in digits with a point")
        return float(text)

    return read


def whole_within(low: int, high: int) -> Callable[[object], int]:
    """A reader of whole numbers."""

    def read(given: object) -> int:
        if isinstance(given, bool) or not isinstance(given, int) or not low <= given <= high:
            raise WrongError(f"{shown(given)} is not a whole number from {low} to {high}")
        return given

    return read


def minute(given: object) -> int:
    """A time of day, `07:30`, as minutes after midnight."""
    found = _TIME.fullmatch(given) if isinstance(given, str) else None
    if found is None:
        raise WrongError(f'{shown(given)} is not a time of day; write it as "07:30"')
    return int(found[1]) * 60 + int(found[2])


def hours(given: object) -> Hours:
    """A shift, `07:00-15:30`."""
    start, dash, end = given.partition("-") if isinstance(given, str) else ("", "", "")
    if not dash:
        raise WrongError(f'{shown(given)} is not a shift; write it as "07:00-15:30"')
    found = Hours(minute(start.strip()), _DAY_MINUTES if end.strip() == "24:00" else minute(end.strip()))
    if found.end <= found.start:
        raise WrongError(f"{shown(given)} ends before it begins; a shift lies within one day")
    return found


def day(given: object) -> date:
    """A day, with or without quotes."""
    if isinstance(given, date) and not isinstance(given, datetime):
        given = given.isoformat()
    try:
        if not isinstance(given, str) or not _DAY.fullmatch(given):
            raise ValueError
        found = date.fromisoformat(given)
    except ValueError:
        raise WrongError(f"{shown(given)} is not a day; write it as 2026-10-03") from None
    if found.year not in _YEARS:
        raise WrongError(f"{shown(given)} lies too far away; years go from {_YEARS[0]} to {_YEARS[-1]}")
    return found


def span(given: object) -> tuple[date, date]:
    """One day, or the first and last of several: `2026-10-05..2026-10-09`."""
    first, dots, last = given.partition("..") if isinstance(given, str) else (given, "", "")
    found = day(first), day(last if dots else first)
    if not timedelta(0) <= found[1] - found[0] <= timedelta(days=LONGEST_LEAVE):
        raise WrongError(f"{shown(given)} must go forward, by {LONGEST_LEAVE} days at most")
    return found


def days_of(first: date, last: date) -> frozenset[date]:
    """Every day from the first to the last."""
    return frozenset(first + timedelta(days=n) for n in range((last - first).days + 1))


def days(given: object) -> frozenset[date]:
    """A list of days and spans of days."""
    if not isinstance(given, list):
        raise WrongError('must be a list: ["2026-10-05", "2026-10-12..2026-10-16"]')
    if len(given) > MOST_LEAVES:
        raise WrongError(f"has {len(given)} entries; at most {MOST_LEAVES} are taken")
    return frozenset().union(*(days_of(*span(each)) for each in given)) if given else frozenset()


def work_days(given: object) -> frozenset[int]:
    """Days of the week."""
    if not isinstance(given, list) or not given or not all(each in _WEEK for each in given):
        raise WrongError(f"must be a list of {', '.join(_WEEK)}")
    return frozenset(_WEEK.index(each) for each in given)
