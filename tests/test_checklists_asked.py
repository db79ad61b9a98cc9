"""What the shipped checklists ask of each kind of tower, in which order, behind which gates.

Common practice of the trade, no source, where no rule is named beside the check.
"""

from itertools import chain
from typing import Any

import pytest

from seasonlog.domain.checklist import MEASURED, StepKind, gate_keys
from seasonlog.domain.register import Register
from seasonlog.domain.severity import Severity
from tests.checklist_kinds import CLOSED, HEATER, KINDS, PUMPED, SHIPPED, asked, ids, made, steps_of, tower

FALL, SHORT, SPRING = SHIPPED["fall-enable"], SHIPPED["short-enable"], SHIPPED["spring-disable"]
FIXED = (
    "probe_plumb_deg", "insulation_mohm", "ohms_line_to_line", "supply_volts", "line_amps", "cut_in_degf",
    "cut_out_degf", "off_low_level", "off_warm", "off_switch", "off_pump",
)  # fmt: skip
"""Step ids of the fall enable that scripts rely on."""
OPEN_TO_SCRIPTS = frozenset(FIXED) - {"insulation_mohm", "ohms_line_to_line"}
"""Those a script may answer alone; the other two are read on a circuit proved dead, and wait for that."""


@pytest.mark.parametrize(("register", "must", "must_not"), [k[1:] for k in KINDS], ids=[k[0] for k in KINDS])
def test_the_fall_enable_asks_what_applies(register: Register, must: set[str], must_not: set[str]) -> None:
    found = ids(FALL, register)
    assert must - found == set()
    assert must_not & found == set()


@pytest.mark.parametrize("register", [k[1] for k in KINDS], ids=[k[0] for k in KINDS])
@pytest.mark.parametrize("name", SHIPPED)
def test_no_list_asks_the_impossible(register: Register, name: str) -> None:
    """Nothing of a heater on a tower without one, of a pump that is not there, of water in a drained tower."""
    found = {i.step.id: i.step for i in asked(SHIPPED[name], register)}
    facts = register.towers["N-1"]
    never = set() if facts.pump_on_tower else PUMPED | {"interlock_contact"}
    never |= CLOSED | {"coil_whole"} if facts.kind == "open" else set()
    never |= set() if register.circuits else HEATER | {"heat_call", "left_breaker_on", "heater_locked_off"}
    assert found.keys() & never == set()
    assert facts.winter != "drained" or not [step.id for step in found.values() if step.live]


def test_two_basins_joined_are_asked_each_for_itself() -> None:
    joined = (made("basin", id="N-1-C", equaliser_to="N-1-B", temperature_sensor=False),
              made("circuit", id="N-1-K", basin="N-1-C", poles_switched="3"))  # fmt: skip
    keys = {i.key for i in asked(FALL, tower(more=joined, basin={"level_device_form": "stem"}))}
    assert {"basin_clean@N-1-B", "basin_clean@N-1-C", "line_amps@N-1-H", "line_amps@N-1-K"} <= keys
    assert "probe_plumb_deg@N-1-B" in keys
    assert "probe_plumb_deg@N-1-C" not in keys
    assert "equaliser_open@N-1-C" in keys
    assert "own_temperature_sensor@N-1-C" in keys
    assert "own_temperature_sensor@N-1-B" not in keys


def test_single_phase_is_read_on_one_line() -> None:
    found = {i.step.id: i.step.kind for i in asked(FALL, tower(circuit={"phases": "1", "volts": "240"}))}
    for ident in ("line_amps", "supply_volts", "ohms_line_to_line", "off_switch_amps"):
        assert found[ident] is StepKind.READING


# The fall enable


def test_the_ids_that_scripts_rely_on_are_there() -> None:
    full = tower(tower={"pump_on_tower": True}, basin={"level_device_form": "stem"})
    assert set(FIXED) <= ids(FALL, full)
    assert all(i.key == i.step.id for i in asked(FALL, full) if i.step.id in FIXED)


@pytest.mark.parametrize("register", [k[1] for k in KINDS], ids=[k[0] for k in KINDS])
def test_a_script_with_fixed_ids_alone_is_never_held_up(register: Register) -> None:
    found = asked(FALL, register)
    for instance in found:
        if instance.step.id in OPEN_TO_SCRIPTS:
            assert set(chain(*gate_keys(instance, found))) <= OPEN_TO_SCRIPTS, instance.key


def test_low_level_comes_last_and_only_after_the_others_passed() -> None:
    pumped = asked(FALL, tower(tower={"pump_on_tower": True, "drained_for_cleaning": False}))
    low = next(i for i in pumped if i.step.id == "off_low_level")
    assert gate_keys(low, pumped)[1] == ("off_switch", "off_warm", "off_pump")
    order = [i.step.id for i in pumped]
    assert order.index("off_low_level") > max(map(order.index, ("off_switch", "off_warm", "off_pump")))
    assert order.index("line_amps") < order.index("off_switch")


def test_low_level_is_proved_by_hand_downwards_or_on_falling_water_with_the_leads_off() -> None:
    full = next(i for i in asked(FALL, tower(tower={"drained_for_cleaning": False})) if i.step.id == "off_low_level")
    emptied = next(i for i in asked(FALL, tower()) if i.step.id == "off_low_level")
    assert "DOWN" in full.step.do
    assert "Never raise the float" in full.step.caution
    assert "Drain past the trip level" in emptied.step.do
    assert "leads off at T1-T3 first, under lockout" in emptied.step.caution
    lifted = next(i.step for i in asked(FALL, tower()) if i.step.id == "leads_lifted")
    assert lifted.required


def test_insulation_and_ohms_wait_for_proof_of_dead() -> None:
    found = asked(FALL, tower())
    for ident in ("insulation_mohm", "ohms_line_to_line", "bond_ohms"):
        after = gate_keys(next(i for i in found if i.step.id == ident), found)[0]
        assert set(after) == {"lockout", "proved_dead"}


def test_energy_sources_are_locked_one_by_one() -> None:
    more = (made("source", id="N-1-W", what="makeup_water"), made("source", id="N-1-F", what="fan"))
    keys = [i.key for i in asked(FALL, tower(more=more)) if i.step.id == "lockout"]
    assert keys == ["lockout@N-1-S", "lockout@N-1-W", "lockout@N-1-F"]


AS_LEFT = {"left_jumpers_out", "left_panel_shut", "left_locks_off", "left_makeup_open", "left_bulb_in_well",
           "left_dial_as_recorded", "left_breaker_on", "left_switch_on"}  # fmt: skip


@pytest.mark.parametrize("name", ["fall-enable", "short-enable", "mid-winter"])
def test_a_heated_tower_is_left_ready(name: str) -> None:
    found = {i.step.id: i.step for i in asked(SHIPPED[name], tower(circuit={"lamps": "1"}))}
    assert found.keys() >= AS_LEFT | {"left_enabled_lamp"}
    assert all(found[ident].required for ident in AS_LEFT)


# The other lists


def test_the_short_enable_asks_the_little_it_may_and_no_more() -> None:
    found = asked(SHORT, tower(basin={"level_device_form": "stem"}, circuit={"poles_switched": "3"}))
    short = {i.step.id for i in found}
    assert short >= {"level_above_heater_in", "heat_call", "line_amps", "off_switch", "off_switch_amps",
                     "off_switch_volts", "off_low_level", "makeup_closes"}  # fmt: skip
    assert short & {"off_warm", "off_pump", "insulation_mohm", "cut_in_degf", "leads_lifted", "lockout"} == set()
    low = next(i for i in found if i.step.id == "off_low_level")
    assert gate_keys(low, found) == ((), ("off_switch",))
    assert "DOWN" in low.step.do


@pytest.mark.parametrize(
    ("site", "towers", "on"),
    [
        ("on", {"drained_for_cleaning": True}, "fail"),
        ("on", {"winter": "drained", "drained_for_cleaning": False}, "fail"),
        ("off_locked", {"drained_for_cleaning": False}, "fail"),
        ("on", {"drained_for_cleaning": False}, "pass"),
    ],
)
def test_spring_leaves_the_breaker_on_only_where_the_basin_stays_full(
    site: str, towers: dict[str, Any], on: str
) -> None:
    register = tower(site={"breaker_after_spring": site}, tower=towers)
    (step,) = [i.step for i in asked(SPRING, register) if i.step.id == "heater_locked_off"]
    worth = {choice.value: choice.verdict for choice in step.choices}
    assert (worth["on"], worth["off_locked"]) == (on, "pass")
    assert worth.get("on_but_opened", "fail") == "fail"


def test_spring_says_that_the_switch_isolates_nothing_and_proves_off_while_heat_is_called_for() -> None:
    found = asked(SPRING, tower(circuit={"poles_switched": "3"}))
    steps = {i.step.id: i.step for i in found}
    order = [i.step.id for i in found]
    assert "isolates nothing" in steps["switch_is_not_lockout"].title
    assert order.index("switch_is_not_lockout") < order.index("heat_call") < order.index("off_switch")
    assert order.index("off_switch") < order.index("off_switch_amps") < order.index("heater_locked_off")
    assert steps["off_switch_amps"].kind is StepKind.THREE_LINES
    assert {"heat_call", "off_switch", "off_switch_amps", "off_switch_volts", "heater_locked_off", "summer_repairs",
            "left_jumpers_out", "left_switch_off"} <= {i for i, s in steps.items() if s.required}  # fmt: skip
    assert "jumper" not in {c.value for c in steps["heat_call_method"].choices}


def test_no_word_from_the_telephone_is_a_pass() -> None:
    """Good news told by phone is cannot tell, bad news counts; readings are recorded and never judged."""
    steps = [step for _, step in steps_of("cold-snap") if step.kind is not StepKind.TEXT]
    assert not [s.id for s in steps if s.live or s.quantity]
    choices = [s for s in steps if s.kind is StepKind.CHOICE]
    assert len(choices) > 10
    for step in choices:
        worth = {choice.value: choice.verdict for choice in step.choices}
        told = {v for value, v in worth.items() if value.startswith("told_") or value == "customer_phone"}
        assert told == {"cannot_tell"}, step.id
        assert step.id == "reported_by" or "fail" in worth.values(), step.id
    assert {s.severity for s in steps if s.kind is StepKind.YES_NO} == {Severity.RECORD_GAP}


def test_a_frozen_tower_is_people_water_machines_engineer_and_only_then_thaw() -> None:
    water, fan = made("source", id="N-1-W", what="makeup_water"), made("source", id="N-1-F", what="fan")
    found = asked(SHIPPED["frozen-or-overflowing"], tower(more=(water, fan)))
    order = [i.step.id for i in found]
    path = ("people_clear", "makeup_shut", "lockout", "engineer_called", "thaw_slow", "basin_whole", "cause",
            "heater_locked_off", "enable_planned")  # fmt: skip
    assert sorted(path, key=order.index) == list(path)
    waiting = {i.step.id for i in found if gate_keys(i, found)[1] == ("engineer_called",)}
    assert waiting >= {"thaw_way_out", "thaw_slow", "fan_turns_free", "fill_whole", "pipes_whole", "basin_whole"}
    engineer = next(i.step for i in found if i.step.id == "engineer_called")
    assert [c.value for c in engineer.choices if c.verdict == "pass"] == ["may_work"]


def test_mid_winter_proves_no_stay_off_and_reads_against_the_proven_cut_in() -> None:
    found = {i.step.id: i.step for i in asked(SHIPPED["mid-winter"], tower(circuit={"lamps": "2"}))}
    assert not [ident for ident in found if ident.startswith("off_") or ident.startswith("cut_")]
    assert {"water_degf", "ice_depth_in", "level_at_mark", "lamps_look", "heating_now", "supply_volts",
            "level_device_look", "trace_alive"} <= {i for i, s in found.items() if s.required}  # fmt: skip
    assert not found["line_amps"].required


def test_commissioning_measures_all_that_the_fall_enable_measures_and_drains_in_any_case() -> None:
    measured = {step.id for _, step in steps_of("fall-enable") if step.kind in MEASURED and step.quantity}
    commissioned = {step.id for _, step in steps_of("commissioning")}
    assert measured - commissioned == {"off_low_level_amps"}  # with the leads lifted there is no current to read
    full = {i.step.id: i.step for i in asked(SHIPPED["commissioning"], tower(tower={"drained_for_cleaning": False}))}
    assert full.keys() >= {"leads_lifted", "leads_landed", "tripped_in_time", "plate_amps_sense", "breaker_right"}
    assert "Drain past the trip level" in full["off_low_level"].do


def test_a_retest_asks_the_base_of_everybody_and_the_low_level_test_of_whoever_touched_the_level_device() -> None:
    found = {i.step.id: i.step for i in asked(SHIPPED["repair-retest"], tower(circuit={"poles_switched": "3"}))}
    required = {ident for ident, step in found.items() if step.required}
    assert required >= {"repaired", "lockout", "heat_call", "supply_volts", "line_amps", "off_switch",
                        "level_retested", "left_jumpers_out"}  # fmt: skip
    assert len(required) < 35 < len(found) - len(required)
    worth = {choice.value: choice.verdict for choice in found["level_retested"].choices}
    assert worth == {"not_touched": "pass", "retested": "pass", "not_retested": "fail"}
    assert found["level_retested"].severity is Severity.DRY_FIRE_RISK
