"""Which instruments are used, with the state of their calibration. One of each kind; none is a choice too."""

from collections.abc import Mapping, Sequence
from datetime import date

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.register_records import Instrument
from seasonlog.tui.rows import marks
from seasonlog.tui.screens.sheet import Sheet
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import Look, say

CHOSEN = Look("■", "USED", "hot")
OTHER = Look("□", "", "calm")
OVERDUE = Look("□", "OVERDUE", "fail")


class InstrumentsSheet(Sheet[Mapping[str, str]]):
    """The answer maps kind to instrument id."""

    HELP = (
        "Tap each instrument you use: the limits then count with its accuracy, and the record names it. "
        "Readings with an instrument whose calibration is overdue prove nothing. With none named, the "
        "customary accuracy is assumed and the tower does not become proven. Then tap the button below."
    )
    AUTO_FOCUS = "RowList"

    def __init__(
        self, kinds: Sequence[str], known: Sequence[Instrument], used: Mapping[str, str], on_day: date, go: str
    ) -> None:
        super().__init__(Content("Instruments"))
        self._kinds, self._known, self._day, self._go = kinds, known, on_day, go
        self.used = dict(used)
        self._before = dict(used)

    def body(self) -> ComposeResult:
        """One list, by kind."""
        yield Static(Content("Tap what you measure with."), classes="sheet-words")
        yield RowList(classes="choices")

    def buttons(self) -> ComposeResult:
        """On, or out."""
        yield BigButton(Content(self._go), id="go", classes="-go")
        yield from super().buttons()

    def on_mount(self) -> None:
        """Fill the list."""
        self.add_class("-long")
        self._fill()

    def _fill(self) -> None:
        rows: list[Row] = []
        for kind in self._kinds:
            ours = [i for i in self._known if i.kind == kind]
            rows += [heading(kind.upper()), *(self._row(i) for i in ours)]
            if not ours:
                rows.append(Row("", Content("none on record"), Content("customary accuracy is assumed"), look=OTHER))
        self.query_one(RowList).show(rows)

    def _row(self, instrument: Instrument) -> Row:
        due = instrument.calibration_due
        good = due is not None and due >= self._day
        words = f"{instrument.id} · calibrated until {due}" if good else f"{instrument.id} · {_not_good(due)}"
        look = CHOSEN if self.used.get(instrument.kind) == instrument.id else OTHER if good else OVERDUE
        mark = marks(("" if good else "! OVERDUE", "fail"))
        return Row(f"{instrument.kind}:{instrument.id}", say(instrument.name), say(words), mark, look)

    @on(RowList.Opened)
    def _tapped(self, event: RowList.Opened) -> None:
        event.stop()
        kind, _, ident = event.key.partition(":")
        if self.used.get(kind) == ident and kind not in self._before:
            del self.used[kind]
        else:
            self.used[kind] = ident
        self._fill()

    def on_big_button_pressed(self, event: BigButton.Pressed) -> None:
        """On, or out."""
        super().on_big_button_pressed(event)
        if event.button.id == "go":
            self.dismiss(self.used)


def _not_good(due: date | None) -> str:
    return f"overdue since {due}: proves nothing" if due else "no calibration on record: proves nothing"
