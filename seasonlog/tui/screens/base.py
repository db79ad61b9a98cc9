"""What every screen has: banner, body, key bar, help, a way back, and sentences instead of tracebacks."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, ClassVar, TypeVar, cast

from textual import on
from textual.app import ComposeResult, SystemCommand
from textual.binding import Binding
from textual.content import Content
from textual.events import ScreenResume
from textual.message import Message
from textual.screen import Screen

from seasonlog.errors import SeasonlogError
from seasonlog.journal.database import plain_errors
from seasonlog.services.logbook import Logbook
from seasonlog.tui.widgets.banner import Banner
from seasonlog.tui.widgets.devices_line import DevicesLine
from seasonlog.tui.widgets.key_bar import KeyBar
from seasonlog.tui.widgets.row_list import RowList

if TYPE_CHECKING:
    from datetime import date

    from textual.timer import Timer

    from seasonlog.tui.app import SeasonlogApp


Found = TypeVar("Found")
STYLES = Path(__file__).parent.parent / "screens.tcss"
"""Layout and colour of all screens but the first."""
STEADY_S = 5.0
"""So long after others have written a board's questions count as asked by itself."""
NEWS_S = 60.0
"""So long a screen that does not read again by itself says that others have written."""
VISIT_STYLES = STYLES.with_name("visit.tcss")
"""Of the visit and the fault finder, on top of the others."""


class SeasonScreen(Screen[None]):
    """A full screen."""

    @dataclass
    class Learnt(Message):
        """A worker's thread has an answer to be shown; one that comes after the screen was left is dropped."""

        show: Callable[[], object]
        is_steady: bool = False
        """It came by itself: nothing may move under the finger."""

    CSS_PATH: ClassVar[str | PurePath | list[str | PurePath] | None] = STYLES
    BINDINGS = [Binding("escape", "back", "Back", tooltip="Go back to where you came from")]
    HELP: ClassVar[str] = ""
    """What the screen is for, in plain words."""
    CAN_GO_BACK: ClassVar[bool] = True
    SHOWS_DEVICES: ClassVar[bool] = False
    """A board: it tells how old what other devices wrote is."""
    AUTO_FOCUS: ClassVar[str | None] = ""
    keys_told: tuple[str, ...] = ()
    """The actions the key bar tells just now; none: those the bindings say."""
    _is_steady = False
    """What is asked now is asked by itself, since others have written."""
    _news: tuple[str, ...] = ()
    """Who has written what this screen does not show yet, the longest form first."""
    _news_timer: "Timer | None" = None

    def compose(self) -> ComposeResult:
        """Banner, body, keys."""
        yield Banner(self.headings(), can_go_back=self.CAN_GO_BACK, is_demonstration=self.book.journal.is_demonstration)
        if self.SHOWS_DEVICES:
            yield DevicesLine()
        yield from self.body()
        yield KeyBar()

    @on(ScreenResume)
    def _resumed(self) -> None:
        self._is_steady = False
        self.look_at_devices()
        self.seasonlog.at_a_board()

    def tell_keys(self, actions: tuple[str, ...]) -> None:
        """Have the key bar tell these actions; none: those the bindings say."""
        self.keys_told = actions
        self.refresh_bindings()

    def look_at_devices(self) -> None:
        """Show how the log stands to the hub and to other devices, as far as this screen tells it."""
        for banner in self.query(Banner):
            banner.status = self._news or self.seasonlog.hub_words
            words = next(iter(self._news), "") or self.seasonlog.hub_why
            banner.tooltip = Content(words) if words else None  # a text would be read as markup
        for line in self.query(DevicesLine):
            line.look(self.book)

    def others_wrote(self, news: tuple[str, ...]) -> None:
        """Entries of others came in: a board that is shown reads again, any other screen says from whom they are.

        Args:
            news: From whom, the longest form first.
        """
        if not self.is_board:
            self._news = news
            if self._news_timer is not None:
                self._news_timer.stop()
            self._news_timer = self.set_timer(NEWS_S, self.seen_news)
        elif self.app.screen is self:
            self._is_steady = True
            self.read_again()
            self.set_timer(STEADY_S, self._all_is_asked)
        self.look_at_devices()

    def _all_is_asked(self) -> None:
        """What is asked from here on, a person asks."""
        self._is_steady = False

    def seen_news(self) -> None:
        """What came in is part of what the screen shows now."""
        if self._news:
            self._news = ()
            self.look_at_devices()

    @property
    def is_board(self) -> bool:
        """Whether the screen reads the log again by itself."""
        return type(self).read_again is not SeasonScreen.read_again

    def read_again(self) -> None:
        """Show the log as it is now. A screen with an answer half given does not: it only says that something came."""

    def headings(self) -> tuple[Content, ...]:
        """What stands in the banner, the longest form first; the first that fits is shown."""
        return (Content(""),)

    def body(self) -> ComposeResult:
        """The widgets between banner and keys."""
        yield from ()

    @property
    def seasonlog(self) -> "SeasonlogApp":
        """The app, by its own type."""
        return cast("SeasonlogApp", self.app)

    @property
    def book(self) -> Logbook:
        """The log."""
        return self.seasonlog.book

    @property
    def today(self) -> "date":
        """The day the screens are about."""
        return self.seasonlog.today

    def commands(self) -> Iterable[SystemCommand]:
        """Further entries of the menu, beside those of the keys."""
        return ()

    def action_back(self) -> None:
        """Leave the screen; behind the first one there is nothing."""
        if len(self.app.screen_stack) > 1:
            self.app.pop_screen()

    def ask(self, question: Callable[[Logbook], Found], show: Callable[[Found], object]) -> None:
        """For a worker's thread: put a question to the log, and have the answer shown by the screen.

        Args:
            question: Asked on a connection of this thread's own.
            show: Called with the answer, where widgets may be touched.
        """
        is_steady = self._is_steady
        try:
            with plain_errors(self.book.journal.path), self.seasonlog.reading() as book:
                found = question(book)
        except SeasonlogError as error:
            sentence = str(error)
            self.post_message(self.Learnt(lambda: self.tell(sentence)))
            return
        self.post_message(self.Learnt(lambda: show(found), is_steady))

    @on(Learnt)
    def _learnt(self, event: Learnt) -> None:
        event.stop()
        if event.is_steady:
            with self.steady():
                event.show()
        else:
            event.show()

    @contextmanager
    def steady(self) -> Iterator[None]:
        """What lists show inside this keeps the picked row, and its place on the screen."""
        lists = list(self.query(RowList))
        for each in lists:
            each.hold()
        try:
            yield
        finally:
            for each in lists:
                each.let_go()

    def when_done(self, go_on: Callable[..., object], *given: object) -> Callable[[object], None]:
        """For the end of a sheet: go on when it was saved or answered, not when it was left."""

        def ended(result: object) -> None:
            if result:
                self.call_later(go_on, *given)

        return ended

    @contextmanager
    def sentences(self) -> Iterator[None]:
        """Show what goes wrong as a sentence; what was typed stays where it is."""
        try:
            with plain_errors(self.book.journal.path):
                yield
        except SeasonlogError as error:
            self.tell(str(error))

    def tell(self, sentence: str) -> None:
        """A sentence in the corner, until it is read."""
        self.seasonlog.tell(sentence)
