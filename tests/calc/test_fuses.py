"""Fuses of a control transformer.

NEC Table 450.3(B) (three public transcriptions agree), 240.6(A), 240.4(F), 725.43 to 2020 (second hand). The table of
maxima is arithmetic of those percents, to the three digits shown.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import fuses
from seasonlog.errors import RatingError

TABLE = {  # VA: primary only, primary with fused secondary, secondary, for each pair of volts
    50: {(480, 120): (0.312, 0.260, 0.696), (240, 120): (0.625, 0.521, 0.696), (208, 120): (0.721, 0.601, 0.696),
         (120, 24): (1.25, 1.04, 3.48)},
    100: {(480, 120): (0.625, 0.521, 1.39), (240, 120): (1.25, 1.04, 1.39), (208, 120): (1.44, 1.20, 1.39),
          (120, 24): (2.50, 2.08, 6.96)},
    150: {(480, 120): (0.938, 0.781, 2.09), (240, 120): (1.88, 1.56, 2.09), (208, 120): (2.16, 1.80, 2.09),
          (120, 24): (3.75, 3.13, 10.4)},
    250: {(480, 120): (1.56, 1.30, 3.48), (240, 120): (3.13, 2.60, 3.48), (208, 120): (3.61, 3.00, 3.48),
          (120, 24): (3.48, 5.21, 13.0)},
}  # fmt: skip
ROWS = [
    pytest.param(va, *volts, *cells, id=f"{va} VA {volts[0]}-{volts[1]} V")
    for va, row in TABLE.items()
    for volts, cells in row.items()
]


def trio(va: float, high: float, low: float) -> tuple[fuses.Fuse, fuses.Fuse, fuses.Fuse]:
    found = fuses.transformer_fuses(va, high, low)
    return found.primary_only, found.primary, found.secondary


@pytest.mark.parametrize(("va", "high", "low", "alone", "with_secondary", "secondary"), ROWS)
def test_maxima(va: float, high: float, low: float, alone: float, with_secondary: float, secondary: float) -> None:
    """NEC Table 450.3(B), three digits (half a digit rounded either way)."""
    found = [each.max_amps for each in trio(va, high, low)]
    assert found == pytest.approx([alone, with_secondary, secondary], rel=4e-3)


@pytest.mark.parametrize(("amps", "percent"), [(0.1, 300), (1.99, 300), (2, 167), (8.99, 167), (9, 125), (40, 125)])
def test_percent_of_the_primary_alone(amps: float, percent: float) -> None:
    """NEC Table 450.3(B), primary only, exactly."""
    assert fuses.primary_only_percent(amps) == percent


@pytest.mark.parametrize(("amps", "percent"), [(0.1, 167), (8.99, 167), (9, 125), (40, 125)])
def test_percent_of_the_secondary(amps: float, percent: float) -> None:
    """NEC Table 450.3(B), both sides protected, exactly; the primary then 250 %."""
    assert fuses.secondary_percent(amps) == percent
    assert fuses.transformer_fuses(amps * 120, 480, 120).primary.percent == 250


@pytest.mark.parametrize(
    ("most", "standard"),
    [(0.312, None), (0.999, None), (1, 1), (1.44, 1), (2.99, 1), (3.48, 3), (6.96, 6), (10.4, 10), (13.0, 10), (15, 15),
     (24.9, 20), (600.5, 600), (700, 700), (699, 601)],
)  # fmt: skip
def test_the_standard_fuse_at_or_below(most: float, standard: int | None) -> None:
    """NEC 240.6(A) with the fuses 1, 3, 6, 10 and 601 A, exactly; below 1 A the list ends."""
    assert fuses.standard_fuse_amps(most) == standard


def test_below_1_a_no_standard_size_is_invented() -> None:
    alone = fuses.transformer_fuses(50, 480, 120).primary_only
    assert alone.words == (
        "300 % of 0.104 A = 0.312 A at most; the standard list ends at 1 A: take a fuse made for 0.312 A or less"
    )
    assert fuses.transformer_fuses(250, 120, 24).secondary.words.endswith(
        "= 13 A at most; standard fuse at or below: 10 A"
    )
    assert fuses.transformer_fuses(50, 480, 120).edition.startswith("NEC 2023")


@pytest.mark.parametrize(("va", "volts", "amps"), [(50, 480, "0.521 A"), (150, 240, "3.12 A"), (250, 208, "6.01 A")])
def test_500_percent_is_only_told_as_doubtful(va: float, volts: float, amps: str) -> None:
    """NEC 430.72(C)(4) from memory, a motor rule: five times the rated amps, never among the maxima."""
    says = fuses.doubtful_500_percent(va, volts)
    assert says.startswith("doubtful")
    assert amps in says
    assert all(each.percent < 500 for each in trio(va, volts, 120))


def test_from_2_a_on_the_500_percent_are_not_even_told() -> None:
    assert fuses.doubtful_500_percent(250, 120) == ""


@pytest.mark.parametrize(
    ("ampacity", "high", "low", "most"),
    [(15, 480, 120, 3.75), (15, 240, 120, 7.5), (20, 120, 24, 4), (7, 480, 120, 1.75)],
)
def test_a_two_wire_secondary_behind_the_primary_device(ampacity: float, high: float, low: float, most: float) -> None:
    """NEC 240.4(F): ampacity x secondary volts / primary volts, worked by hand, exactly."""
    assert fuses.most_primary_ocpd_amps(ampacity, high, low) == pytest.approx(most)


@pytest.mark.parametrize(("awg", "most"), [("18", 7), ("16", 10), ("14", 15), ("12", 20), ("10", 30)])
def test_control_conductors(awg: str, most: int) -> None:
    """NEC 725.43 to 2020 (second hand), 240.4(D), exactly."""
    assert fuses.most_control_ocpd_amps(awg) == most


@given(st.floats(1, 5000), st.sampled_from([120, 208, 240, 480, 600]), st.sampled_from([24, 120]))
def test_a_fuse_is_never_above_its_maximum_nor_below_the_winding(va: float, high: float, low: float) -> None:
    for each in trio(va, high, low):
        assert each.max_amps > each.rated_amps
        assert each.standard_amps is None or each.standard_amps <= each.max_amps
        assert each.standard_amps is not None or each.max_amps < 1


@given(st.floats(1, 5000), st.floats(1.01, 10))
def test_twice_the_volts_are_half_the_amps(va: float, ratio: float) -> None:
    """Scaling of rated amps with volts; secondary depends on its own volts alone."""
    low, high = fuses.transformer_fuses(va, 120, 24), fuses.transformer_fuses(va, 120 * ratio, 24)
    assert low.primary.max_amps == pytest.approx(ratio * high.primary.max_amps)
    assert low.secondary == high.secondary


@given(st.floats(0.1, 100), st.sampled_from([(480.0, 120.0), (120.0, 24.0)]))
def test_the_two_wire_rule_keeps_the_power_through_the_transformer(ampacity: float, volts: tuple[float, float]) -> None:
    """Second method: primary device at its limit passes the VA that the secondary's wire carries."""
    assert fuses.most_primary_ocpd_amps(ampacity, *volts) * volts[0] == pytest.approx(ampacity * volts[1])


@pytest.mark.parametrize("bad", [0, -50, math.nan, math.inf, 1e9])
def test_impossible_ratings_are_refused_in_words(bad: float) -> None:
    calls = (
        lambda: fuses.transformer_fuses(bad, 480, 120),
        lambda: fuses.transformer_fuses(50, bad, 120),
        lambda: fuses.transformer_fuses(50, 480, bad),
        lambda: fuses.standard_fuse_amps(bad),
        lambda: fuses.doubtful_500_percent(bad, 480),
        lambda: fuses.most_primary_ocpd_amps(bad, 480, 120),
    )
    for call in calls:
        with pytest.raises(RatingError, match="wanted"):
            call()


def test_a_conductor_not_in_the_tables_is_not_guessed() -> None:
    with pytest.raises(RatingError, match="not in the tables"):
        fuses.most_control_ocpd_amps("2.5 mm2")
