"""The auditor's screens: what is missing first, the table of coverage, a cell, a record's history, the proof."""

from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Vertical
from textual.content import Content
from textual.message import Message
from textual.widgets import ProgressBar, Static

from seasonlog.domain.coverage_cells import CellKey
from seasonlog.tui import coverage_page as page
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.screens.parts import PartsScreen
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import MANY, RowList
from seasonlog.tui.widgets.segments import Segments
from seasonlog.tui.wording import counted, plain, say

if TYPE_CHECKING:
    from seasonlog.domain.coverage_cells import CoverageGrid, OpenedCell
    from seasonlog.services.audit import Verdict
    from seasonlog.services.record_history import History

NAMES = ("Missing first|Gaps", "Every tower|Towers", "Proof")
WAIT = Row("", Content("reading the log …"))
PROVES = "every hash, link and signature, and that the tables follow from the entries"
READS_ONLY = "Nothing on these screens writes to the log."
SIGNS_HELP = (
    "Each tower has a group of signs for each season; a letter names the checklist, the sign behind it how it stands. "
    "Missing: its last sensible day is over without a visit. Amiss: made and signed off, but a rule is broken, such as "
    "an instrument out of calibration, a person not qualified, a failed reading without an action."
)


class AuditorScreen(PartsScreen):
    """Coverage of all seasons, and the proof of the log."""

    SHOWS_DEVICES = True
    PARTS = ("gaps", "table", "proof")
    LISTS = {"table": "every", "proof": "proofs"}
    BINDINGS = [
        Binding("v", "prove", "Verify", tooltip="Prove every hash, link and signature of the log"),
        Binding(
            "e", "export", "Evidence", tooltip="Write the evidence, the whole log as a bundle, beside where you are"
        ),
        Binding("1", "part(0)", "Missing first", show=False, tooltip="What wants an explanation, the worst first"),
        Binding("2", "part(1)", "Every tower", show=False, tooltip="One row a tower, one group of signs a season"),
        Binding("3", "part(2)", "Proof", show=False, tooltip="Is the log what was written; its devices"),
        Binding("r", "reload", "Refresh", show=False, tooltip="Read the log again: another program may have written"),
    ]
    AUTO_FOCUS = "#gaps"
    CAN_GO_BACK = False
    HELP = f"For an auditor: what is missing first, and the evidence behind everything. {SIGNS_HELP} {READS_ONLY}"

    class Proving(Message):
        """So many of so many entries are proved."""

        def __init__(self, done: int, total: int) -> None:
            super().__init__()
            self.done, self.total = done, total

    def __init__(self, site: str = "") -> None:
        super().__init__(classes="-at-gaps")
        self.site = site
        self.grid: CoverageGrid | None = None
        self.verdict: Verdict | None = None

    def headings(self) -> tuple[Content, ...]:
        """What this is."""
        title = Content.styled("Audit", "bold")
        return (
            title + say("   coverage, evidence and proof; read only", "$soft"),
            title + say("  read only", "$soft"),
            title,
        )

    def body(self) -> ComposeResult:
        """Three parts, one shown."""
        yield Segments(NAMES)
        yield RowList(id="gaps")
        with Vertical(id="table"):
            yield RowList(id="every")
            yield Static(id="signs", markup=False)
        with Vertical(id="proof"):
            yield ProgressBar(id="proving", show_eta=False)
            yield RowList(id="proofs")

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one("#gaps", RowList).show([WAIT])
        self.query_one("#proofs", RowList).show([self._ask_row()])
        self.action_reload()

    def action_reload(self) -> None:
        """Read the log again."""
        self.call_after_refresh(self._load)

    @work(thread=True, exclusive=True, group="coverage")
    def _load(self) -> None:
        from seasonlog.services.coverage import Wanted, grid

        self.ask(lambda book: grid(book, self.today, Wanted(site=self.site)), self._show)

    def _show(self, grid: "CoverageGrid") -> None:
        self.grid = grid
        self._draw()

    def _draw_gaps(self, grid: "CoverageGrid") -> None:
        shown, found, width = self.query_one("#gaps", RowList), page.gaps(grid), self.app.size.width
        towers = {row.tower: row for row in grid.rows}
        if len(found) > MANY:
            shown.show_many(len(found), lambda at: page.gap_row(found[at], towers, width))
        else:
            shown.show([page.gap_row(gap, towers, width) for gap in found])

    def _draw(self) -> None:
        if self.grid is not None:
            self._draw_gaps(self.grid)
            self._draw_table(self.grid)

    def _draw_table(self, grid: "CoverageGrid") -> None:
        width = self.app.size.width
        self.query_one("#signs", Static).update(page.legend(grid, width))
        towers = self.query_one("#every", RowList)
        if not grid.rows:
            towers.show([page.NO_TOWERS])
            return
        towers.show_many(
            len(grid.rows), lambda at: page.tower_row(grid.rows[at], grid, width), 3 if width < page.NARROW else 2
        )

    def on_resize(self) -> None:
        """As many seasons, and as much of a name, as have room."""
        self._draw()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, rest = event.key.partition(":")
        if what == "cell":
            self.app.push_screen(CellScreen(page.key_from(rest)))
        elif what == "tower" and self.grid is not None:
            self.app.push_screen(TowerCoverageScreen(rest, self.grid))
        elif what == "prove":
            self.action_prove()

    @staticmethod
    def _ask_row() -> Row:
        return Row("prove:", Content("Verify the log"), Content(PROVES), look=page.PROOF)

    def action_prove(self) -> None:
        """Prove the log."""
        self.action_part(self.PARTS.index("proof"))
        entries = self.book.journal.count()
        self.query_one("#proving", ProgressBar).update(total=entries, progress=0)
        self.query_one("#proofs", RowList).show(
            [Row("", say(f"Proving {counted(entries, 'entry', 'entries')} …"), say(PROVES), look=page.PROOF)]
        )
        self.set_class(True, "-proving")
        self._prove()

    @work(thread=True, exclusive=True, group="proof")
    def _prove(self) -> None:
        from seasonlog.services.audit import verify_log

        def told(done: int, total: int) -> None:
            self.post_message(self.Proving(done, total))

        self.ask(lambda book: verify_log(book.places, quick=False, progress=told), self._proved)

    @on(Proving)
    def _proving(self, event: Proving) -> None:
        self.query_one("#proving", ProgressBar).update(total=event.total, progress=event.done)

    def _proved(self, verdict: "Verdict") -> None:
        self.verdict = verdict
        self.set_class(False, "-proving")
        from seasonlog.tui.proof_page import proof

        said, *rest = proof(self.book, verdict)
        self.query_one("#proofs", RowList).show([said, self._ask_row(), *rest])  # the cursor stays beside the verdict

    def action_export(self) -> None:
        """Write the evidence into the folder the program was started in."""
        from pathlib import Path

        with self.sentences():
            from seasonlog.services.audit_export import evidence, put

            name = put(Path.cwd(), evidence(self.book), self.today)
            self.notify(f"wrote {name}; `seasonlog verifier` makes a program that checks it", markup=False, timeout=12)


class TowerCoverageScreen(SeasonScreen):
    """All cells of one tower."""

    AUTO_FOCUS = "#cells"
    HELP = f"Every checklist of one tower, the newest season first. {SIGNS_HELP} {READS_ONLY}"

    def __init__(self, tower: str, grid: "CoverageGrid") -> None:
        super().__init__()
        self.tower, self.grid = tower, grid

    def headings(self) -> tuple[Content, ...]:
        """Which tower."""
        ident, name = say(self.tower, "bold"), page.names_of(self.grid).get(self.tower, "")
        return ident + say(f"  {name}", "$soft"), ident

    def body(self) -> ComposeResult:
        """A list."""
        yield RowList(id="cells")

    def on_mount(self) -> None:
        """It is known already."""
        self.query_one("#cells", RowList).show(page.tower_cells(self.tower, self.grid))

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, rest = event.key.partition(":")
        if what == "trends":
            from seasonlog.tui.screens.trends import TrendsScreen

            self.app.push_screen(TrendsScreen(rest))
        else:
            self.app.push_screen(CellScreen(page.key_from(rest)))


class CellScreen(SeasonScreen):
    """One cell: every rule, and what shows it."""

    AUTO_FOCUS = "#rules"
    HELP = (
        "One checklist of one tower in one season, held against every rule, visits that break one first. A rule that "
        "is broken opens the entry that shows it; the row of those that are kept opens every rule with the requirement "
        f"that it serves. No rule named here binds a basin heater; local rules come first. {READS_ONLY}"
    )

    def __init__(self, key: CellKey) -> None:
        super().__init__()
        self.key = key
        self.found: OpenedCell | None = None

    def headings(self) -> tuple[Content, ...]:
        """Which cell."""
        ident = say(self.key.tower, "bold")
        season = page.season_short(self.key.season, southern=self._is_southern()).strip()
        letter = page.LETTERS.get(self.key.checklist, page.OTHER)
        return ident + say(f"  {plain(self.key.checklist)} {season}"), ident + say(f" {letter} {season}"), ident

    def _is_southern(self) -> bool:
        from seasonlog.domain.season import is_southern
        from seasonlog.services import registry

        known = registry.of_tower_ever(self.book.db, self.key.tower)
        return self.key.tower in known.towers and is_southern(known.site_of(self.key.tower).latitude_deg)

    def body(self) -> ComposeResult:
        """A list."""
        yield RowList(id="rules")

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one("#rules", RowList).show([WAIT])
        self.call_after_refresh(self._load)

    @work(thread=True, exclusive=True, group="cell")
    def _load(self) -> None:
        from seasonlog.services.coverage_cell import opened

        self.ask(lambda book: opened(book, self.key, self.today), self._show)

    def _show(self, found: "OpenedCell") -> None:
        from seasonlog.tui.cell_page import cell

        self.found = found
        self.query_one("#rules", RowList).show(cell(found))

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, rest = event.key.partition(":")
        if what == "rules":
            self._show_rules(rest)
        else:
            self.app.push_screen(RecordScreen(rest))

    def _show_rules(self, visit: str) -> None:
        from seasonlog.tui.cell_page import rules
        from seasonlog.tui.screens.text import TextSheet

        opened = self.found.visits if self.found is not None else ()
        for each in (each for each in opened if each.visit == visit):
            self.app.push_screen(TextSheet(say(f"Rules · {each.day}"), rules(each)))


class RecordScreen(SeasonScreen):
    """One record with its whole history."""

    AUTO_FOCUS = "#entries"
    HELP = (
        "Everything that made a record what it is, oldest first: who, when, on which device; what was corrected, with "
        f"the old value and the reason; who signed. Opening an entry shows all that it holds. {READS_ONLY}"
    )

    def __init__(self, uid: str) -> None:
        super().__init__()
        self.uid = uid
        self.found: History | None = None

    def headings(self) -> tuple[Content, ...]:
        """Which record."""
        return say("Record  ", "bold") + say(self.uid, "$soft"), Content.styled("Record", "bold")

    def body(self) -> ComposeResult:
        """A list."""
        yield RowList(id="entries", most_lines=8)

    def on_mount(self) -> None:
        """Something to read at once."""
        self.query_one("#entries", RowList).show([WAIT])
        self.call_after_refresh(self._load)

    @work(thread=True, exclusive=True, group="record")
    def _load(self) -> None:
        from seasonlog.services.record_history import history
        from seasonlog.services.record_units import as_read

        self.ask(lambda book: as_read(book, history(book, self.uid)), self._show)

    def _show(self, found: "History") -> None:
        from seasonlog.tui.record_page import history

        self.found = found
        self.query_one("#entries", RowList).show(history(found))

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        from seasonlog.tui.record_page import whole
        from seasonlog.tui.screens.text import TextSheet

        uid = event.key.partition(":")[2]
        line = next((line for line in self.found.lines if line.entry.uid == uid), None) if self.found else None
        if line is not None:
            self.app.push_screen(TextSheet(say(line.entry.kind.replace("_", " ")), whole(line)))
