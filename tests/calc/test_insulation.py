"""Insulation of a heater: what a reading is worth, what temperature does to it, what leaks, the general floor.

ANSI/NETA MTS-2019 Tables 100.1 and 100.14 (oil column from a transformer maker's copy, solid from memory); IEEE 43
second hand; the heater's ladder proposed from makers' application notes; leakage by Ohm's law.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import insulation
from seasonlog.calc.insulation import at_20_degc, general_floor_mohm, judge, temperature_factor, temperature_note
from seasonlog.errors import RatingError

OIL = {0: 0.25, 5: 0.36, 10: 0.50, 15: 0.74, 20: 1.00, 25: 1.40, 30: 1.98, 35: 2.80, 40: 3.95, 50: 7.85}
SOLID = {0: 0.40, 5: 0.45, 10: 0.50, 15: 0.75, 20: 1.00, 25: 1.30, 30: 1.60, 35: 2.05, 40: 2.50, 50: 4.00}
COLUMNS = [(name, degc, value) for name, rows in (("oil", OIL), ("solid", SOLID)) for degc, value in rows.items()]


@pytest.mark.parametrize(("degc", "factor"), OIL.items())
def test_the_oil_column_of_a_transformer_makers_table(degc: float, factor: float) -> None:
    """ANSI/NETA MTS-2019 Table 100.14 as a transformer maker copies it (oil column): within 5 %."""
    assert at_20_degc(1.0, degc) == pytest.approx(factor, rel=0.05)


@pytest.mark.parametrize(("volts", "mohm"), [(24, 1.0), (480, 1.0), (600, 1.0), (2400, 2.4)])
def test_one_megohm_for_each_kilovolt_and_never_under_one(volts: float, mohm: float) -> None:
    """General rule of thumb, second hand."""
    assert general_floor_mohm(volts) == mohm


@given(st.floats(0.001, 99_999), st.floats(-40, 90))
def test_ten_degrees_halve_it(mohm: float, degc: float) -> None:
    assert at_20_degc(mohm, degc + 10) == pytest.approx(2 * at_20_degc(mohm, degc))


def test_the_raw_reading_stays_the_one_that_counts() -> None:
    """0.6 Mohm at 40 C would be 2.4 at 20 C: the words say that the reading itself is judged."""
    note = temperature_note(0.6, 40)
    assert note.startswith("0.6 Mohm read at 40 C (104 F), about 2.4 Mohm at 20 C")
    assert note.endswith("the reading itself is judged")


@pytest.mark.parametrize(
    ("mohm", "verdict"),
    [(5000, "pass"), (20, "pass"), (19.99, "watch"), (5, "watch"), (4.99, "conditional"), (1, "conditional"),
     (0.99, "fail"), (0.01, "fail")],
)  # fmt: skip
def test_the_ladder_of_a_whole_heater(mohm: float, verdict: str) -> None:
    """20, 5 and 1 Mohm at 500 V dc: proposed from published application notes; exactly."""
    assert judge(mohm).verdict == verdict


@pytest.mark.parametrize(
    ("mohm", "words"),
    [(200, "write it down"), (10, "compare with last year"), (2, "dry it out"), (0.5, "do not energise; dry it out")],
)
def test_each_rung_says_what_to_do(mohm: float, words: str) -> None:
    assert words in judge(mohm).action


@pytest.mark.parametrize(("volts", "verdict"), [(480, "conditional"), (1000, "conditional"), (2400, "fail")])
def test_above_1000_v_the_lowest_step_rises_with_the_volts(volts: float, verdict: str) -> None:
    """1 Mohm per kV, second hand: 2 Mohm is under the 2.4 Mohm of 2400 V."""
    assert judge(2.0, volts).verdict == verdict


@pytest.mark.parametrize(
    ("now", "last", "fell"), [(49, 100, True), (50, 100, False), (120, 100, False), (8, 17, True), (900, 2000, True)]
)
def test_a_fall_to_under_half_is_a_finding_at_any_height(now: float, last: float, fell: bool) -> None:
    """Common practice, no source; the verdict stays that of the reading."""
    found = judge(now, 480, last)
    assert bool(found.finding) is fell
    assert found.verdict == judge(now).verdict
    assert not fell or f"fell from {last:g} to {now:g} Mohm" in found.finding


@pytest.mark.parametrize(
    ("rated", "test", "mohm"),
    [(120, 500, 25), (250, 500, 25), (277, 1000, 100), (480, 1000, 100), (600, 1000, 100), (1000, 1000, 100)],
)
def test_apparatus_by_class(rated: float, test: float, mohm: float) -> None:
    """ANSI/NETA MTS-2019 Table 100.1, exactly."""
    found = insulation.apparatus_test(rated)
    assert (found.test_volts, found.least_mohm) == (test, mohm)
    assert "MTS-2019" in found.edition


@pytest.mark.parametrize(("column", "degc", "factor"), COLUMNS, ids=[f"{c} {d} C" for c, d, _ in COLUMNS])
def test_factor_to_20_degc(column: str, degc: float, factor: float) -> None:
    """ANSI/NETA MTS-2019 Table 100.14, exactly at its rows."""
    assert temperature_factor(degc, column) == pytest.approx(factor, rel=1e-12)


@given(st.floats(0, 50), st.sampled_from(["oil", "solid"]))
def test_between_the_rows_the_factor_lies_between_theirs(degc: float, column: str) -> None:
    rows = OIL if column == "oil" else SOLID
    below = max(value for at, value in rows.items() if at <= degc)
    above = min(value for at, value in rows.items() if at >= degc)
    assert below * (1 - 1e-9) <= temperature_factor(degc, column) <= above * (1 + 1e-9)


@given(st.floats(0, 50))
def test_the_oil_column_doubles_every_ten_degrees(degc: float) -> None:
    """Second method: 2^((T - 20)/10), within 5 % all the way."""
    assert temperature_factor(degc, "oil") == pytest.approx(at_20_degc(1.0, degc), rel=0.05)


@pytest.mark.parametrize(("degc", "factor"), [(40, 1), (30, 0.5), (20, 0.25), (50, 2)])
def test_a_winding_at_40_degc(degc: float, factor: float) -> None:
    """IEEE 43 (second hand), exactly."""
    assert insulation.winding_at_40_degc(1.0, degc) == factor


@given(st.floats(0.01, 9999), st.floats(-40, 90))
def test_the_winding_form_is_the_doubling_seen_from_40_degc(mohm: float, degc: float) -> None:
    """Second method: to 20 degC by doubling, then two halvings to 40."""
    assert insulation.winding_at_40_degc(mohm, degc) == pytest.approx(at_20_degc(mohm, degc) / 4)


@pytest.mark.parametrize(("trip", "kohm"), [(30, 9.2), (6, 46)])
def test_what_trips_a_ground_fault_device_at_277_v(trip: float, kohm: float) -> None:
    """Ohm's law, to two digits; there and back."""
    assert insulation.trip_kohm(277, trip) == pytest.approx(kohm, rel=5e-3)
    assert insulation.leakage_ma(277, insulation.trip_kohm(277, trip) / 1000) == pytest.approx(trip)


def test_a_heater_of_1_mohm_trips_neither() -> None:
    """Ohm's law: 0.28 mA at 277 V, to the hundredth."""
    assert insulation.leakage_ma(277, 1) == pytest.approx(0.28, abs=0.005)


@given(st.floats(0.001, 9999), st.floats(0.001, 9999), st.floats(1.0, 10.0))
def test_a_higher_reading_is_never_worse(mohm: float, last: float, more: float) -> None:
    order = ["fail", "conditional", "watch", "pass"]
    low, high = judge(mohm, 480, last), judge(mohm * more, 480, last)
    assert order.index(low.verdict) <= order.index(high.verdict)
    assert not high.finding or low.finding


@pytest.mark.parametrize("bad", [0, -1, 1e9, math.nan, math.inf])
def test_impossible_values_are_refused_in_words(bad: float) -> None:
    calls = (
        lambda: judge(bad),
        lambda: judge(10, bad),
        lambda: judge(10, 480, bad),
        lambda: insulation.apparatus_test(bad),
        lambda: insulation.leakage_ma(bad, 1),
        lambda: insulation.leakage_ma(277, bad),
        lambda: insulation.trip_kohm(277, bad),
        lambda: insulation.winding_at_40_degc(bad, 20),
        lambda: temperature_factor(bad or -0.1, "oil"),
    )
    for call in calls:
        with pytest.raises(RatingError, match="wanted"):
            call()


def test_what_the_tables_do_not_have_is_not_guessed() -> None:
    with pytest.raises(RatingError, match="end at 1000 V"):
        insulation.apparatus_test(1001)
    with pytest.raises(RatingError, match="is not one of oil, solid"):
        temperature_factor(20, "mica")


@pytest.mark.parametrize(("mohm", "degc"), [(0, 20), (-1, 20), (1, 101), (1, float("nan")), (float("inf"), 20)])
def test_impossible_readings_are_refused(mohm: float, degc: float) -> None:
    with pytest.raises(RatingError, match="check it"):
        at_20_degc(mohm, degc)
