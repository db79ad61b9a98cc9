"""A site: its towers with their state in words, how to get in and up, what changed since one last looked."""

from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.tui import rows
from seasonlog.tui.screens.parts import PartsScreen
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.widgets.segments import Segments
from seasonlog.tui.wording import Look, say
from seasonlog.tui.words import time_words

if TYPE_CHECKING:
    from seasonlog.services.board import Handover, TowerRow
    from seasonlog.services.climate import SiteBasis
    from seasonlog.services.privacy import Privacy

READ = Look("✓", "READ", "pass")


class SiteScreen(PartsScreen):
    """One site."""

    SHOWS_DEVICES = True
    PARTS = ("towers", "facts", "changes")
    BINDINGS = [
        Binding("1", "part(0)", "Towers", show=False, tooltip="The towers of this site with their state"),
        Binding("2", "part(1)", "Site facts", show=False, tooltip="Access, emergency contact, roof, permits"),
        Binding("3", "part(2)", "Handover", show=False, tooltip="What changed since you last looked"),
        Binding(
            "m",
            "mark_read",
            "Mark read",
            show=False,
            tooltip="You have read the handover; next time only newer changes show",
        ),
    ]
    AUTO_FOCUS = "#towers"
    HELP = (
        "The towers of one site, each with its state in words: proven for the season, provisional, or not "
        "proven and why; what is due; what was found. Open one with a tap or Enter.\n\n"
        "Site facts tell how to get in and up and whom to call at night. Handover tells what changed since "
        "you last looked; temporary changes still in place come first. On a wide screen all three stand side "
        "by side."
    )

    def __init__(self, site: str) -> None:
        super().__init__(classes="-at-towers")
        self.site = site
        self._towers: list[tuple[str, str]] = []
        self._known: dict[int, TowerRow] = {}
        self._stale: set[int] = set()
        """Rows that are shown as they were until they are read again."""

    def headings(self) -> tuple[Content, ...]:
        """The site's name."""
        item = queries.item(self.book.db, "site", self.site)
        return (say(item.fields["name"] if item else self.site, "bold"),)

    def body(self) -> ComposeResult:
        """Towers, facts and handover, side by side where there is room."""
        yield Segments(("Towers", "Site facts|Facts", "Handover"))
        with Horizontal(classes="panes"):
            yield RowList(id="towers")
            with Vertical(classes="side"):
                with VerticalScroll(id="facts"):
                    yield Static(id="fact-words")
                yield RowList(id="changes")

    def on_mount(self) -> None:
        """All towers are listed at once; their state follows for those in view."""
        self._towers = queries.towers_of(self.book.db, self.site)
        self._list()

    def _list(self) -> None:
        height = 4 if self.app.size.width < 60 else 2
        self.query_one("#towers", RowList).show_many(len(self._towers), self._row, height)
        self.query_one(Segments).names = (f"Towers {len(self._towers)}", "Site facts|Facts", "Handover")

    def _row(self, index: int) -> Row:
        known = self._known.get(index)
        return rows.tower(known) if known else rows.waiting_tower(*self._towers[index])

    def on_resize(self) -> None:
        """Rows are higher on a narrow screen."""
        if self._towers:
            self._list()

    def on_screen_resume(self) -> None:
        """Something may have been done at a tower."""
        self._known.clear()
        self._stale.clear()
        self._list()
        self.call_after_refresh(self._load_side)

    def read_again(self) -> None:
        """Others have written: every row stays as it is until it is read again."""
        towers = queries.towers_of(self.book.db, self.site)
        if towers == self._towers:
            self._stale = set(self._known)
        else:
            self._towers = towers
            self._known.clear()
        with self.steady():
            self._list()
        self._load_side()

    @on(RowList.Wanted, "#towers")
    def _wanted(self, event: RowList.Wanted) -> None:
        if any(i not in self._known or i in self._stale for i in range(event.first, event.last + 1)):
            self._load_towers(event.first, event.last)

    @work(thread=True, exclusive=True, group="towers")
    def _load_towers(self, first: int, last: int) -> None:
        from seasonlog.services.board import tower_rows

        numbers = [i for i in range(first, last + 1) if i not in self._known or i in self._stale]
        towers = [self._towers[i][0] for i in numbers]
        self.ask(lambda book: dict(zip(numbers, tower_rows(book, towers, self.today), strict=True)), self._learn)

    def _learn(self, found: "dict[int, TowerRow]") -> None:
        self._known |= found
        self._stale -= found.keys()
        self.query_one("#towers", RowList).redraw()

    @work(thread=True, exclusive=True, group="side")
    def _load_side(self) -> None:
        from seasonlog.services import privacy, registry
        from seasonlog.services.board import handover
        from seasonlog.services.climate import bases

        def look(book: Logbook) -> "tuple[SiteBasis | None, Handover, Privacy]":
            known = registry.site(book.db, self.site)
            basis = bases(book, self.today, self.site)[0] if known else None
            return basis, handover(book, self.site), privacy.of_site(book, self.site)

        self.ask(look, self._show_side)

    def _show_side(self, told: "tuple[SiteBasis | None, Handover, Privacy]") -> None:
        from seasonlog.tui.site_page import changes, facts

        basis, changed, private = told
        offset = self.book.around.clock.offset_minutes()
        self.query_one("#fact-words", Static).update(facts(basis, private) if basis else Content(""))
        read = Row("read:", Content("I have read this"), Content("next time only newer changes show"), look=READ)
        found = changes(changed, self.today, lambda ms: time_words(ms, offset))
        self.query_one("#changes", RowList).show([*found, heading("READ?"), read] if found[0].heading else found)
        waiting = len(changed.open_changes)
        name = f"Handover ▲{waiting}" if waiting else "Handover"
        self.query_one(Segments).names = (f"Towers {len(self._towers)}", "Site facts|Facts", name)

    def action_mark_read(self) -> None:
        """Remember that this person has read the handover."""
        from seasonlog.services.board import handover_read

        with self.sentences():
            handover_read(self.book, self.site)
            self._load_side()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        if event.key == "read:":
            self.action_mark_read()
        else:
            self.seasonlog.open_row(event.key)
