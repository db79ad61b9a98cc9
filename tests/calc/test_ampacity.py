"""Copper conductors and standard devices.

NEC as public transcriptions give it: ampacity (Table 310.16, 2020 and 2023, four agree), ambient (310.15(B)(1)),
bundling (310.15(C)(1)), terminals (110.14(C)(1)), standard ratings (240.6(A)), next size up (240.4(B)), small
conductors (240.4(D)); the sunlit roof (310.15(B)(2)) and the ends of the tables from memory. Second method for the
ambient factors: the root of the temperature rises left, within 0.006.
"""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import ampacity
from seasonlog.calc.ampacity import Run
from seasonlog.errors import RatingError

AMPACITY = {  # AWG: columns 60, 75, 90 C of Table 310.16
    "14": (15, 20, 25), "12": (20, 25, 30), "10": (30, 35, 40), "8": (40, 50, 55), "6": (55, 65, 75),
    "4": (70, 85, 95), "3": (85, 100, 115), "2": (95, 115, 130), "1": (110, 130, 145),
}  # fmt: skip

TOPS = (10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60)
AMBIENT = {
    60: (1.29, 1.22, 1.15, 1.08, 1.00, 0.91, 0.82, 0.71, 0.58, 0.41),
    75: (1.20, 1.15, 1.11, 1.05, 1.00, 0.94, 0.88, 0.82, 0.75, 0.67, 0.58),
    90: (1.15, 1.12, 1.08, 1.04, 1.00, 0.96, 0.91, 0.87, 0.82, 0.76, 0.71),
}
CELLS = [(column, top, factor) for column, row in AMBIENT.items() for top, factor in zip(TOPS, row, strict=False)]


@pytest.mark.parametrize("awg", AMPACITY)
def test_ampacity_of_copper(awg: str) -> None:
    """NEC Table 310.16, exactly; not the 20/25/30 A that editions to 2008 printed for 14 to 10 AWG at 60 C."""
    assert tuple(ampacity.ampacity_amps(awg, column) for column in (60, 75, 90)) == AMPACITY[awg]


def test_a_larger_conductor_and_a_hotter_column_carry_more() -> None:
    rows = [tuple(row.values()) for row in ampacity.AMPACITY.values()]
    assert all(row == tuple(sorted(row)) for row in rows)
    assert all(small < large for one, other in pairwise(rows) for small, large in zip(one, other, strict=True))


def test_standard_ratings() -> None:
    """NEC 240.6(A) up to 250 A, and the fuses below 15 A, exactly."""
    wanted = (15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250)
    assert ampacity.STANDARD_OCPD_AMPS[: len(wanted)] == wanted
    assert ampacity.SMALL_FUSE_AMPS == (1, 3, 6, 10)


@pytest.mark.parametrize(("awg", "most"), [("14", 15), ("12", 20), ("10", 30)])
@pytest.mark.parametrize("column", [60, 75, 90])
def test_small_conductors_are_held_down_whatever_the_terminals(awg: str, most: int, column: int) -> None:
    """NEC 240.4(D)."""
    assert ampacity.most_ocpd_amps(awg, column) == most


@pytest.mark.parametrize(("awg", "column", "most"), [("8", 60, 40), ("8", 75, 50), ("6", 60, 60), ("6", 75, 70)])
def test_a_larger_conductor_may_have_the_next_standard_size(awg: str, column: int, most: int) -> None:
    """NEC 240.4(B): 55 A goes on 60 A, 65 A on 70 A; 40 A and 50 A are standard sizes themselves."""
    assert ampacity.most_ocpd_amps(awg, column) == most


@pytest.mark.parametrize(("column", "top", "factor"), CELLS, ids=[f"{c} C at {t} C" for c, t, _ in CELLS])
def test_ambient_correction(column: int, top: int, factor: float) -> None:
    """NEC Table 310.15(B)(1), exactly, over the whole band."""
    bottom = top - 5 if top > 10 else -40
    assert ampacity.ambient_factor(column, top) == factor
    assert ampacity.ambient_factor(column, bottom + 0.1) == factor
    assert ampacity.ambient_factor(column, (top + bottom) / 2) == factor


@pytest.mark.parametrize("column", [60, 75, 90])
def test_ambient_correction_is_the_root_of_the_rise_left(column: int) -> None:
    """Second method: sqrt((Tc - Ta)/(Tc - 30)) at each band's top, within 0.006; from 61 C on from memory."""
    tops = range(10, column, 5)
    assert len(ampacity.AMBIENT_FACTORS[column]) == len(tops)
    for top in tops:
        root = math.sqrt((column - top) / (column - 30))
        assert ampacity.ambient_factor(column, top) == pytest.approx(root, abs=0.006)


@given(st.sampled_from([60, 75, 90]), st.floats(-40, 55))
def test_ambient_correction_is_on_the_safe_side_of_the_root_within_a_band(column: int, ambient: float) -> None:
    """The factor of a band is that of its warmest end: above 10 C never 0.006 more than the root allows."""
    root = math.sqrt((column - ambient) / (column - 30))
    assert ampacity.ambient_factor(column, ambient) <= root + 0.006


@pytest.mark.parametrize(
    ("conductors", "factor"),
    [
        (1, 1), (3, 1), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5), (20, 0.5), (21, 0.45), (30, 0.45),
        (31, 0.40), (40, 0.40), (41, 0.35), (100, 0.35),
    ],
)  # fmt: skip
def test_bundling(conductors: int, factor: float) -> None:
    """NEC 310.15(C)(1), exactly; above 20 conductors from memory."""
    assert ampacity.bundling_factor(conductors) == factor


@pytest.mark.parametrize(
    ("ambient", "air"), [pytest.param(25, 58, id="25 C, 58 C over the roof"), pytest.param(40, 73, id="40 C, 73 C")]
)
def test_a_sunlit_roof_adds_33_c(ambient: float, air: float) -> None:
    """NEC 310.15(B)(2) from 2017 on (from memory): 60 degF, 33 degC."""
    assert ampacity.run_factor(90, Run(90, ambient, sunlit_roof=True)) == ampacity.ambient_factor(90, air)


@pytest.mark.parametrize(
    ("marked", "ocpd", "awg", "column"),
    [
        (60, 200, "4/0", 60), (75, 15, "14", 75), (90, 30, "10", 90), (None, 15, "14", 60), (None, 100, "1", 60),
        (None, 110, "2", 75), (None, 100, "1/0", 75), (None, 125, "1/0", 75),
    ],
)  # fmt: skip
def test_the_column_that_terminals_allow(marked: int | None, ocpd: float, awg: str, column: int) -> None:
    """NEC 110.14(C)(1): not marked, 60 C to 100 A with 14 to 1 AWG; 75 C above it or from 1/0 on."""
    assert ampacity.terminal_column(marked, ocpd, awg) == column


def test_90_c_insulation_is_corrected_from_its_own_column_and_capped_by_the_terminals() -> None:
    """NEC 110.14(C), 310.15: 8 AWG at 38 C is 55 x 0.91 = 50.05 A, capped at the 50 A of 75 C terminals."""
    found = ampacity.wire("8", 75, 50, Run(90, 38))
    assert (found.column_amps, found.corrected_amps, found.amps) == (50, pytest.approx(50.05), 50)
    own = ampacity.wire("8", 75, 50, Run(75, 38))
    assert (own.corrected_amps, own.most_ocpd_amps) == (pytest.approx(44.0), 45)


def test_cold_surroundings_never_lift_a_conductor_above_its_terminals() -> None:
    assert ampacity.wire("8", 60, 40, Run(90, -20)).amps == 40


def test_what_a_crowded_small_conductor_is_protected_by() -> None:
    """14 AWG of 90 C, 41 conductors: 25 x 0.35 = 8.75 A, a fuse of 10 A (240.6(A)), no breaker of 15 A."""
    assert ampacity.wire("14", 75, 15, Run(90, 30, 41)).most_ocpd_amps == 10


@given(
    st.sampled_from(list(ampacity.AMPACITY)),
    st.sampled_from([None, 60, 75, 90]),
    st.floats(-20, 55),
    st.integers(1, 60),
)
def test_what_protects_a_conductor_is_the_next_size_above_it_or_less(awg, marked, ambient, conductors) -> None:
    found = ampacity.wire(awg, marked, 0, Run(90, ambient, conductors))
    sizes = [1, 3, 6, 10, *ampacity.STANDARD_OCPD_AMPS]
    smaller = [size for size in sizes if size < found.most_ocpd_amps]
    assert not smaller or smaller[-1] < found.amps
    assert found.amps <= found.column_amps


@given(st.sampled_from([60, 75, 90]), st.floats(-20, 50), st.floats(0, 10), st.integers(1, 150), st.integers(0, 50))
def test_warmer_and_fuller_never_carries_more(column, ambient, warmer, conductors, more) -> None:
    try:
        worse = ampacity.run_factor(column, Run(column, ambient + warmer, conductors + more))
    except RatingError:
        worse = 0.0
    try:
        base = ampacity.run_factor(column, Run(column, ambient, conductors))
    except RatingError:
        base = 0.0
    assert worse <= base


@pytest.mark.parametrize("ambient", [60.1, 151, 1e9, math.nan, math.inf, -61])
def test_surroundings_beyond_the_table_are_refused(ambient: float) -> None:
    with pytest.raises(RatingError, match=r"table ends at 55 C|wanted"):
        ampacity.ambient_factor(60, ambient)


@pytest.mark.parametrize("conductors", [0, -3, 201, math.nan])
def test_impossible_counts_of_conductors_are_refused(conductors: float) -> None:
    with pytest.raises(RatingError, match="wanted"):
        ampacity.bundling_factor(conductors)


def test_what_is_not_in_the_tables_is_not_guessed() -> None:
    assert ampacity.ampacity_amps("6 mm2", 75) is None
    assert ampacity.most_ocpd_amps("6 mm2", 75) is None
    assert ampacity.wire("250 kcmil", 75, 30) is None
    with pytest.raises(RatingError, match="largest standard"):
        ampacity.next_ocpd_amps(6001)
    with pytest.raises(RatingError, match="terminals marked 65 C"):
        ampacity.terminal_column(65, 15, "14")
    with pytest.raises(RatingError, match="insulation marked 105 C"):
        ampacity.wire("14", 75, 15, Run(105))
