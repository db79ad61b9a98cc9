"""Phrases on the visit screen: typed in the line, or posted by a listener; what they do is what the log holds."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from textual.widgets import Static

from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.widgets.voice_bar import VoiceBar
from seasonlog.voice.engines import ready
from seasonlog.voice.hearing import Hearing, Hypothesis
from tests.builders import TODAY
from tests.tui.conftest import at_step, seen, settled, start, visit_of


def both(text: str) -> Hearing:
    """Heard the same by both prompts."""
    return Hearing((Hypothesis(text, -1.0, 0), Hypothesis(text, -1.1, 1)), "test engine", "test model", 1.0, 30.0)


class FakeListener:
    """Starts and stops; the test speaks for it."""

    def __init__(self) -> None:
        self.is_on = False
        self.heard: Callable[[Hearing], None] = lambda hearing: None
        self.prompts: Callable[[], tuple[str, str]] = lambda: ("", "")

    def start(self, heard: Callable[[Hearing], None], prompts: Callable[[], tuple[str, str]]) -> None:
        self.is_on, self.heard, self.prompts = True, heard, prompts

    def stop(self) -> None:
        self.is_on = False


class Mouth:
    """Remembers what it was to say."""

    missing = ""
    is_speaking = False

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, text: str) -> None:
        self.said.append(text)

    def stop(self) -> None:
        pass


async def test_a_reading_is_typed_as_a_phrase_from_a_number_field(book: Logbook) -> None:
    visit = start(book, clamp="CL-1")
    at = rounds.progress(book, visit)
    rounds.answer(book, at, "supply_volts", ("480", "481", "479"))
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "line_amps")
        await pilot.press(":")
        assert screen.query_one(VoiceBar).is_typed_in
        await pilot.press(*"leg two 21.6", "enter")
        await settled(pilot)
        assert [f.value for f in screen.query_one("#dock").query("Field")] == ["", "21.6", ""]  # type: ignore[attr-defined]
        await pilot.press(*":leg 1 21.5", "enter", *"leg three twenty one point four", "enter")
        await settled(pilot)
        saved = rounds.progress(book, visit).answers["line_amps"]
        assert saved.value == ("21.5", "21.6", "21.4")
        assert screen.at_desk.key == "cut_in_degf"
        assert screen.query_one(VoiceBar).is_typed_in
        await pilot.press("escape")
        assert not screen.query_one(VoiceBar).is_typed_in
        assert app.screen is screen


async def test_what_is_ambiguous_is_refused_on_the_bar_and_nothing_is_saved(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        screen = await at_step(app, pilot, visit, "supply_volts")
        await pilot.press("ctrl+o", *"twenty one six", "enter")
        await settled(pilot)
        assert "more than one way" in str(screen.query_one("#heard", Static).content)
        assert not rounds.progress(book, visit).answers


async def test_undo_opens_the_step_again_and_the_next_answer_corrects_it(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press(":", *"fail", "enter")
        await settled(pilot)
        assert rounds.progress(book, visit).answers["makeup_closes"].verdict == "fail"
        await pilot.press(*"undo", "enter")
        await settled(pilot)
        assert rounds.progress(book, visit).answers["makeup_closes"].is_skipped
        assert screen.at_desk.key == "makeup_closes"
        await pilot.press(*"pass", "enter")
        await settled(pilot)
    states = [r[0] for r in book.db.execute("SELECT state FROM finding")]
    assert states == ["withdrawn"]
    assert rounds.progress(book, visit).answers["makeup_closes"].is_good


async def test_stop_not_safe_asks_once_and_yes_ends_the_visit(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press(":", *"stop, not safe", "enter")
        await settled(pilot)
        assert "Yes closes the visit" in seen(app)
        assert rounds.progress(book, visit).visit.state == "open"
        await pilot.press(*"yes", "enter")
        await settled(pilot)
        assert rounds.progress(book, visit).visit.state == "not_possible"


async def test_a_listener_s_hearing_is_taken_spoken_and_shown(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    listener, mouth = FakeListener(), Mouth()
    monkeypatch.setattr(ready, "listener", lambda *a, **k: listener)
    monkeypatch.setattr(ready, "speaker", lambda settings: mouth)
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press("ctrl+l")
        assert listener.is_on
        assert "LISTENING" in seen(app)
        assert "Pass" in " ".join(listener.prompts())
        listener.heard(both("the fan is loud"))
        await settled(pilot)
        assert not rounds.progress(book, visit).answers
        listener.heard(both("pass"))
        await settled(pilot)
        saved = rounds.progress(book, visit).answers["makeup_closes"]
        assert saved.is_good
        assert any("Make-up closes: yes. Pass." in words for words in mouth.said)
        listener.heard(both("stop listening"))
        await settled(pilot)
        assert not listener.is_on
        assert "LISTENING" not in seen(app)
        assert screen is visit_of(app)


async def test_what_is_asked_back_is_whole_on_a_narrow_screen_and_the_noise_is_told(
    book: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    listener = FakeListener()
    monkeypatch.setattr(ready, "listener", lambda *a, **k: listener)
    monkeypatch.setattr(ready, "speaker", lambda settings: Mouth())
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await at_step(app, pilot, start(book), "makeup_closes")
        await pilot.press("ctrl+l")
        listener.heard(replace(both("Pass."), noise_db=12.4))
        await settled(pilot)
        assert "12 dB over the noise" in " ".join(seen(app).split())
        listener.heard(both("no"))
        listener.heard(both("Skip because the pump is locked out and nobody has the key for it."))
        await settled(pilot)
        assert "Yes or no?" in " ".join(seen(app).split())


async def test_without_the_extra_one_sentence_says_how_to_add_it(
    book: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("seasonlog.voice.engines.absent.is_installed", lambda module: False)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, start(book), "makeup_closes")
        await pilot.press("f12")
        await settled(pilot)
        told = " ".join(note.message for note in app._notifications)
        assert 'pip install "seasonlog[voice]"' in told


async def test_y_and_n_answer_what_was_asked_back_before_they_answer_the_step(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await screen.phrase(both("stop, not safe"))
        await pilot.press("n")
        await settled(pilot)
        assert not rounds.progress(book, visit).answers
        assert not screen.voice.is_asking
        await pilot.press("y")
        await settled(pilot)
        assert rounds.progress(book, visit).answers["makeup_closes"].value == "yes"


async def test_behind_a_sheet_only_stop_is_heard(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    listener = FakeListener()
    monkeypatch.setattr(ready, "listener", lambda *a, **k: listener)
    monkeypatch.setattr(ready, "speaker", lambda settings: Mouth())
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press("ctrl+l", "f4")
        await settled(pilot)
        assert app.screen is not screen
        listener.heard(both("pass"))
        await settled(pilot)
        assert not rounds.progress(book, visit).answers
        listener.heard(both("stop, not safe"))
        await settled(pilot)
        assert app.screen is screen
        assert "Yes closes the visit" in seen(app)


async def test_undo_also_takes_back_what_was_keyed_in(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await screen.phrase(both("what is the limit"))
        await pilot.press("y")
        await settled(pilot)
        assert rounds.progress(book, visit).answers["makeup_closes"].is_good
        await screen.phrase(both("undo"))
        assert rounds.progress(book, visit).answers["makeup_closes"].is_skipped
        assert screen.at_desk.key == "makeup_closes"
