"""A record and the item the log stores for it."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.domain.register import TYPES
from seasonlog.domain.register_items import from_item, to_item
from tests.domain.register_samples import ITEMS, made, records, says


@settings(max_examples=200)
@given(st.sampled_from(list(TYPES)).flatmap(records))
def test_every_record_comes_back_from_its_item(record):
    item = to_item(record)
    again, problems = from_item(record.__class__.__name__.lower(), item, "log")
    assert problems == []
    assert again == record
    assert to_item(again) == item


@settings(max_examples=100)
@given(st.sampled_from(list(TYPES)).flatmap(records))
def test_an_item_is_json_without_a_number_in_it(record):
    """The log's canonical form has no floats; numbers travel as decimal text."""
    item = to_item(record)
    assert json.loads(json.dumps(item), parse_float=pytest.fail, parse_int=pytest.fail) == item
    assert None not in item.values()


def test_an_item_says_only_what_was_given():
    assert to_item(made("tower")) == ITEMS["tower"]
    assert to_item(made("circuit", kw="18.50"))["kw"] == "18.50"


def test_all_problems_are_told_at_once():
    told = says("circuit", kw="nan", volts="0", phases=None, basin="a b", heatrs="1")
    assert [each.split(":")[0] for each in told] == [
        f"f, key {key}" for key in ("basin", "kw", "volts", "heatrs", "phases")
    ]


def test_an_unknown_key_is_refused_with_the_likeliest_one():
    assert says("basin", dept_ft="1") == ['f, key dept_ft: "dept_ft" is not known here; did you mean depth_ft?']
    assert "known here: id, tower, protects" in says("trace", zzz="1")[0]


def test_a_missing_key_is_told_with_what_it_should_hold():
    (sentence,) = says("site", time_zone=None)
    assert sentence.startswith("f, key time_zone: is missing; a time zone by its IANA name")


def test_what_is_not_given_takes_no_guess():
    circuit = made("circuit")
    assert (circuit.connection, circuit.float_leg, circuit.mark, circuit.ground_fault) == ("unknown",) * 4
    assert (circuit.plate_amps, circuit.thermal_limit, circuit.hard_wired_cutout) == (None, None, None)


def test_an_unknown_type_is_refused():
    record, problems = from_item("lift", {}, "log")
    assert record is None
    assert str(problems[0]).startswith('log: "lift" is no kind of record; allowed is one of site, tower')


def test_a_key_with_control_characters_is_shown_safely():
    (sentence,) = says("tower", **{"na\x1b[31mme": "x"})
    assert sentence.isprintable()


@pytest.mark.parametrize("given", [" HOS", "HOS ", "a/b", "", "x" * 33, "-a", ".a", "a\n", "\u0410", "a b", 5, True])
def test_an_id_has_one_form(given):
    assert says("site", id=given)[0].endswith("the first a letter or digit")


@pytest.mark.parametrize("given", ["HOS-1", "a", "0", "A.b_c-9", "x" * 32])
def test_ids_that_are_taken(given):
    assert made("site", id=given).id == given
