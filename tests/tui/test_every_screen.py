"""What every screen keeps to: keys, menu and help from one list, two looks, no line too wide, DEMONSTRATION."""

import importlib
import pkgutil
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.screen import Screen
from textual.widgets import Static

from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.tui import screens
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.commands import bindings_of, menu_of
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.screens.findings import FindingsScreen
from seasonlog.tui.screens.help import HelpSheet
from seasonlog.tui.screens.today import TodayScreen
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.banner import DEMONSTRATION
from tests.builders import TODAY
from tests.tui.conftest import drawn, failed, seen, settled, start, yard_book


async def test_the_word_demonstration_is_on_every_screen_and_sheet(tmp_path: Path) -> None:
    from seasonlog.services import demo
    from seasonlog.services.places import Places
    from tests.builders import around

    with demo.build(Places(tmp_path / "seasonlog.db"), around(), lambda _: None, history=False) as book:
        visit = queries.open_visits(book.db)[0].id
        finding = queries.findings(book.db, open_only=True)[0].id
        rows = ("site:HOS", "tower:HOS-1", f"visit:{visit}", f"finding:{finding}")
        for size in ((40, 30), (80, 24)):
            app = SeasonlogApp(book, TODAY)
            async with app.run_test(size=size) as pilot:
                await settled(pilot)
                assert DEMONSTRATION.strip() in drawn(app)[0]
                for row in rows:
                    app.open_row(row)
                    await settled(pilot)
                    assert DEMONSTRATION.strip() in seen(app)
                for key in ("f", "slash", "f1"):
                    await pilot.press(key)
                    await settled(pilot)
                    assert DEMONSTRATION.strip() in seen(app)


def all_screens() -> list[type[Screen[object]]]:
    found: list[type[Screen[object]]] = []
    for module in pkgutil.iter_modules(screens.__path__):
        for value in vars(importlib.import_module(f"{screens.__name__}.{module.name}")).values():
            if isinstance(value, type) and issubclass(value, Screen) and value.__module__.endswith(f".{module.name}"):
                found.append(value)
    return found


def test_every_screen_is_found() -> None:
    names = {s.__name__ for s in all_screens()}
    assert {"TodayScreen", "SiteScreen", "TowerScreen", "VisitScreen", "FindingsScreen", "FindingScreen"} < names
    assert {"SearchScreen", "SignOffScreen", "HelpSheet", "FormSheet", "ChooseSheet", "InstrumentsSheet"} < names


@pytest.mark.parametrize("screen", all_screens(), ids=lambda s: s.__name__)
async def test_keys_menu_and_help_are_one_list(screen: type[Screen[object]], book: Logbook) -> None:
    own = [b for b in screen.__dict__.get("BINDINGS", []) if isinstance(b, Binding)]
    assert all(b.description and (b.tooltip or not b.show) for b in own)
    assert {b.action for b in own} <= {b.action for b in bindings_of(screen)}
    assert getattr(screen, "HELP", "") or screen in (SeasonScreen,) or screen.__name__ == "Sheet"
    keys = [k for b in bindings_of(screen) for k in b.key.split(",")]
    assert len(keys) == len(set(keys))


async def test_the_menu_has_every_key_of_every_open_screen(book: Logbook) -> None:
    visit, finding = start(book), failed(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        openers = (
            lambda: None,
            lambda: app.open_site("YARD"),
            lambda: app.open_tower("YD-1"),
            lambda: app.open_visit(visit),
            lambda: app.open_finding(finding),
            app.action_findings,
            app.action_search,
        )
        for opener in openers:
            opener()
            await settled(pilot)
            titles = {c.title for c in app.get_system_commands(app.screen)}
            wanted = {b.description for b in [*bindings_of(type(app.screen)), *bindings_of(type(app))]}
            assert wanted <= titles
            app.action_help()
            await settled(pilot)
            assert isinstance(app.screen, HelpSheet)
            said = " ".join(str(s.content) for s in app.screen.query(Static))
            assert all(words in said for words in wanted)
            await pilot.press("escape")
            await settled(pilot)


async def test_the_menu_does_what_the_key_does(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+p")
        await settled(pilot)
        await pilot.press(*"findings")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, FindingsScreen)
        commands = {c.title: c for c in menu_of(app, app.screen)}
        commands["Back"].callback()
        await settled(pilot)
        assert isinstance(app.screen, TodayScreen)


async def test_the_look_is_changed_by_a_key_and_remembered(book: Logbook) -> None:
    remembered: list[str] = []
    app = SeasonlogApp(book, TODAY, remember=remembered.append)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert app.theme == "night"
        await pilot.press("ctrl+t")
        await settled(pilot)
        assert (app.theme, remembered) == ("sun", ["sun"])
        assert "Marrow Yard" in seen(app)
    assert SeasonlogApp(book, TODAY, theme="sun").theme == "sun"
    assert SeasonlogApp(book, TODAY, theme="no such look").theme == "night"


@pytest.mark.parametrize("size", [(40, 30), (60, 24), (80, 24), (100, 30), (120, 40)], ids=str)
async def test_no_line_is_wider_than_the_screen_and_answers_are_in_view(book: Logbook, size: tuple[int, int]) -> None:
    visit = start(book)
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=size) as pilot:
        app.open_visit(visit)
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, VisitScreen)
        for instance in screen.at_desk.at.instances:
            await screen.go_to(instance.key)
            await settled(pilot)
            for _ in range(2):
                for widget in screen.query("#answer BigButton, #answer Field, #answer Keypad"):
                    assert screen.region.contains_region(widget.region), (instance.key, widget)
                    assert widget.region.height >= 3
                await pilot.press("enter")
                await settled(pilot)
        assert not screen.show_horizontal_scrollbar


async def test_another_width_takes_effect_at_once(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(120, 40)) as pilot:
        app.open_site("YARD")
        await settled(pilot)
        assert "AT NIGHT CALL" in seen(app)
        await pilot.resize_terminal(40, 30)
        await settled(pilot)
        assert "AT NIGHT CALL" not in seen(app)
        assert "East tower" in seen(app)
        await pilot.resize_terminal(120, 40)
        await settled(pilot)
        assert "AT NIGHT CALL" in seen(app)


async def test_a_log_written_to_beside_the_app_shows_after_a_refresh(tmp_path: Path) -> None:
    with yard_book(tmp_path) as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            assert "GO ON WITH" not in seen(app)
            with Logbook.open(book.places, book.around, "Halden Pruskett", writing=True) as other:
                start(other)
            await pilot.press("r")
            await settled(pilot)
            assert "GO ON WITH" in seen(app)
