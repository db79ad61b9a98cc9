"""What a supervisor decides and a customer receives later, on the screen; a photo is asked for where it is wanted."""

from pathlib import Path

from seasonlog.journal import queries
from seasonlog.services import closing, corrections, findings, rounds
from seasonlog.tui.app import SeasonlogApp
from tests.builders import TODAY, a_book, a_visit, answered
from tests.services.test_corrections import STEP, Two, _around
from tests.tui.conftest import row_texts, seen, settled, tap_row


async def test_contradicting_answers_stand_on_the_first_screen_and_a_supervisor_decides(tmp_path: Path) -> None:
    laptops = Two(tmp_path / "here", tmp_path / "there")
    laptops.here.mkdir()
    with a_book(laptops.here, surroundings=_around(laptops.here)) as book:
        visit = rounds.answer(book, a_visit(book), STEP, "22").visit.id
    laptops.carry(laptops.here, laptops.there)
    with laptops.book(laptops.there, "Halden Pruskett") as book:
        corrections.amend(book, visit, STEP, "12", "typed wrong")
        device = book.journal.device_id
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        corrections.amend(book, visit, STEP, "2", "typed twice")
    laptops.carry(laptops.there, laptops.here, enrol=device)
    with laptops.book(laptops.here, "Halden Pruskett") as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            rows = " ".join(row_texts(app, "#today"))
            assert "probe plumb deg" in rows
            assert "2 deg or 12 deg" in rows or "12 deg or 2 deg" in rows
            await tap_row(pilot, "#today", "conflict:0")
            assert "Which one stands?" in seen(app)
            await pilot.press("enter")
            await settled(pilot)
            await pilot.press(*"photo", "enter")
            await settled(pilot)
            assert "probe plumb deg" not in " ".join(row_texts(app, "#today"))
        assert corrections.undecided(book) == ()


async def test_a_customer_who_was_absent_receives_the_visit_later(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = closing.sign_off(book, answered(book, a_visit(book)), closing.NOT_AVAILABLE).visit.id
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            app.open_visit(visit)
            await settled(pilot)
            await pilot.press("v")
            await settled(pilot)
            await pilot.press("down", "enter")
            await settled(pilot)
            await pilot.press(*"Oren", "enter", "enter")
            await settled(pilot)
            assert "received by: Oren" in seen(app)
        found = queries.visit(book.db, visit)
    assert found is not None
    assert [s.name for s in found.signatures][-1] == "Oren"


async def test_a_repair_is_answered_and_a_fitted_part_asks_for_its_retest(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        rounds.answer(book, a_visit(book), STEP, "22")
        (found,) = findings.open_findings(book)
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            app.open_finding(found.id)
            await settled(pilot)
            await pilot.press("r", "down", "down", "enter")
            await settled(pilot)
            await pilot.press(*"Oren", "enter", *"too [dear", "enter")
            await settled(pilot)
            assert "declined by Oren: too [dear" in seen(app)
            findings.note_part(book, found.id, "bracket", "fitted", TODAY)
            app.screen.on_screen_resume()  # type: ignore[attr-defined]
            await settled(pilot)
            assert "TEST AGAIN" in seen(app)


async def test_a_photo_is_asked_for_where_the_checklist_wants_one(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book, checklist="short-enable")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(120, 40)) as pilot:
            app.open_visit(at.visit.id)
            await settled(pilot)
            assert "Photo wanted" not in seen(app)
            await app.screen.go_to("left_panel_shut")  # type: ignore[attr-defined]
            await settled(pilot)
            assert "Photo wanted" in seen(app)


async def test_the_sign_off_names_the_photos_still_wanted_and_is_not_held_up_by_them(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book, checklist="short-enable"))
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            app.open_visit(at.visit.id)
            await settled(pilot)
            await app.screen.run_action("sign")
            await settled(pilot)
            assert "2 photos wanted, also after signing" in seen(app)
            assert "Nothing stands in the way" in seen(app)
