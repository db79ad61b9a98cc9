"""The shipped checklists: each loads, asks of every kind of tower what applies and nothing else, keeps its promises.

What must be asked of whom is common practice of the trade, no source, where no rule is named beside the check.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from itertools import chain
from pathlib import Path
from typing import Any

import pytest

from seasonlog import resources
from seasonlog.domain.answers import Parsed, parse_answer
from seasonlog.domain.checklist import MEASURED, Checklist, Step, StepInstance, StepKind, applicable, gate_keys
from seasonlog.domain.checklist_parse import (
    CHECKLIST_KEYS,
    CHOICE_KEYS,
    PROVES,
    SECTION_KEYS,
    STEP_KEYS,
    WHEN,
    can_fail,
)
from seasonlog.domain.finding import RETEST_ONLY
from seasonlog.domain.judging import judged
from seasonlog.domain.limits import QUANTITIES, LimitContext, Verdict, limit_for
from seasonlog.domain.register import Record, Register
from seasonlog.domain.register_items import from_item
from seasonlog.domain.register_records import word_of
from seasonlog.domain.severity import Severity
from seasonlog.domain.visit import Progress, Visit, VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.intake.checklist_file import read_checklist
from seasonlog.services import checklists
from seasonlog.services.demo import healthy
from seasonlog.services.limits import context_for, practice_table
from tests.builders import TODAY, sample_register
from tests.domain.register_samples import ITEMS, small_register

SHIPPED = checklists.shipped()
FALL, SHORT, SPRING = SHIPPED["fall-enable"], SHIPPED["short-enable"], SHIPPED["spring-disable"]
FIXED = (
    "probe_plumb_deg", "insulation_mohm", "ohms_line_to_line", "supply_volts", "line_amps", "cut_in_degf",
    "cut_out_degf", "off_low_level", "off_warm", "off_switch", "off_pump",
)  # fmt: skip
"""Step ids of the fall enable that scripts rely on."""
OPEN_TO_SCRIPTS = frozenset(FIXED) - {"insulation_mohm", "ohms_line_to_line"}
"""Those a script may answer alone; the other two are read on a circuit proved dead, and wait for that."""
TOWERS = sorted(sample_register().towers)
FORMAT = (Path(str(resources.checklists())) / "FORMAT.md").read_text("utf-8")


def asked(checklist: Checklist, register: Register, tower: str = "N-1") -> tuple[StepInstance, ...]:
    return applicable(checklist, register, tower)


def ids(checklist: Checklist, register: Register) -> set[str]:
    return {i.step.id for i in asked(checklist, register)}


def steps_of(*names: str) -> Iterator[tuple[str, Step]]:
    for name in names or SHIPPED:
        yield from ((name, step) for step in SHIPPED[name].steps)


def tower(*, more: tuple[Record, ...] = (), **changes: Mapping[str, Any]) -> Register:
    """The small register with some values of some of its records changed; None takes the record away."""
    kept = [r for r in small_register().records() if changes.get(word_of(r), {}) is not None]
    return Register.of([*(made(word_of(r), **changes.get(word_of(r), {})) for r in kept), *more])


def made(word: str, /, **changes: Any) -> Record:
    """A plain record of this type with some values changed."""
    record, problems = from_item(word, ITEMS[word] | changes, "test")
    assert record is not None, problems
    return record


# What every file keeps to


def test_the_lists_of_the_year_are_all_there() -> None:
    when = {name: SHIPPED[name].when for name in SHIPPED}
    assert when.items() >= {
        "commissioning": "commissioning", "fall-enable": "fall", "mid-winter": "winter", "spring-disable": "spring",
        "cold-snap": "cold_snap", "repair-retest": "repair", "frozen-or-overflowing": "emergency",
        "short-enable": "short",
    }.items()  # fmt: skip
    proving = {name: c.proves for name, c in SHIPPED.items() if c.proves}
    assert proving == {"fall-enable": "season", "short-enable": "provisional", "spring-disable": "off"}


def test_each_file_is_named_after_its_id() -> None:
    for file in resources.checklists().iterdir():
        if file.name.endswith(".toml"):
            assert f"{read_checklist(file.read_bytes(), file.name).id}.toml" == file.name


@pytest.mark.parametrize("name", SHIPPED)
def test_texts_fit_a_phone_and_a_cold_thumb(name: str) -> None:
    assert len(SHIPPED[name].purpose) <= 140
    for _, step in steps_of(name):
        assert len(step.title) <= 40, step.id
        assert len(step.do) <= 200, step.id
        assert len(step.why) <= 120, step.id
        assert all(len(choice.says) <= 100 for choice in step.choices), step.id


@pytest.mark.parametrize("name", SHIPPED)
def test_what_can_hurt_carries_a_caution_and_what_can_fail_a_severity(name: str) -> None:
    for _, step in steps_of(name):
        assert step.caution or not step.live, step.id
        assert step.caution or step.kind is not StepKind.CAUTION, step.id
        assert step.severity or not can_fail(step), step.id
        assert not (step.unprotected and not can_fail(step)), step.id


def test_one_id_means_one_thing_in_every_list() -> None:
    """A finding closes when the same id on the same target passes, in whichever list: so nothing may differ there."""
    meaning: dict[str, tuple[object, ...]] = {}
    for name, step in steps_of():
        if step.kind in MEASURED or step.kind is StepKind.YES_NO:
            this = (step.kind, step.per, step.quantity, step.unit, step.expect)
            assert meaning.setdefault(step.id, this) == this, (name, step.id)
    pers: dict[str, set[str]] = {}
    for _, step in steps_of():
        pers.setdefault(step.id, set()).add(step.per)
    assert {ident: per for ident, per in pers.items() if len(per) > 1} == {}


ONE_NIGHT = {"ice_seen", "pump_state", "tonight_measure"}
"""Findings about one night: looked at again by the next cold-snap check, not by a retest."""


@pytest.mark.parametrize("name", [n for n in SHIPPED if n not in ("commissioning", "lockout-inspection")])
def test_every_hazard_a_list_can_find_can_be_retested(name: str) -> None:
    """Freeze, dry-fire and shock findings close only by retest; commissioning's own are commissioned again."""
    retested = {step.id for _, step in steps_of("repair-retest")}
    hazards = {step.id for _, step in steps_of(name) if step.severity in RETEST_ONLY}
    assert hazards - retested - ONE_NIGHT == set()


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("where", TOWERS)
def test_every_list_runs_over_every_sample_tower(name: str, where: str) -> None:
    """Keys are unique, every gate opens in some order, and nothing required is judged by a limit that cannot apply."""
    found = applicable(SHIPPED[name], sample_register(), where)
    keys = [i.key for i in found]
    assert found, "asks nothing of this tower"
    assert len(keys) == len(set(keys))
    open_now, before = set[str](), -1
    while len(open_now) > before:
        before = len(open_now)
        open_now |= {i.key for i in found if set(chain(*gate_keys(i, found))) <= open_now}
    assert set(keys) - open_now == set()


@pytest.mark.parametrize("name", SHIPPED)
@pytest.mark.parametrize("where", TOWERS)
def test_every_step_takes_a_good_answer_and_judges_it(name: str, where: str) -> None:
    """The wanted word, or the middle of the computed band: never refused, never a finding."""
    register, checklist = sample_register(), SHIPPED[name]
    visit = Visit("V", where, name, checklist.sha256, 2026, 1, VisitState.OPEN, "Ada", 0, qualified=True)
    at = Progress(visit, checklist, register, applicable(checklist, register, where), {})
    for instance in at.instances:
        parsed = parse_answer(instance.step, healthy(at, instance, TODAY))
        assert isinstance(parsed, Parsed), instance.key
        verdict = judged(instance.step, parsed, context_for(at, instance, TODAY)).verdict
        assert verdict in (Verdict.PASS, Verdict.NEAR_PASS, Verdict.CANNOT_TELL), instance.key


NEVER_APPLIES = (
    "no stem", "no angle applies", "carries volts by design", "has no level device", "no unbalance", "belongs to",
    "unswitched poles", "its amps alone",
)  # fmt: skip
"""Words of a limit that says that it is about another kind of equipment."""


@pytest.mark.parametrize("where", TOWERS)
def test_no_required_reading_is_judged_by_a_limit_of_other_equipment(where: str) -> None:
    register = sample_register()
    for checklist in SHIPPED.values():
        for instance in applicable(checklist, register, where):
            if instance.step.quantity and instance.step.required:
                says = limit_for(instance.step.quantity, _context(register, where, instance)).missing
                assert not [words for words in NEVER_APPLIES if words in says], (instance.key, says)


def _context(register: Register, where: str, instance: StepInstance) -> LimitContext:
    target = instance.target or ""
    return LimitContext(
        register, register.towers[where], register.circuits.get(target), register.basins.get(target),
        register.traces.get(target), TODAY, 480.0, {}, practice_table(), {"full_output_proven": "yes"},
    )  # fmt: skip


def test_the_false_saying_about_ice_stands_nowhere() -> None:
    """ "1 to 3 in of ice is near 100 psf" is wrong: solid ice is 57.25 lb/ft3 (917 kg/m3), so 3 in weigh 14.3 psf."""
    assert pytest.approx(14.3, abs=0.05) == 57.25 * 3 / 12
    text = " ".join(chain(FORMAT.split(), *(c.text.split() for c in SHIPPED.values())))
    assert not re.search(r"\b100 (psf|pounds)", text)
    stated = re.search(r"Solid ice is ([\d.]+) psf an inch: ([\d.]+) in make the 20 psf", text)
    assert stated is not None
    assert float(stated[1]) == pytest.approx(57.25 / 12, abs=0.05)
    assert float(stated[2]) == pytest.approx(20 / (57.25 / 12), abs=0.05)
    ponded = re.search(r"Ponded water weighs ([\d.]+) psf an inch", text)  # 62.43 lb/ft3, ASCE 7 uses 5.2
    assert ponded is not None
    assert float(ponded[1]) == pytest.approx(62.43 / 12, abs=0.05)


# What is asked of whom


PUMPED = {"off_pump", "off_pump_amps", "off_pump_volts"}
FLOAT = {"float_free", "float_lead_mohm", "float_lead_a_volts", "float_lead_b_volts", "float_leg_found", "float_meter"}
STEM = {"probe_plumb_deg"}
ELECTRODES = {"probe_clean_dry", "electrode_volts", "probe_short_not_full", "probe_alarm"}
COIL = {"coil_isolators_open", "coil_opens_cold", "coil_closes_warm", "coil_supply_at_setback", "coil_itself_safe"}
SUMP = {"drain_minutes", "sump_no_low_point", "sump_takes_volume", "sump_room_warm"}
CLOSED = {"coil_protection", "glycol_freeze_point_degf", "dampers_close"}
DRAINED = {"drain_open_clear", "makeup_shut_drained", "low_points_drained", "no_leak_by", "heater_locked_off"}
DRAIN_TEST = {"leads_lifted", "leads_landed", "heats_after_landing", "treatment_told"}
HEATER = {"insulation_mohm", "ohms_line_to_line", "supply_volts", "line_amps", "cut_in_degf", "cut_out_degf",
          "off_switch", "off_warm", "off_low_level"}  # fmt: skip
LOCK = {"sources_listed", "lockout", "lockout_by"}
NO_CIRCUIT: dict[str, Any] = {"circuit": None, "device": None}

KINDS: list[tuple[str, Register, set[str], set[str]]] = [
    (
        "stem float, drained for cleaning",
        tower(basin={"level_device_form": "stem"}, circuit={"poles_switched": "3", "float_leg": "neutral"}),
        HEATER | FLOAT | STEM | LOCK | DRAIN_TEST | {"off_low_level_volts", "left_breaker_on", "trace_volts"},
        PUMPED | ELECTRODES | COIL | SUMP | CLOSED | DRAINED | {"arm_mark_up", "off_low_level_amps"},
    ),
    (
        "stem float, stays full, pump on the tower",
        tower(tower={"pump_on_tower": True, "drained_for_cleaning": False}, circuit={"poles_switched": "3"}),
        HEATER | PUMPED | FLOAT | {"off_low_level_amps"},
        DRAIN_TEST,
    ),
    (
        "side arm",
        tower(basin={"level_device_form": "side_arm"}),
        {"arm_mark_up", "float_free", "conduit_not_pulling"},
        STEM | {"tether_free", "well_clear"},
    ),
    ("tethered", tower(basin={"level_device_form": "tethered"}), {"tether_free"}, STEM | {"arm_mark_up"}),
    ("stilling well", tower(basin={"level_device_form": "stilling_well"}), {"well_clear"}, STEM | {"arm_mark_up"}),
    (
        "conductance probe",
        tower(basin={"level_device": "conductance_probe"}),
        HEATER | ELECTRODES,
        FLOAT | STEM | {"float_open_pattern"},
    ),
    (
        "combined controller",
        tower(basin={"level_device": "combined_controller"}, circuit={"control": "electronic"}),
        HEATER | ELECTRODES | {"hard_wired_cutout", "stat_contact"},
        FLOAT | STEM,
    ),
    (
        "no level device",
        tower(basin={"level_device": "none"}),
        {"own_level_device", "off_switch", "off_warm", "line_amps"},
        FLOAT | STEM | ELECTRODES | DRAIN_TEST - {"treatment_told"} | {"off_low_level", "relay_drop_seconds"},
    ),
    (
        "steam coil",
        tower(**NO_CIRCUIT, basin={"heat": "steam", "level_device": "none"}, source={"what": "steam"}),
        COIL | {"coil_trap_passes", "thermometer_ice_point_degf", "lockout"},
        HEATER | FLOAT | STEM | ELECTRODES | DRAINED | {"level_above_heater_in", "proved_dead", "own_level_device"},
    ),
    (
        "hot water coil",
        tower(**NO_CIRCUIT, basin={"heat": "hot_water", "level_device": "none"}),
        COIL,
        HEATER | {"coil_trap_passes"},
    ),
    (
        "remote sump",
        tower(**NO_CIRCUIT, tower={"winter": "remote_sump"}, basin={"heat": "none", "level_device": "none"}),
        SUMP | {"drain_minutes_stated"},
        HEATER | COIL | DRAINED | {"thermometer_ice_point_degf", "left_makeup_open", "own_temperature_sensor"},
    ),
    (
        "run wet",
        tower(**NO_CIRCUIT, tower={"winter": "run_wet"}, basin={"heat": "none", "level_device": "none"}),
        {"wet_flow_and_heat", "wet_loss_alarm", "wet_ice_control", "basin_clean", "left_makeup_open"},
        HEATER | COIL | SUMP | DRAINED,
    ),
    ("closed circuit", tower(tower={"kind": "closed_circuit"}), HEATER | CLOSED, COIL | SUMP | DRAINED),
    (
        "drained",
        tower(tower={"winter": "drained"}),
        DRAINED | {"trace_locked_off", "treatment_told", "handover"},
        HEATER | FLOAT | STEM | LOCK | COIL | SUMP | {"trace_volts", "left_breaker_on", "basin_clean", "makeup_closes"},
    ),
    (
        "no ground fault device, one pole unswitched, no lamps",
        tower(circuit={"ground_fault": "none", "poles_switched": "2", "lamps": "0"}),
        {"pole_stays_live", "off_switch_amps"},
        {"ground_fault_trips", "ground_fault_found", "lamps_right", "left_enabled_lamp", "off_switch_volts"},
    ),
    (
        "ground fault device, all poles",
        tower(circuit={"ground_fault": "equipment", "poles_switched": "3", "lamps": "2", "thermal_limit": True}),
        {"ground_fault_trips", "off_switch_volts", "lamps_right", "left_enabled_lamp", "thermal_limit"},
        {"ground_fault_found", "pole_stays_live"},
    ),
    (
        "firing unit by PLC",
        tower(circuit={"switching": "scr_burst", "control": "plc"}),
        {"full_output_proven", "lost_signal", "hard_wired_cutout", "line_amps"},
        {"contactor_contacts", "coil_volts", "stat_contact", "dial_setting_degf", "dial_mark"},
    ),
    (
        "contactor by dial",
        tower(),
        {"contactor_contacts", "coil_volts", "stat_contact", "dial_setting_degf", "ground_fault_found"},
        {"full_output_proven", "lost_signal", "hard_wired_cutout"},
    ),
    (
        "constant watt trace with everything",
        tower(trace={"kind": "constant_watt", "stat": "line", "ground_fault_ma": "30", "end_light": True}),
        {"trace_amps", "trace_stat_closes_cold", "trace_ground_fault_trips", "trace_end_light"},
        {"trace_ground_fault_fitted"},
    ),
    (
        "no trace",
        tower(trace=None, device=None),
        {"makeup_line_guarded"},
        {"trace_volts", "trace_insulation_mohm", "trace_cladding"},
    ),
]  # fmt: skip


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


# The format, and checklists of one's own


def _rows(heading: str) -> set[str]:
    part = FORMAT.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    return set(re.findall(r"^\| `([a-z_-]+)` \|", part, re.MULTILINE))


@pytest.mark.parametrize(
    ("heading", "known"),
    [
        ("Keys of the file", set(CHECKLIST_KEYS)),
        ("Keys of a section", set(SECTION_KEYS)),
        ("Keys of a step", set(STEP_KEYS)),
        ("Kinds", {str(kind) for kind in StepKind}),
        ("Quantities", set(QUANTITIES)),
    ],
)
def test_the_format_page_tells_every_key_and_no_other(heading: str, known: set[str]) -> None:
    assert _rows(heading) == known


def test_the_format_page_tells_every_word() -> None:
    words = {*WHEN, *(p for p in PROVES if p), *map(str, Severity), *CHOICE_KEYS, "tower.emptied",
             "circuit.all_poles_switched"}  # fmt: skip
    assert {word for word in words if f"`{word}`" not in FORMAT} == set()
    assert {f"{name}.toml" for name in SHIPPED if f"`{name}.toml`" not in FORMAT} == set()


def test_the_example_of_the_format_page_is_a_checklist() -> None:
    example = re.search(r"```toml\n(.*?)```", FORMAT, re.DOTALL)
    assert example is not None
    found = read_checklist(example[1].encode(), "example")
    assert [step.id for step in found.steps] == ["louvers_free", "supply_volts", "line_amps"]
    assert found.id not in SHIPPED


OWN = FORMAT.split("```toml\n", 1)[1].split("```", 1)[0]


def test_a_checklist_of_ones_own_stands_beside_the_shipped_ones(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(OWN, "utf-8")
    assert set(checklists.available(tmp_path)) == {*SHIPPED, "louver-check"}
    assert checklists.named("louver-check", tmp_path).title == "Louver check"


def test_a_shipped_id_cannot_be_taken_and_an_own_one_only_once(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(OWN.replace("louver-check", "fall-enable"), "utf-8")
    with pytest.raises(InputRefusedError, match=r"mine\.toml, line 1, key id: .*fall-enable.* shipped"):
        checklists.available(tmp_path)
    (tmp_path / "mine.toml").write_text(OWN, "utf-8")
    (tmp_path / "same.toml").write_text(OWN, "utf-8")
    with pytest.raises(InputRefusedError, match="used by another file"):
        checklists.available(tmp_path)


def test_every_file_is_plain_toml_with_the_keys_in_one_order() -> None:
    """id and kind first, so that a person who edits the file finds them at one place."""
    for checklist in SHIPPED.values():
        for section in tomllib.loads(checklist.text)["section"]:
            for step in section["step"]:
                assert list(step)[:5] == ["id", "kind", "title", "do", "why"], (checklist.id, step["id"])
