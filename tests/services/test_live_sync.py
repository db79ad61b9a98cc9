"""The loop that keeps in step with a hub: when it exchanges, how long it waits, what it shows. With a hub made up."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.hub.link import HubError
from seasonlog.services import live_sync, notes
from seasonlog.services.live_sync import LinkState, LiveSync
from seasonlog.services.sync import Folding, Synced
from seasonlog.tui.app import SeasonlogApp
from seasonlog.tui.widgets.banner import Banner
from tests.builders import TODAY, FixedClock, a_book
from tests.tui.conftest import drawn, settled

NOTHING = Synced(0, 0, 0, 0, {}, ())


class MadeUpHub:
    """Plays a script: of each try whether there is a link, of each second of a link what happens in it.

    A letter is a second: `.` nothing, `n` news from another device, `s` something is saved here, `x` the link breaks.
    A try written as an empty text finds no link. After the last try the loop is stopped.
    """

    def __init__(self, *tries: str) -> None:
        self.tries = list(tries)
        self.seconds = ""
        self.here = self.there = 10
        self.exchanged: list[int] = []
        """After how many seconds of its link each exchange came."""
        self.at = 0
        self.slept: list[float] = []
        self.states: list[LinkState] = []
        self.loop = LiveSync(self, self.states.append, FixedClock().wall_ms, self.pause)

    @contextmanager
    def opened(self) -> Iterator["MadeUpHub"]:
        self.seconds, self.at = (self.tries.pop(0) if self.tries else ""), 0
        if not self.tries:
            self.loop._stop.set()
        if not self.seconds:
            raise HubError("the hub does not answer; everything is kept here")
        yield self

    def exchange(self, folding: Folding) -> Synced:
        self.exchanged.append(self.at)
        self.there = self.here
        return NOTHING

    def news(self, timeout_s: float) -> bool:
        assert timeout_s == live_sync.TICK_S
        if self.at == len(self.seconds):
            raise HubError("the link broke")
        what = self.seconds[self.at]
        self.at += 1
        if what == "x":
            raise HubError("the link broke")
        self.here += what == "s"
        return what == "n"

    def saved(self) -> int:
        return self.here

    def to_send(self) -> int:
        return self.here - self.there

    def pause(self, seconds: float) -> bool:
        self.slept.append(seconds)
        return False


def played(*tries: str) -> MadeUpHub:
    hub = MadeUpHub(*tries, "", "")
    hub.loop.run()
    return hub


def test_it_exchanges_at_once_and_when_another_device_pushes() -> None:
    assert played("....n..").exchanged == [0, 5]


def test_what_is_saved_goes_some_quiet_seconds_later_all_at_once() -> None:
    assert played(".s.s.s.....").exchanged == [0, 9]


def test_a_silent_link_is_asked_now_and_then() -> None:
    assert played("." * 700).exchanged == [0, 300, 600]


def test_it_waits_twice_as_long_each_time_up_to_five_minutes() -> None:
    hub = MadeUpHub(*[""] * 12)
    hub.loop.run()
    waits, total = [], 0.0
    for number in range(11):
        waits.append(min(2.0**number, 300.0))
        total += waits[-1]
    assert waits[-2:] == [300.0, 300.0]
    assert sum(hub.slept) == total


def test_after_a_link_the_waits_begin_anew() -> None:
    hub = MadeUpHub("", "", "", "..x", "", "")
    hub.loop.run()
    assert sum(hub.slept) == (1 + 2 + 4) + (1 + 2)


def test_what_it_shows() -> None:
    hub = MadeUpHub("s...x", "", "")
    hub.loop.run()
    first, linked, *later = hub.states
    assert (first.linked, linked.linked) == (None, True)
    assert [s.linked for s in later][:2] == [True, False]
    broke = next(s for s in later if s.linked is False)
    assert broke.why == "the link broke"
    assert {s.at_ms for s in later if s.linked is False} == {broke.at_ms}  # since when, however often it was tried


AT = int(datetime(2026, 9, 15, 19, 40, tzinfo=UTC).timestamp() * 1000)


@pytest.mark.parametrize(
    ("state", "forms"),
    [
        (LinkState(None, 0), ["hub: looking", "hub"]),
        (LinkState(True, AT), ["hub: in step 14:40", "hub: 14:40", "hub ✓"]),
        (LinkState(False, AT, 14, "x"), ["hub: 14 to send, no link since 14:40", "hub: 14 to send", "hub 14↑"]),
        (LinkState(False, AT, 0, "x"), ["hub: nothing to send, no link since 14:40", "hub: nothing to send", "hub 0↑"]),
        (
            LinkState(True, AT, 0, "", 34),
            ["hub: putting older entries in order, 34 %", "hub: sorting, 34 %", "hub 34 %"],
        ),
        (LinkState(True, AT, 0, "x"), ["hub: not all taken 14:40", "hub: not all taken", "hub !"]),
    ],
)
def test_in_words(state: LinkState, forms: list[str]) -> None:
    assert list(state.forms(-300)) == forms


def test_a_log_without_an_invitation_has_no_hub(tmp_path: Path) -> None:
    with a_book(tmp_path, sites=False) as book:
        assert live_sync.hub_of(book) is None
        book.places.hub.mkdir(parents=True, exist_ok=True)
        (book.places.hub / f"{book.journal.log_id}.hub").write_text("broken")
        assert live_sync.hub_of(book) is None


class QuietHub(MadeUpHub):
    """Never answers, and lets the loop really sleep."""

    def __init__(self) -> None:
        super().__init__()

    @contextmanager
    def opened(self) -> Iterator["MadeUpHub"]:
        raise HubError("the hub does not answer; everything is kept here")
        yield self

    def to_send(self) -> int:
        return 14


@pytest.mark.parametrize(
    ("size", "words"),
    [((40, 30), "hub 14↑"), ((80, 24), "hub: 14 to send"), ((120, 40), "hub: 14 to send, no link since")],
)
async def test_the_state_stands_in_the_banner_and_no_key_waits_for_it(
    tmp_path: Path, size: tuple[int, int], words: str
) -> None:
    with a_book(tmp_path) as book:
        app = SeasonlogApp(book, TODAY, hub=QuietHub())
        async with app.run_test(size=size) as pilot:
            for _ in range(100):
                await settled(pilot)
                if "14" in drawn(app)[0]:
                    break
            assert words in drawn(app)[0]
            assert app.screen.query_one(Banner).tooltip == "the hub does not answer; everything is kept here"
            await pilot.press("f")
            await settled(pilot)
            assert words in drawn(app)[0]
            assert len(app.screen_stack) == 2


def test_what_had_to_wait_is_fetched_when_the_loop_is_woken() -> None:
    """Woken in its second second, not after the five minutes that a silent link would take."""
    hub = MadeUpHub("." * 20, "", "")
    silent = hub.news

    def news(timeout_s: float) -> bool:
        if hub.at == 1:
            hub.loop.wake()
        return silent(timeout_s)

    hub.news = news  # type: ignore[method-assign]
    hub.loop.run()
    assert hub.exchanged == [0, 2]


class SortingHub(MadeUpHub):
    """Puts a log in order while somebody types, until it is let go on."""

    def __init__(self) -> None:
        super().__init__()
        self.go_on = threading.Event()
        self.asked: list[bool] = []

    @contextmanager
    def opened(self) -> Iterator["MadeUpHub"]:
        yield self

    def exchange(self, folding: Folding) -> Synced:
        self.asked.append(folding.may_begin())
        for done in (0, 3400):
            folding.progress(done, 10_000)
        self.go_on.wait(30)
        return NOTHING

    def news(self, timeout_s: float) -> bool:
        raise HubError("over")


class SlowLink(SortingHub):
    """The log is in order, and what was written here goes over a slow link."""

    def exchange(self, folding: Folding) -> Synced:
        folding.progress(0, 10_000)
        folding.ended()
        return super(SortingHub, self).exchange(folding)


def test_saving_goes_on_once_the_log_is_in_order_however_slow_the_link_is() -> None:
    """A link may be silent for minutes before it is called cut; nothing stands in the way of a save meanwhile."""
    told: list[LinkState] = []

    def pause(seconds: float) -> bool:
        loop._stop.set()
        return True

    loop = LiveSync(SlowLink(), told.append, FixedClock().wall_ms, pause)
    loop.run()
    assert [state.folding_percent for state in told][:3] == [None, 0, None]
    assert told[2].linked is None, "the exchange is not over"


async def test_while_a_log_is_put_in_order_the_banner_tells_and_a_save_is_refused_at_once_with_words(
    tmp_path: Path,
) -> None:
    """Nothing waits for the lock: the key comes back at once, what was typed stays, and is saved a moment later."""
    with a_book(tmp_path) as book:
        hub = SortingHub()
        app = SeasonlogApp(book, TODAY, hub=hub)
        async with app.run_test(size=(120, 40)) as pilot:
            for _ in range(100):
                await settled(pilot)
                if "34 %" in drawn(app)[0]:
                    break
            assert "hub: putting older entries in order, 34 %" in drawn(app)[0]
            assert hub.asked == [True]
            app.open_tower("HOS-1")
            await settled(pilot)
            await pilot.press("n")
            await settled(pilot)
            await pilot.press(*"ice", "enter")
            await settled(pilot)
            assert "for some seconds nothing can be saved" in " ".join(map(str.strip, drawn(app)))
            assert notes.of_tower(book, "HOS-1") == []
            assert app.is_answering
            hub.go_on.set()
            for _ in range(100):
                await settled(pilot)
                if not book.busy:
                    break
            await pilot.press("enter")
            await settled(pilot)
            assert any("ice" in note for note in notes.of_tower(book, "HOS-1"))
            assert not app.is_answering
