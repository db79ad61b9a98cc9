"""The season at a glance: every site as a strip of weeks, and behind each site one strip for each of its towers."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from seasonlog.journal import queries
from seasonlog.tui import season_page
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import say

if TYPE_CHECKING:
    from seasonlog.services.season_strip import SiteStrip, SiteTowers

SIGNS_HELP = (
    "Each strip runs over the 52 weeks of the site's season, August to July north of the equator and February to "
    "January south of it; ▼ stands over this week. A window runs from its letter to its last sensible week: F fall "
    "enable, M mid-winter, S spring disable, C cold-snap check, + put in by a person. In it stand ✓ done, ◆ given to a "
    "person by the published plan, ● due now, ○ to come, ! overdue in the week it was due, – dropped; of several in "
    "one week the most pressing shows.\n\n"
    "The shades ░▒▓█ tell how likely it is, by the site's climate record, that a week lies between the first and the "
    "last freeze of its winter. They tell of past winters at a station, not of this one: a week without a shade is no "
    "promise. Where no record is there, * marks the usual dates as typed, and no chance is told."
)


class StripsScreen(SeasonScreen):
    """A list of strips, and what their signs mean."""

    BINDINGS = [
        Binding("o", "site", "Site", tooltip="Open the site: towers, facts, handover"),
        Binding("r", "reload", "Refresh", tooltip="Read the log again: another program may have written"),
    ]
    AUTO_FOCUS = "RowList"
    HELP = SIGNS_HELP

    def body(self) -> ComposeResult:
        """Strips above, signs below."""
        yield RowList(id="weeks")
        yield Static(id="signs", markup=False)

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one(RowList).show([Row("", Content("reading the log …"))])

    def on_screen_resume(self) -> None:
        """Something may have been done on another screen."""
        self.action_reload()

    def on_resize(self) -> None:
        """A narrow screen has two weeks in a cell."""
        self.draw()

    def action_reload(self) -> None:
        """Read the log again."""
        self.call_after_refresh(self._load)

    def read_again(self) -> None:
        """Others have written."""
        self.action_reload()

    @work(thread=True, exclusive=True, group="weeks")
    def _load(self) -> None:
        self.look()

    def look(self) -> None:
        """Ask the log; runs on a worker's thread."""

    def draw(self) -> None:
        """Show what is known, as wide as there is room."""
        width = self.app.size.width
        self.query_one("#signs", Static).update(season_page.legend(width))
        self.draw_strips(season_page.Scale.for_width(width))

    def draw_strips(self, scale: season_page.Scale) -> None:
        """Show the strips."""


class WeeksScreen(StripsScreen):
    """All sites."""

    SHOWS_DEVICES = True
    HELP = (
        "The season of every site at a glance; the one with most overdue stands first. A tap or Enter shows its towers."
        f"\n\n{SIGNS_HELP}"
    )

    def __init__(self) -> None:
        super().__init__()
        self._found: Sequence[SiteStrip] | None = None

    def headings(self) -> tuple[Content, ...]:
        """What this is."""
        title = Content.styled("Season at a glance", "bold")
        return title + say("   every site, week by week", "$soft"), title

    def look(self) -> None:
        """All sites."""
        from seasonlog.services.season_strip import site_strips

        self.ask(lambda book: site_strips(book, self.today), self._show)

    def _show(self, found: "Sequence[SiteStrip]") -> None:
        self._found = found
        self.draw()

    def draw_strips(self, scale: season_page.Scale) -> None:
        """One row a site."""
        found = self._found
        if found:
            self.query_one(RowList).show_many(len(found), lambda at: season_page.site(found[at], scale), scale.lines)
        elif found is not None:
            self.query_one(RowList).show([season_page.NO_SITES])

    def action_site(self) -> None:
        """The site under the cursor."""
        picked = self.query_one(RowList).picked
        if picked is not None and picked.can_open:
            self.seasonlog.open_site(picked.key.partition(":")[2])

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        self.app.push_screen(SiteWeeksScreen(event.key.partition(":")[2]))


class SiteWeeksScreen(StripsScreen):
    """The towers of one site."""

    HELP = f"The season of each tower of one site. A tap or Enter opens the tower.\n\n{SIGNS_HELP}"

    def __init__(self, site: str) -> None:
        super().__init__()
        self.site = site
        self._found: SiteTowers | None = None

    def headings(self) -> tuple[Content, ...]:
        """The site's name."""
        item = queries.item(self.book.db, "site", self.site)
        name = say(item.fields["name"] if item else self.site, "bold")
        return name + say("   its towers, week by week", "$soft"), name

    def body(self) -> ComposeResult:
        """Months and frost stay above the towers."""
        yield Static(id="ruler", markup=False)
        yield from super().body()

    def look(self) -> None:
        """The towers of the site."""
        from seasonlog.services.season_strip import tower_strips

        self.ask(lambda book: tower_strips(book, self.site, self.today), self._show)

    def _show(self, found: "SiteTowers") -> None:
        self._found = found
        self.draw()

    def draw_strips(self, scale: season_page.Scale) -> None:
        """One row a tower."""
        found = self._found
        if found is None:
            return
        self.query_one("#ruler", Static).update(season_page.ruler(found.site, scale))
        if not found.towers:
            self.query_one(RowList).show([season_page.NO_TOWERS])
            return

        def row_at(index: int) -> Row:
            return season_page.tower(found.towers[index], found, scale)

        self.query_one(RowList).show_many(len(found.towers), row_at, scale.tower_lines)

    def action_site(self) -> None:
        """The site's own screen."""
        self.seasonlog.open_site(self.site)

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        self.seasonlog.open_row(event.key)
