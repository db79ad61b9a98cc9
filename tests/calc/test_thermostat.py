"""Where a thermostat switches, by the meaning of its mark; the ice point.

Arithmetic of the differential; margins are common practice, no source. Ice point 32.0 degF in shaved ice and
air-saturated water: ASTM E563 (abstract).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.thermostat import corrected_degf, dial_check, ice_point_correction_degf, switching
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
