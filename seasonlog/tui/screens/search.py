"""Search as one types: sites, towers and their parts, findings, notes."""

from collections.abc import Mapping, Sequence

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.content import Content
from textual.widgets import Input

from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.tui import rows
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.field import Field
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import Look, say, say_lines

LOOKS: Mapping[str, Look] = {
    "site": Look("■", "SITE", "hot"),
    "tower": Look("□", "TOWER", "cold"),
    "finding": Look("✗", "FINDING", "fail"),
    "note": Look("»", "NOTE", "near-pass"),
}
OTHER = Look("·", "", "calm")
Found = Sequence[tuple[str, str, str]]


class SearchScreen(SeasonScreen):
    """A line to type in over a list."""

    BINDINGS = [
        Binding("down", "move(1)", "Down", show=False, tooltip="The next line found"),
        Binding("up", "move(-1)", "Up", show=False, tooltip="The line before"),
        Binding("enter", "open", "Open", tooltip="Open the line picked"),
    ]
    AUTO_FOCUS = "Field"
    HELP = (
        "Type a few letters of a site, a tower, a finding or a note: what contains them is listed while you "
        "type. Move with the arrow keys and press Enter, or tap a line. A part of a tower, such as a heater "
        "circuit, opens its tower."
    )

    def headings(self) -> tuple[Content, ...]:
        """What this is."""
        return (Content.styled("Search", "bold"),)

    def body(self) -> ComposeResult:
        """Line and list."""
        field = Field(label="Look for", id="look-for")
        field.passes = "/"  # whoever comes back from what was found presses it to look for something else
        yield field
        yield RowList(id="found", keeps_pick=True)

    def on_mount(self) -> None:
        """What to do."""
        self._show("", ())

    def begin_again(self) -> None:
        """Look for something else."""
        self.query_one(Field).value = ""
        self.query_one(Field).focus()

    @on(Input.Changed)
    def _changed(self, event: Input.Changed) -> None:
        self._search(event.value)

    @work(thread=True, exclusive=True, group="search")
    def _search(self, words: str) -> None:
        def look(book: Logbook) -> Found:
            return queries.search(book.db, words.strip()) if words.strip() else ()

        self.ask(look, lambda found: self._show(words, found))

    def _show(self, words: str, found: Found) -> None:
        if self.query_one(Field).value != words:
            return
        shown = [row(*each) for each in found]
        if not shown:
            hint = "Nothing contains that." if words.strip() else "Type a few letters."
            shown = [Row("", Content(hint))]
        self.query_one(RowList).show(shown)

    def action_move(self, step: int) -> None:
        """The picked line."""
        self.query_one(RowList).action_move(step)

    @on(Input.Submitted)
    def action_open(self) -> None:
        """Open the picked line."""
        self.query_one(RowList).action_open()

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, ident = event.key.partition(":")
        key = event.key if what in ("site", "tower", "finding") else self._tower_of(what, ident)
        if key:
            self.seasonlog.open_row(key)
        else:
            self.tell("This has no page of its own; `seasonlog instrument list` and `register list` show it.")

    def _tower_of(self, what: str, ident: str) -> str:
        if what == "note":
            return f"tower:{ident}"
        item = queries.item(self.book.db, what, ident)
        tower = str(item.fields.get("tower", "")) if item else ""
        return f"tower:{tower}" if tower else ""


def row(what: str, ident: str, text: str) -> Row:
    """One thing found."""
    look = LOOKS.get(what, OTHER)
    word = look.word or what.upper()
    mark = rows.marks((word, look.tone))
    if what == "note":
        return Row(f"note:{ident}", say_lines(text), say(ident), mark, look)
    return Row(f"{what}:{ident}", say(ident), say(text), mark, look)
