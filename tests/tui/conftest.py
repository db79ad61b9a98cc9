"""A small yard of two towers, one short checklist with a step of each kind, and short ways to drive the screens."""

import shutil
from collections.abc import Awaitable, Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension
from textual.pilot import Pilot

from seasonlog.domain.desk import Mode
from seasonlog.domain.register import Register
from seasonlog.journal import queries
from seasonlog.services import register as equipment
from seasonlog.services import rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.visit import VisitScreen
from seasonlog.tui.widgets.keypad import Keypad
from seasonlog.tui.widgets.row_list import RowList
from tests.builders import TODAY, a_book

DATA = Path(__file__).parent / "data"
YARD = ("yard.toml", "people.toml")
SIZES = {"laptop": (80, 24), "wide": (120, 40), "narrow": (40, 30)}


@pytest.fixture(autouse=True)
def _short_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pilot looks four times as often whether all is quiet; what it waits for stays the same."""
    monkeypatch.setattr("textual._wait.SLEEP_GRANULARITY", 1 / 200)
    monkeypatch.setattr("textual._wait.SLEEP_IDLE", 1 / 4000)


class SvgSnapshot(SingleFileSnapshotExtension):
    """One picture, one file."""

    file_extension = "svg"


@pytest.fixture
def svg(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    return snapshot.use_extension(SvgSnapshot)


def yard_book(folder: Path, *files: str, who: str = "Mirel Oduvane") -> Logbook:
    """A log with the yard and its checklist."""
    own = folder / "checklists"
    own.mkdir(parents=True, exist_ok=True)
    shutil.copy(DATA / "yard-check.toml", own)
    book = a_book(folder, who=who, sites=False)
    read = equipment.read(equipment.HandedIn(name, (DATA / name).read_bytes()) for name in files or YARD)
    equipment.write(book, equipment.preview(Register.of(()), read))
    return book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with yard_book(tmp_path) as opened:
        yield opened


def start(book: Logbook, tower: str = "YD-1", **instruments: str) -> str:
    """A visit just started; its id."""
    return rounds.start(book, rounds.Start(tower, "yard-check", instruments), TODAY).visit.id


async def settled(pilot: Pilot[Any]) -> None:
    """All workers are done and their messages shown; a busy machine may begin a worker late."""
    for _ in range(20):
        await pilot.pause()
        await pilot.app.workers.wait_for_complete()
        await pilot.pause()
        if "reading the log" not in seen(pilot.app):
            break


async def tap_row(pilot: Pilot[Any], selector: str, key: str) -> None:
    """Tap the row of a list that stands for this key."""
    for _ in range(50):  # a list is filled by a worker, and a busy machine takes its time
        rows = pilot.app.screen.query_one(selector, RowList)
        found = [i for i in range(rows.count) if rows.row(i).key == key]
        if found:
            break
        await settled(pilot)
    number = found[0]
    rows.scroll_to(y=max(rows.top_of(number) - 2, 0), animate=False, force=True)
    await pilot.pause()
    assert await pilot.click(rows, offset=(10, rows.top_of(number) - rows.scroll_offset.y))
    await settled(pilot)


async def tap_keys(pilot: Pilot[Any], *keys: str) -> None:
    """Tap keys of the keypad on the screen."""
    keypad = pilot.app.screen.query_one(Keypad)
    for key in keys:
        cell = next(c for c in keypad.cells() if c.key == key)
        assert await pilot.click(keypad, offset=((cell.left + cell.right) // 2, (cell.top + cell.bottom) // 2))
        await pilot.pause()


async def tap_answer(pilot: Pilot[Any], number: int = 0) -> None:
    """Tap a button of the answer area."""
    await pilot.click(pilot.app.screen.query("#answer BigButton")[number])
    await settled(pilot)


Drive = Callable[[SeasonlogApp, Pilot[Any]], Awaitable[None]]


def drawn(app: SeasonlogApp) -> list[str]:
    """The text of every line on the screen, as it goes to the terminal."""
    lines = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip) for strip in lines]


def seen(app: SeasonlogApp) -> str:
    """All that is on the screen, as one text with single spaces."""
    return " ".join(" ".join(drawn(app)).split())


def row_texts(app: SeasonlogApp, selector: str) -> list[str]:
    """Titles and words of all rows of the lists, in view or not."""
    lists = app.screen.query(selector).results(RowList)
    return [f"{r.row(i).title.plain} {r.row(i).words.plain}" for r in lists for i in range(r.count)]


def row_keys(app: SeasonlogApp, selector: str) -> list[str]:
    """What the rows of a list stand for."""
    rows = app.screen.query_one(selector, RowList)
    return [rows.row(i).key for i in range(rows.count)]


def visit_of(app: SeasonlogApp) -> VisitScreen:
    """The visit on the screen."""
    assert isinstance(app.screen, VisitScreen)
    return app.screen


async def at_step(app: SeasonlogApp, pilot: Pilot[Any], visit: str, key: str = "") -> VisitScreen:
    """A visit at a step, its caution read."""
    app.open_visit(visit)
    await settled(pilot)
    if key:
        await visit_of(app).go_to(key)
        await settled(pilot)
    if visit_of(app).at_desk.mode is Mode.READ_CAUTION:
        await pilot.press("enter")
        await settled(pilot)
    return visit_of(app)


def failed(book: Logbook, key: str = "makeup_closes", raw: str = "no") -> str:
    """A failed step; the finding's id."""
    visit = start(book)
    rounds.answer(book, rounds.progress(book, visit), key, raw)
    return queries.findings(book.db, open_only=True)[-1].id
