"""`seasonlog calc ice`: thickness low, usual and high, its weight, and no answer to the impossible."""

import re

import pytest

from tests.cli.runner import Ran, seasonlog


def ice(*words: str) -> Ran:
    return seasonlog("calc", "ice", *words)


@pytest.mark.parametrize(
    ("afdd", "low", "usual", "high"), [("5", 0.30, 0.58, 0.81), ("50", 2.68, 4.19, 5.00), ("500", 16.13, 19.34, 20.58)]
)
def test_the_thin_ice_table(afdd: str, low: float, usual: float, high: float) -> None:
    """Worked beforehand from Ashton's form, films of 10, 20 and 30 W/m2K: within 0.006 in; 4.771 psf an inch."""
    found = ice("--afdd", afdd, "--json").json
    thickness = found["thickness_low_in"], found["thickness_in"], found["thickness_high_in"]
    assert thickness == pytest.approx((low, usual, high), abs=0.006)
    assert found["weight_psf"] == pytest.approx(4.771 * usual, abs=0.05)


def test_another_film_is_the_middle_one() -> None:
    found = ice("--afdd", "50", "--film", "12", "--json").json
    assert found["thickness_low_in"] == pytest.approx(2.68, abs=0.006)
    assert found["thickness_low_in"] < found["thickness_in"] < 3.2
    assert ice("--afdd", "50", "--film", "8", "--json").json["thickness_low_in"] < 2.68


def test_the_next_inch_takes_what_it_says() -> None:
    """Grown on by what the answer says, the ice is an inch thicker: to 0.001 in."""
    here = ice("--afdd", "50", "--json").json
    there = ice("--afdd", str(50 + here["next_inch_afdd"]), "--json").json
    assert there["thickness_in"] - here["thickness_in"] == pytest.approx(1, abs=1e-3)


def test_no_frost_no_ice_and_ice_there_stays() -> None:
    assert ice("--afdd", "0", "--json").json["thickness_in"] == 0
    assert ice("--afdd", "0", "--start-in", "2", "--json").json["thickness_in"] == pytest.approx(2)


def test_the_words() -> None:
    ran = ice("--afdd", "50")
    assert (ran.code, ran.err) == (0, "")
    assert "4.19 in of ice (106 mm), 2.68 in (low) to 5.00 in (high)" in ran.out
    assert "20.0 psf (0.96 kPa)" in ran.out
    assert "CAUTION" in ran.out
    assert not re.search(r"\bsafe\b", ran.out)


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("--afdd", "-1"), "freezing degree-days"),
        (("--afdd", "nan"), "freezing degree-days"),
        (("--afdd", "1e9"), "freezing degree-days"),
        (("--afdd", "50", "--film", "0"), "air film"),
        (("--afdd", "50", "--start-in", "-1"), "ice at the start"),
    ],
)
def test_the_impossible_gets_a_sentence(words: tuple[str, ...], what: str) -> None:
    ran = ice(*words)
    assert ran.code != 0
    assert ran.out == ""
    assert what in ran.err
    assert "Traceback" not in ran.err
