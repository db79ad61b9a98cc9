"""Temperatures and lengths as a site reads them: exact conversions, everything else left as it stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units, shown_as


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("from 40 degF to 32 degF", "from 4.4 °C to 0 °C"),
        ("-40 degF", "-40 °C"),
        ("39.2 degF", "4 °C"),
        ("a run of 270 ft of 14 AWG", "a run of 82.3 m of 14 AWG"),
        ("100 ft2, 75 C terminals, 4 ftlb", "100 ft2, 75 C terminals, 4 ftlb"),
        ("not on record: design_degf", "not on record: design_degf"),
    ],
)
def test_a_sentence_on_a_metric_site(text: str, metric: str) -> None:
    """International foot 0.3048 m, degC = (degF - 32)/1.8: to the tenth shown."""
    assert in_units(text, "si") == metric
    assert in_units(text, "si", IN_PLAIN_LETTERS) == metric.replace("°C", "degC")


def test_a_sentence_on_a_us_site() -> None:
    assert in_units("32 degF at 10 ft", "us") == "32 °F at 10 ft"
    assert in_units("32 degF at 10 ft", "us", IN_PLAIN_LETTERS) == "32 degF at 10 ft"


@given(st.integers(-1480, 3920).map(lambda tenths: tenths / 10))
def test_a_sentence_and_a_number_agree(degf: float) -> None:
    """What a sentence says and what `shown_as` makes of the number: within the tenth shown, four figures."""
    unit, convert = shown_as("degF", "si")
    said, _, sign = in_units(f"{degf} degF", "si").partition(" ")
    assert (sign, float(said)) == (unit, pytest.approx(convert(degf), abs=0.0501))
