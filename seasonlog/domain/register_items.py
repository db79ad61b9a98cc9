"""A record and its item: what the log stores for it, and what every file is turned into before it becomes a record.

Strict: an unknown key, a missing one and a value that is not allowed are each a problem, and all of them are told at
once. Nothing is dropped and no default stands in for a bad value.
"""

from collections.abc import Callable, Collection, Mapping
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, TypeAlias

from seasonlog.domain.register_records import SPECS, TYPES, Record, word_of
from seasonlog.domain.register_units import ALTERNATES
from seasonlog.domain.register_values import Item, NotAllowedError, Value, allowed, read_value, shown, write_value
from seasonlog.domain.text import visible
from seasonlog.errors import Problem

_MOST_LISTED = 40
Place: TypeAlias = Callable[[str], str]
"""From a key to the words that say where it stands; from "" to those for the record as a whole."""


def to_item(record: Record) -> dict[str, Item]:
    """The record as the log stores it: numbers as decimal text, days as ISO text, nothing for what is not given."""
    values = ((name, getattr(record, name)) for name in SPECS[word_of(record)])
    return {name: write_value(value) for name, value in values if value is not None and value != {}}


def from_item(type_name: str, item: Mapping[str, object], where: str | Place) -> tuple[Record | None, list[Problem]]:
    """The record an item describes, or everything that is wrong with it.

    Args:
        type_name: `site`, `tower` ... as in `TYPES`.
        item: Field names, or their metric second names, to values as text or out of a TOML file.
        where: What stands before ", key NAME" in a problem, or a function that gives the whole place of a key.

    Returns:
        The record and no problems, or None and at least one.
    """
    place = where if callable(where) else _keys_of(where)
    if type_name not in TYPES:
        return None, [
            Problem(place(""), f"{shown(type_name)} is no kind of record; allowed is one of {', '.join(TYPES)}")
        ]
    values, problems = _read_all(type_name, item, place)
    problems += _missing(type_name, item, place)
    return (None, problems) if problems else (TYPES[type_name](**values), [])


def known_keys(what: str) -> tuple[str, ...]:
    """Every key a record may have in a file: its fields, then their metric second names."""
    return (*SPECS[what], *ALTERNATES[what])


def nearest(name: str, known: Collection[str]) -> str:
    """The end of a sentence about an unknown name: the likeliest one meant, or what is known."""
    by_lower = {each.lower(): each for each in known}
    if close := get_close_matches(name[:64].lower(), by_lower, n=1):
        return f"did you mean {by_lower[close[0]]}?"
    return f"known here: {', '.join(known)}" if len(known) <= _MOST_LISTED else "nothing known here is like it"


def _keys_of(where: str) -> Place:
    return lambda key: f"{where}, key {visible(key[:64])}" if key else where


def _read_all(what: str, item: Mapping[str, object], place: Place) -> tuple[dict[str, Any], list[Problem]]:
    values: dict[str, Any] = {}
    problems = []
    for key, given in item.items():
        try:
            name, value = _read_text(what, key, given) if type(given) is str else _read(what, key, given)
        except NotAllowedError as error:
            problems.append(Problem(place(key), str(error)))
            continue
        if name in values:
            problems.append(Problem(place(key), f"{name} is given twice, in two units; keep one of them"))
        values[name] = value
    return values, problems


def _read(what: str, key: str, given: object) -> tuple[str, Value]:
    if spec := SPECS[what].get(key):
        return key, read_value(spec, given)
    if other := ALTERNATES[what].get(key):
        number = read_value(other.spec, given)
        return other.field, other.held(number) if isinstance(number, Decimal) else number
    raise NotAllowedError(f"{shown(key)} is not known here; {nearest(key, known_keys(what))}")


@lru_cache(maxsize=8192)
def _read_text(what: str, key: str, given: str) -> tuple[str, Value]:
    """The same words stand in the records of many towers, and come again each time one is read."""
    return _read(what, key, given)


def _missing(what: str, item: Mapping[str, object], place: Place) -> list[Problem]:
    second = {each.field: name for name, each in ALTERNATES[what].items()}
    return [
        Problem(place(name), f"is missing; {allowed(spec)} must be given ({spec.says})")
        for name, spec in SPECS[what].items()
        if spec.required and name not in item and second.get(name) not in item
    ]
