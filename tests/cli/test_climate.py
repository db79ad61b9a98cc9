"""`seasonlog climate`: the dates and windows of a record in words and as JSON; what cannot be is a sentence."""

import json
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from seasonlog import resources
from seasonlog.calc.season_days import NORTH, MonthDay
from seasonlog.cli import run
from tests.cli.runner import Ran
from tests.intake import normals_files
from tests.intake import weather_files as files
from tests.services.climate_samples import winters

Climate = Callable[..., Ran]


@pytest.fixture
def climate(capsys: pytest.CaptureFixture[str]) -> Climate:
    """Runs the command as the shell would, in this process."""

    def ran(*words: str | Path) -> Ran:
        code = run(["climate", *map(str, words)])
        shown = capsys.readouterr()
        return Ran(code, shown.out, shown.err)

    return ran


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve winters in degF, our own form, north."""
    path = tmp_path_factory.mktemp("climate") / "made-up.csv"
    path.write_text(winters(), "utf-8")
    return path


def shifted(path: Path, folder: Path, days: int, name: str) -> Path:
    """The same record so many days later."""
    lines = path.read_text("utf-8").splitlines()
    moved = [f"{date.fromisoformat(each[:10]) + timedelta(days=days)}{each[10:]}" for each in lines[1:]]
    (folder / name).write_text("\n".join([lines[0], *moved]), "utf-8")
    return folder / name


class TestOpenRecord:
    """Albany 1938-2018 beside the checkout."""

    @pytest.fixture
    def albany(self, shared: Path) -> Path:
        return shared / "climate" / files.ALBANY

    def test_the_dates_and_what_was_published(self, climate: Climate, albany: Path, tmp_path: Path) -> None:
        """Against NCEI's dates at 32 degF given as a normals file: each within 6 days, and printed beside it."""
        (tmp_path / "n.csv").write_text(normals_files.annual(), "utf-8")
        words = ("dates", albany, "--since", "1991", "--threshold-degf", "32", "--normals", tmp_path / "n.csv")
        ran, got = climate(*words), climate(*words, "--json").json
        print(ran.out)
        assert (ran.code, got["seasons"], got["first_season"], got["last_season"]) == (0, 26, 1991, 2016)
        (only,) = got["thresholds"]
        for side in ("first", "last"):
            for percent, text in only[side]["published"].items():
                ours, told = (NORTH.number(MonthDay(*map(int, each.split("-"))))
                              for each in (only[side]["simulated"][percent], text))  # fmt: skip
                assert abs(ours - told) <= 6
        assert (only["first"]["reached"], only["first"]["judged"], only["first"]["dropped"]) == (26, 26, [])
        assert only["first"]["days"]["1991"] == "1991-09-29"
        assert "published  10-03  10-15  11-01" in ran.out
        assert "against it" in ran.out

    def test_the_words(self, climate: Climate, albany: Path) -> None:
        """Season count, the table, how it was read, the seasons dropped, the error to expect, the caution."""
        ran = climate("dates", albany)
        lines = ran.out.splitlines()
        assert lines[0] == f"{albany.name}: 30 seasons looked at, 1987 to 2016 (August to July)"
        assert [line.split("  ")[0] for line in lines[2:18:4]] == [
            "36 degF (2.2 C)", "32 degF (0.0 C)", "28 degF (-2.2 C)", "24 degF (-4.4 C)",
        ]  # fmt: skip
        for part in ("degC, inferred", "rounded to whole degF first", "seasons dropped for missing days: none",
                     "inferred: January is colder", "1.4 to 2.5 days", "CAUTION:", "30 of 30"):  # fmt: skip
            assert part in ran.out

    def test_windows(self, climate: Climate, albany: Path) -> None:
        ran = climate("windows", albany, "--since", "1991")
        got = climate("windows", albany, "--since", "1991", "--json").json
        first = NORTH.number(MonthDay(*map(int, got["first"].split("-"))))
        assert ran.code == 0
        assert got["windows"][0]["visit"] == "fall enable"
        assert NORTH.number(MonthDay(*map(int, got["windows"][0]["due"].split("-")))) == first - 14
        assert "14 days before the first freeze at 32 degF" in ran.out
        assert "check before the coldest stretch" in ran.out
        assert got["windows"][-1]["visit"] == "spring disable"
        wide = climate("windows", albany, "--since", "1991", "--threshold-degf", "36", "--json").json
        assert wide["windows"][0]["due"] < got["windows"][0]["due"]


def test_the_same_seed_gives_the_same_answer(climate: Climate, made_up: Path) -> None:
    words = ("dates", made_up, "--json", "--seed")
    assert climate(*words, "3").json == climate(*words, "3").json
    one, other = (climate(*words, each).json["thresholds"][1]["first"] for each in ("3", "4"))
    assert one["raw"] == other["raw"]
    assert one["days"] == other["days"]


def test_a_threshold_in_degc_is_the_same_threshold(climate: Climate, made_up: Path) -> None:
    one = climate("dates", made_up, "--threshold-degc", "0", "--json").json["thresholds"]
    other = climate("dates", made_up, "--threshold-degf", "32", "--json").json["thresholds"]
    assert one == other
    assert len(one) == 1


def test_any_percent(climate: Climate, made_up: Path) -> None:
    got = climate("dates", made_up, "--percent", "5", "--percent", "33.3", "--json").json["thresholds"][1]
    assert list(got["first"]["raw"]) == ["5", "33.3"]
    assert got["first"]["raw"]["5"] <= got["first"]["raw"]["33.3"]


def test_the_chance_by_a_day(climate: Climate, made_up: Path) -> None:
    words = ("dates", made_up, "--threshold-degf", "32")
    early, late = (climate(*words, "--by", each, "--json").json["thresholds"][0]["first"]["chance_by_percent"]
                   for each in ("08-05", "12-31"))  # fmt: skip
    assert 0 <= early < 1 < 99 < late <= 100
    median = climate(*words, "--json").json["thresholds"][0]["first"]["simulated"]["50"]
    ran = climate(*words, "--by", median)
    assert "the first freeze has come by" in ran.out


def test_the_south_is_told_by_its_winter_or_by_its_latitude(climate: Climate, made_up: Path, tmp_path: Path) -> None:
    """The record 184 days later is a southern one: the same seasons, dates half a year later."""
    south = shifted(made_up, tmp_path, 184, "south.csv")
    north, got = (climate("dates", each, "--json").json for each in (made_up, south))
    assert (north["runs"], got["runs"]) == ("August to July", "February to January")
    assert "July is colder" in got["inference"]
    assert climate("dates", south, "--latitude-deg", "-42", "--json").json["thresholds"] == got["thresholds"]
    a, b = (each["thresholds"][1]["first"]["raw"]["50"] for each in (north, got))
    assert (int(b[:2]) - int(a[:2])) % 12 in (5, 6, 7)
    wrong = climate("dates", south, "--latitude-deg", "42").out
    assert "is the latitude's sign right?" in wrong
    assert "32 degF (0.0 C): it freezes at both ends of the season" in wrong
    assert "at both ends" not in climate("dates", south).out


def test_gaps_are_told(climate: Climate, made_up: Path, tmp_path: Path) -> None:
    """Fifteen days of August 2003 missing: that season is dropped for the first freeze, not for the last."""
    lines = [each for each in made_up.read_text("utf-8").splitlines() if not "2003-08-01" <= each[:10] <= "2003-08-15"]
    (tmp_path / "gaps.csv").write_text("\n".join(lines), "utf-8")
    words = ("dates", tmp_path / "gaps.csv", "--threshold-degf", "32")
    got = climate(*words, "--json").json["thresholds"][0]
    assert (got["first"]["dropped"], got["last"]["dropped"]) == ([2003], [])
    assert "32 degF (0.0 C) first: 1 (2003)" in climate(*words).out


def test_a_place_without_frost(climate: Climate, made_up: Path) -> None:
    ran = climate("dates", made_up, "--threshold-degf", "-40")
    assert ran.code == 0
    assert "below 10 % no date is told" in ran.out
    assert "on average" not in ran.out
    assert "the error is not known" not in ran.out
    windows = climate("windows", made_up, "--threshold-degf", "-40")
    assert (windows.code, windows.out) == (3, "")
    assert "no windows follow" in windows.err


def test_a_dozen_winters_are_not_given_the_error_of_thirty(climate: Climate, made_up: Path) -> None:
    ran = climate("dates", made_up, "--threshold-degf", "32")
    assert ran.out.count("not known") == 3
    assert "settled on some 30 seasons that all froze" in ran.out
    assert "1.4 to 2.5" not in ran.out


def test_few_seasons_are_not_made_more(climate: Climate, made_up: Path) -> None:
    """Three seasons: no date, and the reason."""
    ran = climate("dates", made_up, "--since", "2010")
    assert "only 3 seasons could be judged" in ran.out
    assert "no simulated dates: only 3 seasons have August whole" in ran.out
    assert climate("dates", made_up, "--since", "2010", "--json").json["is_simulated"] is False


def test_monthly_normals_shift_the_simulated_months(climate: Climate, made_up: Path, tmp_path: Path) -> None:
    """Normals of the record's own means plus 2 degF: the first freeze comes later, the last earlier."""
    lows: dict[int, list[int]] = {}
    for line in made_up.read_text("utf-8").splitlines()[1:]:
        lows.setdefault(int(line[5:7]), []).append(int(line.split(",")[1]))
    means = tuple(sum(lows[month]) / len(lows[month]) + 2 for month in range(1, 13))
    (tmp_path / "m.csv").write_text(normals_files.monthly(means), "utf-8")
    plain, moved = (climate("dates", made_up, "--json", *words).json
                    for words in ((), ("--normals", tmp_path / "m.csv")))  # fmt: skip
    assert plain["shift_degf"] is None
    assert moved["shift_degf"] == pytest.approx([2.0] * 12, abs=0.3)
    numbers = [[NORTH.number(MonthDay(*map(int, each["thresholds"][1][side]["simulated"]["50"].split("-"))))
                for side in ("first", "last")] for each in (plain, moved)]  # fmt: skip
    assert numbers[1][0] > numbers[0][0]
    assert numbers[1][1] < numbers[0][1]
    (tmp_path / "far.csv").write_text(normals_files.monthly(tuple(each + 30 for each in means)), "utf-8")
    far = climate("dates", made_up, "--normals", tmp_path / "far.csv")
    assert (far.code, "another place or another unit" in far.err) == (3, True)


def test_rounding_can_be_said(climate: Climate, made_up: Path) -> None:
    assert "taken as they are" in climate("dates", made_up, "--rounding", "none").out
    assert "rounded to whole degF first" in climate("dates", made_up, "--rounding", "whole-degf").out


def test_the_unit_that_could_be_two_is_asked_for(climate: Climate, tmp_path: Path) -> None:
    (tmp_path / "w.csv").write_text("STATION,DATE,TMIN,TMAX\nA,2026-01-01,18,36\n", "utf-8")
    ran = climate("dates", tmp_path / "w.csv")
    assert (ran.code, ran.out, "could be degF or degC; say which it is with --unit" in ran.err) == (3, "", True)
    said = climate("dates", tmp_path / "w.csv", "--unit", "degf", "--latitude-deg", "42")
    assert "holds no whole season" in said.err


REFUSED = {
    "no file": (("dates", "none.csv"), 2, "none.csv cannot be read"),
    "a folder": (("dates", "."), 2, "cannot be read"),
    "a document": (("dates", str(resources.sample_sites() / "FORMAT.md")), 3, "none of the weather files"),
    "a month": (("dates", str(resources.sample_sites() / "weather" / "cold-month.csv"), "--latitude-deg", "42"), 3,
                "holds no whole season"),
    "no half of the earth": (("dates", str(resources.sample_sites() / "weather" / "cold-month.csv")), 2,
                             "give --latitude-deg"),
    "no latitude": (("dates", "MADE", "--latitude-deg", "91"), 3, "latitude is 91"),
    "latitude nan": (("windows", "MADE", "--latitude-deg", "nan"), 3, "latitude is nan"),
    "threshold of the sun": (("dates", "MADE", "--threshold-degf", "1e9"), 3, "threshold is 1e+09 degF"),
    "threshold nan": (("windows", "MADE", "--threshold-degf", "nan"), 3, "threshold is nan"),
    "100 percent": (("dates", "MADE", "--percent", "100"), 3, "chance is 100 %"),
    "percent inf": (("windows", "MADE", "--percent", "inf"), 3, "chance is inf %"),
    "31 November": (("dates", "MADE", "--by", "11-31"), 3, "there is no day 11-31"),
    "no day": (("dates", "MADE", "--by", "next week"), 2, "write it as 10-15"),
    "later than the record": (("dates", "MADE", "--since", "2100"), 3, "no whole season from 2100 on"),
    "a lead of a year": (("windows", "MADE", "--lead-days", "365"), 3, "days before the first freeze"),
    "the wrong half": (("windows", "MADE", "--latitude-deg", "-42"), 3, "at both ends of the season"),
    "no normals": (("dates", "MADE", "--normals", "MADE"), 3, "is no file of NCEI normals"),
    "normals not there": (("dates", "MADE", "--normals", "none.csv"), 2, "none.csv cannot be read"),
}  # fmt: skip


@pytest.mark.parametrize("as_json", [(), ("--json",)], ids=["words", "json"])
@pytest.mark.parametrize(("words", "code", "says"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_a_sentence(
    climate: Climate, made_up: Path, words: tuple[str, ...], code: int, says: str, as_json: tuple[str, ...]
) -> None:
    ran = climate(*(str(made_up) if each == "MADE" else each for each in words), *as_json)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert "should not have happened" not in ran.err


def test_a_typical_year_tells_its_dates_and_that_no_chance_follows(climate: Climate, shared: Path) -> None:
    """Chicago O'Hare's typical year (TMY3): the same as a plain look at the seventh column of its rows, to the day."""
    file = shared / "climate" / "chicago-ohare-725300-TMY3.epw"
    lowest: dict[tuple[int, int], float] = {}
    for row in file.read_text("utf-8").splitlines()[8:]:
        _, month, day, _, _, _, air_degc, *_ = row.split(",")
        key = ((int(month) - 8) % 12, int(day))
        lowest[key] = min(lowest.get(key, 99.0), float(air_degc))
    frozen = sorted(key for key, degc in lowest.items() if degc <= 0.0)
    wanted = [f"{(month + 7) % 12 + 1:02d}-{day:02d}" for month, day in (frozen[0], frozen[-1])]
    ran = climate("dates", file, "--threshold-degf", "32", "--json")
    assert ran.code == 0
    assert ran.json["dates"] == [{"threshold_degf": 32.0, "first": wanted[0], "last": wanted[1]}]
    assert "no chance follows" in ran.json["doubt"]
    assert "a typical year (August to July)" in climate("dates", file).out


def test_a_typical_year_without_a_freeze_and_one_south_of_the_equator(climate: Climate, tmp_path: Path) -> None:
    warm = tmp_path / "warm.epw"
    warm.write_text(files.epw(lambda month, day, hour: files.epw_row(month, day, hour, air="12.0")), "utf-8")
    assert "32 degF: no freeze in the typical year" in climate("dates", warm).out
    cold = tmp_path / "cold.epw"
    winter = {6: "-2.0", 7: "-4.0"}
    cold.write_text(files.epw(lambda m, d, h: files.epw_row(m, d, h, air=winter.get(m, "9.0"))), "utf-8")
    out = climate("dates", cold, "--threshold-degf", "32", "--latitude-deg", "-41").out
    assert "32 degF: first 1 June, last 31 July" in out
    assert "February to January" in out


def test_windows_do_not_rest_on_a_typical_year(climate: Climate, tmp_path: Path) -> None:
    (tmp_path / "h.epw").write_text(files.epw(), "utf-8")
    ran = climate("windows", tmp_path / "h.epw")
    assert (ran.code, "holds single hours" in ran.err) == (3, True)
    assert "Hours serve `seasonlog calc energy --weather`" in ran.err


def test_one_day_is_not_told_as_days(climate: Climate, made_up: Path, tmp_path: Path) -> None:
    lines = made_up.read_text("utf-8").splitlines()
    (tmp_path / "gap.csv").write_text("\n".join([*lines[:50], *lines[51:]]), "utf-8")
    out = climate("dates", tmp_path / "gap.csv", "--threshold-degf", "32").out
    assert "; 1 day of these without a lowest temperature" in out
    assert out.startswith("gap.csv: ")


def test_json_is_one_document_in_ascii(climate: Climate, made_up: Path) -> None:
    for words in (("dates", made_up), ("windows", made_up)):
        out = climate(*words, "--json").out
        assert out.isascii()
        assert {"seasons", "inference", "working", "basis", "caution"} <= set(json.loads(out))
