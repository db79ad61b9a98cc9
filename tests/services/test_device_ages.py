"""How old what other devices wrote is stands on every board; silence is neither done nor not done."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from seasonlog.services.device_ages import SILENCE, age_words, ages_line, device_ages
from seasonlog.services.logbook import Logbook
from seasonlog.services.register import preview, write
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.widgets.devices_line import DevicesLine
from tests.builders import TODAY, FixedClock, a_book, sample_register
from tests.cli.runner import seasonlog
from tests.journal.laptops import START, Laptop, enrolled

MINUTE, DAY = 60_000, 86_400_000


@pytest.fixture(scope="module")
def north(tmp_path_factory: pytest.TempPathFactory) -> Laptop:
    """The office's log, which last heard of the south laptop three days ago."""
    north, south = enrolled(tmp_path_factory.mktemp("two"))
    with north.book() as book:
        write(book, preview(type(sample_register()).of(()), list(sample_register().records())))
    south.take(north.export())
    south.note("seen from the roof")
    north.take(south.export())
    assert isinstance(north.around.clock, FixedClock)
    north.around.clock.now = START + timedelta(days=3, hours=1)
    return north


@pytest.fixture
def book(north: Laptop) -> Iterator[Logbook]:
    with north.book() as book:
        yield book


def test_the_newest_entry_of_each_device_and_its_age(book: Logbook) -> None:
    own, south = device_ages(book)  # the longest silent first
    assert (south.name, south.words, south.is_own) == ("the south laptop", "3 days ago", False)
    assert (own.is_own, own.words) == (True, "3 days ago")
    assert ages_line((own, south)) == "the south laptop: 3 days ago"


def test_a_log_of_one_device_says_nothing(tmp_path: Path) -> None:
    with a_book(tmp_path) as alone:
        assert device_ages(alone) == ()


@pytest.mark.parametrize(
    ("ago", "words"),
    [
        (0, "just now"), (59_999, "just now"), (MINUTE, "1 minute ago"), (60 * MINUTE - 1, "59 minutes ago"),
        (60 * MINUTE, "1 hour ago"), (DAY - 1, "23 hours ago"), (DAY, "1 day ago"), (400 * DAY, "400 days ago"),
        (-5 * MINUTE, "just now"), (-3 * DAY, "3 days ahead: a clock is wrong"),
    ],
)  # fmt: skip
def test_ages_in_words(ago: int, words: str) -> None:
    assert age_words(2_000_000_000_000 - ago, 2_000_000_000_000) == words


def test_a_device_of_which_nothing_came_yet() -> None:
    assert age_words(0, 2_000_000_000_000) == "nothing received yet"


@pytest.mark.parametrize(
    "board", [("today",), ("due",), ("coverage",), ("coverage", "--seasons", "2"), ("exposure",), ("findings",)]
)
def test_every_board_of_the_command_line_tells_it(north: Laptop, board: tuple[str, ...]) -> None:
    """In words below the board; for a script on stderr, so that its document keeps its form."""
    ran = seasonlog(*board, "--log", north.at.log, "--today", "2026-10-03")
    assert ran.code == 0, ran.err
    line = next(line for line in ran.out.splitlines() if line.startswith("NEWEST RECEIVED"))
    assert "the south laptop: " in line
    assert line.endswith(SILENCE)
    scripted = seasonlog(*board, "--json", "--log", north.at.log, "--today", "2026-10-03")
    assert scripted.json is not None
    assert "the south laptop: " in scripted.err


@pytest.mark.parametrize("key", ["", "e", "p", "w", "f"])
async def test_every_board_of_the_app_tells_it(book: Logbook, key: str) -> None:
    app = SeasonlogApp(book, TODAY)
    async with app.run_test(size=(80, 24)) as pilot:
        if key:
            await pilot.press(key)
        await app.workers.wait_for_complete()
        await pilot.pause()
        line = app.screen.query_one(DevicesLine)
        assert line.display
        assert "the south laptop: 3 days ago" in str(line.content)
