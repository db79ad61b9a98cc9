"""`seasonlog calc overflow`: load if all stays, ice the cold can make, and no answer to the impossible."""

import re

import pytest

from tests.cli.runner import Ran, seasonlog


def overflow(*words: str) -> Ran:
    return seasonlog("calc", "overflow", *words)


@pytest.mark.parametrize(("gpm", "roof"), [("2", "200"), ("5", "500"), ("10", "1000")])
def test_three_ways_to_say_one_case(gpm: str, roof: str) -> None:
    """Geometry: 0.963 in/h, 5.0 psf/h, 20 psf after 4.0 h; to the digit printed."""
    found = overflow("--gpm", gpm, "--roof-ft2", roof, "--json").json
    assert found["depth_in_per_h"] == pytest.approx(0.963, abs=6e-4)
    assert found["load_psf_per_h"] == pytest.approx(5.0, abs=5e-3)
    assert found["hours_to_20_psf"] == pytest.approx(4.0, abs=5e-3)
    assert found["ice_all_in_per_h"] == pytest.approx(1.05, abs=5e-3)
    assert found["ice_low_in_per_h"] < found["ice_high_in_per_h"] < found["ice_all_in_per_h"]


def test_an_open_valve() -> None:
    """Table worked beforehand: a 1/2 in port at 50 psi runs 32.7 gal/min."""
    found = overflow("--valve-in", "0.5", "--psi", "50", "--roof-ft2", "500", "--json").json
    assert found["gpm"] == pytest.approx(32.7, abs=0.05)


def test_an_open_valve_behind_a_pipe() -> None:
    """Worked beforehand: 50 ft of 3/4 in pipe at 50 psi with its bore open run 29.9 gal/min."""
    words = ("--valve-in", "0.824", "--psi", "50", "--pipe-in", "0.824", "--pipe-ft", "50", "--roof-ft2", "500")
    assert overflow(*words, "--json").json["gpm"] == pytest.approx(29.9, abs=0.05)
    assert "50 ft of 0.824 in pipe" in overflow(*words).out


def test_heat_told_replaces_the_band() -> None:
    """759 ft2 freeze 1 gal/min at 100 Btu/h ft2, worked beforehand."""
    found = overflow("--gpm", "1", "--roof-ft2", "500", "--heat-btuh-ft2", "100", "--json").json
    assert found["ice_low_in_per_h"] == found["ice_high_in_per_h"]
    assert found["freezing_area_low_ft2"] == pytest.approx(759, abs=0.5)


def test_the_words_tell_the_load_and_leave_the_roof_to_its_engineer() -> None:
    ran = overflow("--gpm", "5", "--roof-ft2", "500")
    assert (ran.code, ran.err) == (0, "")
    assert "5.00 psf every hour" in ran.out
    assert "after 4.0 h" in ran.out
    assert "structural engineer" in ran.out
    assert not re.search(r"\bsafe\b", ran.out)


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("--gpm", "0"), "flow is 0"),
        (("--gpm", "-1"), "flow is -1"),
        (("--gpm", "nan"), "flow is nan"),
        (("--gpm", "1e9"), "flow is 1e"),
        (("--gpm", "5", "--heat-btuh-ft2", "-1"), "heat removed"),
        (("--gpm", "5", "--heat-btuh-ft2", "0"), "heat removed"),
        (("--gpm", "5", "--supply-degf", "20"), "supply water"),
        (("--valve-in", "0", "--psi", "50"), "valve port"),
        (("--valve-in", "1", "--psi", "inf"), "pressure"),
        (("--valve-in", "1", "--psi", "50", "--pipe-in", "1", "--pipe-ft", "0"), "pipe length"),
        ((), "--gpm"),
        (("--gpm", "5", "--psi", "50"), "not both"),
        (("--valve-in", "1"), "together"),
        (("--valve-in", "1", "--psi", "50", "--pipe-in", "1"), "--pipe-ft"),
    ],
)
def test_the_impossible_gets_a_sentence(words: tuple[str, ...], what: str) -> None:
    ran = overflow(*words, "--roof-ft2", "500")
    assert ran.code != 0
    assert ran.out == ""
    assert what in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("roof", ["0", "-1", "nan", "1e9"])
def test_an_impossible_roof_gets_a_sentence(roof: str) -> None:
    ran = overflow("--gpm", "5", "--roof-ft2", roof)
    assert ran.code != 0
    assert ran.out == ""
    assert "roof area" in ran.err
