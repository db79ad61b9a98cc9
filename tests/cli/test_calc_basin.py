"""`seasonlog calc basin`: fixed keys, low and high always together, and no answer to the impossible."""

import re

import pytest

from tests.cli.runner import Ran, seasonlog

B1 = ("--area-ft2", "100", "--depth-ft", "1", "--wall-ft2", "140", "--outdoor-degf", "0")


def basin(*words: str) -> Ran:
    return seasonlog("calc", "basin", *words)


def test_the_reference_basin() -> None:
    """Worked beforehand: 14.17 kW with 5 mph at the water, 48,367 Btu/h; to 0.01 kW. 15 mph free wind and 40 degF water
    are what stands when not given."""
    found = basin(*B1, "--json").json
    assert found["loss_high_kw"] == pytest.approx(14.17, abs=0.01)
    assert found["loss_low_kw"] == pytest.approx((7240 + 28000) / 3412.14, abs=0.01)
    assert found["high"]["total_btuh"] == pytest.approx(48367, abs=1)
    assert found["adequate"] == "cannot_tell"  # no heater was named
    assert found == basin(*B1, "--wind-mph", "15", "--water-degf", "40", "--wall", "steel", "--json").json


@pytest.mark.parametrize(("wall", "kw"), [("steel", 20.45), ("frp", 15.72), ("r4", 8.73)])
def test_walls_at_20_below(wall: str, kw: float) -> None:
    """Table worked beforehand at -20 degF: within 0.01 kW."""
    found = basin(*B1[:-1], "-20", "--wall", wall, "--json").json
    assert found["loss_high_kw"] == pytest.approx(kw, abs=0.01)


@pytest.mark.parametrize(
    ("kw", "word", "text"),
    [("18", "yes", "adequate: yes"), ("12", "cannot_tell", "adequate: cannot tell"), ("6", "no", "adequate: no")],
)
def test_adequate(kw: str, word: str, text: str) -> None:
    assert basin(*B1, "--kw", kw, "--json").json["adequate"] == word
    assert text in basin(*B1, "--kw", kw).out


def test_the_words_give_low_and_high_and_the_skin_of_ice() -> None:
    ran = basin(*B1, "--kw", "18")
    assert (ran.code, ran.err) == (0, "")
    assert "10.33 kW (low) to 14.17 kW (high)" in ran.out
    assert "39.2 degF" in ran.out
    assert "evaporation 6139 + convection 11348 + radiation 2880 + walls 28000 = 48367 Btu/h" in ran.out
    assert ran.out.count("CAUTION") == 2
    assert not re.search(r"\bsafe\b", ran.out)


def test_walls_not_given_are_estimated_and_said() -> None:
    words = ("--area-ft2", "144", "--depth-ft", "2", "--outdoor-degf", "0")
    found = basin(*words, "--json").json
    assert found["wall_ft2"] == 144 + 4 * 12 * 2
    assert found["wall_ft2_estimated"] is True
    assert "240 ft2 estimated" in basin(*words).out
    assert basin(*words, "--wall-ft2", "240", "--json").json["loss_high_kw"] == found["loss_high_kw"]


def test_more_wind_at_the_water_and_more_sky_lose_more() -> None:
    here, open_site, open_pan = (
        basin(*B1, "--wind-mph", "25", *more, "--json").json["loss_high_kw"]
        for more in ((), ("--shelter", "1"), ("--sky-view", "1"))
    )
    assert here < open_site
    assert here < open_pan


def test_drier_air_takes_more() -> None:
    dry, damp = (basin(*B1, "--humidity-percent", p, "--json").json["loss_high_kw"] for p in ("20", "95"))
    assert dry > damp


def test_air_that_warms_the_basin_is_said() -> None:
    assert "the air gives heat" in basin(*B1[:-1], "60").out


@pytest.mark.parametrize(
    ("option", "value", "what"),
    [
        ("--area-ft2", "0", "basin area"),
        ("--area-ft2", "-5", "basin area"),
        ("--depth-ft", "nan", "basin depth"),
        ("--wall-ft2", "1e9", "wall and floor"),
        ("--outdoor-degf", "1e9", "outdoor air"),
        ("--wind-mph", "-1", "wind"),
        ("--water-degf", "20", "water is 20"),
        ("--water-degf", "inf", "water"),
        ("--humidity-percent", "101", "humidity"),
        ("--sky-view", "2", "sky"),
        ("--shelter", "-1", "share of the wind"),
        ("--kw", "0", "heater power"),
        ("--kw", "1e9", "heater power"),
        ("--kw", "nan", "heater power"),
    ],
)
def test_the_impossible_gets_a_sentence(option: str, value: str, what: str) -> None:
    ran = basin(*B1, option, value)
    assert ran.code != 0
    assert ran.out == ""
    assert what in ran.err
    assert "Traceback" not in ran.err
