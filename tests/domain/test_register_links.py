"""Links between records, and names that look like one another."""

import pytest

from seasonlog.domain.register import TYPES, Register
from seasonlog.domain.register_links import unknown_zones, unlinked
from seasonlog.domain.register_names import look_alikes, skeleton
from tests.domain.register_samples import made, small_register


def _told(*records):
    register, _ = small_register().merged(records)
    return [str(each) for each in unlinked(register, records)]


def test_records_that_hang_together_have_no_problem():
    register = small_register()
    assert unlinked(register, register.records()) == []
    assert len([*register.records()]) == len(TYPES)


@pytest.mark.parametrize(
    ("what", "key"),
    [("tower", "site"), ("basin", "tower"), ("circuit", "tower"), ("circuit", "basin"), ("trace", "tower"),
     ("source", "tower"), ("basin", "equaliser_to"), ("device", "of")],
)  # fmt: skip
def test_an_id_that_leads_nowhere_is_told(what, key):
    told = _told(made(what, id="NEW", **{key: "nowhere"}))
    assert told[0].startswith(f'{what} NEW, key {key}: "nowhere" is not the id of a ')


def test_the_likeliest_id_is_offered():
    assert _told(made("basin", id="X", tower="N1"))[0].endswith("did you mean N-1?")


def test_links_in_an_empty_register_say_that_there_is_nothing_yet():
    (problem,) = unlinked(Register(), [made("tower")])
    assert str(problem) == 'tower N-1, key site: "N" is not the id of a site in the register; there is none yet'


def test_a_circuit_heats_a_basin_of_its_own_tower():
    told = _told(made("tower", id="N-2"), made("basin", id="B2", tower="N-2"), made("circuit", id="H2", basin="B2"))
    assert told == ['circuit H2, key basin: basin "B2" belongs to tower N-2, not to this circuit\'s tower N-1']


def test_an_equaliser_joins_two_basins():
    assert "name the other one" in _told(made("basin", equaliser_to="N-1-B"))[0]


def test_a_device_is_part_of_what_its_position_belongs_to():
    assert _told(made("device", position="level_device"))[0].endswith(
        'a level_device is part of a basin; "N-1-H" is none'
    )


def test_a_zone_this_machine_does_not_know_is_told():
    sites = [made("site"), made("site", id="M", time_zone="Mars/Olympus")]
    (problem,) = unknown_zones(sites, {"America/Chicago"})
    assert str(problem).startswith('site M, key time_zone: "Mars/Olympus"')


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Tower 1", "Tower 1\ufeff"),  # hidden mark
        ("Tower 1", "\u202eTower 1"),  # reversing mark
        ("PASS", "P\u0410SS"),  # Cyrillic A: "paypal" example of UTS 39 section 4
        ("Tower 1", "Tower l"),
        ("T0", "TO"),
        ("\uff24ata", "Data"),  # full-width
        ("cafe\u0301", "caf\u00e9"),
        ("cooling  tower", "Cooling tower"),
        ("x\u0301\u0301\u0301", "x"),
    ],
)
def test_names_that_look_alike_have_one_skeleton(one, other):
    assert skeleton(one) == skeleton(other)
    pairs = look_alikes([made("tower", name=one), made("tower", id="N-2", name=other)])
    assert [(a.id, b.id) for a, b in pairs] == [("N-1", "N-2")]


def test_ids_that_look_alike_are_told_wherever_they_stand():
    assert look_alikes([made("tower", id="TO", name="A"), made("tower", id="T0", site="M", name="B")])


def test_equal_names_at_two_sites_and_different_names_are_no_pair():
    towers = [made("tower"), made("tower", id="N-2", site="M"), made("tower", id="N-3", name="Tower two")]
    assert look_alikes(towers) == []
