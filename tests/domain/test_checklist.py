"""What a tower is asked and what must come first. The rules are the project's own: common practice, no source."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.checklist import Checklist, Step, StepInstance, StepKind, applicable, gate_keys
from seasonlog.domain.condition import SEES, Condition, Facts, excludes, fields_of, holds, read_condition, why_not
from seasonlog.domain.register import Register
from seasonlog.domain.severity import Severity
from tests.domain.register_samples import ITEMS, made


def a_step(ident: str, per: str = "circuit", *only_if: str, **more: Any) -> Step:
    conditions = tuple(condition for line in only_if if (condition := read_condition(line)))
    assert len(conditions) == len(only_if)
    kind = more.pop("kind", StepKind.YES_NO)
    section = more.pop("section", "S")
    return Step(ident, kind, section, ident, "do", "why", per=per, only_if=conditions, **more)


def a_checklist(*steps: Step) -> Checklist:
    return Checklist("c", "C", 1, "p", "fall", "", steps, "", "")


def a_register(*changes: tuple[str, dict[str, Any]]) -> Register:
    """One site and tower, and whatever else is named, with what differs from the plainest record of its type."""
    records = [("site", {}), ("tower", {}), *changes]
    merged = {(what, change.get("id", ITEMS[what]["id"])): (what, change) for what, change in records}
    return Register.of(made(what, **change) for what, change in merged.values())


ONE = a_register(("basin", {}), ("circuit", {}), ("trace", {}), ("source", {}))
TWO = a_register(
    ("basin", {}),
    ("basin", {"id": "B2", "level_device": "none"}),
    ("circuit", {}),
    ("circuit", {"id": "H2", "basin": "B2", "control": "plc"}),
    ("trace", {}),
    ("source", {}),
)


def keys(checklist: Checklist, register: Register) -> list[str]:
    return [instance.key for instance in applicable(checklist, register, "N-1")]


def asked(register: Register, per: str, *only_if: str) -> list[str | None]:
    """Targets of one step with these conditions."""
    return [i.target for i in applicable(a_checklist(a_step("s", per, *only_if)), register, "N-1")]


def test_keys_carry_the_target_only_where_there_are_several() -> None:
    checklist = a_checklist(*(a_step(per, per) for per in SEES))
    assert keys(checklist, ONE) == ["tower", "basin", "circuit", "trace", "source"]
    assert keys(checklist, TWO) == [
        "tower",
        "basin@N-1-B",
        "basin@B2",
        "circuit@N-1-H",
        "circuit@H2",
        "trace",
        "source",
    ]


def test_keys_do_not_depend_on_how_many_targets_a_condition_leaves() -> None:
    assert keys(a_checklist(a_step("s", "basin", "basin.level_device = none")), TWO) == ["s@B2"]


def test_a_run_of_one_section_goes_target_by_target() -> None:
    steps = (a_step("a"), a_step("b"), a_step("t", "tower"), a_step("c", section="later"))
    assert keys(a_checklist(*steps), TWO) == ["a@N-1-H", "b@N-1-H", "a@H2", "b@H2", "t", "c@N-1-H", "c@H2"]


def test_three_lines_are_one_reading_on_a_single_phase_circuit() -> None:
    checklist = a_checklist(a_step("amps", kind=StepKind.THREE_LINES))
    single = a_register(("basin", {}), ("circuit", {"phases": "1"}))
    assert [i.step.kind for i in applicable(checklist, single, "N-1")] == [StepKind.READING]
    assert [i.step.kind for i in applicable(checklist, ONE, "N-1")] == [StepKind.THREE_LINES]


def test_an_unknown_tower_is_a_key_error() -> None:
    with pytest.raises(KeyError):
        applicable(a_checklist(a_step("s")), ONE, "N-9")


@pytest.mark.parametrize(
    ("per", "condition", "expected"),
    [
        ("circuit", "circuit.control = plc", ["H2"]),
        ("circuit", "circuit.control != plc", ["N-1-H"]),
        ("circuit", "circuit.control in plc, building", ["H2"]),
        ("circuit", "circuit.control not in plc, building", ["N-1-H"]),
        ("circuit", "basin.level_device = none", ["H2"]),
        ("circuit", "tower.pump_on_tower = no", ["N-1-H", "H2"]),
        ("circuit", "site.units = si", []),
        ("circuit", "circuit.lamps = none", ["N-1-H", "H2"]),
        ("circuit", "circuit.ground_fault = unknown", ["N-1-H", "H2"]),
        ("circuit", "circuit.kw = 18.0", ["N-1-H", "H2"]),
        ("basin", "any circuit.control = plc", ["B2"]),
        ("basin", "no circuit.control = plc", ["N-1-B"]),
        ("basin", "any basin.level_device = none", ["N-1-B", "B2"]),
        ("tower", "any basin.level_device = none", [None]),
        ("tower", "every basin.level_device = none", []),
        ("tower", "no basin.level_device = conductance_probe", [None]),
        ("tower", "every circuit.phases = 3", [None]),
    ],
)
def test_conditions_see_the_target_and_what_stands_above_it(
    per: str, condition: str, expected: list[str | None]
) -> None:
    read = read_condition(condition)
    assert read is not None
    assert why_not(read, per) == ""
    assert asked(TWO, per, condition) == expected


def test_all_conditions_must_hold() -> None:
    assert asked(TWO, "circuit", "circuit.control = plc", "basin.level_device = float_relay") == []


def test_every_needs_at_least_one() -> None:
    bare = a_register(("basin", {}))
    assert asked(bare, "tower", "every circuit.phases = 3") == []
    assert asked(bare, "tower", "no circuit.phases = 3") == [None]


def test_a_circuit_whose_basin_is_not_in_the_register_sees_it_as_unknown() -> None:
    dangling = Register.of([*ONE.sites.values(), *ONE.towers.values(), *ONE.circuits.values()])
    assert asked(dangling, "circuit", "basin.level_device = float_relay") == []
    assert asked(dangling, "circuit", "basin.level_device != none") == ["N-1-H"]


@pytest.mark.parametrize(
    ("phases", "supply", "poles", "fact"),
    [  # circuit theory: every conductor that is not the neutral is live until its pole opens
        ("3", "480", "3", "yes"),
        ("3", "480", "2", "no"),
        ("3", "480", None, "unknown"),
        ("1", "240", "2", "yes"),
        ("1", "240", "1", "no"),
        ("1", "277", "1", "yes"),
    ],
)
def test_all_poles_switched_is_worked_out(phases: str, supply: str, poles: str | None, fact: str) -> None:
    circuit = {"phases": phases, "supply_volts": supply, "volts": supply, "poles_switched": poles}
    register = a_register(("basin", {}), ("circuit", circuit))
    for word in ("yes", "no", "unknown"):
        assert bool(asked(register, "circuit", f"circuit.all_poles_switched = {word}")) == (word == fact)


@pytest.mark.parametrize(
    ("winter", "cleaned", "emptied"),
    [("heated_basin", False, False), ("heated_basin", True, True), ("drained", False, True), ("drained", True, True)],
)
def test_a_tower_is_emptied_for_winter_or_for_cleaning(winter: str, cleaned: bool, emptied: bool) -> None:
    register = a_register(("tower", {"winter": winter, "drained_for_cleaning": cleaned}))
    assert bool(asked(register, "tower", "tower.emptied = yes")) == emptied
    assert bool(asked(register, "tower", "tower.emptied = no")) != emptied


NO_CONDITIONS = (
    "", "tower", "tower.winter", "tower.winter drained", "all basin.heat = steam", "a.b == c", "=",
    "Tower.winter = drained",
)  # fmt: skip


@pytest.mark.parametrize("text", NO_CONDITIONS)
def test_what_is_no_condition_is_none(text: str) -> None:
    assert read_condition(text) is None


def test_every_field_of_the_register_may_be_named_and_its_values_are_known() -> None:
    """The fields come from the register's own declarations: a new one can be asked for at once."""
    assert fields_of("circuit")["phases"] == ("1", "3")
    assert fields_of("tower")["pump_on_tower"] == ("yes", "no")
    assert "none" in fields_of("circuit")["thermal_limit"]
    for per, sees in SEES.items():
        for record in sees:
            for field, values in fields_of(record).items():
                assert why_not(Condition("", record, field, True, values[:1] or ("x",)), per) == ""


CONDITIONS = st.builds(
    lambda field, wanted, values: Condition("", "circuit", field, wanted, tuple(values)),
    st.sampled_from(["control", "switching"]),
    st.booleans(),
    st.lists(st.sampled_from(["dial", "electronic", "plc", "building"]), min_size=1, max_size=3, unique=True),
)


@given(CONDITIONS, CONDITIONS, st.sampled_from(["dial", "electronic", "plc", "building"]))
def test_what_excludes_each_other_never_holds_together(one: Condition, other: Condition, control: str) -> None:
    register = a_register(("basin", {}), ("circuit", {"control": control}))
    steps = [replace(a_step(name), only_if=(c,)) for name, c in (("one", one), ("other", other))]
    if excludes(one, other):
        assert len(applicable(a_checklist(*steps), register, "N-1")) < 2
        assert excludes(other, one)


@given(CONDITIONS)
def test_a_condition_is_read_back_as_it_is_written(condition: Condition) -> None:
    assert read_condition(str(condition)) == condition


def gates(checklist: Checklist, register: Register, key: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    instances: tuple[StepInstance, ...] = applicable(checklist, register, "N-1")
    return gate_keys(next(i for i in instances if i.key == key), instances)


def test_a_gate_means_the_same_target_else_all_of_that_step() -> None:
    checklist = a_checklist(
        a_step("lock", "source"),
        a_step("level", "basin"),
        a_step("call"),
        a_step("amps", after=("lock", "level", "call"), after_pass=("call",)),
    )
    assert gates(checklist, TWO, "amps@H2") == (("lock", "level@N-1-B", "level@B2", "call@H2"), ("call@H2",))
    assert gates(checklist, ONE, "amps") == (("lock", "level", "call"), ("call",))
    assert gates(checklist, ONE, "lock") == ((), ())


def test_a_gate_on_a_step_that_does_not_apply_is_passed_over() -> None:
    checklist = a_checklist(
        a_step("pump", "circuit", "tower.pump_on_tower = yes"),
        a_step("low", after_pass=("pump",)),
    )
    assert gates(checklist, ONE, "low") == ((), ())


def test_a_gate_on_one_of_two_wordings_means_the_one_that_applies() -> None:
    checklist = a_checklist(
        a_step("low", "circuit", "circuit.control = dial"),
        a_step("low", "circuit", "circuit.control != dial"),
        a_step("after", after=("low",)),
    )
    assert gates(checklist, TWO, "after@H2") == (("low@H2",), ())


def test_each_severity_says_what_it_means_in_one_line() -> None:
    meanings = [severity.means for severity in Severity]
    assert len(set(meanings)) == len(Severity) == 6
    assert all(20 < len(text) < 120 and "\n" not in text for text in meanings)


def test_holds_needs_no_register_of_its_own() -> None:
    """A condition on nothing known is false for `=` and true for `!=`: unknown is a value and is never guessed."""
    nothing = Facts({}, {})
    assert not holds(Condition("", "basin", "heat", True, ("electric",)), nothing)
    assert holds(Condition("", "basin", "heat", False, ("electric",)), nothing)
