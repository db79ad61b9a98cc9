"""The exposure board on the screen: one key away, ranked, taps open towers, another weather, pictures."""

from pathlib import Path

import pytest
from syrupy.assertion import SnapshotAssertion

from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.commands import bindings_of
from seasonlog.tui.screens.exposure import ExposureScreen
from seasonlog.tui.screens.form import FormSheet
from seasonlog.tui.screens.help import HelpSheet
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import TODAY, a_book
from tests.cli.runner import seasonlog
from tests.tui.conftest import SIZES, failed, row_keys, row_texts, seen, settled, tap_row, yard_book
from tests.tui.test_pictures import history, without_addresses


async def test_one_key_from_the_first_screen_and_back(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        assert isinstance(app.screen, ExposureScreen)
        shown = seen(app)
        assert "1 · 2 min · bare make-up line" in shown  # the yard's line has no heat trace
        assert "YD-1 East tower · Marrow Yard · -8 °F, 15 mph (design)" in shown
        assert "skin of ice" in shown
        assert "why: no fall enable in this season" in shown
        await pilot.press("escape")
        await settled(pilot)
        assert "Marrow Yard" in seen(app)


async def test_rank_symbol_then_what_follows_and_the_drained_at_the_end(book: Logbook) -> None:
    failed(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await pilot.press("e")
        await settled(pilot)
        rows = app.screen.query_one(RowList)
        looks = [rows.row(i).look.symbol for i in range(rows.count) if rows.row(i).key.startswith("tower:")]
        assert looks[0] == "▼"
        texts = row_texts(app, "#exposure")
        told = next(text for text in texts if text.startswith("1 · "))
        assert told.index("▼ 2 min") < told.index("═ ") < told.index("▣ ")
        assert "newest finding: F-" in told
        assert texts.index(told) < next(i for i, text in enumerate(texts) if "not proven drained" in text)
        assert "not proof" in texts[-1]
        assert row_keys(app, "#exposure")[-1] == ""


async def test_a_tap_opens_the_tower(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(40, 30)) as pilot:
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        await tap_row(pilot, "#exposure", "tower:YD-1")
        assert isinstance(app.screen, TowerScreen)
        assert app.screen.tower == "YD-1"


async def test_another_weather_is_asked_and_taken_back(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("e")
        await settled(pilot)
        await tap_row(pilot, "#exposure", "weather:")
        assert isinstance(app.screen, FormSheet)
        await pilot.press(*"-20 C", "enter", *"40 km/h", "enter")
        await settled(pilot)
        assert isinstance(app.screen, ExposureScreen)
        assert "-4 °F, 25 mph (asked for)" in seen(app)
        assert "-4 °F asked for, 25 mph" in seen(app)
        await pilot.press("d")
        await settled(pilot)
        assert "-8 °F, 15 mph (design)" in seen(app)


@pytest.mark.parametrize(
    ("typed", "says"), [(("cold",), "is not a temperature"), (("5", "enter", "gale"), "is not a wind")]
)
async def test_what_is_no_weather_stays_on_the_sheet(book: Logbook, typed: tuple[str, ...], says: str) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("e")
        await settled(pilot)
        await pilot.press("t")
        await settled(pilot)
        for each in typed:
            await pilot.press(*([each] if each == "enter" else each))
        await pilot.click("#save")
        await settled(pilot)
        assert isinstance(app.screen, FormSheet)
        assert says in seen(app)


async def test_warm_air_says_that_nothing_freezes(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("e")
        await settled(pilot)
        await pilot.press("t")
        await settled(pilot)
        await pilot.press(*"50", "enter", "enter")
        await settled(pilot)
        assert "NOT PROVEN, BUT NOTHING FREEZES AT 50 °F: 1" in seen(app)


async def test_a_log_without_towers_says_nothing_of_tonight(tmp_path: Path) -> None:
    """An empty record reassures nobody."""
    with a_book(tmp_path, sites=False) as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("e")
            await settled(pilot)
            assert "No towers yet" in seen(app)
            assert "proven with heat enough, or" not in seen(app)
    told = seasonlog("exposure", "--log", tmp_path / "seasonlog.db")
    assert "No tower is on record" in told.err
    assert "no tower is on record" in seasonlog("today", "--log", tmp_path / "seasonlog.db").out


async def test_every_key_is_in_menu_and_help(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("e")
        await settled(pilot)
        wanted = {binding.description for binding in bindings_of(ExposureScreen)}
        assert wanted <= {command.title for command in app.get_system_commands(app.screen)}
        app.action_help()
        await settled(pilot)
        assert isinstance(app.screen, HelpSheet)


@pytest.mark.parametrize(("size", "theme"), [("laptop", "night"), ("narrow", "night"), ("wide", "sun")])
async def test_picture(size: str, theme: str, tmp_path: Path, svg: SnapshotAssertion) -> None:
    with yard_book(tmp_path) as book:
        history(book)
        app = SeasonlogApp(book, TODAY, theme=theme)
        async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
            await settled(pilot)
            await pilot.press("e")
            await settled(pilot)
            picture = app.export_screenshot(title="seasonlog")
    assert without_addresses(picture).encode() == svg
