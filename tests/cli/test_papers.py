"""The commands of paper, signatures, corrections, photos, contacts, notes and search, as a script would call them."""

import os
import re
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.cli import run
from seasonlog.services import privacy, rounds
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, hostile
from tests.services.test_attachments import a_photo, a_sound

WHO = ["--by", "Mirel Oduvane"]
BOSS = ["--by", "Halden Pruskett"]
STEP = "probe_plumb_deg"
CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A log with a visit in which one step is answered."""
    folder = tmp_path_factory.mktemp("made")
    clock = FixedClock(datetime.now(UTC).replace(microsecond=0))
    with a_book(folder, surroundings=Surroundings(clock, FixedBytes())) as book:
        visit = rounds.answer(book, a_visit(book), STEP, "22").visit.id
    return folder, visit


@pytest.fixture
def log(made: tuple[Path, str], tmp_path: Path) -> tuple[Path, str]:
    folder = shutil.copytree(made[0], tmp_path / "log")
    return folder / "seasonlog.db", made[1]


def told(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    """Exit code, data and words of a command, run in this process."""
    code = run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "This should not have happened" not in err, err
    return code, out, err


def test_a_correction_and_its_history(log: tuple[Path, str], capsys: pytest.CaptureFixture[str]) -> None:
    path, visit = log
    code, out, _ = told(capsys, "amend", visit, STEP, "2", "--because", "typed twice", *WHO, "--log", path)
    assert code == 0
    assert [line.partition("Mirel Oduvane  ")[2] for line in out.splitlines()] == [
        "22 deg  fail", "2 deg  pass; because: typed twice",
    ]  # fmt: skip
    assert told(capsys, "amend", visit, STEP, "--history", "--log", path)[1] == out
    assert told(capsys, "amend", visit, STEP, "3", *WHO, "--log", path)[0] == 2
    assert told(capsys, "amend", "V-none", STEP, "3", "--because", "x", *WHO, "--log", path)[0] == 3
    assert told(capsys, "conflicts", "--log", path)[0] == 0
    assert told(capsys, "conflicts", "--stands", "x", "--because", "y", *BOSS, "--log", path)[0] == 3


def test_signatures_show_their_meaning_and_what_they_sign(
    log: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    path, visit = log
    assert "not signed" in told(capsys, "sign", visit, "--log", path)[1]
    code, _, err = told(capsys, "sign", visit, "--as", "done", "--received-by", "not available", *WHO, "--log", path)
    assert code == 3
    assert "required steps are unanswered" in err
    code, _, err = told(capsys, "sign", visit, "--as", "done", *WHO, "--log", path)
    assert (code, "required steps are unanswered" in err) == (3, True)  # not who received it: no name would help
    close = path.with_name("close.toml")
    close.write_text('[close]\nas = "incomplete"\nbecause = "dark"\n')
    told(capsys, "visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--answers", close, *WHO, "--log", path)
    assert told(capsys, "sign", visit, "--as", "reviewed", *WHO, "--log", path)[0] == 3
    assert told(capsys, "sign", visit, "--as", "reviewed", "--words", "agreed", *BOSS, "--log", path)[0] == 0
    code, _, err = told(capsys, "sign", visit, "--as", "done", *WHO, "--log", path)
    assert (code, "is incomplete; start a new visit" in err) == (3, True)
    code, _, err = told(capsys, "sign", visit, "--as", "received", *WHO, "--log", path)
    assert (code, "Who received it?" in err) == (2, True)
    name = ["--received-by", "Oren Tallis"]
    code, out, _ = told(capsys, "sign", visit, "--as", "received", *name, *WHO, "--log", path)
    assert code == 0
    for words in ("done by Mirel Oduvane", "reviewed by Halden Pruskett: agreed", "received by Oren Tallis"):
        assert re.search(rf"{words}, \d{{4}}-\d\d-\d\d \d\d:\d\dZ, signs [0-9a-f]{{16}}", out)
    told(capsys, "amend", visit, STEP, "2", "--because", "typed twice", *WHO, "--log", path)
    code, out, _ = told(capsys, "sign", visit, "--log", path)
    assert (code, out.count("NOTE: an answer was corrected")) == (1, 3)


def test_temporary_changes_are_made_listed_and_restored(
    log: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    path, visit = log
    assert told(capsys, "change", "list", "--log", path)[0] == 0
    made = told(capsys, "change", "make", visit, "--what", "jumper", "--where", "7 to 8", *WHO, "--log", path)
    assert made[1] == "T01  jumper, 7 to 8\n"
    code, out, _ = told(capsys, "change", "list", "--tower", "HOS-1", "--log", path)
    assert (code, "T01  jumper, 7 to 8; made by Mirel Oduvane" in out) == (1, True)
    assert told(capsys, "handover", "HOS", *BOSS, "--log", path)[0] == 1
    assert told(capsys, "change", "restore", visit, "T01", *BOSS, "--log", path)[0] == 0
    assert told(capsys, "change", "restore", visit, "T01", *BOSS, "--log", path)[0] == 3
    assert told(capsys, "change", "list", "--site", "HOS", "--log", path)[0] == 0


def test_notes_handover_and_search(log: tuple[Path, str], capsys: pytest.CaptureFixture[str]) -> None:
    path, visit = log
    words = 'valve "MW-2" 50% [shut] \\ under_score'
    assert told(capsys, "note", "HOS-1", words, "--visit", visit, "--step", STEP, *WHO, "--log", path)[0] == 0
    assert words in told(capsys, "note", "HOS-1", "--log", path)[1]
    assert words in told(capsys, "handover", "HOS", "--read", *BOSS, "--log", path)[1]
    assert "Nothing new" in told(capsys, "handover", "HOS", *BOSS, "--log", path)[2]
    assert words in told(capsys, "handover", "HOS", *WHO, "--log", path)[1]  # another person has not read it
    for part in ('"MW-2"', "50%", "[shut]", "\\", "r_s", "VALVE"):
        assert words in told(capsys, "search", part, "--log", path)[1], part
    for part in ("5_%", "MW_2", "%%", "nowhere"):
        assert words not in told(capsys, "search", part, "--log", path)[1], part
    assert "finding" in told(capsys, "search", "plumb", "--tower", "HOS-1", "--log", path)[1]
    assert told(capsys, "search", "plumb", "--tower", "NO-SUCH", "--log", path)[0] == 3
    assert told(capsys, "search", " ", "--log", path)[0] == 2
    assert told(capsys, "note", "HOS-2", "x", "--visit", visit, *WHO, "--log", path)[0] == 3


def test_a_folder_of_photos_is_proposed_confirmed_and_given_back(
    log: tuple[Path, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, visit = log
    folder = tmp_path / "photos"
    (folder / "deeper").mkdir(parents=True)
    (folder / "a.jpg").write_bytes(a_photo())
    (folder / "b.wav").write_bytes(a_sound())
    (folder / "c.txt").write_text("words")
    (folder / ".hidden.jpg").write_bytes(a_photo("blue"))
    (folder / "deeper" / "d.jpg").write_bytes(a_photo("green"))
    (folder / "link.jpg").symlink_to("/etc/passwd")
    code, out, err = told(capsys, "attach", "add", folder, "--preview", "--log", path)
    assert (code, out) == (1, "")
    assert err.count("LEFT OUT") == 2
    assert "link" not in err
    code, _, err = told(capsys, "attach", "add", folder, *WHO, "--log", path)
    assert code == 2
    assert "say --yes" in err
    code, out, _ = told(capsys, "attach", "add", folder, "--words", "as left", "--yes", *WHO, "--log", path)
    (ident,) = re.findall(r"attached (P-[0-9A-F]{8}) HOS-1", out)
    assert visit in out
    again = told(capsys, "attach", "add", folder, "--words", "as left", "--yes", *WHO, "--log", path)
    assert again[1] == out
    target = tmp_path / "back.jpg"
    assert told(capsys, "attach", "save", ident, "-o", target, "--log", path)[0] == 0
    assert target.read_bytes() == a_photo()
    assert "as left" in told(capsys, "search", "as left", "--log", path)[1]
    assert told(capsys, "attach", "erase", ident, "--because", "a face", *WHO, "--log", path)[0] == 0
    assert "ERASED" in told(capsys, "attach", "list", "--visit", visit, "--log", path)[1]
    assert told(capsys, "attach", "save", ident, "-o", target, "--log", path)[0] == 3
    assert told(capsys, "verify", "--log", path)[0] == 0


@pytest.mark.parametrize("bad", ["/dev/zero", "no-such", "", "fifo"])
def test_what_is_no_file_is_refused_and_never_waited_for(
    log: tuple[Path, str], bad: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    if bad == "fifo":
        bad = str(tmp_path / "pipe.jpg")
        os.mkfifo(bad)
    code, out, err = told(capsys, "attach", "add", bad or ".", "--tower", "HOS-1", "--preview", "--log", log[0])
    assert (code in (1, 2), out) == (True, "")
    assert err


def test_contacts_are_listed_given_up_and_recording_is_off_until_allowed(
    log: tuple[Path, str], capsys: pytest.CaptureFixture[str]
) -> None:
    path, _ = log
    assert "recording is off" in told(capsys, "privacy", "recording", "HOS", "--log", path)[1]
    assert told(capsys, "privacy", "recording", "HOS", "--allow", *WHO, "--log", path)[0] == 2
    said = ["--said-by", "Oren Tallis", "--because", "fan noise"]
    assert "RECORDING ALLOWED" in told(capsys, "privacy", "recording", "HOS", "--allow", *said, *WHO, "--log", path)[1]
    assert "kept while the register names them" in told(capsys, "privacy", "list", "--site", "HOS", "--log", path)[1]
    give = ["privacy", "discard", "HOS", "--because", "asked to"]
    assert told(capsys, *give, *WHO, "--log", path)[0] == 3
    assert told(capsys, *give, *BOSS, "--log", path)[0] == 0
    assert "given up" in told(capsys, "privacy", "list", "--site", "HOS", "--log", path)[1]
    assert told(capsys, "verify", "--log", path)[0] == 0
    assert "is off" in told(capsys, "privacy", "recording", "HOS", "--stop", *said, *WHO, "--log", path)[1]


def test_a_round_is_printed_as_a_page_and_as_text(
    log: tuple[Path, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, _ = log
    page, text = tmp_path / "r.html", tmp_path / "r.txt"
    for target in (page, text):
        wanted = ["round", "print", "--tower", "HOS-1", "--checklist", "fall-enable", "-o", target]
        assert told(capsys, *wanted, "--log", path)[0] == 0
    assert page.read_text().startswith("<!DOCTYPE html>")
    assert "19.49 to 22.73 A" in text.read_text()
    assert "19.49 to 22.73 A" in told(
        capsys, "round", "print", "--tower", "HOS-1", "--checklist", "fall-enable", "--text", "-o", "-", "--log", path
    )[1]  # fmt: skip
    assert told(capsys, "round", "print", "--tower", "NO", "-o", page, "--log", path)[0] == 3
    assert told(capsys, "round", "print", "--date", "soon", "-o", page, "--log", path)[0] == 2


def test_from_paper_needs_a_time_that_can_be(log: tuple[Path, str], capsys: pytest.CaptureFixture[str]) -> None:
    path, _ = log
    sheet = path.with_name("sheet.toml")
    sheet.write_text('[answers]\nweather = "good"\n')
    visit = ["visit", "--tower", "HOS-2", "--checklist", "mid-winter", "--answers", sheet, *WHO, "--log", path]
    read = f"{datetime.now(UTC).date()} 00:01"
    code, out, _ = told(capsys, *visit, "--from-paper", "2020-01-01 10:00")
    assert (code, out) == (3, "")
    assert told(capsys, *visit, "--paper-by", "Jessa Wickmoor")[0] == 2
    code, out, _ = told(capsys, *visit, "--from-paper", read, "--paper-by", "Jessa Wickmoor")
    if code != 3:  # one minute past midnight at the site may still be to come
        assert "entered late from paper" in out
        assert "by Jessa Wickmoor" in out


@pytest.mark.parametrize("area", ["identifier", "unicode", "terminal", "markup"])
def test_hostile_words_through_every_command_end_in_a_code_and_print_no_control_character(
    log: tuple[Path, str], shared: Path, area: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every case as a note, a reason, a place, a name and an id: a known exit code, no traceback, nothing that acts."""
    path, visit = log
    count = 0
    for case in hostile(shared, area):
        text = case.get("input")
        if not isinstance(text, str) or "\0" in text:
            continue
        for words in (
            ["note", "HOS-1", "--", text],
            ["amend", visit, STEP, "3", f"--because={text}"],
            ["change", "make", visit, "--what", "other", f"--where={text}"],
            ["sign", visit, "--as", "received", f"--received-by={text}"],
            ["conflicts", f"--stands={text}", f"--because={text}"],
            ["attach", "erase", f"--because={text}", "--", text],
            ["privacy", "discard", f"--because={text}", "--", text],
            ["search", "--", text],
            ["round", "print", f"--tower={text}", "-o", "-"],
        ):
            who = [] if words[0] in ("search", "round") else WHO
            at = words.index("--") if "--" in words else len(words)
            code, out, err = told(capsys, *words[:at], *who, "--log", path, *words[at:])
            assert code in (0, 1, 2, 3), (words, err)
            assert not CONTROL.search((out + err).replace("\n", "")), words
            assert "Traceback" not in err
            count += 1
    assert count > 20
    with Logbook.open(Places(path), Surroundings(FixedClock(), FixedBytes("x")), "", writing=False) as book:
        assert not privacy.recording(book, "HOS").allowed
    assert told(capsys, "verify", "--log", path)[0] == 0


def test_no_command_takes_a_record_away() -> None:
    """Retention (29 CFR 1904.33, from memory: five years) is kept by having no way to delete: every command, every
    sub-command. What is given up (a photo, a contact) lies outside the record, by an entry that stays."""
    import click

    from seasonlog.cli.group import COMMANDS, seasonlog

    names = set(COMMANDS)
    for name in COMMANDS:
        command = seasonlog.get_command(click.Context(seasonlog), name)
        if isinstance(command, click.Group):
            names |= set(command.list_commands(click.Context(command)))
    assert not names & {"delete", "remove", "purge", "rm", "drop", "clear", "truncate", "prune", "wipe", "reset"}
    assert {"erase", "discard", "retire"} <= names
