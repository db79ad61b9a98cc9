"""What needs doing today: visits to go on with, towers unprotected tonight, every site with what is due."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content

from seasonlog.journal import queries
from seasonlog.tui import rows
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import say
from seasonlog.tui.words import day_words, time_words

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Conflict
    from seasonlog.services.today import TodayBoard


class TodayScreen(SeasonScreen):
    """The first screen."""

    SHOWS_DEVICES = True
    BINDINGS = [
        Binding("escape", "back", "Back", show=False, tooltip="This is the first screen; ^q leaves the app"),
        Binding("e", "exposure", "Exposed", tooltip="Which towers may freeze tonight, what freezes first on top"),
        Binding("p", "plan", "Plan", tooltip="Who makes which visit on which day"),
        Binding("w", "weeks", "Season", tooltip="The season at a glance: every site week by week"),
        Binding("u", "give_up", "Give up claim", show=False, tooltip="You do not make the claimed visit after all"),
        Binding("r", "reload", "Refresh", show=False, tooltip="Read the log again: another program may have written"),
    ]
    CSS_PATH = None
    CAN_GO_BACK = False
    AUTO_FOCUS = "RowList"
    HELP = (
        "What needs doing today. First the visits that are not finished: tap one to go on where it was left. "
        "Then, if there are any, answers of two devices that contradict each other: a supervisor decides. "
        "Then what leaves a tower unprotected tonight, and who has claimed which visit since when: u gives a claim of "
        "yours up. Then every site, the most pressing first, with what is "
        "due there. Press e for the towers that may freeze tonight, ranked by what freezes first, w for the "
        "season of every site week by week.\n\n"
        "Tap a line, or move with the arrow keys and press Enter. ^q leaves seasonlog; all is saved already."
    )

    def __init__(self) -> None:
        super().__init__()
        self._seen = 0
        self._conflicts: Sequence[Conflict] = ()

    def headings(self) -> tuple[Content, ...]:
        """The day and the person."""
        brand, day = Content.styled("seasonlog", "bold $tone-hot"), day_words(self.today)
        short = Content.assemble(brand, (f"  {day.rpartition(' ')[0]}", "bold"))
        whole = Content.assemble(brand, (f"  {day}", "bold"))
        return whole + say(f"   {self.book.who}", "$soft"), whole, short

    def body(self) -> ComposeResult:
        """One list."""
        yield RowList(id="today")

    def on_mount(self) -> None:
        """The sites are there at once; what is due follows."""
        waiting = [rows.waiting_site(*site) for site in queries.sites(self.book.db)]
        self.query_one(RowList).show(waiting or [_empty()])

    def on_screen_resume(self) -> None:
        """Something may have been done on another screen."""
        if self.book.journal.count() != self._seen:
            self.action_reload()

    def action_exposure(self) -> None:
        """The towers that may freeze, ranked."""
        from seasonlog.tui.screens.exposure import ExposureScreen

        self.app.push_screen(ExposureScreen())

    def action_back(self) -> None:
        """There is nowhere to go back to: say how to leave."""
        self.app.clear_notifications()  # Escape pressed often says it once
        self.notify("This is the first screen. ^q leaves seasonlog, ^p lists all that can be done.", markup=False)

    def action_reload(self) -> None:
        """Read the log again."""
        self._seen = self.book.journal.count()
        self.call_after_refresh(self._load)

    def read_again(self) -> None:
        """Others have written."""
        self.action_reload()

    def action_plan(self) -> None:
        """Who does what when."""
        from seasonlog.tui.screens.plan import PlanScreen

        self.app.push_screen(PlanScreen())

    def action_weeks(self) -> None:
        """The season of every site, week by week."""
        from seasonlog.tui.screens.season import WeeksScreen

        self.app.push_screen(WeeksScreen())

    @work(thread=True, exclusive=True, group="board")
    def _load(self) -> None:
        from seasonlog.services.today import today_board

        self.ask(lambda book: today_board(book, self.today), self._show)

    def _show(self, board: "TodayBoard") -> None:
        offset = self.book.around.clock.offset_minutes()
        found: list[Row] = []
        if board.visits:
            found += [heading("GO ON WITH")]
            found += [rows.open_visit(v, time_words(v.visit.started_wall_ms, offset)) for v in board.visits]
        self._conflicts = board.conflicts
        if board.conflicts:
            from seasonlog.tui import conflict_sheets

            found += [heading("TO DECIDE: TWO ANSWERS"), *conflict_sheets.rows(board.conflicts)]
        if board.recalls:
            found += [heading("INSTRUMENTS IN DOUBT"), *(rows.recalled(words) for words in board.recalls)]
        if board.tonight:
            found += [heading("UNPROTECTED TONIGHT")]
            found += [rows.finding(f, self.today, tonight=True) for f in board.tonight]
        if board.claimed:
            from seasonlog.tui.claiming import claimed_rows

            found += [heading("CLAIMED"), *claimed_rows(board.claimed, self.today, offset)]
        found += [heading("SITES"), *(rows.site(s, self.today) for s in board.sites)]
        self.query_one(RowList).show(found if board.sites else [_empty()])
        self.call_after_refresh(self.seasonlog.read_ahead)

    def action_give_up(self) -> None:
        """Give up the claim under the cursor."""
        from seasonlog.tui import claiming

        picked = self.query_one(RowList).picked
        tower, checklist = claiming.of_key(picked.key if picked else "")
        if not tower:
            self.tell("Choose one of the claimed visits first.")
        elif claiming.give_up(self, tower, checklist):
            self.action_reload()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        if event.key.startswith(rows.CONFLICT):
            from seasonlog.tui import conflict_sheets

            conflict_sheets.decide(self, self._conflicts[int(event.key.removeprefix(rows.CONFLICT))])
        elif event.key.startswith("claim:"):
            self.seasonlog.open_tower(event.key.split(":")[1])
        else:
            self.seasonlog.open_row(event.key)


def _empty() -> Row:
    words = "Read a site file with `seasonlog register import FILE`, or look at invented sites with `seasonlog demo`."
    return Row("", Content("No sites yet"), Content(words))
