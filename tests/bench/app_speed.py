"""The screen with ten thousand towers: shown, and answering a key."""

import asyncio
import math
import statistics
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from textual.app import App
from textual.events import Key

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register_items import to_item
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, sample_register

TOWERS = 10_000


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    with a_book(folder) as book:
        crowd(book)
        busy, shown, keys = asyncio.run(timed(book))
    yield f"screen with {TOWERS} towers shown", 1000 * shown, 150, "ms"
    yield "the same while the first screen still reads (no promise)", 1000 * busy, math.inf, "ms"
    yield "a key on it (median)", 1000 * statistics.median(keys), 20, "ms"


def crowd(book: Logbook) -> None:
    """Ten thousand towers on the hospital's site."""
    tower = sample_register().towers["HOS-1"]
    many = (replace(tower, id=f"T-{n:05d}", name=f"Tower number {n}") for n in range(TOWERS))
    book.write(*(Record(Kind.REGISTER_RECORDED, {"what": "tower", "id": t.id, "item": to_item(t)}) for t in many))


async def timed(book: Logbook) -> tuple[float, float, list[float]]:
    """Seconds until the first towers stand there (at once after the start; later), and of every key."""
    from seasonlog.tui.app import SeasonlogApp

    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24), notifications=False, tooltips=False) as pilot:
        await asyncio.sleep(0)
        busy = await until_shown(app)
        app.pop_screen()
        await until_idle(app)
        await pilot.pause()
        shown = await until_shown(app)
        await until_idle(app)
        keys = [await until_drawn(app, key) for key in ["down"] * 30 + ["pagedown"] * 10]
    return busy, shown, keys


async def until_idle(app: App[None]) -> None:
    """Nothing is read in the background any more."""
    while any(not worker.is_finished for worker in app.workers):
        await asyncio.sleep(0.02)


async def until_shown(app: App[None]) -> float:
    """From the site opened to the drawing in which its first tower stands, s."""
    from seasonlog.tui.screens.site import SiteScreen
    from seasonlog.tui.widgets.row_list import RowList

    site, drawn = SiteScreen("HOS"), asyncio.Event()
    display = app._display

    def noticed(*args: Any, **more: Any) -> None:
        display(*args, **more)
        towers = next(iter(site.query("#towers").results(RowList)), None) if app.screen is site else None
        if towers is not None and towers.size.height and "T-00000" in "".join(s.text for s in towers.render_lines(
            towers.size.region
        )):  # fmt: skip
            drawn.set()

    app._display = noticed  # type: ignore[method-assign]
    start = time.perf_counter()
    app.push_screen(site)
    await asyncio.wait_for(drawn.wait(), 5)
    took = time.perf_counter() - start
    app._display = display  # type: ignore[method-assign]
    return took


async def until_drawn(app: App[None], key: str) -> float:
    """From the key posted to the next drawing of the screen, s."""
    drawn = asyncio.Event()
    display = app._display

    def noticed(*args: Any, **more: Any) -> None:
        display(*args, **more)
        drawn.set()

    await asyncio.sleep(0.05)  # let the last key's work end
    app._display = noticed  # type: ignore[method-assign]
    start = time.perf_counter()
    app.post_message(Key(key, None))
    await asyncio.wait_for(drawn.wait(), 5)
    took = time.perf_counter() - start
    app._display = display  # type: ignore[method-assign]
    return took
