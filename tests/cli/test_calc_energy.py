"""`seasonlog calc energy`: the season's heat from a weather file, low and high, and what a high set point costs."""

from pathlib import Path

import pytest

from seasonlog import resources
from tests.cli.runner import Ran, seasonlog
from tests.intake import weather_files as files

BASIN = ("--area-ft2", "100", "--depth-ft", "1", "--wall-ft2", "140", "--wall")
MONTH = str(resources.sample_sites() / "weather" / "cold-month.csv")


def energy(*words: str | Path) -> Ran:
    return seasonlog("calc", "energy", *words)


@pytest.fixture
def ohare(shared: Path) -> Path:
    return shared / "climate" / files.OHARE


@pytest.mark.parametrize(
    ("wall", "kwh", "low", "peak", "instead"),
    [("steel", 12_622, 11_291, 19.2, 25_054), ("r4", 6_437, None, 8.3, 13_149)],
)
def test_a_typical_year(ohare: Path, wall: str, kwh: float, low: float | None, peak: float, instead: float) -> None:
    """Chicago O'Hare TMY3, 100 ft2 by 1 ft, 140 ft2 of walls; computed elsewhere with general libraries: 0.05 %."""
    got = energy("--weather", ohare, *BASIN, wall, "--json").json
    assert (got["kwh"], got["instead_kwh"]) == pytest.approx((kwh, instead), rel=5e-4)
    assert got["extra_kwh"] == pytest.approx(got["instead_kwh"] - got["kwh"], rel=1e-4)
    assert got["peak_kw"] == pytest.approx(peak, abs=0.05)
    assert got["hours"] == 8760
    assert low is None or got["kwh_low"] == pytest.approx(low, rel=5e-4)
    assert "EPW" in got["inference"]


def test_the_linear_form(ohare: Path) -> None:
    """UA 1000 Btu/h degF, same year, computed elsewhere: 12,103 and 22,818 kWh, ratio 1.885; no low side of one UA."""
    got = energy("--weather", ohare, "--ua-btuh-per-degf", "1000", "--json").json
    assert (round(got["kwh"]), round(got["instead_kwh"]), round(got["ratio"], 3)) == (12_103, 22_818, 1.885)
    assert got["kwh_low"] is None


def test_a_price_and_an_idle_share(ohare: Path) -> None:
    """12,433 kWh at 0.15 is 1,865 (computed elsewhere); a tower idle a quarter of the hours takes a quarter."""
    words = ("--weather", ohare, *BASIN, "steel", "--rate-per-kwh", "0.15", "--json")
    whole, quarter = energy(*words).json, energy(*words, "--idle-percent", "25").json
    assert whole["extra_cost"] == pytest.approx(1865, abs=1)
    for key in ("kwh", "kwh_low", "instead_kwh", "extra_kwh", "extra_cost"):
        assert quarter[key] == pytest.approx(whole[key] / 4, rel=1e-5)
    assert quarter["peak_kw"] == whole["peak_kw"]


def test_the_words_show_low_and_high_then_working_basis_and_caution(ohare: Path) -> None:
    ran = energy("--weather", ohare, *BASIN, "steel", "--rate-per-kwh", "0.15")
    lines = ran.out.splitlines()
    assert (ran.code, ran.err) == (0, "")
    assert lines[0].startswith("11,292 to 12,623 kWh a season to hold the water at 40 degF (4.4 C)")
    assert lines[1].startswith("50 degF (10.0 C) instead: 22,305 to 25,056 kWh; 11,013 to 12,433 kWh more")
    assert lines[2] == "at 0.15 a kWh the extra costs 1,652 to 1,865"
    kinds = [line.split(":")[0].strip() for line in lines[3:]]
    assert kinds == sorted(kinds, key=["working", "basis", "CAUTION"].index)
    assert set(kinds) == {"working", "basis", "CAUTION"}


def test_a_long_daily_record_is_averaged_over_its_whole_seasons(shared: Path) -> None:
    """Albany 1938-2018: the last 30 seasons, 8,766 hours each; the wind is said to be assumed."""
    ran = energy("--weather", shared / "climate" / files.ALBANY, *BASIN, "steel", "--json")
    assert ran.json["seasons"] == 30
    assert ran.json["hours"] == pytest.approx(8766, abs=5)
    assert "degC, inferred" in ran.json["inference"]
    assert any("mph of wind assumed" in line for line in ran.json["basis"])


def test_less_than_a_season_is_not_called_one() -> None:
    ran = energy("--weather", MONTH, *BASIN, "frp")
    assert "no whole season" in ran.out.splitlines()[0]
    assert energy("--weather", MONTH, *BASIN, "frp", "--json").json["hours"] == 744


def test_hours_without_wind_say_what_was_assumed(tmp_path: Path) -> None:
    (tmp_path / "h.csv").write_text(files.OWN_HOURS)
    ran = energy("--weather", tmp_path / "h.csv", *BASIN, "steel", "--wind-mph", "12")
    assert "12 mph assumed" in ran.out


def test_the_unit_that_could_be_two_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / "w.csv").write_text("STATION,DATE,TMIN,TMAX\nA,2026-01-01,18,36\n")
    words = ("--weather", tmp_path / "w.csv", "--ua-btuh-per-degf", "500", "--json")
    ran = energy(*words)
    assert (ran.code, ran.out, "could be degF or degC" in ran.err) == (3, "", True)
    assert energy(*words, "--unit", "degf").json["kwh"] > energy(*words, "--unit", "degc").json["kwh"]


def test_the_station_wanted_is_asked_for(tmp_path: Path) -> None:
    (tmp_path / "w.csv").write_text(files.BY_STATION + files.BY_STATION.replace("USW00099999", "USW00088888"))
    words = ("--weather", tmp_path / "w.csv", "--ua-btuh-per-degf", "500", "--json")
    assert (energy(*words).code, energy(*words).out) == (3, "")
    assert energy(*words, "--station", "USW00088888").json["station"] == "USW00088888"


REFUSED = {
    "no file": (("--weather", "none.csv", *BASIN, "steel"), 2, "none.csv cannot be read"),
    "no basin": (("--weather", MONTH), 2, "Give --area-ft2"),
    "basin and coefficient": (("--weather", MONTH, *BASIN, "steel", "--ua-btuh-per-degf", "5"), 2, "not both"),
    "set point below": (("--weather", MONTH, *BASIN, "steel", "--instead-degf", "40"), 2, "must be above"),
    "set point is no number": (("--weather", MONTH, *BASIN, "steel", "--instead-degf", "nan"), 2, "must be above"),
    "frozen water": (("--weather", MONTH, *BASIN, "steel", "--water-degf", "20"), 3, "temperature held"),
    "no area": (("--weather", MONTH, "--area-ft2", "0", "--wall-ft2", "1"), 3, "basin area"),
    "endless coefficient": (("--weather", MONTH, "--ua-btuh-per-degf", "inf"), 3, "loss coefficient"),
    "idle share": (("--weather", MONTH, *BASIN, "steel", "--idle-percent", "0"), 3, "idle share"),
    "negative price": (("--weather", MONTH, *BASIN, "steel", "--rate-per-kwh", "-1"), 3, "price of a kWh"),
    "storm": (("--weather", MONTH, *BASIN, "steel", "--wind-mph", "1e9"), 3, "wind"),
    "shelter": (("--weather", MONTH, *BASIN, "steel", "--shelter", "2"), 3, "share of the wind"),
    "unit told by the form": (("--weather", MONTH, *BASIN, "r4", "--unit", "degf"), 2, "leave out --unit degf"),
    "station of the one": (("--weather", MONTH, *BASIN, "r4", "--station", "A"), 2, "leave out --station A"),
    "a folder": (("--weather", str(resources.sample_sites()), *BASIN, "steel"), 2, "cannot be read"),
    "a document": (("--weather", str(resources.sample_sites() / "FORMAT.md"), *BASIN, "r4"), 3, "none of the weather"),
}


@pytest.mark.parametrize("as_json", [(), ("--json",)], ids=["words", "json"])
@pytest.mark.parametrize(("words", "code", "says"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_a_sentence(words: tuple[str, ...], code: int, says: str, as_json: tuple[str, ...]) -> None:
    ran = energy(*words, *as_json)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert "Traceback" not in ran.err
    assert "should not have happened" not in ran.err
