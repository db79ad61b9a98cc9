"""Order of the three levels, and the conversions. Geometry; international inch 25.4 mm; degF by definition."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import units
from seasonlog.calc.levels import levels
from seasonlog.errors import RatingError


def test_distances_between_the_levels() -> None:
    found = levels(12, 8.5, 6)
    assert (found.trip_above_heater_in, found.operating_above_trip_in) == (2.5, 3.5)
    assert levels(12, 5.5, 6).trip_above_heater_in == -0.5


@pytest.mark.parametrize("bad", [(-1, 8, 6), (12, 1201, 6), (12, 8, float("nan"))])
def test_an_unbelievable_level_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(RatingError, match="check it"):
        levels(*bad)


@pytest.mark.parametrize(("degc", "degf"), [(0, 32), (100, 212), (-40, -40), (4.44, 39.992)])
def test_temperatures_turn_both_ways(degc: float, degf: float) -> None:
    assert units.degf_from_degc(degc) == pytest.approx(degf)
    assert units.degc_from_degf(degf) == pytest.approx(degc)


def test_a_difference_has_no_offset() -> None:
    assert units.degf_difference(5) == 9
    assert units.inches_from_mm(254) == 10


@given(st.floats(-5, 5))
def test_a_value_inside_is_taken_as_it_is(value: float) -> None:
    assert units.within(value, "value", "V", -5, 5) == value


@given(st.floats(allow_nan=True, allow_infinity=True).filter(lambda v: not -5 <= v <= 5))
def test_a_value_outside_is_refused_with_what_is_allowed(value: float) -> None:
    with pytest.raises(RatingError, match="-5 to 5"):
        units.within(value, "value", "V", -5, 5)
