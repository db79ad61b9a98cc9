"""Records for tests: plain ones to read, and generated ones of every type from the field declarations."""

from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from seasonlog.domain.fields import Kind, Spec
from seasonlog.domain.register import TYPES, Record, Register
from seasonlog.domain.register_items import from_item
from seasonlog.domain.register_records import POSITIONS, SPECS
from seasonlog.domain.text import as_stored

ITEMS: dict[str, dict[str, Any]] = {
    "site": {
        "id": "N", "name": "North works", "latitude_deg": "46.3", "longitude_deg": "-94.9", "wind_shelter": "open",
        "time_zone": "America/Chicago", "first_freeze": "09-24", "last_freeze": "05-12",
    },
    "tower": {
        "id": "N-1", "site": "N", "name": "Tower one", "winter": "heated_basin", "kind": "open",
        "pump_on_tower": False, "cells": "1", "drained_for_cleaning": True,
    },
    "basin": {
        "id": "N-1-B", "tower": "N-1", "material": "steel", "insulation": "none", "heat": "electric",
        "level_device": "float_relay", "temperature_sensor": True, "makeup_heat_trace": False, "makeup_valve": "float",
    },
    "circuit": {
        "id": "N-1-H", "tower": "N-1", "basin": "N-1-B", "kw": "18", "volts": "480", "phases": "3", "heaters": "1",
        "control": "dial", "switching": "contactor",
    },
    "trace": {
        "id": "N-1-T", "tower": "N-1", "protects": "make-up", "volts": "120", "kind": "self_regulating",
    },
    "source": {"id": "N-1-S", "tower": "N-1", "what": "heater_branch", "panel": "P", "point": "breaker 1"},
    "instrument": {"id": "C", "name": "Clamp", "kind": "clamp"},
    "person": {"id": "p", "name": "Somebody", "roles": ["technician"], "qualified_energised": True},
    "device": {"id": "D", "position": "heater", "of": "N-1-H"},
}  # fmt: skip
"""The least that can be said about one record of each type; together they hang together."""


def made(what: str, **changes: Any) -> Record:
    """The record of this type with some values changed; None takes a key out."""
    item = {key: value for key, value in (ITEMS[what] | changes).items() if value is not None}
    record, problems = from_item(what, item, "test")
    assert record is not None, problems
    return record


def says(what: str, **changes: Any) -> list[str]:
    """The problems of that record, as told."""
    item = {key: value for key, value in (ITEMS[what] | changes).items() if value is not None}
    return [str(each) for each in from_item(what, item, "f")[1]]


def small_register() -> Register:
    """One record of each type."""
    return Register.of(made(what) for what in TYPES)


IDS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._-]{0,31}", fullmatch=True)
_ANY = st.characters(exclude_categories=["Cs"])
NOTES = st.text(_ANY, min_size=1, max_size=60).map(as_stored).filter(str.strip)
LINES = (
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), min_size=1, max_size=30)
    .map(lambda text: as_stored(text).strip(" "))
    .filter(str.strip)
)
_BY_KIND = {
    Kind.IDENT: lambda spec: IDS,
    Kind.REFERENCE: lambda spec: IDS,
    Kind.LINE: lambda spec: LINES,
    Kind.NOTE: lambda spec: NOTES,
    Kind.NUMBER: lambda spec: _numbers(spec.low, spec.high),
    Kind.WHOLE: lambda spec: _wholes(spec),
    Kind.YES_NO: lambda spec: st.booleans(),
    Kind.CHOICE: lambda spec: st.sampled_from(spec.choices),
    Kind.SEVERAL: lambda spec: st.lists(st.sampled_from(spec.choices), min_size=1, unique=True).map(tuple),
    Kind.DAY: lambda spec: st.dates(date(1900, 1, 1), date(2199, 12, 31)),
    Kind.MONTH_DAY: lambda spec: st.dates(date(2001, 1, 1), date(2001, 12, 31)).map(lambda day: f"{day:%m-%d}"),
    Kind.ZONE: lambda spec: st.sampled_from(["UTC", "America/Chicago", "Etc/GMT+3"]),
    Kind.CONDUCTOR: lambda spec: st.sampled_from(["10", "1/0", "250 kcmil", "2.5 mm2"]),
    Kind.NUMBERS: lambda spec: st.dictionaries(st.sampled_from(["a", "b_2"]), _numbers(Decimal(-5), Decimal(50))),
}


def _numbers(low: Decimal | None, high: Decimal | None) -> st.SearchStrategy[Decimal]:
    return st.decimals(low, high, allow_nan=False, places=4).map(lambda number: number.normalize())


def _wholes(spec: Spec) -> st.SearchStrategy[int]:
    if spec.choices:
        return st.sampled_from([int(each) for each in spec.choices])
    return st.integers(int(spec.low or 0), int(spec.high or 0))


def _values(spec: Spec) -> st.SearchStrategy[Any]:
    values = _BY_KIND[spec.kind](spec)
    return values if spec.required or spec.kind is Kind.NUMBERS else st.one_of(st.just(spec.default), values)


def records(what: str, **fixed: Any) -> st.SearchStrategy[Record]:
    """Any record of this type that the field declarations allow."""
    values = {name: _values(spec) for name, spec in SPECS[what].items() if name not in fixed}
    return st.fixed_dictionaries(values).map(lambda given: TYPES[what](**given, **fixed))


@st.composite
def site_registers(draw: st.DrawFn) -> Register:
    """One site with a tower, one of each thing on it, and a team: all of it linked, every other value free."""
    tower = {"tower": "T"}
    found: list[Record] = [
        draw(records("site", id="S")),
        draw(records("tower", id="T", site="S")),
        draw(records("basin", id="B", equaliser_to=None, **tower)),
        draw(records("basin", id="B2", equaliser_to="B", **tower)),
        draw(records("circuit", id="H", basin="B", **tower)),
        draw(records("trace", id="H2", **tower)),
        draw(records("source", id="E", **tower)),
        draw(records("instrument", id="I")),
        draw(records("person", id="P")),
    ]
    homes = {"circuit": "H", "basin": "B", "trace": "H2", "instrument": "I"}
    for number, (position, what) in enumerate(POSITIONS.items()):
        found.append(draw(records("device", id=f"D{number}", position=position, of=homes[what])))
    return Register.of(found)
