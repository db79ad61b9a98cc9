"""The dialogue as a pure machine: read back, asked back, taken back, stopped; never another step than the one meant."""

import json
import wave
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.domain.desk import Desk, Mode
from seasonlog.errors import InputRefusedError
from seasonlog.services import privacy, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.voice import dialogue
from seasonlog.voice.dialogue import GoTo, Plain, Say, Show, State, Take, TakeBack
from seasonlog.voice.ground import Said, ground_of
from seasonlog.voice.hearing import Hearing, Hypothesis, typed
from seasonlog.voice.intents import Expecting, Ground
from seasonlog.voice.session import Session
from tests.builders import a_book, a_visit, answered


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    folder: Path = tmp_path_factory.mktemp("log")
    with a_book(folder) as opened:
        yield opened


@pytest.fixture(scope="module")
def desk(book: Logbook) -> Desk:
    """A healthy visit, everything answered up to the line amps."""
    return Desk(answered(book, a_visit(book, "HOS-1"), until="line_amps"), "line_amps")


def ground(book: Logbook, desk: Desk, key: str, *, read: bool = True) -> Ground:
    at = Desk(desk.at, key)
    if read:
        at.read_caution()
    return ground_of(book, at, Said(last="supply_volts"))


def both(text: str, gap: float = 3.0) -> Hearing:
    other = "nothing of the kind"
    pairs = [(text, -1.0, 0), (other, -1.0 - gap, 0), (text, -1.1, 1), (other, -1.1 - gap, 1)]
    return Hearing(tuple(Hypothesis(*each) for each in pairs), "test engine", "test model", 1.0, noise_db=30.0)


def unsure(text: str) -> Hearing:
    """Heard by one prompt only."""
    both = (Hypothesis(text, -1.0, 0), Hypothesis("so to say", -1.0, 1))
    return Hearing(both, "test engine", "test model", 1.0, noise_db=30.0)


def after(state: State, *events: Hearing) -> tuple[State, list[dialogue.Effect]]:
    effects: list[dialogue.Effect] = []
    for event in events:
        state, more = dialogue.step(state, event)
        effects += more
    return state, effects


def takes(effects: list[dialogue.Effect]) -> list[Take]:
    return [each for each in effects if isinstance(each, Take)]


def said(effects: list[dialogue.Effect]) -> str:
    return " ".join(each.text for each in effects if isinstance(each, Say))


def test_three_lines_one_at_a_time_are_taken_together(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    state, effects = after(state, both("leg one twenty one point six amps"), both("twenty one point eight"))
    assert not takes(effects)
    assert "leg one, twenty one point six amps. Then leg two." in said(effects)
    _, effects = after(state, both("leg three twenty one point seven"))
    (take,) = takes(effects)
    assert (take.step, take.raw, take.heard.tier) == ("line_amps", ("21.6", "21.8", "21.7"), "sure")
    assert take.heard.text.count(";") == 2


def test_what_is_not_sure_is_taken_only_on_yes(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "probe_plumb_deg"))
    asked, effects = after(state, unsure("point five degrees"))
    assert not takes(effects)
    assert "zero point five degrees. Yes or no?" in said(effects)
    _, effects = after(asked, both("yes"))
    assert [(t.raw, t.heard.tier) for t in takes(effects)] == [("0.5", "confirmed")]
    calm, effects = after(asked, both("no"))
    assert not takes(effects)
    assert calm.ground.expecting is state.ground.expecting


def test_while_asked_back_nothing_else_is_an_answer(book: Logbook, desk: Desk) -> None:
    asked, _ = after(State(ground(book, desk, "probe_plumb_deg")), unsure("point five degrees"))
    for words in (
        "point seven degrees",
        "pass",
        "fail",
        "next",
        "undo",
        "understood",
        "line amps twenty one point six",
    ):
        _, effects = after(asked, both(words))
        assert not [e for e in effects if not isinstance(e, Say | Show)], words


def test_after_two_failures_the_keys(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    state, effects = after(state, both("twenty one six"))
    assert "Say again" in said(effects)
    state, effects = after(state, both("thirty forty"))
    assert Plain("use_keys") in effects
    assert not takes(effects)


def test_talk_beside_the_work_does_nothing_at_all(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    for words in ("hand me that wrench", "is it cold up here", "the truck is on level two"):
        same, effects = after(state, both(words))
        assert same.ground == state.ground
        assert not [e for e in effects if not isinstance(e, Show | Say)]
    same, effects = after(state, both("hand me that wrench"))
    assert [type(e) for e in effects] == [Show]
    assert same.failures == 0


def test_a_caution_is_spoken_and_acknowledged_before_a_live_step(book: Logbook, desk: Desk) -> None:
    unread = ground(book, desk, "line_amps", read=False)
    assert unread.expecting is Expecting.CAUTION
    state, effects = dialogue.opened(unread)
    assert unread.step.caution in said(list(effects))
    for words in ("twenty one point six", "pass", "yes", "leg one twenty one point six", "21.6, 21.7, 21.5"):
        same, effects = dialogue.step(state, both(words))
        assert not any(same.lines), words
        assert not [e for e in effects if not isinstance(e, Say | Show)], words
    for words in ("understood", "caution read"):
        _, effects = dialogue.step(state, both(words))
        assert Plain("caution_read") in effects


def test_an_answer_to_another_step_is_asked_back_by_its_name_and_its_caution_comes_first(
    book: Logbook, desk: Desk
) -> None:
    state = State(ground(book, desk, "basin_clean"))
    asked, effects = after(state, both("cut out forty nine"))
    assert "Cut-out temperature, measured" in said(effects)
    _, effects = after(asked, both("yes"))
    assert not takes(effects)
    assert GoTo("cut_out_degf") in effects


@pytest.mark.parametrize("words", ["stop, not safe", "not safe", "stop stop not safe", "stop, it's not safe!"])
def test_stop_is_heard_in_every_state(book: Logbook, desk: Desk, words: str) -> None:
    base = ground(book, desk, "line_amps")
    for expecting in Expecting:
        state = State(replace(base, expecting=expecting))
        for hearing in (both(words), typed(words)):
            halted, effects = dialogue.step(state, hearing)
            assert "Yes closes the visit" in said(list(effects))
            assert Plain("stop_visit") in dialogue.step(halted, both("yes"))[1]
            going, effects = dialogue.step(halted, both("no"))
            assert not [e for e in effects if isinstance(e, Plain)]
            assert going.ground.expecting is expecting or expecting is Expecting.CONFIRM


def test_undo_drops_half_said_lines_first_then_takes_the_last_answer_back(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    half, _ = after(state, both("leg one twenty one point six"))
    dropped, effects = after(half, both("undo"))
    assert not any(dropped.lines)
    assert not [e for e in effects if isinstance(e, TakeBack)]
    _, effects = after(dropped, both("undo"))
    assert TakeBack("supply_volts") in effects


def test_questions_are_answered_and_write_nothing(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    for words, part in (
        ("what is the limit", "nineteen point five to twenty two point"),
        ("how many left", "left."),
        ("read back", "volts"),
        ("what now", "Three readings in amps"),
        ("help", "stop not safe"),
    ):
        _, effects = after(state, both(words))
        assert part in said(effects), words
        assert not [e for e in effects if not isinstance(e, Say | Show)]


WORDS = st.sampled_from(
    ["leg one", "leg two", "twenty one point six", "twenty", "point", "six", "no", "yes", "pass", "fail", "undo",
     "next",
     "cut in", "cut out", "supply volts", "a to b", "four eighty", "volts", "amps", "understood", "not", "the", "basin",
     "change", "to", "skip", "because", "note", "all three", "zero", "insulation", "weather", "limited", ","]
)  # fmt: skip


@settings(max_examples=200)
@given(st.lists(st.lists(WORDS, min_size=1, max_size=6).map(" ".join), min_size=1, max_size=5))
def test_whatever_is_said_nothing_but_the_named_or_current_step_is_answered(
    book: Logbook, desk: Desk, phrases: list[str]
) -> None:
    """An answer without a step's name is for the step on the screen; with one it needs a yes first."""
    state = State(ground(book, desk, "line_amps"))
    for phrase in phrases:
        before = state
        state, effects = dialogue.step(state, both(phrase))
        for take in takes(list(effects)):
            if take.step != before.ground.current:
                assert before.pending is not None
                assert phrase.split()[-1] in ("yes", "correct", "affirmative")


def test_three_lines_are_as_sure_as_the_least_sure_of_them(book: Logbook, desk: Desk) -> None:
    state = State(ground(book, desk, "line_amps"))
    state, _ = after(state, unsure("leg one twenty one point six"), both("yes"))
    _, effects = after(state, both("leg two twenty one point eight"), both("leg three twenty one point seven"))
    assert [t.heard.tier for t in takes(effects)] == ["confirmed"]


def test_a_correction_of_the_step_on_the_screen_is_asked_back(book: Logbook) -> None:
    at = answered(book, a_visit(book, "HOS-1"), until="terminal_box_dry")
    session = Session(book, Desk(at, "basin_clean"))
    outcome = session.hear(both("change that to fail"))
    assert not outcome.saved
    assert "change it to no. Yes or no?" in " ".join(outcome.said)
    assert session.hear(both("yes")).saved
    assert rounds.progress(book, at.visit.id).answers["basin_clean"].value == "no"


# -- corrections, on the log ---------------------------------------------------------------------------------------


def test_one_line_of_a_saved_answer_is_corrected(book: Logbook) -> None:
    at = answered(book, a_visit(book, "HOS-1"), until="cut_in_degf")
    session = Session(book, Desk(at, "line_amps"))
    old = at.answers["line_amps"].value
    session.last = "line_amps"
    session.desk.go_to("residual_none")
    session.moved()
    outcome = session.type("leg two is twenty one point four")
    assert outcome.saved, outcome
    new = rounds.progress(book, at.visit.id).answers["line_amps"]
    assert new.value == (old[0], "21.4", old[2])
    assert new.corrects
    assert session.desk.key == "residual_none"


def test_change_cut_out_to_another_value(book: Logbook) -> None:
    at = answered(book, a_visit(book, "HOS-1"), until="off_switch")
    session = Session(book, Desk(at, "off_switch"))
    session.desk.read_caution()
    session.moved()
    assert not session.hear(both("change that to forty nine")).saved
    session.hear(both("no"))
    heard = session.hear(both("change cut out to forty nine"))
    assert not heard.saved
    assert "change it to forty nine degrees" in " ".join(heard.said)
    assert session.hear(both("yes")).saved
    saved = rounds.progress(book, at.visit.id).answers["cut_out_degf"]
    assert (saved.value, bool(saved.corrects)) == ("49", True)
    assert session.desk.key == "off_switch"


def test_a_skip_and_a_note_by_voice_are_read_back_and_kept_as_heard(book: Logbook) -> None:
    at = a_visit(book, "HOS-1")
    session = Session(book, Desk(at, "second_person"))
    assert not session.hear(both("skip because nobody else came")).saved
    assert session.hear(both("yes")).saved
    saved = rounds.progress(book, at.visit.id).answers["second_person"]
    assert (saved.is_skipped, saved.says) == (True, "nobody else came")
    session.hear(both("note the ladder is loose at the third rung"))
    assert session.hear(both("yes")).saved
    line = str(book.db.execute("SELECT line FROM entry ORDER BY pos DESC LIMIT 1").fetchone()[0])
    assert '"engine":"test engine"' in line
    assert "the ladder is loose at the third rung" in line


def test_words_that_a_recogniser_ended_with_a_full_stop_are_read_back_with_one(book: Logbook) -> None:
    session = Session(book, Desk(a_visit(book, "HOS-1"), "second_person"))
    said = [*session.hear(both("Skip because nobody else came.")).said, *session.hear(both("Yes.")).said]
    assert "because: nobody else came. Yes or no?" in said[0]
    assert said[1] == "Skipped, because: nobody else came."
    session.type("go to weather")
    assert "Note: a loose rung? Yes or no?" in session.hear(both("Note, a loose rung?")).said[0]


def test_write_is_often_heard_as_right_and_counts_as_that_where_words_are_wanted(book: Logbook) -> None:
    session = Session(book, Desk(a_visit(book, "HOS-1"), "handover"))
    assert not session.hear(both("Right.")).saved
    asked = session.hear(both("Right, the strainer was worn."))
    assert asked.said[0].endswith("the strainer was worn. Yes or no?")
    assert asked.shown is not None
    assert asked.shown.noise_db == 30.0
    session.hear(both("no"))
    assert not session.hear(both("Rightly so, the strainer")).saved


def test_a_step_that_waits_is_refused_in_words_and_the_place_is_kept(book: Logbook) -> None:
    at = a_visit(book, "HOS-1")
    session = Session(book, Desk(at, "off_low_level"))
    assert session.desk.mode is Mode.WAITS
    for outcome in (session.type("pass"), session.hear(both("pass"))):
        assert not outcome.saved
        assert any("waits for" in words for words in outcome.said)
        assert session.state.pending is None


def test_a_line_said_again_after_a_failed_reading_corrects_it_and_numerals_typed_apart_are_no_number(
    book: Logbook,
) -> None:
    at = answered(book, a_visit(book, "HOS-1"), until="line_amps")
    session = Session(book, Desk(at, "line_amps"))
    session.type("understood")
    assert not session.type("4 82").saved
    assert session.type("21.6, 8, 21.4").saved
    assert session.desk.key == "line_amps"
    assert session.desk.mode is Mode.SAVED
    session.type("stop, not safe")
    assert session.type("no").said[0].endswith("leg three, twenty one point four amps. Next goes on.")
    for unnamed in ("21.5", "change that to forty nine", "change to 21.5"):  # of which line?
        outcome = session.type(unnamed)
        assert not outcome.saved
        assert "name the line that changes" in outcome.said[0]
    assert session.type("leg two 21.5").saved
    assert not session.type("change that to forty nine").saved  # the step now on the screen has no answer yet
    saved = rounds.progress(book, at.visit.id).answers["line_amps"]
    assert (saved.value, bool(saved.corrects), saved.is_good) == (("21.6", "21.5", "21.4"), True, True)


def wav() -> bytes:
    """A tenth of a second of silence as a WAV file."""
    out = BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(16_000)
        file.writeframes(bytes(3200))
    return out.getvalue()


def test_a_clip_is_kept_only_where_the_site_allows_it_and_is_named_by_its_hash(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book, "HOS-1")
        session = Session(book, Desk(at, "second_person"))
        session.hear(replace(both("pass"), clip=wav()))
        site = at.register.site_of("HOS-1").id
        privacy.allow_recording(book, site, "plant manager", "asked at the gate")
        session.hear(replace(both("pass"), clip=wav()))
        lines = [json.loads(line) for (line,) in book.db.execute("SELECT line FROM entry ORDER BY pos")]
        heard = [line["body"]["heard"] for line in lines if line["kind"] == "step_answered"]
        kept = [line["body"] for line in lines if line["kind"] == "attached"]
        assert [len(each.get("clips", [])) for each in heard] == [0, 1]
        assert heard[1]["clips"] == [kept[0]["sha256"]]
        assert (kept[0]["kind"], kept[0]["step"]) == ("sound", "permits")


def test_own_words_beside_the_log_are_used_and_a_spoilt_file_is_told(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book, "HOS-1")
        (tmp_path / "phrases.toml").write_text('[decisions]\npass = ["aye"]\n', "utf-8")
        session = Session(book, Desk(at, "second_person"))
        assert session.type("aye").saved
        (tmp_path / "phrases.toml").write_bytes(b'[decisions]\npass = "\xff"\n')
        with pytest.raises(InputRefusedError, match="not a list of phrases"):
            Session(book, Desk(at, "second_person"))
