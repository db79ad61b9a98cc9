"""The terminal app: keys that work everywhere, the two looks, the way from one screen to the next. No rules here."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import App, SystemCommand
from textual.binding import Binding
from textual.message import Message
from textual.screen import Screen

from seasonlog.domain.text import visible
from seasonlog.errors import SeasonlogError
from seasonlog.services.logbook import Logbook
from seasonlog.tui.themes import NIGHT, THEMES, other

if TYPE_CHECKING:
    from seasonlog.services.live_sync import Hub, LinkState, LiveSync, News
    from seasonlog.tui.visit_asks import Drafts

FOLDING = (
    "Entries of others that are older than most are being put in order: for some seconds nothing can be saved. The "
    "banner tells how far it is; what you typed stays, press once more then."
)
Remember = Callable[[str], None]
"""Called with the name of the theme when the person changes it."""


class SeasonlogApp(App[None]):
    """One log on the screen."""

    TITLE = "seasonlog"
    CSS_PATH: ClassVar[list[str | PurePath]] = [Path(__file__).with_name("seasonlog.tcss")]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (60, "-normal"), (100, "-wide")]
    BINDINGS = [
        Binding("f1,question_mark", "help", "Help", key_display="?", tooltip="What this screen is for, and its keys"),
        Binding("slash,ctrl+f", "search", "Search", key_display="/", tooltip="Find sites, towers, findings and notes"),
        Binding("f", "findings", "Findings", tooltip="Everything that is wrong and still needs a person"),
        Binding("ctrl+r", "report", "Report", key_display="^r", show=False, tooltip="A report of what is shown"),
        Binding("ctrl+t", "sun", "Sun/night", key_display="^t", show=False, tooltip="Black on white for sunlight"),
        Binding("ctrl+p", "command_palette", "Menu", key_display="^p", show=False, priority=True, tooltip="Everything"),
        Binding("ctrl+q", "quit", "Quit", key_display="^q", show=False, priority=True, tooltip="Leave seasonlog"),
    ]  # fmt: skip

    def __init__(
        self,
        book: Logbook,
        today: date | None = None,
        *,
        theme: str = NIGHT.name,
        remember: Remember | None = None,
        hub: "Hub | None" = None,
    ) -> None:
        super().__init__()
        self.book = book
        self._day = today
        self._remember = remember
        self._hub = hub
        self._live: LiveSync | None = None
        self._fold_waits = False
        self.drafts: Drafts = {}
        """What stood in the fields of steps left before it was saved; a visit opened again finds it there."""
        self.hub_words: tuple[str, ...] = ()
        """How the log stands to the hub, the longest form first."""
        self.hub_why = ""
        """Why there is no link, or what was not taken."""
        for each in THEMES.values():
            self.register_theme(each)
        self.theme = theme if theme in THEMES else NIGHT.name

    @dataclass
    class HubSaid(Message):
        """How the log here and the hub stand, told by the thread that keeps them in step."""

        state: "LinkState"

    @dataclass
    class OthersWrote(Message):
        """Entries of others have come in, told by the same thread."""

        news: "News"

    def on_mount(self) -> None:
        """With the first screen drawn, begin to keep in step with the hub, where there is one."""
        if self._hub is not None:
            self.call_after_refresh(self._keep_in_step, self._hub)

    def _keep_in_step(self, hub: "Hub") -> None:
        from seasonlog.services.live_sync import LiveSync

        self._live = LiveSync(
            hub,
            lambda state: self.post_message(self.HubSaid(state)),
            self.book.around.clock.wall_ms,
            arrived=lambda news: self.post_message(self.OthersWrote(news)),
            may_fold=lambda: not self.is_answering,
        )
        self._live.start()

    def on_unmount(self) -> None:
        """Leave the hub alone again."""
        if self._live is not None:
            self._live.stop()

    @property
    def is_answering(self) -> bool:
        """Somebody is at more than a board: what is typed there must be saved at once."""
        from seasonlog.tui.screens.base import SeasonScreen

        return not all(isinstance(screen, SeasonScreen) and screen.is_board for screen in self.screen_stack)

    def at_a_board(self) -> None:
        """Somebody came back to a board: what waited for that may come in."""
        if self._live is not None and self._fold_waits and not self.is_answering:
            self._live.wake()

    @on(HubSaid)
    def _hub_said(self, event: HubSaid) -> None:
        from seasonlog.services.sync import LATER
        from seasonlog.tui.screens.base import SeasonScreen

        self.hub_words = event.state.forms(self.book.around.clock.offset_minutes())
        self.hub_why = visible(event.state.why)
        self._fold_waits = LATER in event.state.why
        self.book.busy = "" if event.state.folding_percent is None else FOLDING
        for screen in self.screen_stack:
            if isinstance(screen, SeasonScreen):
                screen.look_at_devices()

    @on(OthersWrote)
    def _others_wrote(self, event: OthersWrote) -> None:
        """The board that is shown reads again; those behind it do so when somebody comes back to them."""
        from seasonlog.tui.screens.base import SeasonScreen

        for screen in self.screen_stack:
            if isinstance(screen, SeasonScreen):
                screen.others_wrote(tuple(map(visible, event.news.forms())))

    @property
    def today(self) -> date:
        """The day the screens are about."""
        return self._day or self.book.today()

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our colour names, so that the style sheet can be read before a theme is set."""
        return NIGHT.variables

    def get_default_screen(self) -> Screen[None]:
        """The board of today."""
        from seasonlog.tui.screens.today import TodayScreen

        return TodayScreen()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """The menu."""
        from seasonlog.tui.commands import menu_of
        from seasonlog.tui.screens.base import SeasonScreen

        yield from menu_of(self, screen)
        if isinstance(screen, SeasonScreen):
            yield from screen.commands()

    @contextmanager
    def reading(self) -> Iterator[Logbook]:
        """A view of the log for a worker's thread: a connection of its own, closed at the end."""
        with Logbook.open(self.book.places, self.book.around, self.book.who, writing=False) as book:
            yield book

    def read_ahead(self) -> None:
        """Read the other screens' styles while nobody waits, so that the first of them opens sooner."""
        from seasonlog.tui.screens.base import STYLES, VISIT_STYLES

        if not self.stylesheet.has_source(str(STYLES), ""):  # else somebody was quicker, and waits
            self.stylesheet.read_all([STYLES, VISIT_STYLES])
            self.stylesheet.reparse()
            self.stylesheet.update(self)

    def on_app_focus(self) -> None:
        """In a browser the app begins as if behind other windows: in front, keys go where the screen wants them."""
        screen = self.screen
        if screen.focused is None and screen.AUTO_FOCUS:
            screen.set_focus(next((w for w in screen.query(screen.AUTO_FOCUS) if w.focusable), None))

    def action_help(self) -> None:
        """Explain the screen."""
        from seasonlog.tui.screens.help import HelpSheet

        self.push_screen(HelpSheet(self.screen))

    def action_search(self) -> None:
        """Find something."""
        from seasonlog.tui.screens.search import SearchScreen

        if isinstance(self.screen, SearchScreen):
            self.screen.begin_again()
        else:
            self.push_screen(SearchScreen())

    def action_findings(self) -> None:
        """All findings."""
        from seasonlog.tui.screens.findings import FindingsScreen

        self.push_screen(FindingsScreen())

    def action_report(self) -> None:
        """Write a report of what is on the screen."""
        from seasonlog.tui.reporting import offer

        offer(self, self.screen)

    def action_sun(self) -> None:
        """The other look."""
        self.theme = other(self.theme)
        if self._remember is not None:
            self._remember(self.theme)

    def open_row(self, key: str) -> None:
        """What a list row stands for: `tower:HOS-1` opens the tower."""
        what, _, ident = key.partition(":")
        opener = {
            "site": self.open_site,
            "tower": self.open_tower,
            "visit": self.open_visit,
            "finding": self.open_finding,
        }
        opener[what](ident)

    def open_tower(self, tower: str) -> None:
        """A tower's page."""
        from seasonlog.tui.screens.tower import TowerScreen

        self.push_screen(TowerScreen(tower))

    def open_site(self, site: str) -> None:
        """A site's towers."""
        from seasonlog.tui.screens.site import SiteScreen

        self.push_screen(SiteScreen(site))

    def open_visit(self, visit: str) -> None:
        """A visit, to go on with."""
        from seasonlog.services import rounds
        from seasonlog.tui.screens.visit import VisitScreen

        try:
            at = rounds.progress(self.book, visit)
        except SeasonlogError as error:
            self.tell(str(error))
            return
        self.push_screen(VisitScreen(at))

    def open_finding(self, finding: str) -> None:
        """One finding in full."""
        from seasonlog.services import findings
        from seasonlog.tui.screens.finding import FindingScreen

        try:
            self.push_screen(FindingScreen(findings.named(self.book, finding).id))
        except SeasonlogError as error:
            self.tell(str(error))

    def tell(self, sentence: str) -> None:
        """A sentence in the corner, long enough to be read."""
        self.notify(visible(sentence), severity="error", markup=False, timeout=12)


def run_app(book: Logbook, today: date | None = None) -> None:
    """Show the app until it is left; the look chosen is kept in the settings beside the log.

    Args:
        book: The log, opened for writing.
        today: The day the boards are about; the machine's own when None.
    """
    from seasonlog.services import settings

    theme = settings.kept(book.places).get(settings.THEME, NIGHT.name)
    remember = partial(settings.keep, book.places, settings.THEME)
    SeasonlogApp(book, today, theme=theme, remember=remember, hub=_hub_of(book)).run()


def _hub_of(book: Logbook) -> "Hub | None":
    """The log's hub; what keeps in step is loaded only where an invitation is kept."""
    if not any(book.places.hub.glob("*.hub")):
        return None
    from seasonlog.services.live_sync import hub_of

    return hub_of(book)
