"""Where a thermostat switches, by the meaning of its mark; the ice point.

Arithmetic of the differential; margins are common practice, no source. Ice point 32.0 degF in shaved ice and
air-saturated water: ASTM E563 (abstract).
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.thermostat import (
    Allowances,
    corrected_degf,
    dial_check,
    ice_point_correction_degf,
    judge_dial,
    judge_measured,
    least_dial_degf,
    meaning_of_mark,
    switching,
)
from seasonlog.errors import RatingError

TABLE = [  # dial, differential, cut-in by cut-out mark, its margin, cut-in by cut-in mark, its cut-out, by middle mark
    (38, 8, 30, -2, 38, 46, 34),
    (40, 8, 32, 0, 40, 48, 36),
    (40, 10, 30, -2, 40, 50, 35),
    (42, 8, 34, 2, 42, 50, 38),
    (42, 10, 32, 0, 42, 52, 37),
    (45, 8, 37, 5, 45, 53, 41),
    (45, 10, 35, 3, 45, 55, 40),
]


@pytest.mark.parametrize(("dial", "diff", "low", "margin", "high", "off", "middle"), TABLE, ids=lambda v: f"{v}")
def test_cut_in_by_the_meaning_of_the_mark(dial, diff, low, margin, high, off, middle) -> None:
    """Definition of the differential, exactly."""
    by_cut_out = switching(dial, diff, "cut_out")
    assert (by_cut_out.cut_in_degf, by_cut_out.margin_degf, by_cut_out.cut_out_degf) == (low, margin, dial)
    by_cut_in = switching(dial, diff, "cut_in")
    assert (by_cut_in.cut_in_degf, by_cut_in.cut_out_degf) == (high, off)
    assert switching(dial, diff, "middle").cut_in_degf == middle


@pytest.mark.parametrize(
    ("cut_in", "worst", "is_safe"), [(35, 31, False), (37, 33, False), (38, 34, True), (40, 36, True)]
)
def test_a_cut_in_read_off_the_dial_only(cut_in: float, worst: float, is_safe: bool) -> None:
    """Common practice, no source: dial 3 and thermometer 1 degF off, 2 degF margin; 45/10 cut-out gives 31, refused."""
    check = dial_check(cut_in, dial_error_degf=3, thermometer_degf=1, margin_degf=2)
    assert (check.worst_cut_in_degf, check.is_safe) == (worst, is_safe)


@pytest.mark.parametrize(("in_ice", "reading", "right"), [(33, 41, 40), (31.5, 40, 40.5), (32, 40, 40)])
def test_a_thermometer_is_put_right_by_its_reading_in_ice(in_ice: float, reading: float, right: float) -> None:
    """Definition of a correction: added, 32.0 less the reading in ice (ASTM E563 ice point)."""
    assert ice_point_correction_degf(in_ice) == 32 - in_ice
    assert corrected_degf(reading, in_ice) == right


@given(st.floats(-40, 120), st.floats(0.1, 60), st.sampled_from(["cut_in", "cut_out", "middle"]))
def test_cut_out_is_cut_in_plus_the_differential_and_the_dial_lies_between(dial: float, diff: float, mark: str) -> None:
    found = switching(dial, diff, mark)
    assert found.cut_out_degf - found.cut_in_degf == pytest.approx(diff)
    assert found.cut_in_degf - 1e-9 <= dial <= found.cut_out_degf + 1e-9


@given(st.floats(30, 60), st.floats(0, 10), st.floats(0, 10), st.floats(0, 10), st.floats(0, 5))
def test_a_larger_error_never_makes_a_dial_safe(cut_in, dial, thermometer, margin, more) -> None:
    def safe(extra: float) -> bool:
        return dial_check(
            cut_in, dial_error_degf=dial + extra, thermometer_degf=thermometer, margin_degf=margin
        ).is_safe

    assert safe(0) or not safe(more)


@pytest.mark.parametrize("mark", ["unknown", "", "on"])
def test_a_mark_of_unknown_meaning_is_not_guessed(mark: str) -> None:
    with pytest.raises(RatingError, match="find out"):
        switching(40, 8, mark)


def test_impossible_settings_are_refused() -> None:
    for dial, diff in ((float("nan"), 8), (999, 8), (40, 0), (40, -8), (40, 101)):
        with pytest.raises(RatingError, match="check it"):
            switching(dial, diff, "cut_in")


VERDICTS = {  # dial, differential: by cut-in, middle, cut-out mark, and with the mark not known
    (38, 8): ("pass", "fail", "fail", "cannot_tell"),
    (40, 8): ("pass", "near_fail", "fail", "cannot_tell"),
    (40, 10): ("pass", "fail", "fail", "cannot_tell"),
    (42, 8): ("pass", "pass", "fail", "cannot_tell"),
    (42, 10): ("pass", "near_fail", "fail", "cannot_tell"),
    (45, 8): ("pass", "pass", "near_fail", "cannot_tell"),
    (45, 10): ("pass", "pass", "fail", "cannot_tell"),
    (46, 8): ("pass", "pass", "pass", "pass"),
    (37, 8): ("near_fail", "fail", "fail", "near_fail"),
    (35, 8): ("fail", "fail", "fail", "fail"),
}


@pytest.mark.parametrize(("setting", "verdicts"), VERDICTS.items(), ids=[f"{d} F, {f} F" for d, f in VERDICTS])
def test_a_dial_by_each_meaning_of_its_mark(setting: tuple[int, int], verdicts: tuple[str, ...]) -> None:
    """Cut-in less 3 and 1 degF against 34 and 32: worked by hand from the table, exactly. No source."""
    found = [judge_dial(*setting, mark).verdict for mark in ("cut_in", "middle", "cut_out", None)]
    assert tuple(found) == verdicts


def test_45_with_a_differential_of_10_is_rejected_if_the_mark_means_cut_out() -> None:
    """35 - 3 - 1 = 31, below freezing; common practice, no source."""
    found = judge_dial(45, 10, "cut_out")
    assert (found.verdict, found.cut_in_degf, found.worst_cut_in_degf, found.margin_degf) == ("fail", 35, 31, 3)
    assert "thermometer error 31; 32 + 2 = 34 degF is wanted" in found.says[0]
    assert found.advice.startswith("set the dial to at least 48 degF if its mark means cut-out (opens), with this")


def test_a_mark_nobody_knows_is_asked_for_with_every_setting() -> None:
    found = judge_dial(40, 8, None)
    assert (found.cut_in_degf, found.cut_out_degf, found.margin_degf, found.worst_cut_in_degf) == (None,) * 4
    assert found.advice.startswith("find out what the mark means")
    assert all(f"at least {least} degF" in found.advice for least in (38, 42, 46))
    assert all(f"closes at {cut_in}" in says for cut_in, says in zip((40, 36, 32), found.says, strict=True))


@pytest.mark.parametrize(
    ("cut_in", "verdict", "advice"),
    [
        (40, "pass", "leave the dial as it is"),
        (35, "pass", "leave the dial as it is"),
        (34.9, "near_pass", "turn the dial up by at least 1 degF"),
        (34, "near_pass", "turn the dial up by at least 1 degF"),
        (33.9, "near_fail", "turn the dial up by at least 2 degF"),
        (33, "near_fail", "turn the dial up by at least 2 degF"),
        (32.9, "fail", "turn the dial up by at least 3 degF"),
        (28, "fail", "turn the dial up by at least 7 degF"),
        (46, "pass", "heat is wasted"),
    ],
)
def test_a_measured_cut_in_is_guarded_by_its_thermometer(cut_in: float, verdict: str, advice: str) -> None:
    """Accept from 32 + 2 + 1 on, reject below 32 + 2 - 1: ILAC-G8 with common practice, no source; exactly."""
    found = judge_measured(cut_in, cut_in + 8)
    assert (found.verdict, found.cut_in_degf, found.cut_out_degf) == (verdict, cut_in, cut_in + 8)
    assert advice in found.advice


def test_a_better_thermometer_decides_where_a_poor_one_does_not() -> None:
    """The same 34.5 degF: near with 1 degF, pass with 0.3 degF."""
    assert judge_measured(34.5).verdict == "near_pass"
    assert judge_measured(34.5, None, Allowances(thermometer_degf=0.3)).verdict == "pass"


@pytest.mark.parametrize("cut_out", [40, 38])
def test_a_contact_that_opens_no_warmer_than_it_closes_is_not_believed(cut_out: float) -> None:
    with pytest.raises(RatingError, match="wrong throw"):
        judge_measured(40, cut_out)


@pytest.mark.parametrize(
    ("dial", "cut_in", "cut_out", "meaning"),
    [(48, 40, 48, "cut_out"), (40, 40, 48, "cut_in"), (44, 40, 48, "middle"), (46, 40, 48, None), (60, 40, 48, None),
     (41, 40, 42, None)],
)  # fmt: skip
def test_what_the_mark_means_from_where_it_switches(dial, cut_in, cut_out, meaning) -> None:
    """Definition of the three meanings, dial up to 3 degF off; two that fit are no answer."""
    assert meaning_of_mark(dial, cut_in, cut_out) == meaning


MARKS = st.sampled_from(["cut_in", "middle", "cut_out"])
RANK = ["fail", "near_fail", "near_pass", "pass"]


@given(st.floats(0.5, 40), MARKS)
def test_the_least_dial_passes_and_one_degree_less_does_not(differential: float, mark: str) -> None:
    """Second method: the advice judged by the judge."""
    least = least_dial_degf(differential, mark)
    assert judge_dial(least + 1e-9, differential, mark).verdict == "pass"
    assert judge_dial(least - 1.01, differential, mark).verdict != "pass"


@given(st.floats(20, 60), st.floats(0.5, 20), st.floats(0, 10), MARKS)
def test_a_higher_dial_is_never_worse(dial: float, differential: float, up: float, mark: str) -> None:
    low, high = judge_dial(dial, differential, mark), judge_dial(dial + up, differential, mark)
    assert RANK.index(low.verdict) <= RANK.index(high.verdict)


@given(st.floats(20, 60), st.floats(0.5, 20))
def test_not_knowing_the_mark_never_promises_more_than_its_worst_meaning(dial: float, differential: float) -> None:
    each = [judge_dial(dial, differential, mark).verdict for mark in ("cut_in", "middle", "cut_out")]
    unknown = judge_dial(dial, differential, None).verdict
    assert (unknown == "pass") == (set(each) == {"pass"})
    assert (unknown == "cannot_tell") == (each[0] == "pass" and each[-1] != "pass")


@given(st.floats(20, 60), st.floats(0, 10), st.floats(0, 5))
def test_a_poorer_thermometer_never_passes_more_nor_fails_more(cut_in: float, off: float, more: float) -> None:
    fine = judge_measured(cut_in, None, Allowances(thermometer_degf=off)).verdict
    poor = judge_measured(cut_in, None, Allowances(thermometer_degf=off + more)).verdict
    assert poor != "pass" or fine == "pass"
    assert poor != "fail" or fine == "fail"


@given(st.floats(20, 60), st.floats(0.5, 20), MARKS)
def test_in_celsius_the_same_setting_has_the_same_cut_in(dial: float, differential: float, mark: str) -> None:
    """Unit change: worked in degC and turned back."""
    share = {"cut_in": 0.0, "middle": 0.5, "cut_out": 1.0}[mark]
    cut_in_degc = (dial - 32) / 1.8 - share * differential / 1.8
    assert judge_dial(dial, differential, mark).cut_in_degf == pytest.approx(32 + 1.8 * cut_in_degc)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 1e9, -200])
def test_impossible_temperatures_are_refused_in_words(bad: float) -> None:
    calls = (
        lambda: judge_measured(bad),
        lambda: judge_measured(40, bad),
        lambda: judge_measured(40, 48, Allowances(thermometer_degf=bad)),
        lambda: judge_measured(40, 48, Allowances(margin_degf=bad)),
        lambda: judge_dial(bad, 8, "cut_in"),
        lambda: judge_dial(40, bad, None),
        lambda: judge_dial(40, 8, "cut_in", Allowances(dial_degf=bad)),
        lambda: meaning_of_mark(bad, 40, 48),
    )
    for call in calls:
        with pytest.raises(RatingError, match="wanted"):
            call()
