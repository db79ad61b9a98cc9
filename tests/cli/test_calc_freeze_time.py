"""`seasonlog calc freeze-time`: hours low and high, `never` where a heater holds, and no answer to the impossible."""

import re

import pytest

from tests.cli.runner import Ran, seasonlog

B1 = ("--area-ft2", "100", "--depth-ft", "1", "--wall-ft2", "140", "--outdoor-degf", "0")


def freeze_time(*words: str) -> Ran:
    return seasonlog("calc", "freeze-time", *words)


@pytest.mark.parametrize(
    ("depth", "wall", "air", "hours"),
    [("0.5", "steel", "-20", 0.39), ("1", "steel", "0", 1.16), ("2", "steel", "20", 4.95), ("1", "r4", "10", 3.43)],
)
def test_hours_of_the_table(depth: str, wall: str, air: str, hours: float) -> None:
    """Table worked beforehand, 5 mph at the water and 15 at the walls: within 0.006 h."""
    words = ("--area-ft2", "100", "--depth-ft", depth, "--wall-ft2", "140", "--outdoor-degf", air, "--wall", wall)
    found = freeze_time(*words, "--json").json
    assert found["hours_low"] == pytest.approx(hours, abs=0.006)
    assert found["hours_low"] < found["hours_high"]
    assert found["never"] is None


def test_a_heater_that_holds() -> None:
    found = freeze_time(*B1, "--kw", "20", "--json").json
    assert (found["hours_low"], found["hours_high"]) == (None, None)
    assert "never" in found["never"]
    assert 40 < found["holds_degf"] < found["holds_high_degf"]


def test_what_it_holds_loses_what_it_gives() -> None:
    """The loss at the temperature held, by `calc basin`: 20 kW to 0.01."""
    held = freeze_time(*B1, "--kw", "20", "--json").json["holds_degf"]
    assert seasonlog("calc", "basin", *B1, "--water-degf", str(held), "--json").json["loss_high_kw"] == pytest.approx(
        20, abs=0.01
    )


def test_a_heater_between_both_losses() -> None:
    found = freeze_time(*B1, "--kw", "9", "--json").json
    assert found["hours_low"] > 1.16
    assert found["hours_high"] is None
    assert found["holds_degf"] is None
    assert found["holds_high_degf"] > 32
    words = freeze_time(*B1, "--kw", "9").out
    assert "to no end (high)" in words
    assert "never in the low draught" in words


def test_the_words_give_low_and_high_and_the_skin_of_ice() -> None:
    ran = freeze_time(*B1)
    assert (ran.code, ran.err) == (0, "")
    assert "1.16 h (low) to 1.59 h (high)" in ran.out
    assert "39.2 degF" in ran.out
    assert ran.out.count("CAUTION") == 2
    assert not re.search(r"\bsafe\b", ran.out)


def test_warmer_water_takes_longer_and_cold_water_is_there() -> None:
    warm, there = (freeze_time(*B1, "--water-degf", degf, "--json").json for degf in ("50", "32"))
    assert warm["hours_low"] > 1.17
    assert (there["hours_low"], there["hours_high"]) == (0, 0)
    assert "already" in freeze_time(*B1, "--water-degf", "32").out


def test_a_monstrous_heater_boils_no_words() -> None:
    assert "or hotter" in freeze_time(*B1, "--kw", "5000").out


@pytest.mark.parametrize(
    ("option", "value", "what"),
    [
        ("--area-ft2", "0", "basin area"),
        ("--depth-ft", "-1", "basin depth"),
        ("--outdoor-degf", "nan", "outdoor air"),
        ("--wind-mph", "1e9", "wind"),
        ("--water-degf", "31", "colder"),
        ("--water-degf", "1e9", "water"),
        ("--kw", "-1", "heater power"),
        ("--kw", "inf", "heater power"),
    ],
)
def test_the_impossible_gets_a_sentence(option: str, value: str, what: str) -> None:
    ran = freeze_time(*B1, option, value)
    assert ran.code != 0
    assert ran.out == ""
    assert what in ran.err
    assert "Traceback" not in ran.err
