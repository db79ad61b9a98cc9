"""`seasonlog calc insulation`: verdict by the raw reading, action in words; sentences for what cannot be."""

import pytest

from tests.cli.runner import seasonlog


@pytest.mark.parametrize(
    ("words", "verdict", "at_20"),
    [
        (("--mohm", "200", "--degc", "20"), "pass", 200),
        (("--mohm", "10"), "watch", None),
        (("--mohm", "3", "--degc", "10"), "conditional", 1.5),
        (("--mohm", "0.6", "--degc", "40"), "fail", 2.4),
        (("--mohm", "2", "--volts", "2400"), "fail", None),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_the_reading_itself_is_judged(words: tuple[str, ...], verdict: str, at_20: float | None) -> None:
    """The ladder 20, 5, 1 Mohm (common practice); 0.6 Mohm stays a fail although it is 2.4 at 20 C."""
    found = seasonlog("calc", "insulation", *words, "--json").json
    assert (found["verdict"], found["mohm"], found["at_20_degc_mohm"]) == (verdict, float(words[1]), at_20)
    assert found["action"]


def test_a_fall_to_under_half_is_a_finding_and_the_temperature_stands_beside() -> None:
    words = ("calc", "insulation", "--mohm", "30", "--degc", "8", "--last-year-mohm", "100")
    lines = seasonlog(*words).out.splitlines()
    assert lines[0].startswith("30 Mohm passes: write it down")
    assert lines[1].startswith("finding: fell from 100 to 30 Mohm, 30 %")
    assert lines[2].startswith("30 Mohm read at 8 C (46.4 F)")
    assert lines[-1].startswith("CAUTION: lock out")
    found = seasonlog(*words, "--json").json
    assert (found["verdict"], found["finding"].startswith("fell")) == ("pass", True)


def test_a_failed_heater_is_not_energised() -> None:
    found = seasonlog("calc", "insulation", "--mohm", "0.4", "--json").json
    assert found["action"].startswith("do not energise")


@pytest.mark.parametrize(
    ("words", "code"),
    [((), 2), (("--mohm", "0"), 3), (("--mohm", "nan"), 3), (("--mohm", "1e9"), 3),
     (("--mohm", "5", "--degc", "500"), 3),
     (("--mohm", "5", "--last-year-mohm", "-1"), 3), (("--mohm", "5", "--volts", "inf"), 3)],
    ids=lambda value: " ".join(value) or "nothing" if isinstance(value, tuple) else None,
)  # fmt: skip
def test_what_cannot_be_is_a_sentence(words: tuple[str, ...], code: int) -> None:
    ran = seasonlog("calc", "insulation", *words)
    assert (ran.code, ran.out) == (code, "")
    assert ran.err.strip()
    assert "Traceback" not in ran.err
    assert "should not have happened" not in ran.err
