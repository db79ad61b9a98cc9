"""Temperatures and lengths as a site reads them: exact conversions, everything else left as it stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, difference_as, in_units, shown_as


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("from 40 degF to 32 degF", "from 4.4 °C to 0 °C"),
        ("-40 degF", "-40 °C"),
        ("39.2 degF", "4 °C"),
        ("53 degF: limit 34 to 50 degF, pass 34.58 to 45", "11.7 °C: limit 1.11 to 10 °C, pass 1.43 to 7.22"),
        ("41 degF: limit from 34 degF, pass from 35.6", "5 °C: limit from 1.11 °C, pass from 2"),
        ("limit up to 50 degF, pass up to -4; meter +/-1.8 degF", "limit up to 10 °C, pass up to -20; meter +/-1 °C"),
        ("31.99 degF", "0 °C"),
        ("a run of 270 ft of 14 AWG", "a run of 82.3 m of 14 AWG"),
        ("100 ft2, 75 C terminals, 4 ftlb", "100 ft2, 75 C terminals, 4 ftlb"),
        ("not on record: design_degf", "not on record: design_degf"),
    ],
)
def test_a_sentence_on_a_metric_site(text: str, metric: str) -> None:
    """International foot 0.3048 m, degC = (degF - 32)/1.8: to the tenth shown."""
    assert in_units(text, "si") == metric
    assert in_units(text, "si", IN_PLAIN_LETTERS) == metric.replace("°C", "degC")


@pytest.mark.parametrize(("unit", "units", "told"), [("degf", "si", ("degC", 5.0)), ("degf", "us", ("degF", 9.0)),
                                                     ("A", "si", ("A", 9.0))])  # fmt: skip
def test_a_difference_has_no_zero(unit: str, units: str, told: tuple[str, float]) -> None:
    """An interval of 9 degF is one of 5 degC: NIST SP 811, B.8."""
    sign, convert = difference_as(unit, units)
    assert (sign, convert(9.0)) == told


def test_a_sentence_on_a_us_site() -> None:
    assert in_units("32 degF at 10 ft", "us") == "32 °F at 10 ft"
    assert in_units("32 degF at 10 ft", "us", IN_PLAIN_LETTERS) == "32 degF at 10 ft"


@given(st.integers(-1480, 3920).map(lambda tenths: tenths / 10))
def test_a_sentence_and_a_number_agree(degf: float) -> None:
    """What a sentence says and what `shown_as` makes of the number: within the tenth shown, four figures."""
    unit, convert = shown_as("degF", "si")
    said, _, sign = in_units(f"{degf} degF", "si").partition(" ")
    assert (sign, float(said)) == (unit, pytest.approx(convert(degf), abs=0.0501))
