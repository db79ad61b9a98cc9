"""Options in odd places, streams that are closed or full, names typed wrong: a sentence, an exit code, nothing else."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from seasonlog.cli import frame, run
from tests.builders import a_book
from tests.cli.runner import Ran, seasonlog


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """A log with the sample sites."""
    a_book(tmp_path).close()
    return tmp_path / "seasonlog.db"


def in_shell(command: str, log: Path) -> Ran:
    environ = os.environ | {"LOG": str(log), "SL": f"{sys.executable} -m seasonlog", "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, env=environ, timeout=60, check=False)
    return Ran(done.returncode, done.stdout, done.stderr)


def entries(log: Path) -> int:
    return int(seasonlog("verify", "--quick", "--json", "--log", log).json["entries"])


def test_the_day_and_the_name_stand_before_or_after_the_command(log: Path) -> None:
    spring = seasonlog("--today", "2027-03-01", "due", "--json", "--log", log)
    assert spring.json == seasonlog("due", "--json", "--log", log, "--today", "2027-03-01").json
    assert spring.json != seasonlog("due", "--json", "--log", log, "--today", "2026-09-15").json
    words = ("register", "winter", "HOS-1", "run_wet", "--since", "2026-10-01", "--because", "valve")
    assert seasonlog("--by", "Ada", "--log", log, *words).code == 0


@pytest.mark.parametrize("day", ["0001-01-01", "1969-12-31", "2201-01-01", "9999-12-31"])
@pytest.mark.parametrize("words", [("coverage", "--seasons", "4"), ("due",)], ids=lambda words: words[0])
def test_a_day_of_no_season_is_refused_in_words(log: Path, words: tuple[str, ...], day: str) -> None:
    ran = seasonlog(*words, "--log", log, "--today", day)
    assert (ran.code, ran.out) == (2, "")
    assert f'--today "{day}": the year is not between 1970 and 2200.' in ran.err


@pytest.mark.parametrize(
    "words",
    [("visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--answers", "-"),
     ("findings", "close", "F-00000000", "--because", "x"), ("coverage", "--review", "x"),
     ("due", "--tower", "HOS-1", "--drop", "mid-winter", "--because", "x")],
    ids=lambda words: words[0],
)  # fmt: skip
def test_a_log_named_wrong_is_not_made(tmp_path: Path, words: tuple[str, ...]) -> None:
    ran = seasonlog(*words, "--by", "Ada", "--log", tmp_path / "typo.db")
    assert (ran.code, "there is no log" in ran.err) == (4, True)
    assert list(tmp_path.iterdir()) == []


def test_a_refused_import_begins_no_log(tmp_path: Path) -> None:
    (tmp_path / "team.csv").write_text("record,id,site,name\ntower,T-1,NOWHERE,Lone\n")
    ran = seasonlog("register", "import", tmp_path / "team.csv", "--by", "Ada", "--log", tmp_path / "log" / "a.db")
    assert (ran.code, "Nothing was written." in ran.err) == (3, True)
    assert not (tmp_path / "log").exists()


@pytest.mark.parametrize(
    "words", [("due", "--tower"), ("due", "--site"), ("findings", "--tower"), ("findings", "--site"),
              ("coverage", "--site")], ids=" ".join,
)  # fmt: skip
def test_what_is_not_in_the_register_is_named(log: Path, words: tuple[str, ...]) -> None:
    """`Nothing is due` about a tower typed wrong would be taken for good news."""
    ran = seasonlog(*words, "HOS-77", "--log", log)
    assert (ran.code, ran.out, "HOS-77" in ran.err) == (3, "", True)


def test_an_export_that_cannot_be_written_leaves_nothing_behind(log: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    for words in (("calendar", "-o", "out"), ("register", "export", "--csv", "out")):
        ran = seasonlog(*words[:-1], tmp_path / words[-1], "--log", log)
        assert (ran.code, "cannot be written" in ran.err) == (2, True)
    ran = seasonlog("register", "export", "--toml", log, "--log", log)
    assert (ran.code, "cannot be made a folder" in ran.err) == (2, True)
    there = {p.name for p in tmp_path.iterdir() if not p.name.startswith("seasonlog.db")}
    assert there - {"details"} == {"out", "keys"}


def test_an_export_goes_to_a_device_too(log: Path) -> None:
    ran = in_shell("$SL calendar -o /dev/stdout --log $LOG | head -1", log)
    assert (ran.code, ran.out.strip()) == (0, "BEGIN:VCALENDAR")


def test_streams_closed_before_the_start(log: Path) -> None:
    ran = in_shell("$SL visit --tower HOS-1 --checklist fall-enable --by Ada --answers - --log $LOG <&-", log)
    assert "AttributeError" not in ran.err
    assert in_shell("$SL due --log $LOG >&-; echo $?", log).out == "0\n"
    demo = in_shell("$SL due --tower HOS-1 --today 2026-09-15 --log $LOG 2>&-", log)
    assert demo.out.startswith("HOS  HOS-1  fall-enable")
    assert in_shell("$SL <&- >&-; echo $?", log).out == "0\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_output_that_cannot_be_written_is_told(log: Path) -> None:
    ran = in_shell("$SL due --all --log $LOG > /dev/full", log)
    assert (ran.code, ran.err.count("\n")) == (2, 1)
    assert "The output cannot be written" in ran.err


@pytest.mark.parametrize("name", ["nowhere.toml", "a"], ids=["absent", "folder"])
def test_an_answers_file_that_cannot_be_read(log: Path, tmp_path: Path, name: str) -> None:
    (tmp_path / "a").mkdir(exist_ok=True)
    before = entries(log)
    words = ("visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--by", "Ada")
    ran = seasonlog(*words, "--answers", tmp_path / name, "--log", log)
    assert (ran.code, "cannot be read" in ran.err, entries(log)) == (2, True, before)


def test_an_own_checklist_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    (tmp_path / "checklists" / "mine.toml").mkdir(parents=True)
    ran = seasonlog("checklist", "list", home=tmp_path)
    assert (ran.code, "mine.toml: cannot be read" in ran.err) == (3, True)
    assert seasonlog("checklist", "show", "fall-enable", home=tmp_path).code == 0


def test_one_id_on_every_step_is_told_once_a_step(tmp_path: Path) -> None:
    """Sixty steps of one id are 59 problems, not 1770."""
    step = '[[section.step]]\nid = "same"\nkind = "yes_no"\ntitle = "t"\ndo = "d"\nwhy = "w"\nexpect = "yes"\n'
    head = (
        'id = "mine"\ntitle = "t"\nversion = 1\npurpose = "p"\nwhen = "winter"\nproves = ""\n[[section]]\ntitle = "s"\n'
    )
    file = tmp_path / "mine.toml"
    file.write_text(head + step * 60)
    ran = seasonlog("checklist", "check", file, "--json")
    assert ran.code == 3
    assert len([p for p in ran.json["problems"] if "too; give it another id" in p["says"]]) == 59


def test_a_reason_has_an_end(log: Path) -> None:
    long = "x" * 3000
    for words in (
        ("due", "--tower", "HOS-1", "--move", "mid-winter", "--to", "2026-12-24"),
        ("due", "--tower", "HOS-1", "--drop", "mid-winter"),
        ("register", "winter", "HOS-1", "run_wet", "--since", "2026-10-01"),
        ("register", "retire", "device", "HOS-1-H-1"),
    ):
        before = entries(log)
        ran = seasonlog(*words, "--because", long, "--by", "Ada", "--log", log)
        assert (ran.code, "2000 is the most" in ran.err, entries(log)) == (3, True, before), words


def test_a_visit_goes_on_when_its_own_checklist_is_gone(log: Path) -> None:
    """The log holds the text a visit was started with."""
    from seasonlog import resources

    own = log.parent / "checklists"
    own.mkdir()
    text = (resources.checklists() / "short-enable.toml").read_text("utf-8")
    (own / "mine.toml").write_text(text.replace('id = "short-enable"', 'id = "mine"', 1), "utf-8")
    words = ("visit", "--tower", "HOS-1", "--checklist", "mine", "--by", "Ada", "--answers", "-", "--json")
    first = seasonlog(*words, "--log", log, stdin='[answers]\naerosol = "yes"\n')
    (own / "mine.toml").unlink()
    again = seasonlog(*words, "--log", log, stdin='[answers]\nno_entry = "yes"\n')
    assert (again.code, again.json["visit"]) == (0, first.json["visit"])


def test_a_printed_file_with_one_line_filled_in_is_taken(log: Path) -> None:
    """A line left as it is counts as not answered, also where three values are wanted."""
    printed = seasonlog("checklist", "show", "fall-enable", "--answers", "--tower", "HOS-1", "--log", log).out
    assert '["", "", ""]' in printed
    words = ("visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--by", "Ada", "--answers", "-")
    filled = printed.replace('probe_plumb_deg = ""', 'probe_plumb_deg = "2"')
    ran = seasonlog(*words, "--log", log, stdin=filled)
    assert (ran.code, ran.out.split()[2:]) == (0, ["probe_plumb_deg", "pass"]), ran.err
    for half in ('["21.5", "", ""]', '"21.5"'):
        ran = seasonlog(*words, "--log", log, stdin=f"[answers]\nline_amps = {half}\n")
        assert (ran.code, ran.out) == (3, "")


def test_what_is_moved_or_dropped_is_what_due_shows(log: Path) -> None:
    """In November the October verification was missed: `due` shows November's, and that one is meant."""
    words = ("due", "--tower", "HOS-1", "--today", "2026-11-25", "--log", log)

    def shown() -> list[tuple[str, int]]:
        listed = seasonlog(*words, "--json").json
        return [(row["due"], row["ordinal"]) for row in listed if row["checklist"] == "mid-winter"]

    ((day, ordinal),) = shown()
    assert ordinal > 1
    ran = seasonlog(*words, "--drop", "mid-winter", "--because", "frozen pipe", "--by", "Ada")
    assert (ran.code, day in ran.err) == (0, True)
    assert day not in [due for due, _ in shown()]
    again = seasonlog(*words, "--drop", "mid-winter", "--ordinal", ordinal, "--because", "again", "--by", "Ada")
    assert (again.code, "is dropped already: frozen pipe" in again.err) == (3, True)
    back = seasonlog(*words, "--move", "mid-winter", "--ordinal", ordinal, "--to", "2026-11-30", "--by", "Ada")
    assert (back.code, shown()) == (0, [(day, ordinal)])
    assert seasonlog(*words, "--to", "2026-11-30").code == 2


def test_findings_show_who_has_them_and_what_was_ordered(log: Path) -> None:
    words = ("visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--by", "Ada", "--answers", "-", "--json")
    (found,) = seasonlog(*words, "--log", log, stdin='[answers]\nprobe_plumb_deg = "22"\n').json["findings"]
    for more in (
        ("assign", found["id"], "--to", "Bea", "--due", "2026-12-01"),
        ("part", found["id"], "--part", "bracket", "--stage", "ordered", "--on", "2026-11-26"),
    ):
        assert seasonlog("findings", *more, "--by", "Ada", "--log", log).code == 0
    out = seasonlog("findings", "--log", log).out
    assert "with: Bea, due 2026-12-01" in out
    assert "ordered and fitted: bracket ordered 2026-11-26" in out


def test_words_after_a_bar_begin_on_a_line_of_their_own(capsys: pytest.CaptureFixture[str]) -> None:
    """Progress is told every thousand entries, so the last of it is rarely the end of it."""
    frame.part_done(8000, 8000 / 8527)
    frame.out("OK: 8527 entries")
    frame.say("and more")
    told = capsys.readouterr()
    assert told.out == "OK: 8527 entries\n"
    assert told.err == f"\r[{'#' * 28}..] 8000\nand more\n"
    frame.part_done(7, 1.0)
    frame.say("wrote a.pdf")
    assert capsys.readouterr().err == f"\r[{'#' * 30}] 7\nwrote a.pdf\n"
    frame.counted("pushed 500 entries")
    assert run(["verify", "--log", "no-such.db"]) == 4
    assert capsys.readouterr().err.startswith("\rpushed 500 entries\nseasonlog: there is no log")
