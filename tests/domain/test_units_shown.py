"""Temperatures and lengths as a site reads them: exact conversions, everything else left as it stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.units_shown import (
    IN_PLAIN_LETTERS,
    basis_in_units,
    difference_as,
    in_units,
    shown_as,
    with_unit_shown,
)


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
        ("32.9 degf: limit 34 to 50 degf, pass 35.6 to 45", "0.5 °C: limit 1.11 to 10 °C, pass 2 to 7.22"),
        ("<14 / 41 degf", "<-10 / 5 °C"),
        ("OL degf: limit from 34 degf, pass from 35.6", "OL °C: limit from 1.11 °C, pass from 2"),
        (
            "TH-1 reads from 50 degf, the limit is 32: take another one",
            "TH-1 reads from 10 °C, the limit is 0: take another one",
        ),
        ("cut_in_degf@A-1: left out", "cut_in_degf@A-1: left out"),
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


def test_arithmetic_stays_as_recorded_and_says_so() -> None:
    """32 + 2 is a sum in degF; in degC it would be none."""
    basis = "32 + 2 degF margin; meter +/-0.23 degf (TH-1)"
    as_it_was = "32 + 2 °F margin; meter +/-0.23 °F (TH-1)"
    assert basis_in_units(basis, "degf", "si") == f"{as_it_was} (arithmetic as recorded, in °F)"
    assert basis_in_units(basis, "degf", "us") == as_it_was
    assert basis_in_units("P/V/sqrt(3)", "A", "si") == "P/V/sqrt(3)"


@pytest.mark.parametrize(
    ("typed", "unit", "units", "kept"),
    [
        ("4.5", "degf", "si", "4.5 C"), (" -3 ", "degf", "si", "-3 C"), ("40 F", "degf", "si", "40 F"),
        ("40°", "degf", "si", "40°"), ("OL", "degf", "si", "OL"), ("", "degf", "si", ""), ("40", "degf", "us", "40"),
        ("21.6", "A", "si", "21.6"),
    ],
)  # fmt: skip
def test_digits_are_taken_in_the_unit_shown(typed: str, unit: str, units: str, kept: str) -> None:
    assert with_unit_shown(typed, unit, units) == kept


def test_a_sentence_on_a_us_site() -> None:
    assert in_units("32 degF at 10 ft", "us") == "32 °F at 10 ft"
    assert in_units("32 degF at 10 ft", "us", IN_PLAIN_LETTERS) == "32 degF at 10 ft"


@given(st.integers(-1480, 3920).map(lambda tenths: tenths / 10))
def test_a_sentence_and_a_number_agree(degf: float) -> None:
    """What a sentence says and what `shown_as` makes of the number: within the tenth shown, four figures."""
    unit, convert = shown_as("degF", "si")
    said, _, sign = in_units(f"{degf} degF", "si").partition(" ")
    assert (sign, float(said)) == (unit, pytest.approx(convert(degf), abs=0.0501))
