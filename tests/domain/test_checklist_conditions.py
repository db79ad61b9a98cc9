"""Conditions: how they are read, when they hold, when two exclude each other. The project's own small language."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.condition import Condition, Facts, excludes, fact_text, fields_of, holds, read_condition, why_not
from seasonlog.domain.register import TYPES
from tests.domain.register_samples import made


def read(text: str) -> Condition:
    found = read_condition(text)
    assert found is not None, text
    return found


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("tower.pump_on_tower = yes", ("", "tower", "pump_on_tower", True, ("yes",))),
        ("  circuit.ground_fault   !=  none ", ("", "circuit", "ground_fault", False, ("none",))),
        ("basin.heat in hot_water, steam", ("", "basin", "heat", True, ("hot_water", "steam"))),
        ("basin.heat not in hot_water,steam", ("", "basin", "heat", False, ("hot_water", "steam"))),
        ("no trace.end_light = yes", ("no", "trace", "end_light", True, ("yes",))),
        ("every circuit.volts = 480", ("every", "circuit", "volts", True, ("480",))),
    ],
)
def test_a_condition_is_read(text: str, parts: tuple[object, ...]) -> None:
    found = read(text)
    assert (found.word, found.record, found.field, found.wanted, found.values) == parts


@pytest.mark.parametrize(
    "text",
    ["", "tower", "tower.winter", "tower.winter drained", "tower.winter == drained", "tower.winter =",
     "some basin.heat = electric", "TOWER.winter = drained", "tower.winter > 5"],
)  # fmt: skip
def test_what_is_no_condition_is_none(text: str) -> None:
    assert read_condition(text) is None


@given(st.text(max_size=80))
def test_any_text_is_read_or_none(text: str) -> None:
    found = read_condition(text)
    assert found is None or (found.record.isascii() and found.values)


def facts(**tower: object) -> Facts:
    a_tower = made("tower", **tower)
    basins = (made("basin", heat="steam"), made("basin", id="N-1-C", heat="electric"))
    own = {"tower": a_tower, "basin": basins[0], "circuit": made("circuit", volts="480.0", thermal_limit=None)}
    return Facts(own, {"tower": (a_tower,), "basin": basins, "trace": ()})


@pytest.mark.parametrize(
    ("text", "true"),
    [
        ("tower.winter = heated_basin", True),
        ("tower.winter != heated_basin", False),
        ("tower.pump_on_tower = no", True),
        ("tower.winter in drained, heated_basin", True),
        ("tower.winter not in drained, run_wet", True),
        ("any basin.heat = electric", True),
        ("every basin.heat = electric", False),
        ("no basin.heat = hot_water", True),
        ("every basin.heat in electric, steam", True),
        ("any trace.stat = line", False),
        ("every trace.stat = line", False),
        ("no trace.stat = line", True),
        ("circuit.volts = 480", True),
        ("circuit.volts = 480.00", True),
        ("circuit.thermal_limit = none", True),
        ("circuit.thermal_limit != yes", True),
        ("circuit.ground_fault = unknown", True),
        ("trace.kind = constant_watt", False),
        ("trace.kind != constant_watt", True),
    ],
)
def test_a_condition_holds_or_not(text: str, true: bool) -> None:
    assert holds(read(text), facts()) is true


@pytest.mark.parametrize(
    ("winter", "cleaned", "emptied"),
    [("drained", False, "yes"), ("heated_basin", True, "yes"), ("heated_basin", False, "no"), ("run_wet", False, "no")],
)
def test_a_tower_is_emptied_in_winter_or_for_cleaning(winter: str, cleaned: bool, emptied: str) -> None:
    assert holds(read(f"tower.emptied = {emptied}"), facts(winter=winter, drained_for_cleaning=cleaned))


@pytest.mark.parametrize(
    ("circuit", "all_poles"),
    [
        ({"phases": "3", "poles_switched": "3"}, "yes"),
        ({"phases": "3", "poles_switched": "2"}, "no"),
        ({"phases": "1", "volts": "240", "poles_switched": "2"}, "yes"),
        ({"phases": "1", "volts": "240", "poles_switched": "1"}, "no"),
        ({"phases": "1", "volts": "120", "poles_switched": "1"}, "yes"),
        ({"phases": "1", "volts": "277", "poles_switched": "1"}, "yes"),
        ({"phases": "3", "poles_switched": None}, "unknown"),
    ],
)
def test_all_poles_are_those_a_supply_has(circuit: dict[str, str | None], all_poles: str) -> None:
    """Two hot wires at 240 V, one beside the neutral at 120 and 277 V (circuit theory)."""
    own = Facts({"circuit": made("circuit", **circuit)}, {})
    assert holds(read(f"circuit.all_poles_switched = {all_poles}"), own)


VALUES = ("a", "b", "c")
LINES = [f"tower.winter {sign} {v}" for v in VALUES for sign in ("=", "!=")] + [
    f"tower.winter {sign} {v}, {w}" for v, w in product(VALUES, VALUES) if v < w for sign in ("in", "not in")
]


@pytest.mark.parametrize(("one", "other"), list(product(LINES, LINES)))
def test_excludes_is_right_about_every_pair(one: str, other: str) -> None:
    """Held against trying every value: a fact with one of four values, one of them named by no condition."""

    def true_for(value: str, line: str) -> bool:
        c = read(line)
        return (value in c.values) == c.wanted

    meet = [v for v in (*VALUES, "d") if true_for(v, one) and true_for(v, other)]
    assert excludes(read(one), read(other)) is (not meet)


def test_nothing_is_excluded_across_facts_or_counted_records() -> None:
    assert not excludes(read("tower.winter = drained"), read("tower.kind = open"))
    assert not excludes(read("any basin.heat = steam"), read("no basin.heat = steam"))


@pytest.mark.parametrize(
    ("text", "per", "words"),
    [
        ("tower.winter = drained", "circuit", ""),
        ("basin.heat = steam", "circuit", ""),
        ("basin.heat = steam", "tower", "write any, every or no in front"),
        ("any basin.heat = steam", "tower", ""),
        ("any tower.winter = drained", "tower", "without it"),
        ("basin.heet = steam", "basin", "did you mean heat?"),
        ("basin.heat = gas", "basin", "allowed: electric, hot_water, steam, none"),
        ("basin.equaliser_valve = none", "basin", ""),
        ("tower.pump_on_tower = none", "tower", "allowed: yes, no"),
        ("tower.emptied = maybe", "tower", "allowed: yes, no"),
    ],
)
def test_a_condition_that_can_never_be_tried_says_why(text: str, per: str, words: str) -> None:
    says = why_not(read(text), per)
    assert bool(says) is bool(words)
    assert words in says


def test_a_condition_reads_back_as_it_is_shown() -> None:
    for line in LINES:
        assert read(str(read(line))) == read(line)


def test_facts_are_written_as_conditions_write_them() -> None:
    assert [fact_text(v) for v in (None, True, False, "steam", "480.0", "0.50")] == [
        "none", "yes", "no", "steam", "480", "0.5",
    ]  # fmt: skip


def test_every_record_type_has_facts() -> None:
    assert all("id" in fields_of(record_type) for record_type in TYPES)
