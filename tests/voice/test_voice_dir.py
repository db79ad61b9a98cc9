"""A visit by sound files alone: with a reading misunderstood, one taken back, one that fails, a step left out, other
people's talk and a fan that starts; the log is the one that hands would have written, but for how it was entered."""

import json
from pathlib import Path
from typing import Any

import pytest

from seasonlog.cli import run, visit_voice
from seasonlog.domain.answers import Raw
from seasonlog.domain.desk import opened
from seasonlog.errors import InputRefusedError
from seasonlog.services import checklists, findings, rounds
from seasonlog.services.answered_file import Outcome
from seasonlog.services.logbook import Logbook
from seasonlog.voice.engines.sound import Clip
from seasonlog.voice.engines.wav import write_wav
from seasonlog.voice.from_files import Came, carried_out, phrases_in
from seasonlog.voice.session import Session
from tests.builders import a_book, a_visit
from tests.voice.fakes import TableRecogniser
from tests.voice.spoken_files import folder_of, need_speech

CHECKLIST = Path(__file__).parent.parent / "data" / "voice" / "voice-enable.toml"
FAN_STARTS = 0.0
SPOKEN: tuple[tuple[str, float | None], ...] = (
    ("understood", None), ("good", None),
    ("did you bring the other ladder up here", 20),
    ("pass", None), ("undo", None), ("yes", None), ("pass", None),
    ("thirty three point one degrees", 8), ("no", 20), ("thirty two point one degrees", None), ("yes", None),
    ("understood", None),
    ("A to B four seventy nine volts", None), ("yes", None),
    ("B to C four eighty one volts", FAN_STARTS), ("no", None), ("B to C four eighty one volts", None), ("yes", None),
    ("C to A four eighty volts", None), ("yes", None),
    ("zero amps", None), ("yes", None), ("eighteen point seven amps", None), ("yes", None),
    ("eighteen point eight amps", None), ("yes", None),
    ("next", None),
    ("two point five seconds", None), ("yes", None),
    ("skip because the pump is locked out", None), ("yes", None),
)  # fmt: skip
"""What is said, and the noise. A yes after a reading confirms it where it was asked back, else it means nothing."""
TYPED: tuple[tuple[str, Raw], ...] = (
    ("weather", "good"), ("permits", "yes"), ("thermometer_ice_point_degf", "32.1"),
    ("supply_volts", ("479", "481", "480")), ("line_amps", ("0", "18.7", "18.8")), ("relay_drop_seconds", "2.5"),
)  # fmt: skip


def own(folder: Path) -> Logbook:
    """A log whose own checklist has one step of each kind."""
    (folder / "checklists").mkdir(parents=True)
    (folder / "checklists" / CHECKLIST.name).write_bytes(CHECKLIST.read_bytes())
    return a_book(folder)


def standing(book: Logbook, visit: str) -> list[dict[str, Any]]:
    """What the log holds of each step at the end, but for how it was entered."""
    how = ("heard", "visit", "corrects", "because", "finding")
    at = rounds.progress(book, visit)
    lines = {json.loads(line)["uid"]: json.loads(line)["body"] for (line,) in book.db.execute("SELECT line FROM entry")}
    bodies = [lines[saved.uid] for saved in at.answers.values()]
    for body in bodies:
        for rested in body.get("rests_on", ()):
            del rested["uid"], rested["visit"]  # of the answer it rests on in this log
    return [{key: value for key, value in body.items() if key not in how} for body in bodies]


@pytest.fixture(scope="module")
def heard(tmp_path_factory: pytest.TempPathFactory) -> tuple[Logbook, str, list[Came], visit_voice.Spoken]:
    """The visit, spoken."""
    need_speech()
    folder = tmp_path_factory.mktemp("spoken")
    book = own(folder / "log")
    at = a_visit(book, "HOS-1", "voice-enable")
    spoken = visit_voice.spoken(book, str(folder_of(folder / "wav", *SPOKEN)))
    came: list[Came] = []
    assert visit_voice.carry_on(book, Outcome(at, ()), spoken, came.append)
    return book, at.visit.id, came, spoken


def test_the_log_equals_the_one_typed_by_hand(heard: tuple[Logbook, str, list[Came], object], tmp_path: Path) -> None:
    book, visit, came, _ = heard
    typed = own(tmp_path / "typed")
    at = a_visit(typed, "HOS-1", "voice-enable")
    for key, raw in TYPED:
        at = rounds.answer(typed, at, key, raw)
    at = rounds.skip(typed, at, "overflow_clear", "the pump is locked out.")
    told = [(each.name, each.hearing.best, each.outcome.said) for each in came]
    assert standing(book, visit) == standing(typed, at.visit.id), told


def test_what_failed_is_a_finding_as_when_it_is_typed(heard: tuple[Logbook, str, list[Came], object]) -> None:
    book, *_ = heard
    (found,) = [f for f in findings.open_findings(book, tower="HOS-1") if f.step.startswith("line_amps")]
    assert found.severity == "freeze_risk"


def test_the_record_says_how_each_answer_was_heard(heard: tuple[Logbook, str, list[Came], object]) -> None:
    book, *_ = heard
    lines = [json.loads(line) for (line,) in book.db.execute("SELECT line FROM entry ORDER BY pos")]
    answers = [line["body"] for line in lines if line["kind"] == "step_answered"]
    how = {body["step"]: body["heard"] for body in answers}
    assert how["thermometer_ice_point_degf"]["tier"] in ("sure", "confirmed")
    assert how["relay_drop_seconds"]["engine"].startswith("faster-whisper")
    assert how["supply_volts"]["tier"] == "confirmed"  # "four eighty" sounds like a value outside
    assert any(f"spoken from {len(SPOKEN)} sound files" in line["body"].get("text", "") for line in lines)


def test_other_peoples_talk_and_what_was_answered_no_left_nothing(
    heard: tuple[Logbook, str, list[Came], object],
) -> None:
    _, _, came, _ = heard
    by_number = {int(each.name.partition(".")[0]): each for each in came}
    for number in (3, 8, 9):
        assert not by_number[number].outcome.saved, by_number[number]
    assert by_number[8].outcome.said != ()  # it was asked back, in the noise


def test_the_same_folder_again_writes_nothing(
    heard: tuple[Logbook, str, list[Came], visit_voice.Spoken], capsys: pytest.CaptureFixture[str]
) -> None:
    book, visit, _, spoken = heard
    before = book.db.execute("SELECT count(*) FROM entry").fetchone()
    assert not visit_voice.carry_on(book, Outcome(rounds.progress(book, visit), ()), spoken, pytest.fail)
    assert book.db.execute("SELECT count(*) FROM entry").fetchone() == before
    assert "nothing is written twice" in capsys.readouterr().err


def wavs(folder: Path, **frames: int) -> Path:
    folder.mkdir()
    for name, count in frames.items():
        (folder / f"{name}.wav").write_bytes(write_wav(Clip(b"\1\0" * 512 * count)))
    return folder


def test_files_go_by_their_numbers_and_another_engine_serves_as_well(tmp_path: Path) -> None:
    """The second engine is a table: what makes the visit is not the engine."""
    book = own(tmp_path / "log")
    folder = wavs(tmp_path / "wav", **{"10-last": 4, "2 good": 3, "phrase1": 2})
    phrases = phrases_in(folder)
    assert [phrase.name for phrase in phrases] == ["phrase1.wav", "2 good.wav", "10-last.wav"]
    recogniser = TableRecogniser({2: "understood", 3: "good", 4: "yes"})
    session = Session(book, opened(a_visit(book, "HOS-1", "voice-enable")))
    came = list(carried_out(session, recogniser, phrases))
    assert [each.outcome.saved for each in came] == [False, False, True]  # no noise was measured: it is asked back
    assert len({prompts for _, prompts in recogniser.heard}) == 3


@pytest.mark.parametrize(
    ("frames", "says"),
    [
        ({}, "holds no WAV files"),
        ({"good": 3}, "has no number in its name"),
        ({"1": 3, "01": 3}, "has the same number as"),
        ({"1": 3, "2": 1000}, "is 32 s long"),
    ],
    ids=["empty", "no number", "twice", "too long"],
)
def test_a_folder_that_is_no_visit_is_refused_whole(tmp_path: Path, frames: dict[str, int], says: str) -> None:
    with pytest.raises(InputRefusedError, match=says):
        phrases_in(wavs(tmp_path / "wav", **frames))


def test_a_visit_wants_answers_or_sounds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own(tmp_path / "log").close()
    log = ("--log", str(tmp_path / "log" / "seasonlog.db"), "--by", "Mirel Oduvane")
    assert run(["visit", "--tower", "HOS-1", "--checklist", "voice-enable", *log]) == 2
    assert "--answers FILE or from --voice-dir DIR" in capsys.readouterr().err
    folder = wavs(tmp_path / "wav", good=3)
    before = checklists.named("voice-enable", tmp_path / "log" / "checklists").sha256
    assert run(["visit", "--tower", "HOS-1", "--checklist", "voice-enable", "--voice-dir", str(folder), *log]) == 3
    assert "Nothing was written." in capsys.readouterr().err
    assert before
