"""A visit on the screen: resumed, carried out by keys and by taps, gated, corrected, skipped."""

from pathlib import Path

import pytest
from textual.widgets import Static

from seasonlog.domain.desk import Mode
from seasonlog.domain.visit import VisitState
from seasonlog.errors import LogError
from seasonlog.journal import queries
from seasonlog.services import closing, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.dock import Dock
from seasonlog.tui.widgets.field import Field
from tests.builders import TODAY
from tests.tui.conftest import at_step, seen, settled, start, tap_answer, tap_keys, tap_row, visit_of, yard_book


async def test_a_visit_is_taken_up_where_it_was_left(book: Logbook) -> None:
    visit = start(book)
    at = rounds.answer(book, rounds.progress(book, visit), "weather", "good")
    rounds.answer(book, at, "no_entry", "yes")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Yard check" in seen(app)
        assert "2 of 8" in seen(app)
        await pilot.press("enter")
        await settled(pilot)
        assert visit_of(app).at_desk.key == "plan"
        await pilot.press("escape")
        await settled(pilot)
        assert not isinstance(app.screen, VisitScreen)
    assert rounds.progress(book, visit).visit.state is VisitState.OPEN


async def test_a_whole_visit_by_keys(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("s")
        await settled(pilot)
        assert "Which checklist?" in seen(app)
        await pilot.press("end", "enter")  # the last one by title: Yard check
        await settled(pilot)
        assert "Instruments" in seen(app)
        await pilot.press("enter", "down", "enter", "down", "enter", "tab", "enter")
        await settled(pilot)
        assert "VM-1: overdue since" in seen(app)  # asked once, before the first reading with it
        await pilot.press("enter")
        await settled(pilot)
        visit = visit_of(app)
        assert set(visit.at_desk.at.visit.instruments.values()) == {"CL-1", "VM-1", "TH-1"}
        await pilot.press("enter", "1")  # caution read, dry
        await settled(pilot)
        assert "PASS saved" in seen(app)
        await pilot.press("enter")  # understood
        await settled(pilot)
        assert "✓ SAVED" in seen(app)  # words that were read pass no judgement
        await pilot.press(*"WT-7", "enter")
        await settled(pilot)
        await pilot.press("y")
        await settled(pilot)
        await pilot.press("3", "enter")
        await settled(pilot)
        await pilot.press("enter", *"480", "enter", *"481", "enter", *"479", "enter")
        await settled(pilot)
        assert visit.at_desk.key == "supply_volts"  # the voltmeter is overdue: it cannot be told, and one reads why
        assert "CANNOT TELL" in seen(app)
        await pilot.press("enter", *"21.5", "enter", *"21.6", "enter", *"21.4", "enter")
        await settled(pilot)
        assert visit.at_desk.at.answers["line_amps"].value == ("21.5", "21.6", "21.4")


async def test_a_visit_by_taps(book: Logbook) -> None:
    visit = start(book, clamp="CL-1")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await settled(pilot)
        await tap_row(pilot, "#today", f"visit:{visit}")
        await tap_answer(pilot)  # the caution
        await tap_answer(pilot, 1)  # wet or windy
        await tap_answer(pilot)  # understood
        at = visit_of(app).at_desk.at
        assert at.answers["weather"].value == "limited"
        assert at.answers["no_entry"].is_good
        await visit_of(app).go_to("supply_volts")
        await settled(pilot)
        await tap_answer(pilot)
        for digits in ("480", "481", "47x9"):
            await tap_keys(pilot, *digits.replace("x", ""), *(("delete",) if "x" in digits else ()))
            if "x" in digits:
                await tap_keys(pilot, "9")
            await tap_keys(pilot, "go")
        await settled(pilot)
        saved = visit_of(app).at_desk.at.answers["supply_volts"]
        assert saved.value == ("480", "481", "479")
        assert saved.is_good
        assert visit_of(app).at_desk.key == "line_amps"


async def test_a_caution_is_read_before_the_step_can_be_answered(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        assert "Open roof edge" in seen(app)
        assert "I HAVE READ THE CAUTION" in seen(app)
        await pilot.press("1", "y")
        await settled(pilot)
        assert not visit_of(app).at_desk.at.answers
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("1")
        await settled(pilot)
        assert visit_of(app).at_desk.at.answers["weather"].value == "good"


async def test_a_gated_step_says_what_it_waits_for(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "cut_in_degf")
        assert screen.at_desk.mode is Mode.WAITS
        assert "Line amps" in seen(app)
        assert not screen.query_one(Dock).fields
        await pilot.press("enter")
        await settled(pilot)
        assert screen.at_desk.key == "line_amps"


async def test_the_verdict_shows_while_one_types_and_nothing_is_saved_by_it(book: Logbook) -> None:
    visit = start(book, clamp="CL-1")
    rounds.answer(book, rounds.progress(book, visit), "supply_volts", ("480", "480", "480"))
    before = book.journal.count()
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(120, 40)) as pilot:
        await at_step(app, pilot, visit, "line_amps")
        await pilot.press("0", "enter", *"18.7", "enter", *"18.7")
        await settled(pilot)
        assert "✗ FAIL" in seen(app)
        assert "◄A" in seen(app)
    assert book.journal.count() == before


async def test_a_fail_stays_until_it_was_read_and_names_its_finding(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press("n")
        await settled(pilot)
        assert screen.at_desk.key == "makeup_closes"
        (found,) = queries.findings(book.db, open_only=True)
        shown = seen(app)
        assert "✗ FAIL · saved" in shown
        assert "WATER OR ICE" in shown
        assert found.id in shown
        assert "shut the make-up by hand" in shown
        await pilot.press("enter")
        await settled(pilot)
        assert screen.at_desk.key != "makeup_closes"


async def test_a_correction_needs_a_reason_and_keeps_the_old_answer(book: Logbook) -> None:
    visit = start(book)
    old = rounds.answer(book, rounds.progress(book, visit), "makeup_closes", "no").answers["makeup_closes"]
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press("f5", "enter")
        await settled(pilot)
        assert "a reason in words is needed" in seen(app)
        await pilot.press(*"wrong valve", "enter")
        await settled(pilot)
        await pilot.press("y")
        await settled(pilot)
        assert screen.at_desk.at.answers["makeup_closes"].value == "yes"
    last = book.journal.last().entry.body
    assert (last["corrects"], last["because"]) == (old.uid, "wrong valve")
    assert queries.findings(book.db, open_only=True) == []


async def test_a_retest_after_repair(book: Logbook) -> None:
    visit = start(book)
    rounds.answer(book, rounds.progress(book, visit), "makeup_closes", "no")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit, "makeup_closes")
        await pilot.press("f6")
        await settled(pilot)
        await pilot.press("y")
        await settled(pilot)
    assert book.journal.last().entry.body["retest"] is True
    assert queries.findings(book.db, open_only=True) == []


async def test_skipping_needs_a_reason(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "plan")
        await pilot.press("f3", "enter")
        await settled(pilot)
        assert not screen.at_desk.at.answers
        await pilot.press(*"no plan here", "enter")
        await settled(pilot)
        assert screen.at_desk.at.answers["plan"].says == "no plan here"
        assert "SKIPPED" in seen(app)


async def test_what_could_not_be_saved_stays_on_the_screen(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "relay_drop_seconds")

        def full(*_: object) -> None:
            raise LogError("the disk that holds it is full; the entry is not saved; free space and press save again")

        with monkeypatch.context() as broken:
            broken.setattr(book.journal, "append", full)
            await pilot.press("3", ".", "5", "enter")
            await settled(pilot)
            assert "free space and press save again" in str(screen.query_one("#wrong", Static).content)
            assert "free space" in seen(app)
            assert screen.query_one("#dock Field", Field).value == "3.5"
            assert "relay_drop_seconds" not in screen.at_desk.at.answers
        await pilot.press("enter")
        await settled(pilot)
        assert screen.at_desk.at.answers["relay_drop_seconds"].value == "3.5"


async def test_what_is_no_number_is_refused_in_words(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "relay_drop_seconds")
        for typed in ("1_000", "١٢", "nan", "1e3"):
            field = screen.query_one("#dock Field", Field)
            field.value = typed
            await pilot.press("enter")
            await settled(pilot)
            assert "not a plain number" in str(screen.query_one("#wrong", Static).content)
            assert "relay_drop_seconds" not in screen.at_desk.at.answers


async def test_the_stopwatch_fills_in_the_seconds(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "relay_drop_seconds")
        await tap_keys(pilot, "extra", "extra")
        assert screen.query_one("#dock Field", Field).value == "1.0"  # one look, one second


async def test_a_metric_site_reads_and_records_degrees_celsius(tmp_path: Path) -> None:
    with yard_book(tmp_path, "southern.toml", "people.toml") as book:
        visit = start(book, "SO-1", thermometer="TH-1")
        at = rounds.answer(book, rounds.progress(book, visit), "supply_volts", ("400", "400", "400"))
        amps = rounds.limit_now(book, at, "line_amps")
        assert amps is not None
        middle = f"{(amps.low + amps.high) / 2:.1f}" if amps.low and amps.high else ""
        rounds.answer(book, at, "line_amps", (middle,) * 3)
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            screen = await at_step(app, pilot, visit, "cut_in_degf")
            assert screen.query_one("#dock Field", Field).border_subtitle == "°C"
            await pilot.press("4", ".", "5", "enter")
            await settled(pilot)
        saved = rounds.progress(book, visit).answers["cut_in_degf"]
        assert (saved.raw, saved.value) == ("4.5 C", "40.1")


async def test_instruments_can_be_chosen_in_the_middle(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit, "plan")
        await pilot.press("f8")
        await settled(pilot)
        assert "overdue since 2026-09-01" in seen(app)
        await tap_row(pilot, ".choices", "clamp:CL-1")
        await pilot.click("#go")
        await settled(pilot)
        assert dict(screen.at_desk.at.visit.instruments) == {"clamp": "CL-1"}


async def test_every_step_can_be_gone_to_from_the_list(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await at_step(app, pilot, visit)
        await pilot.press("f2")
        await settled(pilot)
        assert "waits for: Supply volts" in seen(app)
        await tap_row(pilot, ".choices", "makeup_closes")
        assert screen.at_desk.key == "makeup_closes"
        await pilot.press("pagedown")
        await settled(pilot)
        assert screen.at_desk.key == "relay_drop_seconds"
        await pilot.press("pageup", "pageup")
        await settled(pilot)
        assert screen.at_desk.key == "plan"


async def test_a_note_beside_a_step(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_step(app, pilot, visit, "plan")
        await pilot.press("f4")
        await settled(pilot)
        await pilot.press(*"ladder loose", "enter")
        await settled(pilot)
    (note,) = queries.notes_of(book.db, "YD-1")
    assert (note.text, note.step, note.visit) == ("ladder loose", "plan", visit)


async def test_the_tower_offers_to_go_on(book: Logbook) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        assert isinstance(app.screen, TowerScreen)
        await pilot.press("g")
        await settled(pilot)
        assert visit_of(app).visit_id == visit


async def test_digits_not_saved_yet_stand_there_again(book: Logbook) -> None:
    """Leaving by mistake, another step, a temporary change, a note: two of three lines typed are not typed twice."""
    visit = start(book, clamp="CL-1")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        await visit_of(app).go_to("supply_volts")
        await settled(pilot)
        await pilot.press("enter", *"480", "enter", *"481", "enter")
        await pilot.press("f4", *"lug", "enter")
        await settled(pilot)
        assert "The note stands in the record" in seen(app)
        await pilot.press("pagedown", "pageup")
        await settled(pilot)
        assert visit_of(app).query_one(Dock).texts == ("480", "481", "")
        await pilot.press("escape")
        await settled(pilot)
        app.open_visit(visit)
        await settled(pilot)
        await visit_of(app).go_to("supply_volts")
        await settled(pilot)
        await pilot.press("enter")  # the caution is read again
        await settled(pilot)
        assert visit_of(app).query_one(Dock).texts == ("480", "481", "")
        await pilot.press(*"479", "enter")
        await settled(pilot)
        assert visit_of(app).at_desk.at.answers["supply_volts"].value == ("480", "481", "479")
        await visit_of(app).go_to("supply_volts")
        await pilot.press("f6")
        await settled(pilot)
        assert visit_of(app).query_one(Dock).texts == ("", "", "")


async def test_what_was_used_last_is_marked_unless_it_is_in_doubt(book: Logbook) -> None:
    """The clamp of the last visit is offered again; the voltmeter, overdue since, is chosen by hand or not at all."""
    at = rounds.progress(book, start(book, clamp="CL-1", voltmeter="VM-1"))
    closing.close_unfinished(book, at, VisitState.INCOMPLETE, "rain")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("s")
        await settled(pilot)
        await pilot.press("end", "enter")
        await settled(pilot)
        assert "Marked is what you used last" in seen(app)
        await pilot.press("tab", "enter")
        await settled(pilot)
        assert visit_of(app).at_desk.at.visit.instruments == {"clamp": "CL-1"}
