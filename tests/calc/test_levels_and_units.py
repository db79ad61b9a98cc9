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


@pytest.mark.parametrize(
    ("function", "value", "wanted", "off"),
    [
        pytest.param(units.btuh_from_kw, 1, 3412.14, 2e-6, id="1 kW is 3412.14 Btu/h"),
        pytest.param(units.kw_from_btuh, 48367, 14.175, 1e-5, id="48,367 Btu/h"),
        pytest.param(units.inhg_from_psi, 0.491154, 1, 1e-6, id="1 inHg is 0.491154 psi"),
        pytest.param(units.inhg_from_psi, 14.696, 29.921, 2e-5, id="one atmosphere"),
        pytest.param(units.mm_from_inches, 10, 254, 1e-12, id="10 in"),
        pytest.param(units.kpa_from_psf, 20, 0.957605, 1e-6, id="20 psf"),
    ],
)
def test_conversions_are_those_of_handbooks(function, value: float, wanted: float, off: float) -> None:
    """Definitions of the units, as handbooks print them; agreement beside each."""
    assert function(value) == pytest.approx(wanted, rel=off)


def test_water_in_gallons_and_pounds() -> None:
    """7.4805 gal/ft3; 8.34 lb/gal makes 500.4 lb/h of 1 gal/min, 62.39 lb/ft3: within 0.1 % of 62.43."""
    assert pytest.approx(7.4805, abs=5e-5) == units.GALLONS_PER_FT3
    assert pytest.approx(units.LB_PER_FT3, rel=1e-3) == units.LB_PER_H_PER_GPM / 60 * units.GALLONS_PER_FT3


@given(st.floats(-1e6, 1e6))
def test_there_and_back(value: float) -> None:
    assert units.kw_from_btuh(units.btuh_from_kw(value)) == pytest.approx(value)
    assert units.inches_from_mm(units.mm_from_inches(value)) == pytest.approx(value)


@given(st.floats(-5, 5))
def test_a_value_inside_is_taken_as_it_is(value: float) -> None:
    assert units.within(value, "value", "V", -5, 5) == value


@given(st.floats(allow_nan=True, allow_infinity=True).filter(lambda v: not -5 <= v <= 5))
def test_a_value_outside_is_refused_with_what_is_allowed(value: float) -> None:
    with pytest.raises(RatingError, match="-5 to 5"):
        units.within(value, "value", "V", -5, 5)
