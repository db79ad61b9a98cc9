"""The fault finder on the screen: the name of who is at the panel, and the caution that stands before what to do."""

import pytest
from textual.widgets import Static

from seasonlog.faults.observation import Choice
from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.keypad import Keypad
from tests.builders import TODAY
from tests.services.test_fault_finding import technician
from tests.tui.conftest import seen, settled
from tests.tui.test_fault import at_kind, on_screen, opened, search_of, sites

__all__ = ["sites"]


async def test_who_is_at_the_panel_is_named_and_goes_into_the_finding(sites: Logbook) -> None:
    """By the button of the first question and by key; undo keeps the name, an empty one takes it away."""
    app = SeasonlogApp(sites, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(app, pilot, "HOS-2")
        (button,) = [each for each in screen.query(BigButton) if each.key == "person"]
        await pilot.click(button)
        await settled(pilot)
        await pilot.press(*"x" * 61, "enter")
        await settled(pilot)
        assert "a name of 1 to 60 characters" in seen(app)
        await pilot.press("ctrl+u", *"Ossa Brenquil", "enter")
        await settled(pilot)
        assert "At the panel: Ossa Brenquil" in seen(app)
        assert "Ossa Brenquil is not on record as qualified" in str(screen.query_one("#caution", Static).content)
        await pilot.press("1", "f5")
        await settled(pilot)
        assert search_of(app).asks_who
        assert search_of(app).person == "Ossa Brenquil"
        await pilot.press("f9", "ctrl+u", "enter")
        await settled(pilot)
        assert "Somebody else is there" in seen(app)
        search, _ = technician(search_of(app), 22)
        await screen.go_on(search)
        await pilot.press("f9", *"Ossa", "enter")
        await settled(pilot)
        await pilot.press("f8")
        await settled(pilot)
        (found,) = queries.findings(sites.db, open_only=True, tower="HOS-2")
        assert "At the panel: Ossa." in str(found)
        await pilot.press("f9")
        await settled(pilot)
        assert screen is app.screen


async def test_a_caution_that_was_read_stays_read_when_somebody_is_named(sites: Logbook) -> None:
    app = SeasonlogApp(sites, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await at_kind(app, pilot, live=True, number=True)
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("f9", *"Ossa", "enter")
        await settled(pilot)
        assert on_screen(app).query(Keypad)
        assert search_of(app).person == "Ossa"


@pytest.mark.parametrize("size", [(40, 30), (80, 24)], ids=str)
async def test_a_caution_is_in_view_before_what_to_do(sites: Logbook, size: tuple[int, int]) -> None:
    """By hand, without a button to read it first: the whole caution stands above the fold, over the question."""
    app = SeasonlogApp(sites, TODAY)
    async with app.run_test(size=size) as pilot:
        screen = await opened(app, pilot, "HOS-2", "1", "1", "2", "2")
        assert isinstance(screen.found, Choice)
        assert screen.found.test.mode == "hand"
        caution, words = (screen.query_one(name, Static).region for name in ("#caution", "#words"))
        assert screen.query_one("#said").region.contains_region(caution)
        assert caution.bottom <= words.y
