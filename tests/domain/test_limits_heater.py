"""Limits of what a meter shows on the heater.

Pass zones: circuit theory, +5/-10 % watts (trade custom), guard ILAC-G8:09/2019; clamp 2 % + 5 counts, volts 1 % + 2 V
(customary, no source); worked by hand, to the hundredth. Insulation ladder: proposed from heater makers' application
notes (500 V dc: 20 Mohm a new element, 5 Mohm an assembly) and 1 Mohm per kV (second hand), common practice.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.limits import Verdict, judge, limit_for
from tests.domain.limit_samples import CLAMP, COARSE_CLAMP, VOLTMETER, heater, instrument, tightened, using

COARSE = using(heater(), COARSE_CLAMP, VOLTMETER)
NINE = {"kw": "9"}
SIX = {"kw": "6", "volts": "240", "supply_volts": "240"}

ZONES = [
    ("18 kW at 480 V", {}, 480, (19.49, 22.73), (20.09, 22.04), (20.56, 21.57)),
    ("18 kW at 466 V", {}, 466, (18.92, 22.07), (19.50, 21.40), (19.98, 20.92)),
    ("9 kW at 472 V", NINE, 472, (9.58, 11.18), (9.90, 10.81), None),
    ("6 kW 240 V at 236 V", SIX, 236, (12.77, 14.90), (13.22, 14.39), (13.69, 13.93)),
    ("6 kW 240 V single-phase at 238 V", SIX | {"phases": "1"}, 238, (22.31, 26.03), (23.06, 25.17), (23.50, 24.73)),
]


@pytest.mark.parametrize(("name", "plate", "volts", "band", "fine", "coarse"), ZONES, ids=[row[0] for row in ZONES])
def test_line_amps(name: str, plate, volts: float, band, fine, coarse) -> None:
    context = heater(volts, **plate)
    found = limit_for("line_amps", context)
    assert (found.low, found.high) == pytest.approx(band, abs=0.0061)
    assert (found.pass_low, found.pass_high) == pytest.approx(fine, abs=0.0061)
    wide = limit_for("line_amps", using(context, COARSE_CLAMP, VOLTMETER))
    if coarse is None:
        assert (wide.decides, wide.pass_low, wide.pass_high) == (False, None, None)
        assert "leaves no pass zone" in wide.basis
        assert "2 turns through the jaw would decide" in wide.basis
    else:
        assert (wide.pass_low, wide.pass_high) == pytest.approx(coarse, abs=0.0061)


def test_the_basis_says_it_all_in_words() -> None:
    found = limit_for("line_amps", heater(474))
    assert found.basis == (
        "18 kW, 480 V, 3-phase: 21.65 A; at 474 V measured 21.38 A; element tolerance -10/+5 %: 19.24 to 22.45 A; "
        "meter +/-0.64 A (clamp-1; voltmeter-1)"
    )
    assert found.source == "circuit theory; trade custom +5/-10 % watts; guarded acceptance w = U, ILAC-G8:09/2019"
    assert found.formula == "line_amps/1"


def test_without_an_instrument_the_customary_accuracy_is_taken_and_said() -> None:
    """0.1 A clamp, 2 % + 5 counts; volts 1 % + 2 counts."""
    bare, coarse = limit_for("line_amps", using(heater())), limit_for("line_amps", COARSE)
    assert (bare.pass_low, bare.pass_high) == pytest.approx((coarse.pass_low, coarse.pass_high))
    assert "no instrument named: customary accuracy assumed" in bare.basis


@pytest.mark.parametrize("lines", [("21.6", "21.7", "21.5"), ("20.1", "22.0", "21.0")])
def test_a_healthy_set_passes(lines: tuple[str, ...]) -> None:
    assert {judge(float(amps), limit_for("line_amps", heater())) for amps in lines} == {Verdict.PASS}


FAULTS = [  # line amps as a share of rated, circuit theory by nodal analysis of the broken heater
    pytest.param((0, 0.866, 0.866), id="line or wye element open"),
    pytest.param((0.577, 0.577, 1.0), id="delta element open"),
    pytest.param((0.6, 0.917, 0.917), id="wye, one of two parallel elements open"),
    pytest.param((0.764, 0.764, 1.0), id="delta, one of two parallel elements open"),
    pytest.param((3.0, 3.0, 3.0), id="wye parts joined in delta"),
    pytest.param((1 / 3, 1 / 3, 1 / 3), id="delta parts joined in wye"),
    pytest.param((0.5, 0.5, 0.5), id="one of two heaters dead"),
    pytest.param((0.5, 0.901, 0.901), id="one of two heaters lost a line"),
    pytest.param((0, 0, 0), id="dead"),
    pytest.param((math.inf, 1, 1), id="one line over range"),
]


@pytest.mark.parametrize("shares", FAULTS)
@pytest.mark.parametrize("context", [heater(), COARSE], ids=["fine clamp", "coarse clamp"])
def test_a_broken_heater_fails_on_a_line(shares: tuple[float, ...], context) -> None:
    verdicts = [judge(21.65 * share, limit_for("line_amps", context)) for share in shares]
    assert Verdict.FAIL in verdicts


def test_0_18_7_18_7_fails_on_the_dead_line_and_nearly_on_the_others() -> None:
    found = limit_for("line_amps", heater())
    assert [judge(amps, found) for amps in (0.0, 18.7, 18.7)] == [Verdict.FAIL, Verdict.FAIL, Verdict.FAIL]
    assert [judge(amps, limit_for("line_amps", COARSE)) for amps in (0.0, 18.7)] == [Verdict.FAIL, Verdict.NEAR_FAIL]


def test_a_clamp_that_cannot_pass_can_still_fail() -> None:
    """9 kW at 472 V with a 0.1 A clamp: nothing passes, yet 6 A and 15 A are beyond any doubt."""
    found = limit_for("line_amps", using(heater(472, **NINE), COARSE_CLAMP, VOLTMETER))
    assert [judge(amps, found) for amps in (0.0, 6.0, 10.4, 15.0)] == [
        Verdict.FAIL, Verdict.FAIL, Verdict.CANNOT_TELL, Verdict.FAIL,
    ]  # fmt: skip


def test_turns_through_the_jaw_let_it_decide() -> None:
    """Two turns halve the count: 0.05 A, and a pass zone opens (arithmetic of the accuracy statement)."""
    coarse = using(heater(472, **NINE), COARSE_CLAMP, VOLTMETER)
    wound = limit_for("line_amps", replace(coarse, answers={"jaw_turns": "2"}))
    assert wound.decides
    assert "2 turns through the jaw" in wound.basis
    for wrong in ("many", "0", "1.5", "\u0662"):
        refused = limit_for("line_amps", replace(coarse, answers={"jaw_turns": wrong}))
        assert refused.missing, wrong


@pytest.mark.parametrize("quantity", ["line_amps"])
def test_without_volts_measured_nothing_can_be_told(quantity: str) -> None:
    found = limit_for(quantity, heater(None))
    assert found.missing == "supply volts not measured in this visit yet"
    assert judge(21.65, found) is Verdict.CANNOT_TELL
    assert judge(0.0, found) is Verdict.CANNOT_TELL


@pytest.mark.parametrize("volts", [0.0, -1.0, math.inf])
def test_impossible_volts_are_a_reason_not_a_crash(volts: float) -> None:
    assert "measured volts" in limit_for("line_amps", heater(volts)).missing


def test_a_240_v_heater_on_208_v_is_judged_at_208_v_and_its_heat_is_said() -> None:
    """Circuit theory: 14.43 A x 0.867 = 12.51 A are right for those volts, but only 75.1 % of the heat is there."""
    found = limit_for("line_amps", heater(208, **(SIX | {"supply_volts": "208"})))
    assert judge(12.51, found) is Verdict.PASS
    assert judge(14.43, found) is Verdict.FAIL
    assert found.basis.count("at these volts it gives 75.1 % of its power, 4.51 kW") == 1
    assert "of its power" not in limit_for("line_amps", heater(474)).basis


@pytest.mark.parametrize("switching", ["ssr", "scr_burst", "phase_angle"])
def test_amps_of_a_firing_control_count_only_at_proven_full_output(switching: str) -> None:
    context = heater(switching=switching)
    for quantity in ("line_amps", "amps_unbalance_percent"):
        assert "only at proven full output" in limit_for(quantity, context).missing
        proven = replace(context, answers={"full_output_proven@N-1-H": "yes"})
        assert not limit_for(quantity, proven).missing
        assert limit_for(quantity, replace(context, answers={"full_output_proven": "no"})).missing


def test_a_single_phase_heater_has_amps_and_ohms_and_no_unbalance() -> None:
    """Circuit theory: 6 kW at 240 V, 25.0 A and 9.6 ohm."""
    context = heater(240, **(SIX | {"phases": "1"}))
    assert judge(25.0, limit_for("line_amps", context)) is Verdict.PASS
    assert judge(9.6, limit_for("ohms_line_to_line", context)) is Verdict.PASS
    for quantity in ("amps_unbalance_percent", "volts_unbalance_percent"):
        assert limit_for(quantity, context).missing == "a single-phase heater has no unbalance"


@pytest.mark.parametrize(("ohms", "verdict"), [
    (25.6, Verdict.PASS), (24.9, Verdict.PASS), (23.0, Verdict.FAIL), (12.8, Verdict.FAIL), (38.4, Verdict.FAIL),
    (0.0, Verdict.FAIL), (math.inf, Verdict.FAIL),
])  # fmt: skip
def test_ohms(ohms: float, verdict: Verdict) -> None:
    """18 kW, 480 V: 23.67 to 28.44 ohm cold; an open element is over range. Circuit theory."""
    ohmmeter = instrument("ohmmeter", percent="1", counts="2", resolution="0.01", unit="ohm")
    assert judge(ohms, limit_for("ohms_line_to_line", using(heater(), ohmmeter))) is verdict


LADDER = [
    (math.inf, Verdict.PASS), (500, Verdict.PASS), (20, Verdict.PASS), (19.9, Verdict.NEAR_PASS),
    (6, Verdict.NEAR_PASS), (4.9, Verdict.NEAR_FAIL), (1.0, Verdict.NEAR_FAIL), (0.99, Verdict.FAIL), (0, Verdict.FAIL),
]  # fmt: skip


@pytest.mark.parametrize(("mohm", "verdict"), LADDER)
def test_the_ladder_of_insulation(mohm: float, verdict: Verdict) -> None:
    assert judge(mohm, limit_for("insulation_mohm", heater())) is verdict


def test_an_instrument_that_ends_below_the_limit_decides_nothing() -> None:
    """Over range on a 400 ohm meter may be 17 kohm: that is not 1 Mohm, and not 20 either."""
    short = instrument("ohmmeter", percent="1", counts="2", resolution="0.01", unit="ohm", range_high="400")
    found = limit_for("float_lead_mohm", using(heater(), short))
    assert judge(math.inf, found) is Verdict.CANNOT_TELL
    assert "take another one" in found.missing
    assert not limit_for("ohms_line_to_line", using(heater(), short)).missing
    small = instrument("insulation", percent="5", counts="2", resolution="0.1", unit="Mohm", range_high="10")
    assert limit_for("insulation_mohm", using(heater(), small)).missing
    warm = instrument("thermometer", percent="0", counts="2", resolution="0.1", unit="degC", range_low="10")
    assert "reads from 50 degf" in limit_for("cut_in_degf", using(heater(), warm)).missing


@pytest.mark.parametrize(("volts", "verdict"), [
    (480, Verdict.PASS), (458, Verdict.NEAR_PASS), (452, Verdict.NEAR_FAIL), (208, Verdict.FAIL), (0, Verdict.FAIL),
    (501, Verdict.NEAR_PASS), (520, Verdict.FAIL),
])  # fmt: skip
def test_supply_volts(volts: float, verdict: Verdict) -> None:
    """ANSI C84.1 Range A (from memory): 456 to 504 V, guarded by 7.7 V of meter (1 % + 2 V, twice over root three)."""
    found = limit_for("supply_volts", heater())
    assert (found.low, found.high) == pytest.approx((456, 504))
    assert judge(volts, found) is verdict


def test_supply_volts_of_a_heater_between_line_and_neutral() -> None:
    """480 V between lines is 277.1 V to neutral; Range A of that is 263.3 to 291.0 V. Circuit theory."""
    found = limit_for("supply_volts", heater(277.0, phases="1", volts="277"))
    assert (found.low, found.high) == pytest.approx((263.27, 290.98), abs=0.01)
    assert "277.1 V line to neutral" in found.basis
    assert judge(277, found) is Verdict.PASS


def test_supply_volts_not_in_the_register_are_not_guessed_from_the_plate() -> None:
    assert "supply volts of N-1-H" in limit_for("supply_volts", heater(supply_volts=None)).missing


@pytest.mark.parametrize(("percent", "verdict"), [
    (0, Verdict.PASS), (5.33, Verdict.PASS), (6.3, Verdict.PASS), (6.9, Verdict.NEAR_PASS), (7.8, Verdict.FAIL),
    (18.7, Verdict.FAIL), (39.2, Verdict.FAIL), (100, Verdict.FAIL),
])  # fmt: skip
def test_unbalance_of_amps(percent: float, verdict: Verdict) -> None:
    """Derived, not published: honest elements and supply 6.3 %, smallest real fault 7.8 %."""
    assert judge(percent, limit_for("amps_unbalance_percent", heater())) is verdict


@pytest.mark.parametrize(("percent", "verdict"), [
    (0.84, Verdict.PASS), (1.09, Verdict.NEAR_PASS), (2.8, Verdict.NEAR_PASS), (3.5, Verdict.FAIL),
])  # fmt: skip
def test_unbalance_of_volts(percent: float, verdict: Verdict) -> None:
    """NEMA MG-1 1 % and ANSI C84.1 3 % (second hand)."""
    assert judge(percent, limit_for("volts_unbalance_percent", heater())) is verdict


def test_off_amps_are_the_floor_of_the_clamp() -> None:
    """5 counts of 0.01 A; a stuck pole of 18 kW draws 0.289 x 21.65 = 6.25 A (delta, one element and line open)."""
    found = limit_for("off_amps", heater())
    assert found.high == pytest.approx(0.05)
    verdicts = [judge(amps, found) for amps in (0, 0.05, 0.08, 0.11, 6.25)]
    assert verdicts == [Verdict.PASS, Verdict.PASS, Verdict.NEAR_FAIL, Verdict.FAIL, Verdict.FAIL]


def test_a_clamp_too_coarse_for_a_small_heater_cannot_prove_it_off() -> None:
    small = using(heater(kw="2"), COARSE_CLAMP, VOLTMETER)
    assert "use a finer one" in limit_for("off_amps", small).missing


def test_a_tightened_site_has_its_own_bond_limit() -> None:
    milliohm = instrument("ohmmeter", percent="1", counts="2", resolution="0.001", unit="ohm")
    plain = using(heater(), milliohm)
    assert judge(0.4, limit_for("bond_ohms", plain)) is Verdict.PASS
    assert judge(0.4, limit_for("bond_ohms", tightened(plain, bond_ohms="0.3"))) is Verdict.FAIL
    assert judge(0.6, limit_for("bond_ohms", plain)) is Verdict.FAIL


@pytest.mark.parametrize("unit", ["mohm", "ohm", "bar"])
def test_an_instrument_of_another_unit_is_refused(unit: str) -> None:
    odd = instrument("clamp", percent="2", counts="5", resolution="0.01", unit=unit)
    assert limit_for("line_amps", using(heater(), odd)).missing == f"clamp-1 reads in {unit}, this reading is in A"


def test_a_milliampere_clamp_is_scaled() -> None:
    """10 mA a count is 0.01 A a count."""
    fine = instrument("clamp", percent="2", counts="5", resolution="10", unit="mA")
    milli = limit_for("line_amps", using(heater(), fine, VOLTMETER))
    plain = limit_for("line_amps", using(heater(), CLAMP, VOLTMETER))
    assert (milli.pass_low, milli.pass_high) == pytest.approx((plain.pass_low, plain.pass_high))


@given(st.sampled_from(["3", "6", "9", "12", "18", "24"]), st.floats(430, 530), st.floats(1.01, 1.2))
def test_more_volts_ask_for_more_amps(kw: str, volts: float, more: float) -> None:
    low, high = (limit_for("line_amps", heater(v, kw=kw)) for v in (volts, volts * more))
    assert low.low < high.low
    assert low.high < high.high
    assert high.low / low.low == pytest.approx(more)
