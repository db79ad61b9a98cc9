"""Insulation at a temperature, and the general floor."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc.insulation import at_20_degc, general_floor_mohm, temperature_note
from seasonlog.errors import RatingError

OIL = {0: 0.25, 5: 0.36, 10: 0.50, 15: 0.74, 20: 1.00, 25: 1.40, 30: 1.98, 35: 2.80, 40: 3.95, 50: 7.85}


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


@pytest.mark.parametrize(("mohm", "degc"), [(0, 20), (-1, 20), (1, 101), (1, float("nan")), (float("inf"), 20)])
def test_impossible_readings_are_refused(mohm: float, degc: float) -> None:
    with pytest.raises(RatingError, match="check it"):
        at_20_degc(mohm, degc)
