"""Amps of a visit that do not pass get a name: from the plate, the volts and the ohms of the same visit.

The readings are those of circuit theory for 18 kW, 480 V (see `tests/calc/test_network.py`).
"""

from dataclasses import replace

import pytest

from seasonlog.domain.named_faults import MOST_IN_WORDS, cause_record, causes_words, named_causes
from tests.domain.limit_samples import heater

LOST_LINE = (0.0, 18.7, 18.7)


def named(amps: tuple[float, ...], /, *, answers: dict[str, str] | None = None, **circuit) -> list[tuple[str, str]]:
    context = replace(heater(**circuit), answers=answers or {})
    return [(cause.cause, cause.where) for cause in named_causes(amps, context)]


def test_a_lost_line_is_named_with_the_element_that_looks_the_same() -> None:
    assert named(LOST_LINE, connection="wye") == [("line_open", "A"), ("element_open", "A")]
    assert named(LOST_LINE, connection="delta") == [("line_open", "A")]


def test_ohms_of_the_same_visit_settle_it() -> None:
    broken, whole = {"ohms_line_to_line": "OL/25.5/OL"}, {"ohms_line_to_line": "25.6/25.5/25.7"}
    assert named(LOST_LINE, answers=broken, connection="wye")[0] == ("element_open", "A")
    assert ("element_open", "A") not in named(LOST_LINE, answers=whole, connection="wye")


def test_a_lost_line_does_not_halve_the_volts_that_amps_are_held_against() -> None:
    """Volts of 240, 480, 240 between the lines are a dead line, not a supply of 320 V."""
    found = named(LOST_LINE, answers={"supply_volts": "240/480/240"}, connection="wye")
    assert found == [("line_open", "A")]


def test_volts_of_each_line_are_used_where_they_were_read() -> None:
    assert named((9.4, 9.4, 9.4), answers={"supply_volts": "208/209/207"})[0] == ("wrong_voltage", "208 V")


def test_a_healthy_heater_is_given_no_name() -> None:
    assert named((21.6, 21.5, 21.7)) == []


@pytest.mark.parametrize("amps", [(float("inf"), 18.7, 18.7), (0.0, 18.7)])
def test_what_no_clamp_shows_is_given_no_name(amps: tuple[float, ...]) -> None:
    assert named(amps) == []


def test_a_firing_control_is_given_no_name_before_its_full_output_is_proven() -> None:
    fired = {"switching": "scr_burst", "control": "electronic"}
    assert named(LOST_LINE, **fired) == []
    assert named(LOST_LINE, answers={"full_output_proven": "yes"}, connection="wye", **fired)[0] == ("line_open", "A")


def test_a_tower_without_a_heater_circuit_is_given_no_name() -> None:
    assert named_causes(LOST_LINE, replace(heater(), circuit=None)) == ()


def test_the_words_name_the_first_two() -> None:
    causes = named_causes(LOST_LINE, heater(connection="wye"))
    assert causes_words(causes) == "looks like line open A or element open A"
    assert causes_words(()) == ""
    assert "(and others)" in causes_words((*causes, causes[0])[: MOST_IN_WORDS + 1])


def test_when_nothing_fits_the_words_say_so() -> None:
    causes = named_causes((37.5, 37.5, 37.5), heater())
    assert "no single fault" in causes_words(causes)


def test_a_cause_is_kept_without_a_floating_number() -> None:
    """Entries hold decimal text; a float would have more than one spelling."""
    record = cause_record(named_causes(LOST_LINE, heater(connection="wye"))[0])
    assert all(isinstance(value, str) for value in record.values())
    assert 0 < float(record["fit"]) <= 1
