"""The report's key: what it is of on each screen, the file it leaves, and what is told."""

import asyncio
from pathlib import Path

import pytest

from seasonlog.services import registry, reports_words, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui import reporting, wording
from seasonlog.tui.app import SeasonlogApp
from tests.builders import TODAY
from tests.tui.conftest import settled, start


async def test_the_key_writes_a_report_of_what_is_shown(book: Logbook) -> None:
    visit = rounds.progress(book, start(book)).visit
    site = registry.of_tower(book.db, visit.tower).towers[visit.tower].site
    ids = {"firm": "", "tower": visit.tower, "site": site, "visit": visit.id}
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for what, ident in ids.items():
            if ident:
                app.open_row(f"{what}:{ident}")
                await settled(pilot)
            assert reporting.subject_of(app.screen) == (what, ident)
        await pilot.press("f")
        await settled(pilot)
        assert reporting.subject_of(app.screen) == ("findings", "")
        await pilot.press("ctrl+r")
        await settled(pilot)
        await pilot.press("down", "enter")
        folder = book.places.home / reporting.FOLDER
        for _ in range(400):
            if list(folder.glob("*")) and not list(app.workers):
                break
            await asyncio.sleep(0.01)
            await pilot.pause()
        (made,) = folder.glob("*")
        assert made.name == "findings.html"
        assert "Open findings" in made.read_text("utf-8")
        assert any("Report written" in n.message for n in app._notifications)


async def test_a_folder_that_cannot_be_written_is_told_in_a_sentence(
    book: Logbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    (book.places.home / reporting.FOLDER).write_text("in the way")
    told: list[str] = []
    app = SeasonlogApp(book, TODAY)
    monkeypatch.setattr(SeasonlogApp, "tell", lambda self, sentence: told.append(sentence))
    async with app.run_test(size=(40, 30)) as pilot:
        await settled(pilot)
        reporting._write(app, "firm", "", "html")
        await app.workers.wait_for_complete()
        await pilot.pause()
    assert len(told) == 1
    assert "cannot be written" in told[0]
    assert Path(told[0].partition(" cannot")[0]).name == "firm.html"


def test_screens_and_reports_use_the_same_signs_and_words() -> None:
    """Symbols and words of verdicts, severities and states: what one learnt on the roof holds on paper."""
    for on_screen, on_paper in (
        (wording.VERDICTS, reports_words.VERDICTS),
        (wording.SEVERITIES, reports_words.SEVERITIES),
        (wording.VISIT_STATES, reports_words.VISIT_STATES),
        (wording.FINDING_STATES, reports_words.FINDING_STATES),
    ):
        assert {k: (v.symbol, v.word) for k, v in on_screen.items()} == {
            k: (v.symbol, v.word) for k, v in on_paper.items()
        }
