"""`seasonlog climate import`, `show` and `forecast`: a site's own climate in the log, in words and as JSON."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from seasonlog.cli import run
from tests.builders import a_book
from tests.cli.runner import Ran
from tests.intake import normals_files
from tests.services.climate_samples import winters

Command = Callable[..., Ran]
WHO = ("--by", "Halden Pruskett")
TODAY = ("--today", "2026-09-15")


@pytest.fixture
def command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    """Runs a command as the shell would, in this process, on a log with the sample sites."""
    (tmp_path / "log").mkdir()
    a_book(tmp_path / "log").close()
    (tmp_path / "own.csv").write_text(winters(), "utf-8")
    (tmp_path / "normals.csv").write_text(normals_files.annual(), "utf-8")
    monkeypatch.chdir(tmp_path)

    def ran(*words: str) -> Ran:
        code = run([*words, "--log", str(tmp_path / "log" / "seasonlog.db")])
        shown = capsys.readouterr()
        return Ran(code, shown.out, shown.err)

    return ran


def test_a_record_is_imported_shown_and_used(command: Command) -> None:
    ran = command("climate", "import", "own.csv", "--site", "HOS", *WHO, *TODAY)
    assert ran.code == 0
    assert "The climate of site HOS is in the log." in ran.err
    for part in ("HOS  own record of own.csv, 12 seasons 2001 to 2012, at 32 degF", "first freeze: 10 % by", "error: ",
                 "last freeze: 10 % on or after", "coldest: ", "fall-enable: 2026-07-30 to 2026-09-03 before",
                 "unit: degF, by the names of the columns", "dropped for missing days: none", "CAUTION"):  # fmt: skip
        assert part in ran.out
    shown = command("climate", "show", *TODAY).out
    assert "HOS  own record of own.csv" in shown
    assert "ORR  typed: first freeze usually 18 April, last 21 October; no record, chances not known" in shown
    due = command("due", "--tower", "HOS-1", *TODAY)
    assert "fall-enable 1: 14 days before the first freeze at 32 degF on the 10 % date" in due.out


def test_preview_writes_nothing_and_needs_no_name(command: Command) -> None:
    ran = command("climate", "import", "own.csv", "--site", "HOS", "--preview", *TODAY)
    assert "entered" not in ran.out
    assert "at 32 degF\n" in ran.out
    assert (ran.code, "Preview: nothing was written." in ran.err) == (0, True)
    assert "HOS  typed" in command("climate", "show", "--site", "HOS").out


def test_the_same_again_says_so_and_another_one_names_what_it_replaces(command: Command) -> None:
    command("climate", "import", "own.csv", "--site", "HOS", *WHO)
    again = command("climate", "import", "own.csv", "--site", "HOS", *WHO)
    assert (again.code, "nothing was written" in again.err) == (0, True)
    other = command("climate", "import", "--normals", "normals.csv", "--site", "HOS", *WHO)
    assert "in place of the one of" in other.err
    assert "published normals of NOWHERE AP, NY US (USW00014735), at 32 degF" in other.out


def test_json_is_one_document_in_ascii_without_floats_of_the_record(command: Command) -> None:
    ran = command("climate", "import", "own.csv", "--site", "HOS", "--threshold-degf", "36", "--json", *WHO, *TODAY)
    assert ran.out.isascii()
    assert (ran.json["basis"], ran.json["written"], ran.json["record"]["used"]["threshold_degf"]) == (
        "simulated", True, "36",
    )  # fmt: skip
    shown = command("climate", "show", "--json", *TODAY).json
    assert {each["site"]: each["basis"] for each in shown}["ORR"] == "typed"
    hos = next(each for each in shown if each["site"] == "HOS")
    assert hos["windows"][0]["reason"].startswith("14 days before the first freeze at 36 degF")
    due = command("due", "--site", "HOS", "--json", *TODAY).json
    assert all(each["reason"] for each in due)


def test_a_forecast_is_raised_once(command: Command, tmp_path: Path) -> None:
    (tmp_path / "week.csv").write_text("date,tmin_degf\n2026-12-04,30\n2026-12-05,8\n2026-12-06,2\n", "utf-8")
    words = ("climate", "forecast", "week.csv", "--site", "ULV", "--today", "2026-11-30")
    assert json.loads(command(*words, "--preview", "--json").out)["written"] is False
    first, second = command(*words, *WHO), command(*words, *WHO)
    assert "cold-snap check due by 2026-12-04 on ULV-1, ULV-2, ULV-3, ULV-4" in first.out
    assert "Raised before, on " in second.err
    assert "for 2026-12-05 to 2026-12-06; nothing was written" in second.err
    assert "cold-snap" in command("due", "--tower", "ULV-1", "--today", "2026-12-01").out
    typed = command("climate", "forecast", "--low", "2026-12-20=40", "--site", "ULV", "--today", "2026-12-15", *WHO)
    assert "no night at or below 20 degF is forecast; nothing is raised." in typed.err
    assert "ULV: read: 2026-12-20 40 degF (4 C)" in typed.out


def test_due_takes_a_forecast_too_and_lists_what_is_due_with_it(command: Command, tmp_path: Path) -> None:
    (tmp_path / "week.csv").write_text("date,tmin_degf\n2026-12-05,8\n", "utf-8")
    words = ("due", "--forecast", "week.csv", "--site", "ULV", "--today", "2026-11-30")
    ran = command(*words, *WHO)
    assert "cold-snap check due by 2026-12-04 on ULV-1, ULV-2, ULV-3, ULV-4" in ran.out
    assert "ULV  ULV-1  cold-snap" in ran.out
    again = command(*words, "--json", *WHO)
    assert (again.json["due"], again.json["written"]) == ("2026-12-04", False)
    shown = command("climate", "forecast", "week.csv", "--site", "ULV", "--today", "2026-11-30", "--preview", "--json")
    assert shown.json == again.json
    for wrong in (words[:3], (*words, "--tower", "ULV-1"), (*words, "--because", "x"), ("due", "--unit", "degf")):
        refused = command(*wrong, *WHO)
        assert (refused.code, "Traceback" in refused.err) == (2, False)
    assert "due --site SITE --forecast FILE" in command(*words[:3], *WHO).err


def test_the_nights_are_told_as_they_were_read(command: Command) -> None:
    """A bare 8 at a metric site is degC: both units, also when nothing is raised, and the nights in the JSON."""
    words = ("climate", "forecast", "--site", "ORR", "--preview", "--today", "2026-06-01", *WHO)
    bare = command(*words, "--low", "2026-06-05=8", "--low", "2026-06-04=8F")
    assert "ORR: read: 2026-06-04 8 degF (-13 C), 2026-06-05 46.4 degF (8 C)" in bare.out
    told = json.loads(command(*words, "--low", "2026-06-05=8", "--json").out)
    assert told["lows_degf"] == {"2026-06-05": pytest.approx(46.4)}
    assert "read in the site's own" in command("climate", "forecast", "--help").out


REFUSED = {
    "no site": (("import", "own.csv"), 2, "--site"),
    "unknown site": (("import", "own.csv", "--site", "NOPE", *WHO), 3, "site NOPE"),
    "no file": (("import", "none.csv", "--site", "HOS", *WHO), 2, "none.csv cannot be read"),
    "nothing": (("import", "--site", "HOS", *WHO), 3, "neither a daily record nor published freeze dates"),
    "nobody": (("import", "own.csv", "--site", "HOS"), 2, "Nobody is named"),
    "another threshold": (("import", "own.csv", "--site", "HOS", "--threshold-degf", "33", *WHO), 2, "33"),
    "normals that are none": (("import", "own.csv", "--site", "HOS", "--normals", "own.csv", *WHO), 3, "NCEI normals"),
    "the south": (("import", "own.csv", "--site", "ORR", *WHO), 3, "other half of the year"),
    "too late": (("import", "own.csv", "--site", "HOS", "--since", "2100", *WHO), 3, "no whole season from 2100"),
    "unknown site shown": (("show", "--site", "NOPE"), 3, "site NOPE"),
    "no forecast": (("forecast", "--site", "HOS", *WHO), 2, "Give a forecast FILE"),
    "both": (("forecast", "own.csv", "--low", "2026-12-05=8", "--site", "HOS", *WHO), 2, "Give a forecast FILE"),
    "a record as forecast": (("forecast", "own.csv", "--site", "HOS", *TODAY, *WHO), 3, "tells no night from"),
    "no temperature": (("forecast", "--low", "2026-12-05=x", "--site", "HOS", *WHO), 3, "is not a temperature"),
}  # fmt: skip


@pytest.mark.parametrize(("words", "code", "says"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_a_sentence_and_nothing_is_written(
    command: Command, words: tuple[str, ...], code: int, says: str
) -> None:
    before = command("verify").out
    ran = command("climate", *words)
    assert (ran.code, ran.out) == (code, "")
    assert says in ran.err
    assert "should not have happened" not in ran.err
    assert command("verify").out == before
