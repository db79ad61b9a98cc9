"""The register check: a consistent register is left in peace, each planted mistake is found with its arithmetic.

Figures: circuit theory; NEC 240.4, 240.6(A), Table 310.16 and 125 % (public transcriptions); the margins of the table
of limits (common practice, no source).
"""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonlog.calc.heater import line_amps
from seasonlog.domain.contradictions import RULES, Contradiction, contradictions
from seasonlog.domain.register import Record, Register, word_of
from seasonlog.domain.severity import Severity
from seasonlog.services.limits import practice_table
from tests.builders import sample_register
from tests.domain.register_samples import made, records

ON = date(2026, 9, 15)
CLEAN: dict[str, dict[str, Any]] = {
    "site": {"design_degf": "-8", "record_low_degf": "-41"},
    "tower": {},
    "basin": {
        "area_ft2": "96", "depth_ft": "1", "volume_gal": "718", "operating_level_in": "12", "trip_level_in": "8.5",
        "heater_top_in": "6", "makeup_heat_trace": True,
    },
    "circuit": {
        "plate_amps": "21.7", "supply_volts": "480", "breaker_amps": "30", "conductor_awg": "10", "terminal_degc": "75",
        "control_volts": "120", "coil_volts": "120", "control_grounded_leg": "x2", "float_leg": "neutral",
        "dial_degf": "48", "differential_degf": "8", "mark": "cut_out", "poles_switched": "3",
        "hard_wired_cutout": True,
    },
    "trace": {},
    "source": {},
    "instrument": {"calibration_due": date(2027, 5, 31), "range_low": "0", "range_high": "600"},
    "person": {"qualified_until": date(2027, 6, 30)},
    "device": {"installed": date(2020, 1, 1), "removed": date(2024, 1, 1)},
}  # fmt: skip


def source(ident: str, what: str) -> Record:
    """One energy source of the tower."""
    return replace(made("source", id=ident), what=what)


def clean(*more: Record, **changes: dict[str, Any]) -> Register:
    """A register without a contradiction, some values of some records changed."""
    plain = [made(what, **(fields | changes.get(what, {}))) for what, fields in CLEAN.items()]
    return Register.of([*plain, source("N-1-S2", "heat_trace"), *more])


def found(register: Register, on: date = ON) -> tuple[Contradiction, ...]:
    return contradictions(register, practice_table(), on)


def the_one(register: Register) -> Contradiction:
    """The only contradiction of a register."""
    (only,) = found(register)
    return only


def test_a_consistent_register_is_left_in_peace() -> None:
    assert found(clean()) == ()


CASES = [  # record type, changes, severity, key, words of the arithmetic
    ("circuit", {"plate_amps": "37.5"}, "record_gap", "plate_amps", "single-phase arithmetic; three-phase is 21.65 A"),
    ("circuit", {"plate_amps": "12.5"}, "record_gap", "plate_amps", "in one element of a delta"),
    ("circuit", {"supply_volts": "400"}, "freeze_risk", "supply_volts", "69.4 % of its power: 18 kW becomes 12.5"),
    ("circuit", {"supply_volts": "600"}, "freeze_risk", "supply_volts", "156.2 % of its power"),
    ("circuit", {"breaker_amps": "25"}, "freeze_risk", "breaker_amps", "below 1.25 x 21.65 = 27.06 A"),
    ("circuit", {"breaker_amps": "40"}, "shock_risk", "breaker_amps", "30 A is the most"),
    ("circuit", {"dial_degf": "40", "differential_degf": "10"}, "freeze_risk", "dial_degf", "closes at 30 degF"),
    ("circuit", {"dial_degf": "45", "differential_degf": "10"}, "freeze_risk", "dial_degf", "31, and 32 + 2 = 34"),
    ("circuit", {"dial_degf": "46", "differential_degf": "10"}, "freeze_risk", "dial_degf", "wanted: 48 degF on the"),
    ("circuit", {"mark": "unknown", "dial_degf": "42"}, "freeze_risk", "mark", "wanted: 46 degF on the dial, or more"),
    ("circuit", {"dial_degf": "41", "mark": "middle"}, "freeze_risk", "dial_degf", "closes at 37 degF"),
    ("circuit", {"mark": "unknown", "dial_degf": "40"}, "freeze_risk", "mark", "if cut-out: closes at 32 degF"),
    ("circuit", {"mark": "unknown", "dial_degf": None}, "freeze_risk", "mark", "no cut-in is promised"),
    ("circuit", {"float_leg": "unknown"}, "shock_risk", "float_leg", "neutral leg 0 and 0, hot leg full volts"),
    ("circuit", {"control_grounded_leg": "unknown"}, "shock_risk", "control_grounded_leg", "is not known"),
    ("circuit", {"control_grounded_leg": "none"}, "shock_risk", "float_leg", "neither is hot or neutral"),
    ("circuit", {"coil_volts": "240"}, "freeze_risk", "coil_volts", "gets 50.0 % of its volts"),
    ("circuit", {"coil_volts": "24"}, "freeze_risk", "coil_volts", "gets 500.0 % of its volts"),
    ("circuit", {"control_volts": "24", "coil_volts": "24", "control_run_ft": "300", "control_awg": "14",
                 "coil_inrush_va": "70"}, "freeze_risk", "control_run_ft", "is 1.88 ohm: of 22.8 V the coil of 70 VA"),
    ("circuit", {"hard_wired_cutout": False}, "dry_fire_risk", "hard_wired_cutout", "it has no level and limit"),
    ("circuit", {"control": "plc", "hard_wired_cutout": None}, "dry_fire_risk", "hard_wired_cutout", "not known"),
    ("circuit", {"control": "building", "hard_wired_cutout": False}, "dry_fire_risk", "hard_wired_cutout", "building"),
    ("circuit", {"switching": "ssr", "hard_wired_cutout": None}, "dry_fire_risk", "hard_wired_cutout", "by ssr"),
    ("circuit", {"switching": "ssr", "poles_switched": "unknown"}, "shock_risk", "poles_switched", "locked out"),
    ("circuit", {"switching": "phase_angle"}, "record_gap", "switching", "gives on and off only"),
    ("basin", {"trip_level_in": "5.5"}, "dry_fire_risk", "trip_level_in", "0.5 in of it stand dry"),
    ("basin", {"trip_level_in": "7"}, "dry_fire_risk", "trip_level_in", "1 in of water are left"),
    ("basin", {"trip_level_in": "11.5"}, "freeze_risk", "operating_level_in", "is 0.5 in, 1 in is wanted"),
    ("basin", {"trip_level_in": None}, "record_gap", "trip_level_in", "cannot be told"),
    ("basin", {"heater_top_in": None}, "record_gap", "heater_top_in", "cannot be told"),
    ("basin", {"level_device": "none"}, "dry_fire_risk", "level_device", "heater N-1-H stands in a basin with no"),
    ("basin", {"temperature_sensor": False}, "freeze_risk", "temperature_sensor", "no temperature sensor"),
    ("basin", {"volume_gal": "900"}, "record_gap", "volume_gal", "96 ft2 x 1 ft x 7.481 is 718 gal: +25 %"),
    ("basin", {"depth_ft": "0.5", "volume_gal": None}, "record_gap", "depth_ft", "0.5 ft is 6 in"),
    ("site", {"first_freeze": "05-12", "last_freeze": "09-24"}, "freeze_risk", "first_freeze", "dates are swapped"),
    ("site", {"last_freeze": "09-24"}, "freeze_risk", "first_freeze", "09-24 is not before last freeze 09-24"),
    ("site", {"latitude_deg": "-46.3"}, "freeze_risk", "first_freeze", "season south of the equator"),
    ("site", {"design_degf": "-50"}, "record_gap", "design_degf", "-50 degF is below the record low of -41 degF"),
    ("site", {"tighten": {"bond_ohms": "2"}}, "record_gap", "tighten.bond_ohms", "a site may only tighten"),
    ("instrument", {"calibration_due": date(2026, 5, 31)}, "record_gap", "calibration_due", "2026-05-31, 107 days ago"),
    ("instrument", {"as_found": "out_of_tolerance"}, "record_gap", "as_found", "since the one before are in doubt"),
    ("instrument", {"range_low": "700"}, "record_gap", "range_low", "range from 700 to 600"),
    ("person", {"qualified_until": date(2026, 9, 14)}, "record_gap", "qualified_until", "2026-09-14, 1 day ago"),
    ("device", {"removed": date(2019, 1, 1)}, "record_gap", "removed", "before it was installed on 2020-01-01"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "changes", "severity", "key", "words"), CASES, ids=[f"{c[0]}-{c[1]}" for c in CASES])
def test_a_mistake_is_found_alone_and_with_its_arithmetic(
    what: str, changes, severity: str, key: str, words: str
) -> None:
    only = the_one(clean(**{what: changes}))
    assert only.severity == Severity(severity)
    assert (f"key {key}" in only.where, words in only.says) == (True, True), only
    assert only.where.startswith(f"{what} ")
    assert "\n" not in only.says


HONEST = [
    ("circuit", {"plate_amps": None, "supply_volts": None, "breaker_amps": None, "conductor_awg": None}),
    ("circuit", {"plate_amps": "22"}),  # plates round: 1.6 % off
    ("circuit", {"supply_volts": "460"}),  # 4.2 % under, inside Range A
    ("circuit", {"conductor_awg": "4 mm2"}),  # not in the table of AWG: nothing is guessed
    ("circuit", {"terminal_degc": None}),  # 60 C column of 10 AWG carries 30 A
    ("circuit", {"ground_fault": "unknown", "connection": "unknown", "thermal_limit": None}),
    ("circuit", {"mark": "unknown"}),  # even as cut-out 48/8 closes at 40
    ("circuit", {"mark": "cut_in", "dial_degf": "40"}),
    ("circuit", {"control": "electronic", "mark": "cut_in", "dial_degf": "36"}),  # no dial to be 3 degF off
    ("circuit", {"float_leg": "hot"}),
    ("circuit", {"float_leg": "isolated", "control_grounded_leg": "none"}),
    ("circuit", {"hard_wired_cutout": None}),  # dial and contactor: hard-wired by nature
    ("circuit", {"control": "plc", "switching": "scr_burst", "poles_switched": "2"}),
    ("circuit", {"poles_switched": "unknown"}),
    ("circuit", {"coil_volts": None}),
    ("circuit", {"control_run_ft": "2000", "control_awg": "14", "coil_inrush_va": "216"}),  # at 120 V length is little
    ("circuit", {"control_run_ft": "3000", "control_awg": "2.5 mm2", "coil_inrush_va": "216"}),
    ("circuit", {"kw": "6", "phases": "1", "volts": "277", "plate_amps": "21.7"}),  # line to neutral of 480
    ("basin", {"level_device": "conductance_probe"}),
    ("basin", {"volume_gal": "760"}),  # 6 % off: slopes and sumps
    ("site", {"record_low_degf": None}),
    ("site", {"tighten": {"bond_ohms": "0.3"}}),
    ("instrument", {"calibration_due": None}),
    ("instrument", {"as_found": "in_tolerance"}),
    ("instrument", {"calibration_due": ON}),  # its last day
    ("person", {"qualified_until": None}),
    ("person", {"qualified_energised": False, "qualified_until": date(2020, 1, 1)}),
]


@pytest.mark.parametrize(("what", "changes"), HONEST, ids=[f"{c[0]}-{c[1]}" for c in HONEST])
def test_what_is_honest_or_only_unknown_is_not_a_contradiction(what: str, changes) -> None:
    assert found(clean(**{what: changes})) == ()


def test_a_probe_has_no_float_whose_leg_could_be_unknown() -> None:
    unknown = {"float_leg": "unknown", "control_grounded_leg": "unknown"}
    assert found(clean(circuit=unknown, basin={"level_device": "conductance_probe"})) == ()
    assert len(found(clean(circuit=unknown))) == 2


def test_a_small_conductor_is_told_twice_over() -> None:
    """12 AWG carries 25 A at 75 C, below 27.06 A, and takes 20 A of breaker, not 30. NEC 310.16, 240.4(D)."""
    says = [(c.where, c.says) for c in found(clean(circuit={"conductor_awg": "12"}))]
    assert len(says) == 2
    assert "breaker 30 A does not protect 12 AWG copper (25 A, terminals 75 C): 20 A is the most" in says[0][1]
    assert "12 AWG copper carries 25 A (terminals 75 C), below 1.25 x 21.65 = 27.06 A" in says[1][1]


def test_unmarked_terminals_take_the_60_c_column_up_to_100_a() -> None:
    """NEC 110.14(C)(1): 8 AWG carries 50 A at 75 C and 40 A at 60 C; 36 kW at 480 V wants 54.1 A."""
    big = {"kw": "30", "plate_amps": "36.1", "breaker_amps": "50", "conductor_awg": "8"}
    assert found(clean(circuit=big)) == ()
    unmarked = found(clean(circuit=big | {"terminal_degc": None}))
    assert ["terminals not known, so 60 C" in c.says for c in unmarked] == [True, True]


def test_more_than_48_a_on_one_circuit() -> None:
    """18 kW at 208 V draws 49.96 A. NEC 422.11(F) of 2008, Article 425 (second hand)."""
    low = {"volts": "208", "supply_volts": "208", "plate_amps": "50", "breaker_amps": "70", "conductor_awg": "6"}
    only = the_one(clean(circuit=low))
    assert only.where == "circuit N-1-H, key kw"
    assert "49.96 A, above the 48 A" in only.says


def test_20_kw_on_30_a_is_short_by_seven_hundredths() -> None:
    only = the_one(clean(circuit={"kw": "20", "plate_amps": "24.1", "conductor_awg": "8"}))
    assert "below 1.25 x 24.06 = 30.07 A" in only.says
    assert "next standard size is 35 A" in only.says


def equalised(valve: bool | None, **second: Any) -> Register:
    other = {"id": "N-1-C", "equaliser_to": "N-1-B", "equaliser_valve": valve, **CLEAN["basin"], **second}
    return clean(made("basin", **other), made("circuit", id="N-1-I", basin="N-1-C", **CLEAN["circuit"]))


def test_twin_basins_each_with_its_own_device_and_make_up_are_left_in_peace() -> None:
    assert found(equalised(True)) == ()


@pytest.mark.parametrize(
    ("valve", "words"), [(True, "has a valve that can be shut"), (None, "not known to be without")]
)
def test_a_level_device_behind_a_valve_guards_nothing(valve: bool | None, words: str) -> None:
    only = the_one(equalised(valve, level_device="none"))
    assert (only.severity, only.where) == (Severity.DRY_FIRE_RISK, "basin N-1-C, key level_device")
    assert words in only.says


def test_make_up_behind_a_valve_is_told_from_both_ends() -> None:
    assert found(equalised(False, makeup_valve="none")) == ()
    assert the_one(equalised(True, makeup_valve="none")).where == "basin N-1-C, key makeup_valve"
    other_end = equalised(True).merged([made("basin", **(CLEAN["basin"] | {"makeup_valve": "none"}))])[0]
    assert the_one(other_end).where == "basin N-1-B, key makeup_valve"


def bare(**tower: Any) -> Register:
    """A tower without heater."""
    basin = made("basin", heat="none", level_device="none", operating_level_in="12")
    return Register.of([made("site"), made("tower", **tower), basin])


def test_a_heated_basin_wants_a_heater_and_a_drained_tower_does_not() -> None:
    assert "nothing heats this one" in the_one(bare()).says
    for winter in ("drained", "remote_sump", "run_wet"):
        assert found(bare(winter=winter)) == ()
    nothing = Register.of([made("site"), made("tower")])
    assert "neither basin, heater circuit nor coil" in the_one(nothing).says
    electric = Register.of([made("site"), made("tower"), made("basin")])
    assert the_one(electric).says == "electric heat, but no heater circuit names this basin"


def test_a_coil_is_heat_and_wants_its_lockout_point() -> None:
    coil = made("basin", heat="steam", level_device="none")
    only = the_one(Register.of([made("site"), made("tower"), coil]))
    assert (only.severity, "steam" in only.says) == (Severity.SHOCK_RISK, True)
    point = source("N-1-S", "steam")
    assert found(Register.of([made("site"), made("tower"), coil, point])) == ()


def test_a_circuit_in_a_basin_heated_by_steam_contradicts_it() -> None:
    told = found(clean(source("N-1-S3", "steam"), basin={"heat": "steam"}))
    assert [c.where for c in told] == ["circuit N-1-H, key basin"]


@pytest.mark.parametrize(("what", "gone"), [("heater_branch", "N-1-S"), ("heat_trace", "N-1-S2")])
def test_every_source_to_lock_out_is_listed(what: str, gone: str) -> None:
    only = the_one(clean().without("source", gone))
    assert (only.severity, only.where) == (Severity.SHOCK_RISK, "tower N-1, key source")
    assert f"no energy source {what} is listed" in only.says


def test_a_pump_on_the_tower_is_locked_out_too() -> None:
    assert "a pump is mounted on it" in the_one(clean(tower={"pump_on_tower": True})).says


def test_a_traced_line_wants_a_trace() -> None:
    only = the_one(clean().without("trace", "N-1-T"))
    assert only.where == "basin N-1-B, key makeup_heat_trace"


def test_a_drained_tower_is_not_asked_for_a_cut_in() -> None:
    frozen = {"dial_degf": "40", "differential_degf": "10"}
    assert found(clean(circuit=frozen, tower={"winter": "drained"})) == ()


def test_names_that_look_alike_are_told_with_their_hidden_characters() -> None:
    twin = made("tower", id="N-2", name="Tower\u200b one", winter="drained")
    only = the_one(clean(twin))
    assert only.where == "tower N-2, key name"
    assert only.says == '"Tower[ZWSP] one" could be taken for tower N-1, "Tower one"'


def test_a_link_that_leads_nowhere_is_told() -> None:
    told = found(clean(device={"of": "nowhere"}))
    assert {c.where for c in told} == {"device D, key of"}
    assert '"nowhere" is not the id of a' in told[0].says


def test_a_site_that_tightens_is_checked_by_its_own_table() -> None:
    """Cut-in 40 less 3 and 1 is 36: above 34, below the 37 of a site that wants 5 degF of margin."""
    own = {"tighten": {"freeze_margin_degf": "5"}}
    assert "32 + 5 = 37 degF is wanted" in the_one(clean(site=own)).says


def test_figures_that_the_arithmetic_refuses_are_told_not_raised() -> None:
    """1,000 kW at 12 V is 48,000 A: no plate, breaker or table reaches that."""
    monster = {"kw": "1000", "volts": "12", "supply_volts": "12", "breaker_amps": "2000"}
    told = found(clean(circuit=monster))
    assert told
    assert all(c.where and c.says for c in told)


def test_worst_first_then_in_the_order_of_the_register() -> None:
    told = found(sample_register())
    order = [list(Severity).index(c.severity) for c in told]
    assert order == sorted(order)


SAMPLE = {
    "circuit HOS-2-H, key plate_amps",
    "circuit ULV-1-H, key supply_volts",
    "circuit ULV-2-H, key float_leg",
    "circuit ULV-2-H, key control_grounded_leg",
    "circuit ULV-4-H, key dial_degf",
    "basin DAT-4-B, key trip_level_in",
    "instrument VM-02, key calibration_due",
}


def test_the_sample_sites_hold_the_planted_mistakes_and_no_other() -> None:
    assert {c.where for c in found(sample_register())} == SAMPLE


def test_37_5_a_is_accepted_and_reported() -> None:
    """The register takes the plate as it is; the check says whose arithmetic it is."""
    assert sample_register().circuits["HOS-2-H"].plate_amps == Decimal("37.5")
    (plate,) = [c for c in found(sample_register()) if "HOS-2-H" in c.where]
    assert "37.5 A is 18 kW / 480 V single-phase arithmetic; three-phase is 21.65 A" in plate.says


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])  # a busy machine is no failure
@given(st.lists(st.sampled_from(sorted(CLEAN)).flatmap(records), max_size=6))
def test_any_register_is_checked_without_an_exception(some: list[Record]) -> None:
    for each in found(Register.of([*clean().records(), *some])):
        assert each.where.strip()
        assert each.says.strip()


@settings(deadline=None)
@given(st.integers(1, 60), st.sampled_from(["208", "240", "400", "480", "600"]), st.sampled_from([1, 3]))
def test_a_plate_worked_for_the_other_phase_count_is_always_found(kw: int, volts: str, phases: int) -> None:
    wrong = f"{line_amps(kw, float(volts), 4 - phases):.1f}"
    fields = {"kw": str(kw), "volts": volts, "phases": str(phases), "plate_amps": wrong, "supply_volts": volts}
    assert any(c.where.endswith("plate_amps") for c in found(clean(circuit=fields)))


def test_every_rule_looks_at_a_type_of_the_register() -> None:
    assert set(RULES) <= {word_of(each) for each in clean().records()}
    assert len({rule for rules in RULES.values() for rule in rules}) == sum(map(len, RULES.values()))
