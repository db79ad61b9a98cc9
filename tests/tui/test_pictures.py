"""Pictures of the screens at the sizes they are used at. Look at them before you refresh them:

    pytest tests/tui/test_pictures.py --snapshot-update

Clock, ids, register and checklist are the tests' own, so that nothing but the screens changes a picture.
"""

import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot

from seasonlog.journal import queries
from seasonlog.services import findings, rounds
from seasonlog.services.logbook import Logbook
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.screens.sign_off import SignOffScreen
from seasonlog.tui.screens.visit import VisitScreen
from tests.builders import TODAY
from tests.tui.conftest import SIZES, settled, start, yard_book

Show = Callable[[SeasonlogApp, Pilot[Any]], Awaitable[None]]


def history(book: Logbook) -> None:
    """One visit in the middle, with a leaking valve found."""
    at = rounds.progress(book, start(book, clamp="CL-1"))
    for key, raw in (("weather", "good"), ("no_entry", "yes"), ("plan", "WT-7"), ("makeup_closes", "no")):
        at = rounds.answer(book, at, key, raw)
    rounds.answer(book, at, "supply_volts", ("480", "481", "479"))
    found = queries.findings(book.db, open_only=True)[0]
    findings.take_measure(book, found.id, "make-up shut by hand", "lodge", "at once")
    findings.assign(book, found.id, "Halden Pruskett", TODAY)
    rounds.add_note(book, "YD-1", "Ladder loose at the third rung [A] 12")


async def today(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    """The first screen."""


async def site(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.open_site("YARD")


async def tower(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.open_tower("YD-1")
    await settled(pilot)
    await pilot.press("5" if app.size.width >= 100 else "1")


async def heat(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.open_tower("YD-1")
    await settled(pilot)
    await pilot.press("4")


async def visit_at(app: SeasonlogApp, pilot: Pilot[Any], key: str) -> VisitScreen:
    app.open_visit(queries.open_visits(app.book.db)[0].id)
    await settled(pilot)
    assert isinstance(app.screen, VisitScreen)
    await app.screen.go_to(key)
    await settled(pilot)
    return app.screen


async def caution(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    await visit_at(app, pilot, "line_amps")


async def amps(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    await visit_at(app, pilot, "line_amps")
    await pilot.press("enter", *"21.5", "enter", *"20", "enter", *"18.7")


async def failed(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    await amps(app, pilot)
    await pilot.press("enter")


async def choice(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    screen = await visit_at(app, pilot, "weather")
    await pilot.press("f6", "enter")
    await settled(pilot)
    assert screen.at_desk.key == "weather"


async def all_findings(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.action_findings()


async def finding(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.open_finding(queries.findings(app.book.db, open_only=True)[0].id)


async def search(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.action_search()
    await settled(pilot)
    await pilot.press(*"yd")


async def sign_off(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    app.push_screen(SignOffScreen(await visit_at(app, pilot, "weather")))


async def instruments(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    await visit_at(app, pilot, "weather")
    await pilot.press("f8")


async def help_sheet(app: SeasonlogApp, pilot: Pilot[Any]) -> None:
    await visit_at(app, pilot, "weather")
    await pilot.press("f1")


PICTURES: list[tuple[Show, str, str]] = [
    (today, "laptop", "night"), (today, "wide", "night"), (today, "narrow", "night"), (today, "laptop", "sun"),
    (site, "laptop", "night"), (site, "wide", "night"), (site, "narrow", "night"),
    (tower, "laptop", "night"), (tower, "wide", "night"), (tower, "narrow", "night"),
    (heat, "laptop", "night"), (heat, "narrow", "sun"),
    (caution, "narrow", "night"),
    (amps, "laptop", "night"), (amps, "wide", "sun"), (amps, "narrow", "night"),
    (failed, "laptop", "night"), (failed, "narrow", "sun"),
    (choice, "narrow", "night"),
    (all_findings, "narrow", "night"), (finding, "laptop", "night"),
    (search, "narrow", "night"),
    (sign_off, "laptop", "night"), (sign_off, "narrow", "night"),
    (instruments, "narrow", "night"), (help_sheet, "laptop", "night"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("show", "size", "theme"), PICTURES, ids=[f"{show.__name__}-{size}-{theme}" for show, size, theme in PICTURES]
)
async def test_picture(show: Show, size: str, theme: str, tmp_path: Path, svg: SnapshotAssertion) -> None:
    with yard_book(tmp_path) as book:
        history(book)
        app = SeasonlogApp(book, TODAY, theme=theme)
        async with app.run_test(size=SIZES[size], notifications=False, tooltips=False) as pilot:
            await settled(pilot)
            await show(app, pilot)
            picture = await at_rest(app, pilot)
    assert picture.encode() == svg


async def at_rest(app: SeasonlogApp, pilot: Pilot[Any]) -> str:
    """The picture once it no longer changes: on a busy machine a worker may begin late."""
    before = now = ""
    for _ in range(10):
        await settled(pilot)
        before, now = now, without_addresses(app.export_screenshot(title="seasonlog"))
        if now == before:
            break
    return now


def without_addresses(picture: str) -> str:
    """The picture without the web fonts and the advertisement that the library writes into it."""
    return re.sub(r"@font-face \{.*?\}\s*|<!-- .*? -->\s*", "", picture, flags=re.DOTALL)
