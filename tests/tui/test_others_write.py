"""Entries of others come in while a screen is open: boards show them with nothing moved under the finger.

Two laptops of one firm; what the hub would bring is a bundle taken in on a connection of its own, as the hub's thread
does it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets._tooltip import Tooltip

from seasonlog.domain.register import Register
from seasonlog.services import claims, plan, rounds
from seasonlog.services.live_sync import LiveSync, News
from seasonlog.services.register import preview, write
from seasonlog.services.sync import Folding, Synced
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.findings import FindingsScreen
from seasonlog.tui.screens.plan import PlanScreen
from seasonlog.tui.screens.site import SiteScreen
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets import row_list
from seasonlog.tui.widgets.banner import Banner
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import INSTRUMENTS, TODAY, FixedClock, sample_register
from tests.journal.laptops import Laptop, enrolled
from tests.services.plan_samples import FROM, request
from tests.tui.conftest import drawn, row_keys, seen, settled


@pytest.fixture
def two(tmp_path: Path) -> tuple[Laptop, Laptop]:
    """The north laptop, on which the app runs, and the south one."""
    north, south = enrolled(tmp_path)
    with north.book() as book:
        write(book, preview(Register.of(()), list(sample_register().records())))
    south.take(north.export())
    return north, south


async def bring(app: SeasonlogApp, pilot: Pilot[Any], north: Laptop, south: Laptop) -> None:
    """What south has written comes in, as the hub's thread would bring it."""
    north.take(south.export())
    app.post_message(app.OthersWrote(News(("south Example",))))
    await settled(pilot)


def begin(laptop: Laptop, tower: str, checklist: str = "fall-enable") -> None:
    with laptop.book() as book:
        rounds.start(book, rounds.Start(tower, checklist, INSTRUMENTS), TODAY)


def at(app: SeasonlogApp, selector: str = "RowList") -> tuple[str, int]:
    """Key of the picked row, and its line on the screen."""
    rows = app.screen.query_one(selector, RowList)
    assert rows.picked is not None
    return rows.picked.key, rows.top_of(rows.cursor) - rows.scroll_offset.y


async def test_the_first_board_shows_a_visit_that_somebody_began_and_the_cursor_stays(
    two: tuple[Laptop, Laptop],
) -> None:
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 12)) as pilot:
            await settled(pilot)
            await pilot.press("down", "down", "down")
            before = at(app)
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            assert any(key.startswith("visit:") for key in row_keys(app, "RowList"))
            assert at(app) == before


async def test_somebody_who_has_not_touched_the_list_finds_the_same_row_under_the_cursor(
    two: tuple[Laptop, Laptop], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Enter opens what was read, not what has slipped in above it; a tap just then opens nothing."""
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            before = at(app)
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            assert at(app)[0] == before[0]
            assert before[0].startswith("site:")
            line = app.screen.query_one(RowList).region.y + at(app)[1]
            await pilot.click(offset=(10, line))
            assert len(app.screen_stack) == 1
            monkeypatch.setattr(row_list, "SETTLES_S", 0.0)
            await pilot.click(offset=(10, line))
            await settled(pilot)
            assert isinstance(app.screen, SiteScreen)


async def test_a_board_behind_another_screen_shows_it_when_somebody_comes_back(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await pilot.press("f")
            await settled(pilot)
            assert isinstance(app.screen, FindingsScreen)
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            await pilot.press("escape")
            await settled(pilot)
            assert any(key.startswith("visit:") for key in row_keys(app, "RowList"))


async def test_a_site_a_tower_and_a_sheet_over_it(two: tuple[Laptop, Laptop]) -> None:
    """Under an open sheet nothing is redrawn; once it is closed the tower tells what came in."""
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.open_site("HOS")
            await settled(pilot)
            assert isinstance(app.screen, SiteScreen)
            await pilot.press("down", "down")
            before = at(app, "#towers")
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            assert at(app, "#towers") == before
            app.open_tower("HOS-1")
            await settled(pilot)
            tower = app.screen
            assert isinstance(tower, TowerScreen)
            assert tower.view is not None
            known = len(tower.view.visits)
            assert known == 1
            await pilot.press("w")
            await settled(pilot)
            assert isinstance(app.screen, ChooseSheet)
            begin(south, "HOS-1", "mid-winter")
            await bring(app, pilot, north, south)
            assert isinstance(app.screen, ChooseSheet)
            assert len(tower.view.visits) == known
            await pilot.press("escape")
            await settled(pilot)
            assert len(tower.view.visits) == known + 1


async def test_a_tower_that_is_looked_at_shows_the_new_visit_by_itself(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.open_tower("HOS-1")
            await settled(pilot)
            await pilot.press("down", "down", "down")
            before = at(app, "#state")
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            assert isinstance(app.screen, TowerScreen)
            assert app.screen.view is not None
            assert len(app.screen.view.visits) == 1
            assert at(app, "#state") == before


async def test_the_plan_shows_what_another_published_and_a_visit_under_the_cursor_stays_there(
    two: tuple[Laptop, Laptop],
) -> None:
    north, south = two
    with south.book() as book:
        plan.publish(book, plan.draft(book, request()))
    north.take(south.export())
    with north.book() as book:
        app = SeasonlogApp(book, FROM)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            await pilot.press("p")
            await settled(pilot)
            assert isinstance(app.screen, PlanScreen)
            await pilot.press("down", "down", "down", "down")
            before = at(app, "#days")
            with south.book() as other:
                work = plan.published(other, FROM)
                assert work is not None
                from seasonlog.services.plan_moves import take_out

                mine = before[0].removeprefix("stop:")
                gone = next(m.job for m in work.plan.assignments if m.job != mine)
                plan.publish(other, take_out(work, gone))
            await bring(app, pilot, north, south)
            assert f"stop:{gone}" not in row_keys(app, "#days")
            assert at(app, "#days")[0] == before[0]
            is_at_top = app.screen.query_one("#days", RowList).scroll_offset.y == 0  # nothing left to scroll by
            assert at(app, "#days")[1] == before[1] or is_at_top


@pytest.mark.parametrize(
    ("width", "words"),
    [(120, "new entries from south Example"), (80, "new entries from south Example"), (40, "new ↓")],
)
async def test_a_visit_is_not_redrawn_and_says_from_whom_new_entries_are(
    two: tuple[Laptop, Laptop], width: int, words: str
) -> None:
    """What is half typed, the focus and every line below the banner stay; the next saved answer takes the word away."""
    north, south = two
    begin(north, "HOS-1")
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(width, 30)) as pilot:
            await settled(pilot)
            visit = next(key for key in row_keys(app, "RowList") if key.startswith("visit:"))
            app.open_row(visit)
            await settled(pilot)
            screen = app.screen
            assert isinstance(screen, VisitScreen)
            await pilot.press("colon", *"the deck")
            before, focused = drawn(app), screen.focused
            begin(south, "HOS-1")
            await bring(app, pilot, north, south)
            assert app.screen is screen
            assert words in drawn(app)[0]
            assert screen.query_one(Banner).tooltip == "new entries from south Example"
            assert drawn(app)[1:] == before[1:]
            assert screen.focused is focused
            await screen.after_save()
            await settled(pilot)
            assert words not in drawn(app)[0]


class OnePull:
    """A hub that brings two entries once, then nothing."""

    def __init__(self) -> None:
        self.left = [Synced(2, 0, 0, 0, {}, (), ("Halden Pruskett", "Jessa Thornquist")), Synced(0, 0, 0, 0, {}, ())]

    @contextmanager
    def opened(self) -> Iterator["OnePull"]:
        yield self

    def exchange(self, folding: Folding) -> Synced:
        return self.left.pop(0)

    def news(self, timeout_s: float) -> bool:
        if not self.left:
            raise OSError("over")
        return True

    def saved(self) -> int:
        return 0

    def to_send(self) -> int:
        return 0


def test_the_loop_tells_who_wrote_what_came_in_and_is_silent_where_nothing_did() -> None:
    heard: list[News] = []

    def pause(seconds: float) -> bool:
        loop._stop.set()
        return True

    loop = LiveSync(OnePull(), lambda state: None, FixedClock().wall_ms, pause, heard.append)
    loop.run()
    assert [news.whose for news in heard] == [("Halden Pruskett", "Jessa Thornquist")]
    assert heard[0].forms()[0] == "new entries from Halden Pruskett and 1 more"
    assert News(("Halden Pruskett",)).forms()[:2] == ("new entries from Halden Pruskett", "new from Halden")


async def test_a_list_that_was_scrolled_without_the_cursor_stays_where_it_is(two: tuple[Laptop, Laptop]) -> None:
    """Rows come in above and below, the cursor is out of view: the topmost row in view stays on its line."""
    north, _ = two

    def rows(*names: str) -> list[Row]:
        from textual.content import Content

        return [Row(name, Content(name)) for name in names]

    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 12)) as pilot:
            await settled(pilot)
            shown = app.screen.query_one(RowList)
            shown.show(rows(*(f"r{n:02}" for n in range(60))))
            await settled(pilot)
            shown.scroll_to(y=30, animate=False, force=True)
            await settled(pilot)
            top = shown.row(30).key
            with app.screen.steady():  # type: ignore[attr-defined]
                shown.show(rows("new", "newer", *(f"r{n:02}" for n in range(60)), "last"))
            await settled(pilot)
            assert shown.row(shown.scroll_offset.y).key == top
            assert shown.picked is not None
            assert shown.picked.key == "r00"
            gone = rows("new", "newer", *(f"r{n:02}" for n in range(1, 60)))
            with app.screen.steady():  # type: ignore[attr-defined]
                shown.show(gone)
            await settled(pilot)
            assert shown.row(shown.scroll_offset.y).key == top
            assert shown.picked is not None
            assert shown.picked.key == "r01"


async def test_the_banner_of_a_board_goes_on_telling_the_hub(two: tuple[Laptop, Laptop]) -> None:
    north, south = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        app.hub_words = ("hub: in step 14:40",)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            begin(south, "HOS-1")
            with south.book() as other:
                claims.claim(other, "HOS-2", "fall-enable", TODAY)
            await bring(app, pilot, north, south)
            assert app.screen.query_one(Banner).status == ("hub: in step 14:40",)
            assert "new entries" not in seen(app)


async def test_a_name_with_brackets_is_drawn_as_it_is_beside_the_banner_too(two: tuple[Laptop, Laptop]) -> None:
    """What the mouse is told of the banner comes from others: a name is no markup."""
    north, _ = two
    with north.book() as book:
        app = SeasonlogApp(book, TODAY)
        async with app.run_test(size=(80, 24), tooltips=True) as pilot:
            await settled(pilot)
            screen = app.screen
            assert isinstance(screen, SeasonScreen)
            screen._news = ("new entries from [/b] Roe",)
            screen.look_at_devices()
            await pilot.hover(Banner)
            await pilot.pause(app.TOOLTIP_DELAY + 0.2)
            tooltip = screen.get_child_by_type(Tooltip)
            assert tooltip.display
            assert "[/b] Roe" in str(tooltip.render())
