"""The plan on the screen: moved with keys, refused with a sentence, published; at every width. Pictures of its own.

pytest tests/tui/test_plan.py --snapshot-update      # look at them first
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot

from seasonlog.journal import queries
from seasonlog.services import plan, plan_draft
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.commands import menu_of
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import FormSheet
from seasonlog.tui.screens.plan import PlanScreen
from seasonlog.tui.screens.tower import TowerScreen
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book
from tests.cli.runner import seasonlog
from tests.services.plan_samples import FROM, as_published, made, published, request
from tests.tui.conftest import SIZES, drawn, row_keys, row_texts, seen, settled
from tests.tui.test_pictures import without_addresses


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


async def opened(app: SeasonlogApp, pilot: Pilot[Any]) -> PlanScreen:
    """The plan, by its key on the first screen."""
    await settled(pilot)
    await pilot.press("p")
    await settled(pilot)
    assert isinstance(app.screen, PlanScreen)
    return app.screen


async def pick(app: SeasonlogApp, pilot: Pilot[Any], tower: str, selector: str = "#days") -> str:
    """Put the cursor on a tower's fall enable; its key."""
    rows = app.screen.query_one(selector, RowList)
    key = next(k for k in row_keys(app, selector) if k.startswith(f"stop:{tower} fall-enable"))
    rows.focus()
    rows.go_to(key)
    await pilot.pause()
    return key


def said(app: SeasonlogApp) -> str:
    return " ".join(str(note.message) for note in app._notifications)


async def test_without_a_plan_it_says_how_to_make_one(book: Logbook) -> None:
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert "No plan yet" in seen(app)
        for key in ("left", "right", "p", "x", "s", "enter", "t", "d"):
            await pilot.press(key)
            await settled(pilot)
        assert isinstance(app.screen, PlanScreen)


async def test_it_opens_on_the_next_day_ahead(book: Logbook) -> None:
    """What was made or missed on the days before stands above."""
    work = published(book)
    on = sorted({m.day for m in work.plan.assignments})[2]
    clock = book.around.clock
    assert isinstance(clock, FixedClock)
    clock.now = datetime(on.year, on.month, on.day, 13, tzinfo=UTC)
    app = SeasonlogApp(book, on)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        picked = app.screen.query_one("#days", RowList).picked
        assert picked is not None
        assert {m.job: m.day for m in work.plan.assignments}[picked.key.removeprefix("stop:")] == on


async def test_it_is_in_the_menu_of_the_first_screen(book: Logbook) -> None:
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        {c.title: c for c in menu_of(app, app.screen)}["Plan"].callback()
        await settled(pilot)
        assert isinstance(app.screen, PlanScreen)


async def test_a_visit_moves_with_keys_makes_a_draft_and_is_published(book: Logbook) -> None:
    published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert "Days: published" in seen(app)
        who, day, _ = made(as_published(book), "HOS-1")
        key = await pick(app, pilot, "HOS-1")
        await pilot.press("right")
        await settled(pilot)
        assert "DRAFT" in seen(app)
        assert made(as_published(book), "HOS-1")[:2] == (who, day)
        draft = plan_draft.kept(book, FROM)
        assert draft is not None
        assert (made(draft, "HOS-1")[0], made(draft, "HOS-1")[1] > day) == (who, True)
        picked = app.screen.query_one("#days", RowList).picked
        assert picked is not None
        assert picked.key == key
        await pilot.press("p")
        await settled(pilot)
        await pilot.press("s")
        await settled(pilot)
        assert isinstance(app.screen, FormSheet)
        await pilot.press(*"crane", "enter")
        await settled(pilot)
        assert "Days: published" in seen(app)
        now = made(as_published(book), "HOS-1")
        assert (now[0] != who, now[1] > day) == (True, True)
        assert plan_draft.kept(book, FROM) is None


async def test_what_breaks_a_rule_is_refused_with_a_sentence_and_changes_nothing(book: Logbook) -> None:
    work = published(book)
    last = max(m.day for m in work.plan.assignments if m.job.startswith("HOS"))
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pick(app, pilot, "HOS-1")
        await pilot.press("left")
        await settled(pilot)
        assert "no working day beyond" in said(app)
        for _ in range(12):
            await pilot.press("right")
            await settled(pilot)
        assert "is outside its days" in said(app)
        draft = plan_draft.kept(book, FROM)
        assert draft is not None
        assert last < made(draft, "HOS-1")[1] <= draft.inputs.items["HOS-1 fall-enable 2026-1"].due
        assert not draft.broken


async def test_enter_lists_only_what_breaks_no_rule_and_goes_there(book: Logbook) -> None:
    published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pick(app, pilot, "HOS-1")
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, ChooseSheet)
        assert "Jessa" not in " ".join(row_texts(app, "RowList"))
        await pilot.press("end", "enter")
        await settled(pilot)
        draft = plan_draft.kept(book, FROM)
        assert draft is not None
        assert made(draft, "HOS-1")[1] == draft.inputs.items["HOS-1 fall-enable 2026-1"].due


async def test_taken_out_stands_under_nobody_and_can_be_placed_from_there(book: Logbook) -> None:
    published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        key = await pick(app, pilot, "HOS-6")
        await pilot.press("x")
        await settled(pilot)
        assert key not in row_keys(app, "#days")
        assert key in row_keys(app, "#nobody")
        await pilot.press("2")
        await settled(pilot)
        await pick(app, pilot, "HOS-6", "#nobody")
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert key in row_keys(app, "#days")
        await pilot.press("d")
        await settled(pilot)
        assert plan_draft.kept(book, FROM) is None


async def test_every_unplaced_visit_has_its_reason_and_every_site_its_cover(book: Logbook) -> None:
    work = published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(120, 40)) as pilot:
        await opened(app, pilot)
        texts = " ".join(row_texts(app, "#nobody"))
        assert all(left.reason in texts for left in work.plan.left_out)
        towers = (work.inputs.register.towers[work.inputs.items[left.job].tower] for left in work.plan.left_out)
        assert all(f"{tower.id}  {tower.name}" in texts for tower in towers)
        assert len(row_keys(app, "#windows")) == 1 + len(queries.sites(book.db))
        assert "3 visits: 3 with nobody" in " ".join(row_texts(app, "#windows"))


async def test_the_tower_of_a_visit_opens(book: Logbook) -> None:
    published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        await pick(app, pilot, "HOS-2")
        await pilot.press("t")
        await settled(pilot)
        assert isinstance(app.screen, TowerScreen)


async def test_a_draft_of_the_command_line_stands_here(book: Logbook) -> None:
    plan_draft.keep(book, plan.draft(book, request()))
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(app, pilot)
        assert "DRAFT" in seen(app)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
async def test_no_line_is_wider_than_the_screen(book: Logbook, size: tuple[int, int]) -> None:
    published(book)
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=size) as pilot:
        await opened(app, pilot)
        for key in ("1", "2", "3"):
            await pilot.press(key)
            await settled(pilot)
            assert all(len(line) <= size[0] for line in drawn(app))
            assert not app.screen.show_horizontal_scrollbar


PICTURES: dict[str, tuple[tuple[str, ...], str, str]] = {
    "days-laptop": ((), "laptop", "night"),
    "moved-laptop": (("down", "right"), "laptop", "sun"),
    "moved-wide": (("down", "right"), "wide", "night"),
    "days-narrow": ((), "narrow", "night"),
    "nobody-narrow": (("2",), "narrow", "night"),
    "windows-laptop": (("3",), "laptop", "night"),
    "choose-laptop": (("enter",), "laptop", "night"),
}


@pytest.mark.parametrize(("keys", "size", "theme"), PICTURES.values(), ids=PICTURES)
async def test_plan_picture(
    keys: tuple[str, ...], size: str, theme: str, book: Logbook, svg: SnapshotAssertion
) -> None:
    published(book)
    app = SeasonlogApp(book, FROM, theme=theme)
    async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
        await opened(app, pilot)
        for key in keys:
            await pilot.press(key)
            await settled(pilot)
        picture = app.export_screenshot(title="seasonlog")
    assert without_addresses(picture).encode() == svg


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
async def test_after_a_noon_repair_every_moved_visit_tells_its_times_before_and_after(
    size: tuple[int, int], book: Logbook
) -> None:
    """Screen and command in the same words; written here from the two plans, apart from the words of the package."""
    before = published(book)
    noon = 12 * 60
    who, on = next((m.worker, m.day) for m in before.plan.assignments if m.finish_minute <= noon)
    away = [plan.Absence(who, on, on, noon)]
    work = plan.replanned(book, request(on, file=None), away)
    plan_draft.keep(book, work)
    was, now = ({m.job: m for m in each.plan.assignments} for each in (before, work))
    names = {each.id: each.name for each in work.inputs.register.people.values()}

    def stands(job: str, made: dict[str, Any]) -> str:
        if job not in made:
            return "not planned"
        at = made[job]
        return f"{names[at.worker]} on {at.day} at {at.start_minute // 60:02}:{at.start_minute % 60:02}"

    def told_of(job: str) -> str:
        """What stays the same, person or person and day, is said once, before the colon."""
        first, then = stands(job, was), stands(job, now)
        for stays in ("(.* on .*) at (.*)", "(.*) on (.*)"):
            before, after = re.fullmatch(stays, first), re.fullmatch(stays, then)
            if before and after and before[1] == after[1]:
                return f"{before[1]}: {before[2]} -> {after[2]}"
        return f"{first} -> {then}"

    moved = [job for job in was if stands(job, was) != stands(job, now)]
    assert moved
    app = SeasonlogApp(book, FROM)
    async with app.run_test(size=size) as pilot:
        screen = await opened(app, pilot)
        shown = {
            row.key: " ".join(row.words.plain.split())
            for rows in screen.query(RowList)
            for row in map(rows.row, range(rows.count))
        }
        for job in was:
            assert (told_of(job) in shown[f"stop:{job}"]) == (job in moved), job
        assert all(len(line) <= size[0] for line in drawn(app))
    told = seasonlog("plan", "show", "--draft", "--today", on.isoformat(), "--log", book.places.log).out
    for job in moved:
        tower, checklist, _ = job.split()
        assert f"    {tower} {checklist}: {told_of(job)}\n" in told
    told = seasonlog(
        "plan", "publish", "--today", on.isoformat(), "--log", book.places.log, "--by", "Halden Pruskett"
    ).out
    assert told.startswith("Different from the published plan:\n")
    assert told.count(" -> ") == len(moved)
