"""Hostile text as note, name and answer: shown as typed or by stand-ins, no crash, nothing that acts on the terminal.

Pass conditions and sources stand in the data file itself (OWASP ASVS 5.0, CWE-150, ECMA-48, Unicode TR 36, and crash
reports of the screen library).
"""

import unicodedata
from pathlib import Path

import pytest
from textual.events import Paste

from seasonlog.domain.answers import MOST_TEXT
from seasonlog.domain.text import as_stored
from seasonlog.domain.visit import VisitState
from seasonlog.journal import queries
from seasonlog.services import closing, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.field import Field, shown
from tests.builders import TODAY, hostile
from tests.tui.conftest import drawn, settled, start, yard_book

AREAS = ("markup", "terminal", "unicode")
UNSEEN = ("Cc", "Cf", "Cs", "Zl", "Zp")


def cases(shared: Path) -> list[str]:
    found = [c["input"] for c in hostile(shared, *AREAS) if isinstance(c.get("input"), str) and c["input"].strip()]
    assert len(found) > 25
    return found


def acting(app: SeasonlogApp) -> list[str]:
    """Characters on the screen that act or hide instead of being seen."""
    return [c for line in drawn(app) for c in line if unicodedata.category(c) in UNSEEN]


async def test_pasted_as_an_answer(shared: Path, book: Logbook, subtests: pytest.Subtests) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        for text in cases(shared):
            with subtests.test(text=ascii(text)[:60]):
                screen = VisitScreen(rounds.progress(book, start(book)))
                await app.push_screen(screen)
                await screen.go_to("plan")
                field = screen.query_one("#dock Field", Field)
                field.post_message(Paste(text))
                await pilot.pause()
                assert field.value == text
                assert acting(app) == []
                await pilot.press("enter")
                await screen.go_to("plan")
                await pilot.pause()
                assert acting(app) == []
                assert screen.at_desk.at.answers["plan"].raw == as_stored(text.strip())
                app.pop_screen()


async def test_pasted_as_a_note_and_as_a_reason(shared: Path, book: Logbook) -> None:
    text = "".join(cases(shared))
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        for key in ("f4", "f3"):
            await pilot.press(key)
            app.screen.query_one(Field).post_message(Paste(text[: MOST_TEXT // 2]))
            await pilot.pause()
            assert acting(app) == []
            await pilot.press("enter")
            await settled(pilot)
            assert acting(app) == []
    assert queries.notes_of(book.db, "YD-1", 1)[0].text == as_stored(text[: MOST_TEXT // 2])
    assert rounds.progress(book, visit).answers["weather"].says == as_stored(text[: MOST_TEXT // 2])


async def test_as_the_name_of_the_person(shared: Path, tmp_path: Path, subtests: pytest.Subtests) -> None:
    for number, text in enumerate(cases(shared)):
        name = text.strip()[:80]
        with subtests.test(text=ascii(text)[:60]), yard_book(tmp_path / str(number), who=name) as book:
            visit = start(book)
            at = closing.close_unfinished(book, rounds.progress(book, visit), VisitState.INCOMPLETE, text)
            assert at.visit.signatures[0].name == as_stored(name)
            app = SeasonlogApp(book, TODAY)
            async with app.run_test(size=(120, 40)) as pilot:
                await pilot.pause()
                assert acting(app) == []
                await app.push_screen(VisitScreen(at))
                await pilot.pause()
                assert acting(app) == []


async def test_notes_and_findings_in_every_list(shared: Path, tmp_path: Path) -> None:
    with yard_book(tmp_path, who="[b]Eve[/] \u202eevE") as book:
        for text in cases(shared):
            rounds.add_note(book, "YD-1", text)
        visit = start(book)
        at = rounds.answer(book, rounds.progress(book, visit), "makeup_closes", "no")
        rounds.answer(book, at, "plan", "[/] [red]x[/red] amp [A] 12")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(100, 300)) as pilot:  # high enough to show all of every list at once
            await settled(pilot)
            assert acting(app) == []
            for row in ("site:YARD", "tower:YD-1", f"visit:{visit}"):
                app.open_row(row)
                await settled(pilot)
                assert acting(app) == []
                for key in ("3", "6", "f2"):
                    await pilot.press(key)
                    await settled(pilot)
                    assert acting(app) == []


async def test_square_brackets_are_shown_as_typed(book: Logbook) -> None:
    rounds.add_note(book, "YD-1", "amp [A] 12 [/] ok")
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        app.open_tower("YD-1")
        await settled(pilot)
        await pilot.press("6")
        await settled(pilot)
        assert any("amp [A] 12 [/] ok" in line for line in drawn(app))
        app.screen.tell("amp [A] 12 [/] ok \x1b]0;x\x07")  # type: ignore[attr-defined]
        await settled(pilot)
        assert acting(app) == []


def test_a_field_shows_one_cell_for_each_character() -> None:
    typed = "a\x1b[31m\u202eb\nc\u0000"
    assert shown(typed) == "a␛[31m␦b␊c␀"
    assert len(shown(typed)) == len(typed)
