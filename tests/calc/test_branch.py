"""The branch of a heater: 125 %, overcurrent device, conductor.

Held against the NEC as public transcriptions give it: 125 % of a continuous load (424.4(B), 425.4(B), 427.4), standard
ratings (240.6(A)), next size up (240.4(B)), small conductors (240.4(D)), copper ampacity (Table 310.16, 2020 and 2023,
four transcriptions agree), terminals (110.14(C)), 48 A (422.11(F) of 2008). The two tables of heaters are worked by
these rules with the amps of circuit theory.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import branch
from seasonlog.calc.heater import line_amps
from seasonlog.errors import RatingError

AMPACITY = {  # AWG: columns 60, 75, 90 C of Table 310.16
    "14": (15, 20, 25), "12": (20, 25, 30), "10": (30, 35, 40), "8": (40, 50, 55), "6": (55, 65, 75),
    "4": (70, 85, 95), "3": (85, 100, 115), "2": (95, 115, 130), "1": (110, 130, 145),
}  # fmt: skip

THREE_PHASE = """
3    208 8.33 10.4 15 14      | 240 7.22 9.0 15 14     | 480 3.61 4.5 15 14   | 600 2.89 3.6 15 14
4.5  208 12.49 15.6 20 12     | 240 10.83 13.5 15 14   | 480 5.41 6.8 15 14   | 600 4.33 5.4 15 14
6    208 16.65 20.8 25 10     | 240 14.43 18.0 20 12   | 480 7.22 9.0 15 14   | 600 5.77 7.2 15 14
9    208 24.98 31.2 35 8      | 240 21.65 27.1 30 10   | 480 10.83 13.5 15 14 | 600 8.66 10.8 15 14
12   208 33.31 41.6 45 8 6    | 240 28.87 36.1 40 8    | 480 14.43 18.0 20 12 | 600 11.55 14.4 15 14
15   208 41.64 52.0 60 6      | 240 36.08 45.1 50 8 6  | 480 18.04 22.6 25 10 | 600 14.43 18.0 20 12
18   208 49.96 62.5 70 6 4 s  | 240 43.30 54.1 60 6    | 480 21.65 27.1 30 10 | 600 17.32 21.7 25 10
20   208 55.51 69.4 70 4 s    | 240 48.11 60.1 70 6 4 s | 480 24.06 30.1 35 8 | 600 19.25 24.1 25 10
24   208 66.62 83.3 90 4 3 s  | 240 57.74 72.2 80 4 3 s | 480 28.87 36.1 40 8 | 600 23.09 28.9 30 10
36   208 99.93 124.9 125 1 1/0 s | 240 86.60 108.3 110 2 1 s | 480 43.30 54.1 60 6 | 600 34.64 43.3 45 8 6
"""
SINGLE_PHASE = """
3    208 14.42 18.0 20 12     | 240 12.50 15.6 20 12   | 277 10.83 13.5 15 14 | 480 6.25 7.8 15 14
4.5  208 21.63 27.0 30 10     | 240 18.75 23.4 25 10   | 277 16.25 20.3 25 10 | 480 9.38 11.7 15 14
6    208 28.85 36.1 40 8      | 240 25.00 31.2 35 8    | 277 21.66 27.1 30 10 | 480 12.50 15.6 20 12
9    208 43.27 54.1 60 6      | 240 37.50 46.9 50 8 6  | 277 32.49 40.6 45 8 6 | 480 18.75 23.4 25 10
12   208 57.69 72.1 80 4 3 s  | 240 50.00 62.5 70 6 4 s | 277 43.32 54.2 60 6 | 480 25.00 31.2 35 8
18   208 86.54 108.2 110 2 1 s | 240 75.00 93.8 100 3 2 s | 277 64.98 81.2 90 4 3 s | 480 37.50 46.9 50 8 6
"""
"""kW, then for each supply: volts, amps, 1.25 x, device, AWG at 75 C, AWG at 60 C where larger, s where over 48 A."""


def cells(table: str, phases: int) -> list[object]:
    found = []
    for row in table.strip().splitlines():
        kw, rest = row.split(maxsplit=1)
        for cell in rest.split("|"):
            volts, amps, minimum, ocpd, awg, *more = cell.split()
            at_60 = next((each for each in more if each != "s"), awg)
            values = (float(kw), float(volts), phases, amps, minimum, int(ocpd), awg, at_60, "s" in more)
            found.append(pytest.param(*values, id=f"{kw} kW {volts} V {phases}-phase"))
    return found


@pytest.mark.parametrize(
    ("kw", "volts", "phases", "amps", "minimum", "ocpd", "at_75", "at_60", "subdivide"),
    [*cells(THREE_PHASE, 3), *cells(SINGLE_PHASE, 1)],
)
def test_the_branch_of_a_heater(
    kw: float, volts: float, phases: int, amps: str, minimum: str, ocpd: int, at_75: str, at_60: str, subdivide: bool
) -> None:
    """NEC rules above; amps to the hundredth, minimum to the tenth (a half rounded either way), sizes exactly."""
    found = branch.branch(line_amps(kw, volts, phases), 75)
    assert found.amps == pytest.approx(float(amps), abs=0.0051)
    assert found.minimum_amps == pytest.approx(float(minimum), abs=0.0501)
    assert (found.ocpd_amps, found.conductor_awg, found.subdivide) == (ocpd, at_75, subdivide)
    assert branch.branch(found.amps, 60).conductor_awg == at_60


@pytest.mark.parametrize("awg", AMPACITY)
def test_ampacity_of_copper(awg: str) -> None:
    """NEC Table 310.16, exactly."""
    assert tuple(branch.ampacity_amps(awg, column) for column in (60, 75, 90)) == AMPACITY[awg]


def test_standard_ratings() -> None:
    """NEC 240.6(A) up to 250 A, exactly."""
    wanted = (15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250)
    assert branch.STANDARD_OCPD_AMPS[: len(wanted)] == wanted


@pytest.mark.parametrize(("awg", "most"), [("14", 15), ("12", 20), ("10", 30)])
@pytest.mark.parametrize("column", [60, 75, 90])
def test_small_conductors_are_held_down_whatever_the_terminals(awg: str, most: int, column: int) -> None:
    """NEC 240.4(D)."""
    assert branch.most_ocpd_amps(awg, column) == most


@pytest.mark.parametrize(("awg", "column", "most"), [("8", 60, 40), ("8", 75, 50), ("6", 60, 60), ("6", 75, 70)])
def test_a_larger_conductor_may_have_the_next_standard_size(awg: str, column: int, most: int) -> None:
    """NEC 240.4(B): 55 A goes on 60 A, 65 A on 70 A; 40 A and 50 A are standard sizes themselves."""
    assert branch.most_ocpd_amps(awg, column) == most


@pytest.mark.parametrize(("volts", "kw"), [(208, 17.3), (240, 20.0), (480, 39.9), (600, 49.9)])
def test_48_a_in_three_phases(volts: float, kw: float) -> None:
    """NEC 422.11(F) of 2008 with circuit theory: kW at 48 A, to the tenth."""
    assert line_amps(kw - 0.06, volts, 3) < branch.MOST_CIRCUIT_AMPS < line_amps(kw + 0.06, volts, 3)


def test_30_a_is_seven_hundredths_short_for_20_kw_at_480_v() -> None:
    """24.06 x 1.25 = 30.07 A: the honest answer is 35 A."""
    assert branch.minimum_amps(line_amps(20, 480, 3)) == pytest.approx(30.07, abs=0.005)


@given(st.floats(0.1, 150), st.sampled_from([60, 75, 90]))
def test_what_is_chosen_fits_and_nothing_smaller_does(amps: float, column: int) -> None:
    found = branch.branch(amps, column)
    sizes = list(branch.AMPACITY)
    at = sizes.index(found.conductor_awg)
    assert found.ocpd_amps >= 1.25 * amps
    assert all(size < 1.25 * amps for size in branch.STANDARD_OCPD_AMPS if size < found.ocpd_amps)
    assert branch.ampacity_amps(found.conductor_awg, column) >= 1.25 * amps
    assert branch.most_ocpd_amps(found.conductor_awg, column) >= found.ocpd_amps
    for smaller in sizes[:at]:
        fits = branch.ampacity_amps(smaller, column) >= 1.25 * amps
        assert not (fits and branch.most_ocpd_amps(smaller, column) >= found.ocpd_amps)


@given(st.floats(0.1, 80), st.floats(1, 2))
def test_more_amps_never_ask_for_less(amps: float, more: float) -> None:
    small, large = branch.branch(amps), branch.branch(amps * more)
    sizes = list(branch.AMPACITY)
    assert small.ocpd_amps <= large.ocpd_amps
    assert sizes.index(small.conductor_awg) <= sizes.index(large.conductor_awg)


def test_what_is_not_in_the_tables_is_not_guessed() -> None:
    assert branch.ampacity_amps("6 mm2", 75) is None
    assert branch.most_ocpd_amps("6 mm2", 75) is None
    with pytest.raises(RatingError, match="largest standard"):
        branch.next_ocpd_amps(6001)
    with pytest.raises(RatingError, match="60, 75 and 90"):
        branch.branch(20, 65)
    with pytest.raises(RatingError, match="ask for a larger one"):
        branch.branch(300)
