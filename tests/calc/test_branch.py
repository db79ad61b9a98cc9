"""The branch of a heater: 125 %, overcurrent device, conductor.

Held against the NEC as public transcriptions give it: 125 % of a continuous load (424.4(B), 425.4(B), 427.4), standard
ratings (240.6(A)), next size up (240.4(B)), small conductors (240.4(D)), copper ampacity (Table 310.16, 2020 and 2023,
four transcriptions agree), terminals (110.14(C)), 48 A (422.11(F) of 2008). The two tables of heaters are worked by
these rules with the amps of circuit theory.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import branch
from seasonlog.calc.ampacity import Run
from seasonlog.calc.heater import line_amps
from seasonlog.errors import RatingError

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


@pytest.mark.parametrize(("volts", "kw"), [(208, 17.3), (240, 20.0), (480, 39.9), (600, 49.9)])
def test_48_a_in_three_phases(volts: float, kw: float) -> None:
    """NEC 422.11(F) of 2008 with circuit theory: kW at 48 A, to the tenth; second method: the amps of that power."""
    assert branch.most_circuit_kw(volts, 3) == pytest.approx(kw, abs=0.05)
    assert line_amps(branch.most_circuit_kw(volts, 3), volts, 3) == pytest.approx(branch.MOST_CIRCUIT_AMPS)
    assert branch.most_circuit_kw(volts, 1) == pytest.approx(0.048 * volts)
    assert branch.minimum_amps(branch.MOST_CIRCUIT_AMPS) == branch.MOST_CIRCUIT_OCPD_AMPS


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


@pytest.mark.parametrize(
    ("amps", "circuits"), [(8, 1), (48, 1), (48.1, 2), (49.96, 2), (96, 2), (99.93, 3), (144.1, 4)]
)
def test_into_how_many_circuits_a_heater_is_split(amps: float, circuits: int) -> None:
    """NEC 422.11(F) of 2008: 48 A each at most. Arithmetic, exactly."""
    assert branch.circuits_needed(amps) == circuits
    assert amps / circuits <= 48
    assert circuits == 1 or amps / (circuits - 1) > 48


@pytest.mark.parametrize(
    ("kw", "volts", "awg"), [(12, 208, "6"), (24, 240, "3"), (36, 208, "1"), (36, 240, "2"), (9, 240, "10")]
)
def test_terminals_not_marked_take_60_c_to_100_a_and_75_c_above(kw: float, volts: float, awg: str) -> None:
    """NEC 110.14(C)(1): the 60 C sizes of the table to 100 A; above it the 75 C ones, brackets ignored."""
    assert branch.branch(line_amps(kw, volts, 3), None).conductor_awg == awg


@pytest.mark.parametrize(
    ("run", "awg", "corrected"),
    [
        pytest.param(Run(), "10", 35, id="conditions of the table"),
        pytest.param(Run(90), "10", 40, id="90 C insulation: still the 75 C terminals"),
        pytest.param(Run(90, 50), "10", 40 * 0.82, id="90 C insulation at 50 C"),
        pytest.param(Run(75, 55), "8", 50 * 0.67, id="75 C insulation at 55 C: 23.5 A in 10 AWG takes 25 A"),
        pytest.param(Run(75, 60), "8", 50 * 0.58, id="75 C insulation at 60 C carries only 20.3 A in 10 AWG"),
        pytest.param(Run(90, 30, 9), "10", 40 * 0.70, id="9 conductors"),
        pytest.param(Run(90, 30, 20), "8", 55 * 0.50, id="20 conductors: 20 A in 10 AWG protects on 20 A only"),
        pytest.param(Run(90, 40, 6, sunlit_roof=True), "6", 75 * 0.50 * 0.80, id="73 C over a roof: 22 A in 8 AWG"),
        pytest.param(Run(60), "10", 30, id="60 C insulation on 75 C terminals"),
    ],
)
def test_18_kw_at_480_v_on_warm_and_full_runs(run: Run, awg: str, corrected: float) -> None:
    """21.65 A, 27.06 A, 30 A device, 75 C terminals; NEC 310.15(B)(1), (C)(1) worked by hand, exactly."""
    found = branch.branch(line_amps(18, 480, 3), 75, run)
    assert (found.ocpd_amps, found.conductor_awg) == (30, awg)
    assert found.wire.corrected_amps == pytest.approx(corrected)
    assert found.edition.startswith("NEC 2023")


@given(st.floats(1, 60), st.sampled_from([60, 75, 90]), st.floats(-20, 50), st.integers(2, 40), st.booleans())
def test_a_warmer_or_fuller_run_never_asks_for_less(amps, column, ambient, conductors, roof) -> None:
    sizes = list(branch.AMPACITY)

    def size(run: Run) -> int:
        try:
            return sizes.index(branch.branch(amps, column, run).conductor_awg)
        except RatingError:
            return len(sizes)

    base = size(Run(90, ambient, conductors))
    assert base <= size(Run(90, ambient + 7, conductors))
    assert base <= size(Run(90, ambient, conductors + 5))
    assert base <= size(Run(90, ambient, conductors, sunlit_roof=roof))


FAULTS = [  # amps, device, AWG, terminals, run, names, words
    pytest.param(21.65, 30, "10", 75, Run(), [], "", id="as it should be"),
    pytest.param(21.65, None, None, None, Run(), [], "", id="nothing known, nothing guessed"),
    pytest.param(21.65, 30, "6 mm2", 75, Run(), [], "", id="not in the table, nothing guessed"),
    pytest.param(24.06, 30, "8", 75, Run(), ["ocpd_too_small"], "1.25 x 24.06 = 30.07 A", id="20 kW on 30 A"),
    pytest.param(21.65, 40, "10", 75, Run(), ["ocpd_too_large"], "30 A is the most", id="10 AWG on 40 A"),
    pytest.param(30, 50, "8", None, Run(), ["ocpd_too_large"], "so 60 C): 40 A is the most", id="8 AWG not marked"),
    pytest.param(30, 50, "8", 75, Run(), [], "", id="8 AWG on 75 C terminals"),
    pytest.param(21.65, None, "12", 75, Run(), ["conductor_too_small"], "25 A (terminals 75 C), below 1.25 x 21.65"),
    pytest.param(
        21.65, 30, "10", 75, Run(75, 60), ["ocpd_too_large", "conductor_too_small"], "carries 20.3 A on this run, below"
    ),
    pytest.param(21.65, 30, "10", 75, Run(90, 30, 20), ["ocpd_too_large", "conductor_too_small"], "20.0 A on this run"),
    pytest.param(49.96, 70, "6", 75, Run(), ["not_subdivided"], "2 circuits or more, each of 60 A", id="18 kW 208 V"),
    pytest.param(
        49.96, 60, "12", 75, Run(),
        ["ocpd_too_small", "ocpd_too_large", "conductor_too_small", "not_subdivided"], "", id="everything at once",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("amps", "ocpd", "awg", "terminals", "run", "names", "words"), FAULTS)
def test_what_is_wrong_with_a_branch_as_installed(amps, ocpd, awg, terminals, run, names, words) -> None:
    """Below 1.25 I it trips for nothing; above the conductor's limit it does not protect. NEC as above."""
    found = branch.audit(amps, ocpd, awg, terminals, run)
    assert [each.name for each in found] == names
    assert words in "; ".join(each.says for each in found)
    assert all(each.edition == branch.EDITION for each in found)


@given(st.floats(0.1, 150), st.sampled_from([None, 60, 75, 90]), st.floats(-20, 45), st.integers(1, 9))
def test_what_is_chosen_has_no_fault_but_its_size(amps: float, terminals, ambient: float, conductors: int) -> None:
    """The audit is the same rules read the other way."""
    run = Run(90, ambient, conductors)
    try:
        chosen = branch.branch(amps, terminals, run)
    except RatingError:
        return
    names = [each.name for each in branch.audit(amps, chosen.ocpd_amps, chosen.conductor_awg, terminals, run)]
    assert names == (["not_subdivided"] if amps > 48 else [])


@pytest.mark.parametrize("bad", [0, -21.65, math.nan, math.inf, 1e9])
def test_impossible_amps_are_refused_in_words(bad: float) -> None:
    calls = (
        lambda: branch.branch(bad),
        lambda: branch.audit(bad, 30, "10"),
        lambda: branch.audit(20, bad, "10"),
        lambda: branch.circuits_needed(bad),
        lambda: branch.most_circuit_kw(bad, 3),
    )
    for call in calls:
        with pytest.raises(RatingError, match="wanted"):
            call()


def test_what_is_not_in_the_tables_is_not_guessed() -> None:
    with pytest.raises(RatingError, match="60, 75 and 90"):
        branch.branch(20, 65)
    with pytest.raises(RatingError, match="ask for a larger one"):
        branch.branch(300)
