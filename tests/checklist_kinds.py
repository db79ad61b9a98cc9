"""Kinds of tower for the checklists' tests: a small register of each, what it must be asked, what it must not.

What must be asked of whom is common practice of the trade, no source.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from seasonlog.domain.checklist import Checklist, Step, StepInstance, applicable
from seasonlog.domain.register import Record, Register
from seasonlog.domain.register_items import from_item
from seasonlog.domain.register_records import word_of
from seasonlog.services import checklists
from tests.domain.register_samples import ITEMS, small_register

SHIPPED = checklists.shipped()


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
