"""Which instruments are used, with the state of their calibration. One of each kind; none is a choice too."""

from collections.abc import Mapping, Sequence

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.register_records import Instrument
from seasonlog.domain.text import visible
from seasonlog.services.instrument_doubts import untold
from seasonlog.tui.rows import marks
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.sheet import Sheet
from seasonlog.tui.widgets.big_button import BigButton
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import Look, say

CHOSEN = Look("■", "USED", "hot")
OTHER = Look("□", "", "calm")
OVERDUE = Look("□", "OVERDUE", "fail")
ANYWAY = (
    Row("anyway", Content("Use it anyway"), Content("each reading with it says that it proves nothing")),
    Row("another", Content("Choose another"), Content("back to the list")),
)


class InstrumentsSheet(Sheet[Mapping[str, str]]):
    """The answer maps kind to instrument id."""

    HELP = (
        "Tap each instrument you use: the limits then count with its accuracy, and the record names it. Marked is "
        "what you used in your last visit; tap another of its kind, or the same again to take it out. "
        "Readings with an instrument whose calibration is overdue, or that was recalled, prove nothing: "
        "you are asked once whether you use it anyway. With none named, the "
        "customary accuracy is assumed and the tower does not become proven. Then tap the button below."
    )
    AUTO_FOCUS = "RowList"

    def __init__(
        self, kinds: Sequence[str], known: Sequence[Instrument], used: Mapping[str, str], doubts: Mapping[str, str],
        go: str, told: Mapping[str, str] | None = None, usual: Mapping[str, str] | None = None,
    ) -> None:  # fmt: skip
        """What is chosen from.

        Args:
            kinds: Kinds of instrument the steps are read with.
            known: All on record.
            used: What is used now, by kind.
            doubts: Instrument id to why its readings prove nothing.
            go: What the button says.
            told: What was told of them in this visit.
            usual: What this person used last, by kind: marked where nothing is against it.
        """
        super().__init__(Content("Instruments"))
        self._kinds, self._known, self._doubts, self._go = kinds, known, doubts, go
        self._told = told or {}
        free = {i.id for i in known if i.id not in doubts}
        self._usual = {k: i for k, i in (usual or {}).items() if k in kinds and i in free}
        self.used = {**self._usual, **used}
        self._before = dict(used)

    def body(self) -> ComposeResult:
        """One list, by kind."""
        words = ["Tap what you measure with; what is read with none named proves nothing."]
        words += ["Marked is what you used last: is it what you hold?"] if self._usual else []
        yield Static(Content(" ".join(words)), classes="sheet-words")
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
        doubt = self._doubts.get(instrument.id, "")
        words = f"{instrument.id} · {doubt or f'calibrated until {instrument.calibration_due}'}"
        look = CHOSEN if self.used.get(instrument.kind) == instrument.id else OVERDUE if doubt else OTHER
        mark = marks(("! RECALLED" if "recalled" in doubt else "! OVERDUE" if doubt else "", "fail"))
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
            self._ask_of_doubts()

    def _ask_of_doubts(self) -> None:
        """Once for all that prove nothing; never a bar, since there may be nothing else on the roof."""
        found = {ident: words for ident, words in self._doubts.items() if ident in self.used.values()}
        news = untold(found, self._told)
        if not news:
            self.dismiss(self.used)
            return
        sheet = ChooseSheet(Content("In doubt: use it anyway?"), ANYWAY, visible(". ".join(news) + "."))

        def chosen(key: str | None) -> None:
            if key == "anyway":
                self.dismiss(self.used)

        self.app.push_screen(sheet, chosen)
