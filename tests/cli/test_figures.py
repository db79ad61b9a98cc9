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


def test_a_metric_site_reads_degrees_c_and_metres(log: Path) -> None:
    """The metric sample site: designed for 19.4 degF, which is -7 degC; nothing in degF or ft is left in its words."""
    out = seasonlog("figures", "ORR-1", "--outdoor-degf", "14", "--log", log).out
    assert "heat enough at -7 degC (design): yes" in out
    assert "heat enough at -10 degC (asked for)" in out
    assert "from 4.4 degC to 0 degC" in out
    assert "Below 4 degC still water" in out
    assert "degF" not in out
    assert " ft" not in out


def test_the_table_shows_each_site_in_its_own_units(log: Path) -> None:
    lines = seasonlog("figures", "--log", log).out.splitlines()[1:]
    metric = [line for line in lines if line.startswith("ORR")]
    assert len(metric) == 3
    assert all("kW at -7 degC" in line and "degF" not in line for line in metric)
    assert all("degC" not in line for line in lines if line not in metric)


def test_json_of_a_metric_site_stays_in_the_units_its_keys_name(log: Path) -> None:
    (found,) = seasonlog("figures", "ORR-1", "--json", "--log", log).json
    at = found["basins"][0]["at"][0]
    assert (at["outdoor_degf"], at["water_degf"]) == (pytest.approx(19.4), 40)
    assert "39.2 degF" in found["basins"][0]["skin_ice"]


def test_a_basin_without_a_heater_says_so(log: Path) -> None:
    """The sample site's basins with heat "none": no bare 0 kW, in words, table and JSON."""
    words, table = seasonlog("figures", "HOS-4", "--log", log).out, seasonlog("figures", "--log", log).out
    (found,) = seasonlog("figures", "HOS-4", "--json", "--log", log).json
    assert "no heater on record" in words
    assert "0 kW reach it" not in words
    assert "no heater" in next(line for line in table.splitlines() if line.startswith("HOS-4"))
    assert found["basins"][0]["has"] == "no heater on record"


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
