"""All findings: what is wrong and still needs a person, the worst first."""

from datetime import date

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content

from seasonlog.domain.finding import Finding
from seasonlog.services.logbook import Logbook
from seasonlog.tui import rows
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList


class FindingsScreen(SeasonScreen):
    """A list."""

    SHOWS_DEVICES = True
    BINDINGS = [Binding("a", "all", "All/open", tooltip="Show closed findings too, or only what is open")]
    AUTO_FOCUS = "RowList"
    HELP = (
        "What is wrong and still needs a person. First what leaves a tower unprotected tonight, then what can "
        "freeze, burn or shock, then the rest; in each the oldest first. Open one to see all about it, to "
        "assign it, to write down what was done for tonight, or to close it. Press a to see closed ones as "
        "well."
    )

    def __init__(self) -> None:
        super().__init__()
        self._everything = False

    def headings(self) -> tuple[Content, ...]:
        """What this is."""
        return (Content.styled("Findings", "bold"),)

    def body(self) -> ComposeResult:
        """One list."""
        yield RowList(id="findings")

    def on_screen_resume(self) -> None:
        """One may have been closed meanwhile."""
        self.call_after_refresh(self._load)

    def read_again(self) -> None:
        """Others have written."""
        self._load()

    @work(thread=True, exclusive=True, group="findings")
    def _load(self) -> None:
        from seasonlog.services import findings

        def look(book: Logbook) -> list[Finding]:
            found = findings.all_findings(book)[::-1] if self._everything else findings.open_findings(book)
            return findings.as_read(book, found)

        self.ask(look, self._show)

    def _show(self, found: list[Finding]) -> None:
        everything = self._everything
        shown = [rows.finding(f, self.today) for f in found] if everything else grouped(found, self.today)
        nothing = Row("", Content("✓ Nothing is open"), Content("No finding needs a person."))
        self.query_one(RowList).show(shown or [nothing])

    def action_all(self) -> None:
        """Closed ones too, or not."""
        self._everything = not self._everything
        self._load()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        self.seasonlog.open_row(event.key)


def grouped(found: list[Finding], today: date) -> list[Row]:
    """Open findings under three headings, the most pressing first."""
    from seasonlog.services.findings import tonight

    now = tonight(found, today)
    rest = [f for f in found if f not in now]
    groups = (
        ("UNPROTECTED TONIGHT", now),
        ("CAN FREEZE, BURN OR SHOCK", [f for f in rest if f.needs_retest]),
        ("EVERYTHING ELSE", [f for f in rest if not f.needs_retest]),
    )
    shown: list[Row] = []
    for name, ours in groups:
        if ours:
            shown += [heading(name), *(rows.finding(f, today, tonight=ours is now) for f in ours)]
    return shown
