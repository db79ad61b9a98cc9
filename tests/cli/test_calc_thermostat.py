"""`seasonlog calc thermostat`: cut-in, margin, verdict and advice; sentences for what cannot be."""

import pytest

from tests.cli.runner import seasonlog


def asked(*words: str) -> dict[str, object]:
    return seasonlog("calc", "thermostat", *words, "--json").json


def dial(degf: str, differential: str, *more: str) -> tuple[str, ...]:
    return ("--dial-degf", degf, "--differential-degf", differential, *more)


@pytest.mark.parametrize(
    ("words", "cut_in", "cut_out", "margin", "verdict"),
    [
        (dial("45", "10", "--mark", "cut-out"), 35, 45, 3, "fail"),
        (dial("40", "8", "--mark", "cut-in"), 40, 48, 8, "pass"),
        (dial("45", "8", "--mark", "middle"), 41, 49, 9, "pass"),
        (dial("45", "8", "--mark", "cut-out"), 37, 45, 5, "near_fail"),
        (dial("40", "8"), None, None, None, "cannot_tell"),
        (dial("48", "8"), None, None, None, "pass"),
        (dial("34", "8"), None, None, None, "fail"),
        (("--measured-cut-in-degf", "40", "--measured-cut-out-degf", "48"), 40, 48, 8, "pass"),
        (("--measured-cut-in-degf", "34.5"), 34.5, None, 2.5, "near_pass"),
        (("--measured-cut-in-degf", "34.5", "--thermometer-degf", "0.3"), 34.5, None, 2.5, "pass"),
        (("--measured-cut-in-degf", "34.5", "--pt-class", "A"), 34.5, None, 2.5, "pass"),
        (("--measured-cut-in-degf", "35", "--ice-degf", "33"), 34, None, 2, "near_pass"),
        (("--measured-cut-out-degf", "50", "--differential-degf", "8"), 42, 50, 10, "pass"),
        (dial("40", "8", "--mark", "cut-in", "--measured-cut-in-degf", "31"), 31, None, -1, "fail"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_what_was_measured_decides_then_the_dial(words, cut_in, cut_out, margin, verdict) -> None:
    """Differential by definition, allowances common practice, no source: as tests/calc/test_thermostat.py, exactly."""
    found = asked(*words)
    assert (found["cut_in_degf"], found["cut_out_degf"], found["margin_degf"]) == (cut_in, cut_out, margin)
    assert found["verdict"] == verdict
    assert found["advice"]


def test_advice_in_words() -> None:
    reject = asked(*dial("45", "10", "--mark", "cut-out"))
    assert reject["advice"].startswith("set the dial to at least 48 degF if its mark means cut-out")
    assert asked(*dial("40", "8"))["advice"].startswith("find out what the mark means")


def test_three_meanings_are_shown_where_the_mark_is_not_known() -> None:
    lines = seasonlog("calc", "thermostat", *dial("40", "8")).out.splitlines()
    assert [line.split("closes at ")[1][:4] for line in lines[:3]] == ["40 F", "36 F", "32 F"]
    assert lines[3].startswith("cannot tell")
    assert lines[-1].startswith("CAUTION")


def test_a_measurement_tells_what_the_mark_means_and_how_far_the_dial_is_off() -> None:
    measured = ("--measured-cut-in-degf", "40", "--measured-cut-out-degf", "48")
    assert "it means cut-out" in asked(*dial("48", "8"), *measured)["notes"][0]
    assert "does not tell" in asked(*dial("60", "8"), *measured)["notes"][0]
    assert "4 degF off" in asked(*dial("44", "8", "--mark", "cut-in"), *measured)["notes"][0]
    assert asked(*dial("41", "8", "--mark", "cut-in"), *measured)["notes"] == []


@pytest.mark.parametrize(
    ("words", "code"),
    [
        ((), 2),
        (("--dial-degf", "40"), 2),
        (dial("40", "8", "--mark", "on"), 2),
        (("--measured-cut-in-degf", "40", "--thermometer-degf", "1", "--pt-class", "A"), 2),
        (dial("999", "8", "--mark", "cut-in"), 3),
        (dial("40", "0"), 3),
        (dial("nan", "8"), 3),
        (("--measured-cut-in-degf", "inf"), 3),
        (("--measured-cut-in-degf", "48", "--measured-cut-out-degf", "40"), 3),
        (("--measured-cut-in-degf", "40", "--thermometer-degf", "-1"), 3),
    ],
    ids=lambda value: " ".join(value) or "nothing" if isinstance(value, tuple) else None,
)
def test_what_cannot_be_is_a_sentence(words: tuple[str, ...], code: int) -> None:
    ran = seasonlog("calc", "thermostat", *words)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.strip()
    assert "Traceback" not in ran.err
    assert "should not have happened" not in ran.err
