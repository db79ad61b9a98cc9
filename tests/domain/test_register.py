"""The register as a whole: who belongs to whom, and what an import would change."""

import dataclasses

import pytest

from seasonlog.domain.register import TYPES, Register, Tower, word_of
from seasonlog.domain.register_records import SPECS
from tests.domain.register_samples import made, small_register


def test_a_parents_children_come_in_the_order_recorded():
    register = Register.of([made("site"), *(made("tower", id=f"N-{n}") for n in (3, 1, 2)), made("basin")])
    assert [tower.id for tower in register.towers_of("N")] == ["N-3", "N-1", "N-2"]
    assert [basin.id for basin in register.basins_of("N-1")] == ["N-1-B"]
    assert register.basins_of("N-2") == ()
    assert register.site_of("N-2").name == "North works"
    assert register.towers_of("nowhere") == ()


def test_each_type_has_its_table_and_its_lookup():
    register = small_register()
    assert [word_of(each) for each in register.records()] == list(TYPES)
    for children in (register.circuits_of, register.traces_of, register.sources_of):
        assert [each.tower for each in children("N-1")] == ["N-1"]
    assert [each.id for each in register.devices_at("heater", "N-1-H")] == ["D"]
    assert register.devices_at("thermostat", "N-1-H") == ()


def test_reading_the_same_again_changes_nothing():
    register = small_register()
    same, changes = register.merged([made("circuit", kw="18.0"), made("site")])
    assert changes == ()
    assert same == register


def test_a_change_names_what_differs_and_keeps_what_was():
    register = small_register()
    after, changes = register.merged([made("circuit", kw="12", breaker_amps="20"), made("tower", id="N-2")])
    tower, circuit = changes
    assert (tower.what, tower.id, tower.before) == ("tower", "N-2", None)
    assert "note" not in tower.fields
    assert (circuit.what, circuit.fields) == ("circuit", ("kw", "breaker_amps"))
    assert circuit.before == register.circuits["N-1-H"]
    assert after.circuits["N-1-H"] == circuit.after
    assert register.circuits["N-1-H"].kw == 18


def test_the_same_record_twice_in_one_import_is_one_change():
    changes = small_register().changes([made("person", name="A"), made("person", name="B")])
    assert [each.after.name for each in changes] == ["B"]


def test_a_retired_record_is_gone_and_only_that_one():
    register = small_register()
    left = register.without("device", "D")
    assert left.devices == {}
    assert len([*left.records()]) == len(TYPES) - 1


def test_records_are_frozen_and_hashable():
    tower = made("tower")
    assert isinstance(tower, Tower)
    with pytest.raises(dataclasses.FrozenInstanceError):
        tower.name = "x"  # type: ignore[misc]
    assert len({*small_register().records()}) == len(TYPES)


@pytest.mark.parametrize("what", TYPES)
def test_every_field_is_declared_with_a_sentence(what):
    for name, spec in SPECS[what].items():
        assert spec.says.endswith((".", "...")), name
        assert "|" not in spec.says, "the sentence stands in a table"
    assert list(SPECS[what]) == [each.name for each in dataclasses.fields(TYPES[what])]
