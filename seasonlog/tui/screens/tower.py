"""A tower's page: is it proven and why not, what to do now, its limits, readings and trends, its plate, its past."""

from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.due_state import DueState
from seasonlog.domain.visit import VisitState
from seasonlog.journal import queries
from seasonlog.tui import tower_sheets as sheets
from seasonlog.tui.screens.parts import PartsScreen
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.widgets.segments import Segments
from seasonlog.tui.wording import say
from seasonlog.tui.words import time_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from seasonlog.domain.season_due import DueKey
    from seasonlog.services.board import TowerView

NAMES = ("State", "Limits", "Readings|Reads", "Heat", "Plate", "Past")


class TowerScreen(PartsScreen):
    """One tower."""

    PARTS = ("state", "limits", "readings", "heat", "plate", "past")
    LISTS = {"readings": "reading-list"}
    BINDINGS = [
        Binding("s", "start", "Start", tooltip="Start a visit; what is due is offered first"),
        Binding("g", "go_on", "Go on", show=False, tooltip="Go on with the visit that is open here"),
        Binding("h", "fault", "No heat", show=False, tooltip="It does not heat: find out why, one question at a time"),
        Binding("c", "claim", "Claim", show=False, tooltip="Tell the others that you make the visit that is due here"),
        Binding(
            "u", "give_up", "Give up claim", show=False, tooltip="Tell the others that you do not make it after all"
        ),
        Binding("n", "note", "Note", tooltip="Leave a note about this tower"),
        Binding("w", "winter", "Winter mode", show=False, tooltip="How it winters from a day on: wet, drained ..."),
        Binding("1", "part(0)", "State", show=False, tooltip="Proven or not, what to do, what is wrong, what is due"),
        Binding("2", "part(1)", "Limits", show=False, tooltip="Every computed limit with its basis"),
        Binding("3", "part(2)", "Readings", show=False, tooltip="The last readings and their trends"),
        Binding("4", "part(3)", "Heat", show=False, tooltip="Is the heat enough, hours to freeze, amps, wiring"),
        Binding("5", "part(4)", "Plate", show=False, tooltip="All that the register holds about this tower"),
        Binding("6", "part(5)", "Past", show=False, tooltip="Notes and visits"),
        Binding("y", "trends", "Trends", show=False, tooltip="Every quantity read here over the years, and its drift"),
        Binding("t", "outdoor", "Outdoor", show=False, tooltip="Heat and hours to freeze at another temperature"),
    ]
    AUTO_FOCUS = "#state"
    HELP = (
        "One tower. State tells whether it is proven for the season and why not, and what can be done now. "
        "Limits are computed from its plate, each with its arithmetic; in a visit they follow the volts "
        "measured there. Readings shows the last ones; open one to see its trend. Heat tells whether the heater "
        "is enough at the design temperature and at the record low, how many hours the water lasts without it, "
        "what a healthy heater shows a meter, and what its wiring should be; t asks it at another temperature. "
        "A heater that does not come on is asked about by h, one question at a time, until the cause is found. "
        "c claims the visit that is due, so that whoever begins it elsewhere is told; u gives the claim up. "
        "Plate is what the register holds. Past is notes and visits."
    )

    def __init__(self, tower: str) -> None:
        super().__init__(classes="-at-state")
        self.tower = tower
        self.view: TowerView | None = None
        self.asked_degf: float | None = None

    def headings(self) -> tuple[Content, ...]:
        """Id and name."""
        item = queries.item(self.book.db, "tower", self.tower)
        ident = say(self.tower, "bold")
        return (ident + say(f"  {item.fields['name']}") if item else ident, ident)

    def body(self) -> ComposeResult:
        """State at the left where there is room, the rest beside it or in its place."""
        yield Segments(NAMES)
        with Horizontal(classes="panes"):
            yield RowList(id="state")
            yield RowList(id="limits")
            with Vertical(id="readings"):
                yield RowList(id="reading-list")
                with Vertical(id="trend-place"):
                    yield Static(id="trend-title")
            yield RowList(id="heat")
            with VerticalScroll(id="plate"):
                yield Static(id="plate-words")
            yield RowList(id="past")

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one("#state", RowList).show([Row("", Content("reading the log …"))])

    def on_screen_resume(self) -> None:
        """Something may have been done in a visit."""
        self.call_after_refresh(self.load)

    def read_again(self) -> None:
        """Others have written."""
        self.load()

    @work(thread=True, exclusive=True, group="tower")
    def load(self) -> None:
        """Read the tower again."""
        from seasonlog.services import claims
        from seasonlog.services.board import tower_view

        self.ask(lambda book: (tower_view(book, self.tower, self.today), claims.told(book, self.tower)), self._show)

    def _show(self, told: "tuple[TowerView, Mapping[DueKey, str]]") -> None:
        from seasonlog.tui import tower_page as page

        view, claimed = told
        self.view = view
        offset = self.book.around.clock.offset_minutes()

        def when(wall_ms: int) -> str:
            return time_words(wall_ms, offset)

        self.query_one("#state", RowList).show(page.state(view, self.today, when, claimed))
        self.query_one("#limits", RowList).show(page.limits(view))
        self.query_one("#reading-list", RowList).show(page.readings(view, when))
        self._show_heat()
        self.query_one("#plate-words", Static).update(page.plates(view))
        self.query_one("#past", RowList).show(page.past(view, when))

    def _show_heat(self) -> None:
        from seasonlog.services.figures import of_view
        from seasonlog.tui import figures_page

        if self.view is not None:
            units = self.view.register.site_of(self.tower).units
            found = figures_page.figures(of_view(self.view, self.asked_degf), units)
            self.query_one("#heat", RowList).show(found)

    def ask_outdoor(self, degf: float) -> None:
        """Heat and hours at one more outdoor temperature."""
        self.asked_degf = degf
        self._show_heat()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, rest = event.key.partition(":")
        if what == "start":
            sheets.start(self, rest)
        elif what == "due":
            sheets.due(self, rest)
        elif what == "fault":
            self._find_fault(rest)
        elif what == "degf":
            self.action_outdoor()
        elif what == "note":
            self.action_note()
        elif what == "trends":
            self.action_trends()
        elif what == "trend":
            self._trend(*rest.split(":", 1))
        else:
            self.seasonlog.open_row(event.key)

    def action_start(self) -> None:
        """Start a visit."""
        sheets.start(self, "")

    def action_go_on(self) -> None:
        """Go on with the newest open visit."""
        visits = self.view.visits if self.view else ()
        going = next((v for v in visits if v.state is VisitState.OPEN), None)
        if going is None:
            self.tell("No visit is open at this tower; press s to start one.")
        else:
            self.seasonlog.open_visit(going.id)

    def action_fault(self) -> None:
        """It does not heat: find out why."""
        self._find_fault()

    def _find_fault(self, circuit: str = "") -> None:
        from seasonlog.tui.screens.fault import find_fault

        find_fault(self, self.tower, circuit)

    def action_claim(self) -> None:
        """Claim the visit under the cursor, or what is due next."""
        due = (
            next((i for i in self.view.due if i.state in (DueState.OVERDUE, DueState.OPEN)), None)
            if self.view
            else None
        )
        checklist = self._picked_due() or (due.checklist if due else "")
        if checklist:
            self.claim(checklist)
        else:
            self.tell("Nothing is due here that could be claimed.")

    def action_give_up(self) -> None:
        """Give up the claim under the cursor, or the newest of this person here."""
        from seasonlog.services import claims

        ours = [each.key.checklist for each in claims.standing(self.book, self.tower) if each.is_mine]
        checklist = self._picked_due() or next(reversed(ours), "")
        if checklist:
            self.give_up(checklist)
        else:
            self.tell("You have claimed nothing at this tower on this device.")

    def _picked_due(self) -> str:
        picked = self.query_one("#state", RowList).picked
        return picked.key.removeprefix("due:") if picked and picked.key.startswith("due:") else ""

    def claim(self, checklist: str) -> None:
        """Tell the others that this person makes a visit."""
        from seasonlog.tui import claiming

        if claiming.claim(self, self.tower, checklist):
            self.load()

    def give_up(self, checklist: str) -> None:
        """Tell the others that this person does not make it after all."""
        from seasonlog.tui import claiming

        if claiming.give_up(self, self.tower, checklist):
            self.load()

    def action_note(self) -> None:
        """Leave a note."""
        sheets.note(self)

    def action_outdoor(self) -> None:
        """Another outdoor temperature for the heat's figures."""
        self.action_part(self.PARTS.index("heat"))
        sheets.outdoor(self)

    def action_winter(self) -> None:
        """Another winter mode."""
        sheets.winter(self)

    def _trend(self, quantity: str, target: str) -> None:
        from seasonlog.services.trends import trend
        from seasonlog.tui import trend_page
        from seasonlog.tui.widgets.trend import Trend

        with self.sentences():
            found = trend(self.book, self.tower, quantity, target)
            place = self.query_one("#trend-place", Vertical)
            place.add_class("-shown")
            plots = place.query(Trend)
            plot = plots.first() if plots else Trend()
            if not plots:
                place.mount(plot)
            self.query_one("#trend-title", Static).update(trend_page.title(found))
            self.call_after_refresh(plot.show, found)

    def action_trends(self) -> None:
        """Every quantity over the years."""
        from seasonlog.tui.screens.trends import TrendsScreen

        self.app.push_screen(TrendsScreen(self.tower))
