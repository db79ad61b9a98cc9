"""The file of observations: read as documented, refused whole with every problem on its line."""

from pathlib import Path

import pytest

from seasonlog.errors import InputRefusedError
from seasonlog.intake import observations_file
from seasonlog.intake.observations_file import read_observations
from tests.intake.hostile import cases


def refused(text: str | bytes) -> list[str]:
    with pytest.raises(InputRefusedError) as caught:
        read_observations(text if isinstance(text, bytes) else text.encode(), "seen.toml")
    return [str(each) for each in caught.value.problems]


def test_the_documented_file_is_read() -> None:
    """The very text of the module's documentation."""
    text = observations_file.__doc__ or ""
    lines = [line[4:] for line in text.splitlines() if line.startswith("    ")]
    read = read_observations("\n".join(lines).encode(), "seen.toml")
    assert read.at_the_panel == "qualified"
    assert [each.test for each in read.cannot] == ["ammeter"]
    seen = {each.test: each.answer for each in read.observations}
    assert seen == {"ready": "cold", "breaker_handle": "on", "volts_t": "118.5", "ohms_float": "OL"}
    assert read.observations[2].where == "seen.toml, line 6, volts_t"


def test_an_empty_file_and_empty_answers_say_nothing() -> None:
    assert read_observations(b"", "seen.toml").observations == ()
    read = read_observations(b'at_the_panel = ""\n[observations]\nlamps = ""\nvolts_t = 0', "seen.toml")
    assert (read.at_the_panel, [each.answer for each in read.observations]) == ("", ["0"])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("observatons = 1", "line 1, observatons: is not known here"),
        ("observations = 1", "line 1, observations: must be a table"),
        ("\n[observations]\nlamps = true", "line 3, lamps: must be a word in quotes or a number"),
        ("[observations]\nlamps = [1]", "line 2, lamps: must be a word"),
        ("[observations]\nlamps = 2026-01-01", "line 2, lamps: must be a word"),
        (f'[observations]\nlamps = "{"x" * 61}"', "line 2, lamps: has 61 characters; 60 is the most"),
        ("[observations]\na = 1\na = 2", "line 3, key a: is given twice"),
        ('cannot = "ammeter"', "line 1, cannot: must be a list"),
        ("cannot = [true]", "line 1, cannot: must be a word"),
        ('at_the_panel = "me"', 'line 1, at_the_panel: "me" is not known; write qualified or not_qualified'),
        ("at_the_panel = {a = 1}", "line 1, at_the_panel: must be a word"),
        ("x = [[[[[1]]]]]", "line 1: opens 5 brackets inside each other"),
        ("a = ", "is not TOML"),
        (b"\xff\xfea", "UTF-16"),
        (b"a = '\xff'", "is not UTF-8"),
        (b"#" * 200_001, "at most 200000"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str | bytes, says: str) -> None:
    assert any(says in each for each in refused(text)), refused(text)


def test_every_problem_is_told_at_once() -> None:
    assert len(refused("more = 1\nat_the_panel = 3.5\n[observations]\nlamps = true\ncoils = []")) == 4


def test_control_characters_are_shown_as_what_they_are() -> None:
    (says,) = refused('"a\\u001b[31m" = 1')
    assert "\x1b" not in says
    assert "␛[31m" in says


@pytest.mark.parametrize("given", cases("markup", "terminal", "unicode", "numbers"))
def test_hostile_text_is_an_answer_or_a_sentence(given: str | bytes, tmp_path: Path) -> None:
    """As a whole file it is refused or says nothing; nothing but a refusal comes out."""
    data = given.encode("utf-8", "surrogatepass") if isinstance(given, str) else given
    told: list[str] = []
    try:
        read = read_observations(data, "seen.toml")
    except InputRefusedError as error:
        told = [str(each) for each in error.problems]
    else:
        assert read.observations == ()
    assert all(each.startswith("seen.toml") for each in told)
