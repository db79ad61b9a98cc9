"""Limits of water, level, control circuit and heat trace.

Freezing point 32.0 degF; ice point ASTM E563 (abstract); coil 85 to 110 % of rated volts, IEC 60947-4-1 and NEMA ICS 2
(from memory); NETA 0.5 ohm (second hand). All margins are common practice, no source. Thermometer of the examples:
+/-0.5 degF, so U = 2 x 0.5 / root three = 0.58 degF (JCGM 100, from memory).
"""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from seasonlog.domain.limits import LimitContext, Verdict, judge, limit_for
from seasonlog.domain.register import Register
from tests.domain.limit_samples import heater, instrument, tightened, using
from tests.domain.register_samples import made

P, NP, NF, F, CT = (
    Verdict.PASS, Verdict.NEAR_PASS, Verdict.NEAR_FAIL, Verdict.FAIL, Verdict.CANNOT_TELL,
)  # fmt: skip
THERMOMETER = instrument("thermometer", percent="0", counts="5", resolution="0.1", unit="degF")
CELSIUS = instrument("thermometer", percent="0", counts="5", resolution="0.1", unit="degC")
VOLTMETER = instrument("voltmeter", percent="1", counts="2", resolution="0.1", unit="V")


def plain(**circuit) -> LimitContext:
    return using(heater(**circuit), THERMOMETER, VOLTMETER)


def verdicts(quantity: str, context: LimitContext, *values: float) -> list[Verdict]:
    found = limit_for(quantity, context)
    return [judge(value, found) for value in values]


def test_cut_in_is_accepted_from_34_degf_and_the_thermometers_error() -> None:
    """32 + 2 margin, guarded by 0.58: pass from 34.58; above 45 heat is wasted, above 50 it is too much."""
    assert verdicts("cut_in_degf", plain(), 30, 33.6, 34.3, 34.6, 40, 46, 52) == [F, NF, NP, P, P, NP, F]


def test_a_celsius_thermometer_has_degrees_1_8_times_as_large() -> None:
    """0.5 degC is 0.9 degF: U = 1.04 degF, pass from 35.04 degF."""
    found = limit_for("cut_in_degf", using(heater(), CELSIUS))
    assert found.pass_low == pytest.approx(34 + 2 * 0.9 / math.sqrt(3))


def test_the_basis_of_cut_in_says_what_the_dial_promises() -> None:
    """48 degF, mark cut-out, differential 8: closes at 40 and opens at 48 by definition."""
    assert "dial 48, differential 8, mark cut_out: 40 on, 48 off" in limit_for("cut_in_degf", plain()).basis
    assert "dial" not in limit_for("cut_in_degf", plain(mark="unknown")).basis


def test_cut_out_is_held_against_the_cut_in_measured() -> None:
    context = replace(plain(), answers={"cut_in_degf@N-1-H": "40"})
    assert verdicts("cut_out_degf", context, 48, 52, 39, 62) == [P, NP, F, F]
    assert limit_for("cut_out_degf", plain()).missing == "cut-in not measured in this visit yet"


def test_water_is_above_freezing_and_margin() -> None:
    assert verdicts("water_degf", plain(), 31, 34.3, 40) == [F, NP, P]


@pytest.mark.parametrize(("reading", "verdict"), [(32, P), (32.9, NP), (33.1, NF), (33.5, F), (31.1, NP), (30, F)])
def test_a_thermometer_in_ice(reading: float, verdict: Verdict) -> None:
    """ASTM E563 ice point, +/-1 degF in the field, a careful slush within 0.2 degF (common practice, no source)."""
    assert verdicts("thermometer_ice_point_degf", plain(), reading) == [verdict]


def test_glycol_freezes_below_the_record_low_also_where_that_is_below_zero() -> None:
    """Record low -41 less 5: -46 degF, guarded by 1.15 (one count of 1 degF)."""
    refractometer = instrument("refractometer", percent="0", counts="1", resolution="1", unit="degF")
    at = using(_with_site(record_low_degf="-41", design_degf="-8"), refractometer)
    assert verdicts("glycol_freeze_point_degf", at, -60, -47.5, -46.5, -45.5, -30) == [P, P, NP, NF, F]
    by_design = limit_for("glycol_freeze_point_degf", using(_with_site(design_degf="-8"), refractometer))
    assert (by_design.high, "design temperature" in by_design.basis) == (-13, True)
    assert "not in the register" in limit_for("glycol_freeze_point_degf", plain()).missing


def _with_site(**fields: str) -> LimitContext:
    context = heater()
    register, _ = context.register.merged([made("site", **fields)])
    return replace(context, register=register)


@pytest.mark.parametrize(("deg", "verdict"), [(0, P), (4, P), (4.8, NP), (10, NF), (15, NF), (16, F), (90, F)])
def test_a_stem_float_hangs_plumb(deg: float, verdict: Verdict) -> None:
    """5 and 15 degrees: common practice, no source (one trade text: stem floats work to about 30)."""
    assert verdicts("probe_plumb_deg", using(heater(), instrument("angle")), deg) == [verdict]


@pytest.mark.parametrize(
    "basin",
    [
        {"level_device": "conductance_probe"}, {"level_device": "none"}, {"level_device_form": "side_arm"},
        {"level_device_form": "tethered"},
    ],
)  # fmt: skip
def test_no_angle_where_no_stem_hangs(basin: dict[str, str]) -> None:
    assert judge(0.0, limit_for("probe_plumb_deg", heater(basin=basin))) is CT


def test_water_over_the_heater() -> None:
    """Two inches at least, or what is left when the level device trips; none at all fails."""
    assert verdicts("level_above_heater_in", heater(), 3, 1, -0.5) == [P, NF, F]
    tripped = heater(basin={"trip_level_in": "9.5", "heater_top_in": "6"})
    assert verdicts("level_above_heater_in", tripped, 4, 3) == [P, NF]


def test_ice() -> None:
    assert verdicts("ice_depth_in", heater(), 0, 0.2, 0.5, 2) == [P, NP, NF, F]


def test_drain_time_is_the_towers_own_where_stated() -> None:
    own = replace(heater(), answers={"drain_minutes_stated": "6"})
    assert verdicts("drain_minutes", own, 5.9, 10) == [P, F]
    assert verdicts("drain_minutes", heater(), 10) == [P]


@pytest.mark.parametrize(
    ("volts", "verdict"), [(120, P), (105, P), (102.5, NP), (101.5, NF), (70, F), (0, F), (134, F)]
)
def test_control_volts_let_the_coil_pull_in(volts: float, verdict: Verdict) -> None:
    """120 V coil: 102 to 132 V."""
    found = limit_for("control_volts", plain())
    assert (found.low, found.high) == pytest.approx((102, 132))
    assert judge(volts, found) is verdict


def test_24_v_control_is_20_4_to_26_4_v() -> None:
    found = limit_for("control_volts", plain(control_volts="24"))
    assert (found.low, found.high) == pytest.approx((20.4, 26.4))
    assert judge(14, found) is F


def test_float_leads_are_judged_by_the_wiring() -> None:
    """Circuit theory, float closed: neutral leg 0 and 0, hot leg full volts on both."""
    assert verdicts("float_lead_volts", plain(), 0, 120) == [P, F]
    assert verdicts("float_lead_volts", plain(float_leg="hot"), 120, 0) == [P, F]
    assert verdicts("float_lead_volts", plain(float_leg="isolated"), 0, 24, 120) == [P, P, F]


@pytest.mark.parametrize(
    ("circuit", "words"),
    [
        ({"float_leg": "unknown"}, "which leg the float breaks is not known"),
        ({"control_grounded_leg": "unknown"}, "grounded side of the control secondary is not known"),
        ({"control_grounded_leg": "none"}, "grounded side of the control secondary is none"),
        ({"control_volts": None}, "control volts of N-1-H is not in the register"),
    ],
)
def test_unknown_wiring_is_not_guessed(circuit, words: str) -> None:
    found = limit_for("float_lead_volts", plain(**circuit))
    assert words in found.missing
    assert judge(0.0, found) is CT


def test_a_conductance_probe_carries_volts_by_design() -> None:
    probe = heater(basin={"level_device": "conductance_probe"})
    assert "by design" in limit_for("float_lead_volts", probe).missing
    assert "answer electrode_plate_volts first" in limit_for("electrode_volts", probe).missing
    plate = replace(using(probe, VOLTMETER), answers={"electrode_plate_volts": "12"})
    assert verdicts("electrode_volts", plate, 12, 5) == [P, F]


@pytest.mark.parametrize(("ohms", "verdict"), [(0.1, P), (0.45, P), (0.49, NP), (0.8, NF), (1.1, F), (math.inf, F)])
def test_a_closed_contact(ohms: float, verdict: Verdict) -> None:
    """0.5 and 1.0 ohm: common practice, no source."""
    ohmmeter = instrument("ohmmeter", percent="1", counts="2", resolution="0.01", unit="ohm")
    assert verdicts("contact_ohms", using(heater(), ohmmeter), ohms) == [verdict]


def test_a_meter_too_coarse_for_a_bond_decides_nothing() -> None:
    """0.5 ohm with 1 ohm counts: U = 2.3 ohm, no pass zone at or above zero."""
    blunt = instrument("ohmmeter", percent="1", counts="2", resolution="1", unit="ohm")
    assert verdicts("bond_ohms", using(heater(), blunt), 0, 0.4, 5) == [CT, CT, F]


def test_float_leads_insulate() -> None:
    """1 Mohm, common practice, no source; a leak of 17 to 47 kohm would hold a 2 VA relay."""
    assert verdicts("float_lead_mohm", heater(), math.inf, 5, 0.5, 0.03) == [P, P, F, F]


@pytest.mark.parametrize(
    ("circuit", "refused"),
    [
        ({"poles_switched": "3"}, False),
        ({"poles_switched": "2"}, True),
        ({"poles_switched": "unknown"}, True),
        ({"phases": "1", "poles_switched": "2"}, False),
        ({"phases": "1", "poles_switched": "1"}, True),
        ({"phases": "1", "supply_volts": "277", "volts": "277", "poles_switched": "1"}, False),
    ],
)
def test_terminals_read_nothing_only_where_every_pole_opens(circuit, refused: bool) -> None:
    """A line not switched stays live; single-phase line to neutral (277 V) has one line only. Circuit theory."""
    found = limit_for("off_terminal_volts", plain(**circuit))
    assert bool(found.missing) is refused
    if not refused:
        assert [judge(volts, found) for volts in (0, 20, 277)] == [P, NF, F]


def test_relay_drop() -> None:
    assert verdicts("relay_drop_seconds", heater(), 1, 30) == [P, F]


def test_trace_amps_mean_something_for_constant_watts_only() -> None:
    """9 ft x 8 W/ft at 120 V: 0.600 A; at 114 V 0.570 A, +/-10 % (common practice): 0.513 to 0.627. Circuit theory."""
    clamp = instrument("clamp", percent="1", counts="2", resolution="0.001", unit="A")
    at = _with_trace(kind="constant_watt", length_ft="9", w_per_ft="8", volts="120")
    at = using(replace(at, answers={"trace_volts": "114"}), clamp, VOLTMETER)
    found = limit_for("trace_amps", at)
    assert (found.low, found.high) == (pytest.approx(0.513, abs=0.0005), pytest.approx(0.627, abs=0.0005))
    assert [judge(amps, found) for amps in (0.57, 0, 1.2)] == [P, F, F]
    assert "alone prove nothing" in limit_for("trace_amps", heater()).missing
    assert limit_for("trace_amps", replace(at, answers={})).missing == "trace volts not measured in this visit yet"


def _with_trace(**fields: str) -> LimitContext:
    context = heater()
    trace = made("trace", **fields)
    register = Register.of([*context.register.records(), trace])
    return replace(context, register=register, trace=register.traces["N-1-T"])


def test_trace_insulation_and_volts() -> None:
    """IEEE 515, 20 Mohm (from memory); ANSI C84.1 Range A (from memory) for the volts."""
    assert verdicts("trace_insulation_mohm", heater(), math.inf, 30, 10, 4) == [P, P, NF, F]
    assert verdicts("trace_volts", plain(), 120, 90) == [P, F]


def test_a_site_may_hold_the_margin_tighter() -> None:
    at = tightened(plain(), freeze_margin_degf="5")
    assert limit_for("cut_in_degf", at).low == 37
    assert Decimal("5") == at.practice.constants["freeze_margin_degf"].value
