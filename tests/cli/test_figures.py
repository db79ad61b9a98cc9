"""`seasonlog figures`: one tower, all towers, words and JSON, what cannot be."""

from pathlib import Path

import pytest

from seasonlog import resources
from tests.cli.runner import seasonlog


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("figures") / "seasonlog.db"
    sites = str(resources.sample_sites())
    ran = seasonlog("register", "import", sites, "--by", "Halden Pruskett", "--log", file)
    assert ran.code == 0, ran.err
    return file


def test_one_tower_in_words(log: Path) -> None:
    out = seasonlog("figures", "HOS-1", "--log", log).out
    assert "heat enough at -8 degF (design): yes" in out
    assert "heat enough at -41 degF (record low): no" in out
    assert "21.65 A in each line" in out
    assert "1.25 x 21.65 = 27.1 A: 30 A breaker or fuse, 10 AWG copper (75 C terminals)" in out
    assert "freezes first" in out
    assert "CAUTION" in out
    assert out.count("to") > 4  # ranges, never one bare figure


def test_every_tower_in_a_table(log: Path) -> None:
    ran = seasonlog("figures", "--log", log)
    lines = ran.out.splitlines()
    assert lines[0].split()[:3] == ["TOWER", "BASIN", "ENOUGH"]
    assert len(lines) > 18
    assert {line.split()[2] for line in lines[1:]} <= {"yes", "no", "cannot_tell"}
    assert "skin of ice" in ran.err  # the basin's figure is never printed alone


def test_json_at_one_more_temperature(log: Path) -> None:
    (found,) = seasonlog("figures", "HOS-1", "--outdoor-degf", "10", "--json", "--log", log).json
    (basin,) = found["basins"]
    assert [each["label"] for each in basin["at"]] == ["design", "record low", "asked for"]
    assert basin["at"][2]["adequate"] in ("yes", "no", "cannot_tell")
    assert found["circuits"][0]["wiring"]["ocpd_amps"] == 30


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("HOS-1", "--outdoor-degf", "nan"), 3, "outdoor air is nan degF"),
        (("HOS-1", "--outdoor-degf", "1e9"), 3, "outdoor air is 1e+09 degF"),
        (("NONE-1",), 3, "is not in the register"),
        (("HOS-1", "--outdoor-degf", "cold"), 2, "is not a plain number"),
    ],
)
def test_what_cannot_be_is_a_sentence(log: Path, words: tuple[str, ...], code: int, says: str) -> None:
    ran = seasonlog("figures", *words, "--log", log)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
