"""The season at a glance on the screen: one key away, sites then towers, at every width. Pictures of its own.

pytest tests/tui/test_season.py --snapshot-update      # look at them first
"""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot
from textual.widgets import Static

from seasonlog.domain.season_weeks import WEEKS, Count, Sign
from seasonlog.services.logbook import Logbook
from seasonlog.services.season_strip import Lane, site_strips
from seasonlog.tui import season_page
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.commands import bindings_of, menu_of
from seasonlog.tui.screens.help import HelpSheet
from seasonlog.tui.screens.season import SiteWeeksScreen, WeeksScreen
from seasonlog.tui.screens.site import SiteScreen
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.season_page import SIGNS, Scale
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import TODAY, FixedBytes, FixedClock, Surroundings, a_book
from tests.services.climate_samples import asked, imported, winters
from tests.services.plan_samples import published
from tests.tui.conftest import SIZES, drawn, row_keys, row_texts, seen, settled, tap_row
from tests.tui.test_pictures import without_addresses

WIDTHS = [40, 59, 60, 80, 100, 120, 200]


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


async def opened(app: SeasonlogApp, pilot: Pilot[Any], site: str = "") -> None:
    """The season by its key on the first screen; then the towers of a site."""
    await settled(pilot)
    await pilot.press("w")
    await settled(pilot)
    assert isinstance(app.screen, WeeksScreen)
    if site:
        app.screen.query_one(RowList).go_to(f"weeks:{site}")
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, SiteWeeksScreen)


async def test_sites_then_towers_then_one_tower_and_back(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert row_keys(app, "#weeks") == [f"weeks:{each.id}" for each in site_strips(book, TODAY)]
        await tap_row(pilot, "#weeks", "weeks:HOS")
        assert isinstance(app.screen, SiteWeeksScreen)
        shown = seen(app)
        assert "Wendlecroft Hospital" in shown
        assert "winter 2026/27" in shown
        assert "0 of 9 done" in shown
        await tap_row(pilot, "#weeks", "tower:HOS-2")
        assert isinstance(app.screen, TowerScreen)
        for screen in (SiteWeeksScreen, WeeksScreen):
            await pilot.press("escape")
            await settled(pilot)
            assert isinstance(app.screen, screen)


async def test_a_key_opens_the_site_from_both(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        app.screen.query_one(RowList).go_to("weeks:HOS")
        for opener in ("o", "enter"):
            await pilot.press(opener)
            await settled(pilot)
            if opener == "enter":
                await pilot.press("o")
                await settled(pilot)
            assert isinstance(app.screen, SiteScreen)
            assert app.screen.site == "HOS"
            await pilot.press("escape")
            await settled(pilot)


async def test_no_probability_without_a_record_and_shades_with_one(book: Logbook) -> None:
    imported(book, asked("HOS", winters(20)))
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        texts = dict(zip(row_keys(app, "#weeks"), row_texts(app, "#weeks"), strict=True))
        shades = {key for key, text in texts.items() if set("░▒▓█") & set(text)}
        assert shades == {"weeks:HOS"}
        assert all(text.count("*") == 2 and "typed" in text for key, text in texts.items() if key not in shades)
        assert "own record" in texts["weeks:HOS"]


async def test_the_site_page_tells_whose_freeze_dates_count(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)

    async def winter(pilot: Pilot[Any]) -> str:
        app.open_site("HOS")
        await settled(pilot)
        words = str(app.screen.query_one("#fact-words", Static).content)
        await pilot.press("escape")
        return words.partition("WINTER")[2].strip()

    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        typed = await winter(pilot)
        assert typed.startswith("freezes usually 24 September to 12 May, as typed; designed for")
        imported(book, asked("HOS", winters(20)))
        assert "own record of made-up.csv, 20 seasons 2001 to 2020, at 32 °F" in await winter(pilot)
        imported(book, asked("HOS", winters(5)))
        assert "as typed; its record does not serve; designed for" in await winter(pilot)


async def test_a_log_without_sites_says_so(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False) as empty:
        app = SeasonlogApp(empty, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await opened(app, pilot)
            assert "No sites yet" in seen(app)
            for key in ("o", "enter", "r"):
                await pilot.press(key)
                await settled(pilot)
            assert isinstance(app.screen, WeeksScreen)


async def test_every_key_is_in_menu_and_help(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        {c.title: c for c in menu_of(app, app.screen)}["Season"].callback()
        await settled(pilot)
        assert isinstance(app.screen, WeeksScreen)
        app.push_screen(SiteWeeksScreen("HOS"))
        await settled(pilot)
        for screen in (SiteWeeksScreen, WeeksScreen):
            wanted = {binding.description for binding in bindings_of(screen)}
            assert wanted <= {command.title for command in app.get_system_commands(app.screen)}
            app.action_help()
            await settled(pilot)
            assert isinstance(app.screen, HelpSheet)
            await pilot.press("escape", "escape")
            await settled(pilot)


@pytest.mark.parametrize("width", WIDTHS)
async def test_strips_fit_and_stand_under_their_months(book: Logbook, width: int) -> None:
    imported(book, asked("HOS", winters(20)))
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(width, 40)) as pilot:
        await opened(app, pilot)
        scale = Scale.for_width(width)
        rows = app.screen.query_one(RowList)
        for index in range(rows.count):
            lines = rows.row(index).words.plain.split("\n")
            assert len(lines) == scale.lines - 1
            assert (
                max(len(line.rstrip()) for line in lines) <= rows.scrollable_content_region.width - season_page.INDENT
            )
            months = lines[0][scale.label : scale.label + scale.cells]
            assert months.count("▼") == 1
        assert all(len(line) == width for line in drawn(app))
        assert not app.screen.show_horizontal_scrollbar


async def test_another_width_takes_effect_at_once(book: Logbook) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(120, 40)) as pilot:
        for site in ("", "HOS"):
            if site:
                app.push_screen(SiteWeeksScreen(site))
            else:
                await opened(app, pilot)
            await settled(pilot)
            assert "fall enable" in seen(app)
            await pilot.resize_terminal(40, 30)
            await settled(pilot)
            assert "F fall M winter" in seen(app)
            await pilot.resize_terminal(120, 40)
            await settled(pilot)
            assert "F fall enable" in seen(app)


@pytest.mark.parametrize("width", [40, 80])
@pytest.mark.parametrize("day", [date(2026, 8, 1), date(2026, 9, 3), date(2026, 9, 8), date(2026, 9, 15),
                                 date(2027, 2, 1), date(2027, 7, 31)], ids=str)  # fmt: skip
def test_todays_week_is_marked_in_its_cell_and_the_months_stay_in_theirs(book: Logbook, day: date, width: int) -> None:
    scale = Scale.for_width(width)
    strip = next(each for each in site_strips(book, day) if each.id == "HOS")
    line = season_page.site(strip, scale).words.plain.split("\n")[0][scale.label :]
    at = scale.cell(strip.weeks.week(day))
    assert line[at] == "▼"
    for week, month in strip.weeks.months:
        name = date(2026, month, 1).strftime("%b")
        cell = scale.cell(week)
        if not cell <= at < cell + 3:
            assert line[cell] == name[0]


@pytest.mark.parametrize("width", [40, 80, 120])
def test_every_cell_shows_the_most_pressing_of_its_marks(book: Logbook, width: int) -> None:
    published(book)
    scale = Scale.for_width(width)
    for strip in site_strips(book, TODAY):
        line = season_page.lane(strip.lane, strip.today, scale).plain[scale.label :]
        for cell in range(scale.cells):
            here = [mark.sign for mark in strip.lane.marks if scale.cell(mark.week) == cell]
            worst = next((sign for sign in Sign if sign in here), None)
            drawn_here = next((sign for sign in Sign if SIGNS[sign].symbol == line[cell]), None)
            assert drawn_here == worst


@pytest.mark.parametrize(
    ("share", "sign"), [(0.0, "·"), (0.049, "·"), (0.05, "░"), (0.25, "▒"), (0.5, "▓"), (0.75, "█"), (1.0, "█")]
)
def test_the_shade_of_a_chance(share: float, sign: str) -> None:
    assert season_page.shade(share) == sign


def test_every_sign_has_a_symbol_of_its_own_and_a_word() -> None:
    symbols = [look.symbol for look in SIGNS.values()] + list(season_page.LETTERS.values())
    assert len(set(symbols)) == len(symbols)
    assert set(SIGNS) == set(Sign)
    for width in WIDTHS:
        told = season_page.legend(width).plain
        assert all(symbol in told for symbol in symbols)
        assert max(len(line) for line in told.split("\n")) <= width - 2
        assert told.count("\n") <= 2


def test_words_that_find_no_room_are_left_out() -> None:
    empty = Lane((), (), Count(0, 0, 0, 0), "")
    line = season_page.lane(empty, 3, Scale(WEEKS, 8, 6), "far too long", "short")
    assert line.plain.endswith("  short")
    assert season_page.lane(empty, 3, Scale(WEEKS, 8, 4), "far too long", "short").plain.rstrip().endswith("┊")


@pytest.mark.parametrize("site", ["", "HOS"], ids=["sites", "towers"])
@pytest.mark.parametrize(("size", "theme"), [("laptop", "night"), ("narrow", "night"), ("wide", "sun")])
async def test_picture(site: str, size: str, theme: str, book: Logbook, svg: SnapshotAssertion) -> None:
    imported(book, asked("HOS", winters(20)))
    published(book)
    app = SeasonlogApp(book, TODAY, theme=theme)
    async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
        await opened(app, pilot, site)
        picture = app.export_screenshot(title="seasonlog")
    assert without_addresses(picture).encode() == svg
