"""What a person must have read before answering is in view, on the smallest screens; words are in the site's units."""

from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from seasonlog.domain.desk import Mode
from seasonlog.domain.visit import Progress
from seasonlog.services import rounds
from seasonlog.tui.app import SeasonlogApp
from tests.builders import TODAY, a_book, a_visit
from tests.tui.conftest import SIZES, seen, settled, visit_of


async def with_the_last_answer(pilot: Pilot[Any]) -> None:
    """The line about the answer before is there and long."""
    last = pilot.app.screen.query_one("#last", Static)
    last.update("✓ PASS saved  Supply volts A-B, B-C, C-A: 399.8 / 399.8 / 399.8 V: limit 380 to 420 V, pass 384.6")
    last.add_class("-shown")
    await pilot.pause()


@pytest.mark.parametrize("size", ["laptop", "narrow"])
async def test_a_caution_is_whole_in_view_before_it_can_be_acknowledged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: str
) -> None:
    """Every caution of a commissioning, the longest checklist, without scrolling; held against the layout."""
    monkeypatch.setattr(Progress, "waits_for", lambda self, key: ())
    monkeypatch.setattr("seasonlog.domain.desk.Desk.asks_of_doubt", property(lambda self: False))
    with a_book(tmp_path) as book:
        at = a_visit(book, "HOS-2", "commissioning")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=SIZES[size]) as pilot:
            app.open_visit(at.visit.id)
            await settled(pilot)
            desk = visit_of(app).at_desk
            cautions = {i.step.id: i.key for i in at.instances if i.step.caution}
            assert len(cautions) > 40
            for key in cautions.values():
                await visit_of(app).go_to(key)
                await with_the_last_answer(pilot)
                if desk.mode is not Mode.READ_CAUTION:
                    continue
                place, words = app.screen.query_one("#said").region, app.screen.query_one("#caution", Static).region
                assert place.contains_region(words), key


async def test_what_is_asked_stays_in_view_over_many_answers(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book, "HOS-1", "mid-winter")
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=SIZES["laptop"]) as pilot:
            app.open_visit(at.visit.id)
            await settled(pilot)
            await visit_of(app).go_to("heating_now")
            await with_the_last_answer(pilot)
            assert len(at.instance("heating_now").step.choices) == 5  # type: ignore[union-attr]
            assert "Off below cut-in freezes tonight" in seen(app)
            assert "5 Cut-in was never proven" in seen(app)


async def test_a_metric_site_reads_degc_in_every_word_of_a_reading(tmp_path: Path) -> None:
    """5 degC is 41 degF; 34 degF, the limit, is 1.11 degC (exact by definition)."""
    with a_book(tmp_path) as book:
        at = a_visit(book, "ORR-1", "mid-winter")
        for key in ("weather", "second_person", "permits"):
            at = rounds.answer(book, at, key, {"weather": "good"}.get(key, "yes"))
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=SIZES["laptop"]) as pilot:
            app.open_visit(at.visit.id)
            await settled(pilot)
            await visit_of(app).go_to("water_degf")
            await settled(pilot)
            assert "Limit from 1.11 °C" in seen(app)
            assert "Type °C" in seen(app)
            await pilot.press("5", "enter")
            await settled(pilot)
            await pilot.press("enter")  # the next caution is read
            await settled(pilot)
            assert visit_of(app).at_desk.at.answers["water_degf"].value == "41"
            assert "Water temperature: 5 °C: limit" in seen(app)
            assert "from 1.11 °C, pass from 1.43" in seen(app)
            assert "degf" not in seen(app).casefold()
