"""`seasonlog fault`: a file of observations, the dialogue, the table, dry-fire faults, the drawing, what is refused."""

import json
from collections.abc import Callable
from pathlib import Path

import click
import pytest

from seasonlog import resources
from seasonlog.cli import frame, run
from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.builders import around
from tests.cli.runner import seasonlog

Say = Callable[..., int]


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("fault") / "seasonlog.db"
    ran = seasonlog("register", "import", str(resources.sample_sites()), "--by", "Halden Pruskett", "--log", file)
    assert ran.code == 0, ran.err
    return file


SEEN = 'at_the_panel = "qualified"\n[observations]\nready = "cold"\n'


def test_a_file_of_observations_as_a_document(log: Path, tmp_path: Path) -> None:
    """The fixed keys: causes (fault, probability, says), next_test (test, live, why), assumed."""
    file = tmp_path / "seen.toml"
    file.write_text(SEEN)
    found = seasonlog("fault", "--tower", "HOS-2", "--observe", file, "--json", "--log", log).json
    assert set(found) >= {"causes", "next_test", "stop", "assumed"}
    assert all(len(each["fault"]) == 2 and each["fault"].isdigit() for each in found["causes"])
    assert sum(each["probability"] for each in found["causes"]) == pytest.approx(1.0, abs=1e-4)
    assert {"test", "live", "why"} <= set(found["next_test"])
    assert found["next_test"]["live"] is False
    assert found["stop"] == ""
    assert "taken as delta" in found["assumed"][0]


def test_the_same_from_standard_input_in_words(log: Path) -> None:
    ran = seasonlog("fault", "--tower", "HOS-2", "--observe", "-", "--log", log, stdin=SEEN)
    assert ran.code == 0
    assert "next test:" in ran.out
    assert "why: It tells apart" in ran.out
    assert "water or sensor: cold" in ran.out


def test_a_loop_over_the_command_comes_to_an_end_with_a_reason(
    log: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What a script does: answer the next test until there is none; then reason, repair and its proof stand there."""
    file, text = tmp_path / "seen.toml", SEEN
    for _ in range(17):
        file.write_text(text)
        assert run(["fault", "--tower", "HOS-2", "--observe", str(file), "--json", "--log", str(log)]) == 0
        found = json.loads(capsys.readouterr().out)
        if found["next_test"] is None:
            break
        asked = found["next_test"]
        answer = asked["choices"][-1] if asked["choices"] else "0"
        text += f'{asked["test"]} = "{answer}"\n'
    assert found["stop"] in ("one_cause", "group", "nothing_left", "enough")
    assert found["says"]
    assert any("Lock out" in each for each in found["cautions"])


def test_a_named_cause_comes_with_its_repair_and_its_proof(log: Path) -> None:
    seen = SEEN + 'lamps = "none"\ncoils = "both_out"\nbreaker_handle = "tripped"\n'
    found = seasonlog("fault", "--tower", "HOS-2", "--observe", "-", "--json", "--log", log, stdin=seen).json
    assert (found["stop"], found["causes"][0]["fault"], found["next_test"]) == ("one_cause", "01", None)
    assert "Never reset it as a test" in found["repair"]
    assert "insulation_mohm" in found["retest"]


def test_without_a_file_and_without_a_terminal_the_first_question_is_told(log: Path) -> None:
    ran = seasonlog("fault", "--tower", "HOS-2", "--log", log)
    assert ran.code == 0
    assert "Who is at the panel, and are they qualified and equipped" in ran.out
    assert "never closed again as a test" in ran.out
    document = seasonlog("fault", "--tower", "HOS-2", "--json", "--log", log).json
    assert document["next_test"]["test"] == "at_the_panel"


def test_nobody_qualified_is_sent_a_technician(log: Path) -> None:
    seen = 'at_the_panel = "not_qualified"\ncannot = ["ready"]\n'
    found = seasonlog("fault", "--tower", "HOS-2", "--observe", "-", "--json", "--log", log, stdin=seen).json
    assert found["next_test"] is None or found["next_test"]["way"] == "from outside, panel shut"


def test_the_template_is_a_file_of_observations(log: Path) -> None:
    """As printed it says nothing; with answers filled in it is read."""
    text = seasonlog("fault", "--tower", "HOS-2", "--template", "--log", log).out
    assert "[observations]" in text
    ran = seasonlog("fault", "--tower", "HOS-2", "--observe", "-", "--log", log, stdin=text)
    assert (ran.code, "first question" in ran.out) == (0, True)
    filled = text.replace('at_the_panel = ""', 'at_the_panel = "qualified"').replace('ready = ""', 'ready = "cold"')
    assert "next test" in seasonlog("fault", "--tower", "HOS-2", "--observe", "-", "--log", log, stdin=filled).out


def test_the_table_of_the_reference_circuit_needs_no_log(tmp_path: Path) -> None:
    ran = seasonlog("fault", "--table", home=tmp_path)
    lines = ran.out.splitlines()
    assert lines[0].split() == ["NO", "CF", "CL", "WF", "WL", "OFF", "PUMP", "RISK", "FAULT"]
    assert lines[1].startswith("00  11111 00 AHRK 3  11110 10 A--- 0")
    assert len([line for line in lines if line[:2].isdigit()]) >= 44
    assert "D: dry-fire risk" in ran.out
    document = seasonlog("fault", "--table", "--json", home=tmp_path).json
    assert document["faults"][0]["cells"]["CF"] == "11111 00 AHRK 3"


def test_every_table_names_the_faults_as_this_circuit_has_them(log: Path) -> None:
    """HOS-2 has no pump and three lines: 12 is a missing jumper, and a dead line is named by its letter."""
    for way in ("--table", "--caught-by"):
        for form in ((), ("--json",)):
            out = seasonlog("fault", way, "--tower", "HOS-2", "--log", log, *form).out
            assert "jumper between heater switch and thermostat missing" in out
            assert "line fuse, lug or breaker pole open in line C (L3)" in out
            assert "contactor pole of line C (L3) not making" in out
            assert "pump interlock open" not in out


def test_the_table_of_a_tower_follows_its_own_wiring(log: Path) -> None:
    out = seasonlog("fault", "--table", "--tower", "ICE-1", "--log", log).out
    assert "11111 11 A-RK 3" in out  # hot leg: both float leads live; one lamp


def test_what_the_fall_enable_catches_on_the_reference_circuit_needs_no_log(tmp_path: Path) -> None:
    lines = seasonlog("fault", "--caught-by", home=tmp_path).out.splitlines()
    assert "fall enable" in lines[0]
    said = {line[:2]: line for line in lines if line[:2].isdigit()}
    assert said["13"].endswith(": off_pump, off_pump_amps, off_pump_volts")
    assert "no reading shows it: the hand that moves the float down frees it" in said["24"]
    assert said["24"].endswith("by hand or eye, which can miss it: float_free")
    document = seasonlog("fault", "--caught-by", "--json", home=tmp_path).json
    assert document["checklist"] == "fall-enable"
    found = {each["fault"]: each for each in document["faults"]}
    assert found["39"]["steps"] == ["off_switch_volts", "off_warm_volts", "off_pump_volts", "off_low_level_volts"]
    assert (found["24"]["steps"], found["24"]["by_hand"]) == ([], ["float_free"])
    assert "past the trip level" in found["24"]["why_not"]


def test_what_the_fall_enable_catches_follows_the_tower(log: Path) -> None:
    """HOS-2 is drained for cleaning and has no pump; the steps carry the circuit where a tower has two."""
    found = seasonlog("fault", "--caught-by", "--tower", "HOS-2", "--json", "--log", log).json
    steps = {each["fault"]: each["steps"] for each in found["faults"]}
    assert "13" not in steps
    assert steps["24"] == ["off_low_level", "off_low_level_volts"]
    assert steps["51"] == ["thermal_limit"]
    assert found["assumed"]
    ran = seasonlog("fault", "--caught-by", "--tower", "HOS-3", "--circuit", "HOS-3-HN", "--log", log)
    assert "off_switch@HOS-3-HN" in ran.out
    assert "@HOS-3-HS" not in ran.out


def test_dry_fire_faults_of_a_circuit(log: Path) -> None:
    ran = seasonlog("fault", "--dry-fire", "--tower", "HOS-2", "--log", log)
    assert "level relay contact welded or jumpered" in ran.out
    assert "looks healthy with the basin full" in ran.out
    document = seasonlog("fault", "--dry-fire", "--tower", "HOS-2", "--json", "--log", log).json
    assert {"22", "24", "27"} <= {each["fault"] for each in document["faults"]}


def test_the_drawing_as_text_and_as_a_picture(log: Path, tmp_path: Path) -> None:
    assert "Wiring of heater circuit HOS-2-H" in seasonlog("fault", "--drawing", "--tower", "HOS-2", "--log", log).out
    file = tmp_path / "wiring.svg"
    ran = seasonlog("fault", "--drawing", "--svg", "-o", file, "--tower", "HOS-2", "--log", log)
    assert ran.code == 0
    assert file.read_text("utf-8").lstrip().startswith("<?xml")


@pytest.mark.parametrize(
    ("words", "text", "code", "says"),
    [
        ((), "", 2, "Name the tower"),
        (("--caught-by", "--circuit", "HOS-2-H"), "", 2, "Only --table and --caught-by work without one"),
        (("--tower", "HOS-2", "--caught-by", "--table"), "", 2, "one thing at a time: --table or --caught-by"),
        (("--tower", "HOS-2", "--caught-by", "--visit", "V-1"), "", 2, "--visit and --caught-by do not go together"),
        (("--tower", "DAT-3", "--caught-by"), "", 3, "a PLC decides when to heat"),
        (("--tower", "HOS-2", "--table", "--drawing"), "", 2, "one thing at a time: --table or --drawing"),
        (("--tower", "HOS-2", "--svg"), "", 2, "go with --drawing"),
        (("--tower", "HOS-2", "--drawing", "--svg"), "", 2, "Name the file of the picture"),
        (("--tower", "HOS-2", "--table", "--observe", "seen"), "", 2, "do not go together"),
        (("--tower", "HOS-2", "--drawing", "--visit", "V-1"), "", 2, "--visit and --drawing do not go together"),
        (("--tower", "HOS-2", "--drawing", "--json"), "", 2, "has no form for --json"),
        (("--table", "--circuit", "HOS-2-H"), "", 2, "Name the tower"),
        (("--tower", "HOS-2", "--at-panel", "Ossa"), "", 2, "--at-panel goes with the dialogue"),
        (("--tower", "HOS-2", "--observe", "no/such/file"), "", 2, "cannot be read"),
        (("--tower", "NONE"), "", 3, "is not in the register"),
        (("--tower", "\x1b[31m"), "", 3, "is not in the register"),
        (("--tower", "DAT-3"), "", 3, "a PLC decides when to heat"),
        (("--tower", "DAT-4", "--drawing"), "", 3, "conductance probe"),
        (("--tower", "HOS-3"), "", 3, "name one of HOS-3-HN, HOS-3-HS"),
        (("--tower", "HOS-2", "--visit", "V-1"), "", 3, "is not in this log"),
        (("--tower", "HOS-2", "--observe", "seen"), "[observations]\nready = 'warm'", 3, "seen.toml, line 2, ready"),
        (("--tower", "HOS-2", "--observe", "seen"), "[observations]\nvolts_b = 'nan'", 3, "is not a plain number"),
        (("--tower", "HOS-2", "--observe", "seen"), "[observations]\nvolts_b = -1", 3, "0 or more is wanted"),
        (("--tower", "HOS-2", "--observe", "seen"), "at_the_panel = 'me'", 3, "write qualified or not_qualified"),
    ],
)
def test_what_cannot_be_is_a_sentence(
    log: Path, tmp_path: Path, words: tuple[str, ...], text: str, code: int, says: str,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    file = tmp_path / "seen.toml"
    file.write_text(text)
    given = [str(file) if word == "seen" else word for word in words]
    assert run(["fault", *given, "--log", str(log)]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert "\x1b" not in err


@pytest.fixture
def talk(log: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    """Runs the dialogue as on a terminal, with these lines typed one after the other; at their end somebody quits."""

    def said(*lines: str, more: tuple[str, ...] = (), yes: bool = False) -> int:
        left = iter([*lines, *["quit"] * 3])
        monkeypatch.setattr(frame, "is_terminal", lambda: True)
        monkeypatch.setattr(click, "prompt", lambda *_, **__: next(left))
        monkeypatch.setattr(click, "confirm", lambda *_, **__: yes)
        return run(["fault", "--tower", "HOS-2", "--log", str(log), *more])

    return said


def test_the_dialogue_asks_who_first_and_one_question_at_a_time(talk: Say, capsys: pytest.CaptureFixture[str]) -> None:
    assert talk("what?", "1", "cold") == 0
    out = capsys.readouterr().out
    assert out.index("Who is at the panel") < out.index("Is the basin full")
    assert "Answer 1 or 2." in out
    assert "water or sensor: cold" in out
    assert out.rstrip().endswith("Left. Nothing was written.")


def test_the_dialogue_takes_back_explains_and_leaves_out(talk: Say, capsys: pytest.CaptureFixture[str]) -> None:
    assert talk("undo", "1", "why", "1", "causes", "why", "undo", "1", "cannot", "dance", "") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "There is nothing to take back" in out
    assert "The last answer is taken back" in out
    assert "others together" in out
    assert "What each answer would leave" in out
    assert "Not asked again" in out
    refused = out[out.index("is not an answer") :]
    assert "Nothing was typed" in refused
    assert "_" not in refused  # answers in the words of the list above them


def test_a_caution_stands_before_each_energised_test(talk: Say, capsys: pytest.CaptureFixture[str]) -> None:
    """Everything that is looked at cannot be seen: what is left is measured, and nothing is measured unread."""
    assert talk("1", "1", *["cannot"] * 60) == 0
    out = " ".join(capsys.readouterr().out.split())
    live = out[out.index("[LIVE") :]
    assert "to ground CAUTION" in live or " CAUTION: Energised work" in live
    assert not live.startswith("[LIVE: energised: probes or clamp at the listed points] CAUTION")
    assert live.index("CAUTION: Energised work") < live.index("Type yes when it is understood")


def test_not_qualified_only_looks_and_a_technician_is_sent(talk: Say, capsys: pytest.CaptureFixture[str]) -> None:
    assert talk("2", "1", *["cannot"] * 20, "") == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "[PANEL" not in out
    assert "[LIVE" not in out
    assert "Send a qualified technician" in out


@pytest.mark.parametrize("yes", [True, False])
def test_the_end_goes_into_the_log_only_with_a_name_and_a_yes(
    yes: bool, talk: Say, log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def notes() -> int:
        with Logbook.open(Places(log), around(), "", writing=False) as book:
            return len(queries.notes_of(book.db, "HOS-2"))

    before = notes()
    assert talk("1", "low", "", more=("--by", "Mirel Oduvane"), yes=yes) == 0
    assert notes() == before + yes
    assert ("It is in the log, as a note." if yes else "Nothing was written.") in capsys.readouterr().err
    assert talk("1", "low", "") == 0
    assert notes() == before + yes
    assert "With --by NAME you are asked" in capsys.readouterr().err
