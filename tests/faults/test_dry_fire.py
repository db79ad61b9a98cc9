"""Which single faults let a heater run in an empty basin, by the wiring of its float; and what to do about faults."""

import tomllib
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog import resources
from seasonlog.faults.catalogue import FAULTS, both, faults_of
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.dry_fire import LEGS, dry_fire, dry_fire_words
from seasonlog.faults.priors import parse_priors
from seasonlog.faults.repairs import PROOFS, REPAIRS, repair_words, repairs_of
from seasonlog.faults.solve import solve
from seasonlog.faults.table import hazards
from tests.faults.known_table import HAZARDS

REFERENCE = Circuit()
ANY_WIRING = {22, 23, 24, 27, 37, 43}
"""Welded or turned relay contact, stuck or shorted float, welded contactor, coil fed past the float."""


@pytest.fixture(scope="module")
def found() -> dict[str, dict[int, Any]]:
    return {leg: {each.fault.number: each for each in rows} for leg, rows in dry_fire(REFERENCE).items()}


@pytest.mark.parametrize(("leg", "more"), [("neutral", {28, 52}), ("hot", set()), ("isolated", set())])
def test_faults_that_fire_a_heater_dry(found: dict[str, dict[int, Any]], leg: str, more: set[int]) -> None:
    """Neutral leg: a wet splice on the relay-side lead holds the relay in, no fuse blows. Hot leg: the same splice
    does not. Source: conflict of trade habit and published control-circuit rules (NFPA 79, second hand), both ways
    worked out."""
    assert set(found[leg]) == ANY_WIRING | more


def test_they_are_the_d_letters_of_the_table(found: dict[str, dict[int, Any]]) -> None:
    """Source: the hazard letters worked out beforehand, neutral leg. Agreement: all of 00 to 43."""
    assert {n for n in found["neutral"] if n < 44} == {n for n, letters in HAZARDS.items() if "D" in letters}


def test_a_splice_on_a_hot_leg_blows_the_fuse_and_freezes_instead() -> None:
    """Heater off, no dry-fire: fault 30 of a neutral-leg circuit, and a grounded line-side lead of a hot-leg one."""
    for circuit in (REFERENCE, Circuit(float_leg="hot")):
        at = solve(circuit, fault=FAULTS[30])
        assert at.blows == ("secondary_fuse",)
        assert "F" in hazards(circuit, FAULTS[30])
        assert "D" not in hazards(circuit, FAULTS[30])


def test_one_ground_does_nothing_to_an_isolated_float() -> None:
    circuit = Circuit(float_leg="isolated")
    assert hazards(circuit, FAULTS[28]) == hazards(circuit) == ""
    assert solve(circuit).volts("fa") < 30


def test_a_hot_leg_float_is_told_as_a_line_conductor_in_the_water() -> None:
    """By design, yet told: the letter S stands beside no fault at all."""
    assert hazards(Circuit(float_leg="hot")) == "S"


def test_a_stuck_float_is_freed_by_the_hand_that_tests_it(found: dict[str, dict[int, Any]]) -> None:
    """Moved down by hand every one but 24 shows; 24 shows when the water itself is drained past the trip level."""
    assert {n for n, each in found["neutral"].items() if not each.by_hand} == {24}


def test_all_but_one_look_healthy_while_heating(found: dict[str, dict[int, Any]]) -> None:
    assert {n for n, each in found["neutral"].items() if not each.looks_healthy} == {23}


@pytest.mark.parametrize("leg", LEGS)
def test_words_name_each_fault_and_the_caution(leg: str) -> None:
    words = dry_fire_words(Circuit(float_leg=leg))
    assert "22 level relay contact welded" in words
    assert "local code" in words
    assert "Caution" in words
    assert "safe." not in words


def _steps() -> set[str]:
    text = (resources.checklists() / "fall-enable.toml").read_text("utf-8")
    return {step["id"] for section in tomllib.loads(text)["section"] for step in section.get("step", [])}


def test_every_fault_has_a_repair_proved_by_steps_of_the_fall_enable() -> None:
    assert REPAIRS.keys() == FAULTS.keys()
    assert PROOFS.keys() <= _steps()
    for number, repair in REPAIRS.items():
        assert set(repair.steps) <= PROOFS.keys()
        assert bool(repair.steps) == (number != 0)
        assert len(repair.says) > len(repair.do) or number == 0


def test_every_proof_is_used() -> None:
    assert {step for repair in REPAIRS.values() for step in repair.steps} == PROOFS.keys()


@pytest.mark.parametrize("number", [n for n, letters in HAZARDS.items() if "D" in letters])
def test_a_dry_fire_fault_is_closed_by_the_low_level_test(number: int) -> None:
    assert "off_low_level" in REPAIRS[number].steps


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_breaker_is_never_reset_as_a_test(number: int) -> None:
    """29 CFR 1910.334(b)(2), from memory."""
    assert "Never reset" in REPAIRS[number].do
    assert "insulation_mohm" in REPAIRS[number].steps


def test_a_pair_is_repaired_twice() -> None:
    pair = both(FAULTS[22], FAULTS[41])
    assert repairs_of(pair) == (REPAIRS[22], REPAIRS[41])
    assert repair_words(pair).startswith("22 level relay contact welded")
    assert "41 enabled lamp" in repair_words(pair)


def _table() -> dict[str, Any]:
    text = (resources.checklists() / "practice" / "faults.toml").read_text("utf-8")
    return tomllib.loads(text, parse_float=Decimal)


def test_the_shipped_weights_are_whole_and_honest() -> None:
    """Every fault has a weight, and each says that it is common practice without a source."""
    priors, problems = parse_priors(_table(), "faults.toml")
    assert problems == []
    assert priors is not None
    assert priors.weights.keys() == FAULTS.keys()
    assert all("common practice, no source" in basis for basis in priors.basis.values())
    assert sum(priors.of((number,)) for number in FAULTS) == pytest.approx(1.0)
    assert priors.of((25, 41)) == pytest.approx(priors.of((25,)) * priors.of((41,)))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"01": None}, "faults.01: missing"),
        ({"99": {"weight": 1, "basis": "x"}}, "no fault has this number"),
        ({"01": {"weight": 0, "basis": "x"}}, "weight is 0"),
        ({"01": {"weight": True, "basis": "x"}}, "weight is True"),
        ({"01": {"weight": float("nan"), "basis": "x"}}, "weight is nan"),
        ({"01": {"weight": 1, "basis": " "}}, "basis wants a sentence"),
        ({"01": {"weight": 1}}, "exactly the keys"),
        ({"01": 3}, "exactly the keys"),
    ],
)
def test_a_wrong_table_is_refused_with_the_place(change: dict[str, Any], words: str) -> None:
    table = _table()
    table["faults"] = {k: v for k, v in (table["faults"] | change).items() if v is not None}
    priors, problems = parse_priors(table, "faults.toml")
    assert priors is None
    assert len(problems) == 1
    assert words in str(problems[0])


@given(st.dictionaries(st.text(max_size=5), st.recursive(st.none() | st.floats() | st.text(), st.lists, max_leaves=3)))
def test_anything_else_is_refused(mapping: dict[str, Any]) -> None:
    priors, problems = parse_priors(mapping, "f")
    assert priors is None
    assert problems


def test_every_fault_of_a_full_circuit_is_told() -> None:
    """A circuit with everything has all but the faults its own wiring rules out."""
    full = Circuit(thermal_limit=True, heaters=2)
    assert {fault.number for fault in faults_of(full)} == FAULTS.keys() - {53}
