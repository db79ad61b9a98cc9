"""It does not heat: one question at a time until the cause is found, with its repair and the retest that proves it.

Nothing here judges. The screen asks the search for the next test, hands it the answer and shows what came of it.
"""

from dataclasses import replace
from typing import TYPE_CHECKING

from textual import events, on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.finding import Finding
from seasonlog.errors import SeasonlogError
from seasonlog.faults.likelihood import answerbook
from seasonlog.faults.observation import Check, Choice, Stop
from seasonlog.faults.settings import ICED
from seasonlog.services import fault_finding, fault_finding_record, rounds
from seasonlog.services.fault_finding import Search
from seasonlog.services.fault_finding_report import RETEST, names_a_cause
from seasonlog.tui import fault_page as page
from seasonlog.tui import starting
from seasonlog.tui.fault_offer import offer
from seasonlog.tui.screens.base import STYLES, VISIT_STYLES, SeasonScreen
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed
from seasonlog.tui.screens.text import TextSheet
from seasonlog.tui.widgets.dock import ANSWER, READ, Dock
from seasonlog.tui.widgets.dock import Choice as Button
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import say, sentence

if TYPE_CHECKING:
    from seasonlog.services.logbook import Logbook

GO, SMALL = "-go", "-small"
PARTS = ("last", "title", "caution", "words", "basis")
"""What is said, from the top: the caution before what to do, so that it is in view on a small screen too."""
NOT_YET = "The circuit is still being worked out."
WRITTEN = "It is in the log already; what is written stays. Start a new search instead."
WHO_IS_THERE = Asked(
    "Who is at the panel?",
    "For the record, where it is not whoever answers here. It stands in the finding beside your name.",
    save="Keep the name",
)


class FaultScreen(SeasonScreen):
    """One search for a cause."""

    CSS_PATH = [STYLES, VISIT_STYLES]
    BINDINGS = [
        Binding("escape", "back", "Back", tooltip="Leave; nothing is written unless you recorded it"),
        Binding("f3", "cannot", "Cannot", tooltip="This test cannot be made here; it is not asked again"),
        Binding("f5", "undo", "Undo", tooltip="Take the last answer back"),
        Binding("f4", "why", "Why", tooltip="Why this test, and what each answer would mean"),
        Binding("f2", "causes", "Causes", tooltip="What remains: every cause with its probability; what was seen"),
        Binding("f7", "drawing", "Wires", tooltip="The wiring of this circuit with its test points"),
        Binding("f6", "dry_fire", "Dry fire", show=False, tooltip="Faults that let this heater run in an empty basin"),
        Binding("f8", "record", "Record", show=False, tooltip="Write the end of the search into the log"),
        Binding("f9", "person", "At panel", show=False, tooltip="Write down who stands at the panel, if not you"),
        Binding("f10", "retest", "Retest", show=False, tooltip="Start the visit that proves the repair"),
        Binding("down", "read_on(1)", "Read on", show=False, tooltip="Scroll the words"),
        Binding("up", "read_on(-1)", "Read back", show=False, tooltip="Scroll the words back"),
    ]
    HELP = (
        "The heater does not come on, or comes on when it should not. First say who is at the panel: whoever is not "
        "qualified and equipped only looks from outside; At panel writes down a name that is not yours. Then answer "
        "one question at a time: tap a button, press its number, or type a reading and press Enter. The next test is "
        "the one that tells most for its time and its risk: looking before measuring, locked out before live. A "
        "caution is read before the answer.\n\n"
        "Cannot leaves a test out, Undo takes an answer back, Why explains the test, Causes shows what remains. It "
        "ends with the cause, the repair in words and the steps of the retest that prove it; Record makes it a "
        "finding. A tripped breaker or a blown fuse is never closed again as a test."
    )

    def __init__(self, tower: str, circuit: str = "", visit: str = "") -> None:
        super().__init__()
        self.tower, self.named, self.visit = tower, circuit, visit
        self.search: Search | None = None
        self.found: Choice | Stop | None = None
        self.recorded: Finding | None = None
        self._noted = False
        self._read: Search | None = None
        """The search as it stood when its caution was read."""

    def headings(self) -> tuple[Content, ...]:
        """Circuit, and what it is about."""
        ident = say(self.named or self.tower, "bold")
        return (ident + say("  It does not heat: find out why"), ident + say("  Find out why"), ident)

    def body(self) -> ComposeResult:
        """What remains at the left where there is room; the question; the answer beside or below it."""
        yield Static(Content(""), id="progress")
        with Horizontal(id="work"):
            yield RowList(id="suspects")
            with Vertical(id="step"), VerticalScroll(id="said", can_focus=False):
                for name in PARTS:
                    yield Static(Content(""), id=name)
            yield Dock(id="dock")

    def on_mount(self) -> None:
        """Something to read while the circuit is worked out."""
        self._say(words=say(page.WAITING))
        self.begin()

    @work(thread=True, exclusive=True, group="fault")
    def begin(self) -> None:
        """Work the circuit out beside the screen, so that every later question comes at once."""
        self.ask(self._prepared, self._begun)

    @work(thread=True, exclusive=True, group="iced")
    def work_ahead(self, search: Search) -> None:
        """The same for a sensor in ice, while the first questions are answered."""
        answerbook(search.circuit, ICED)

    def _prepared(self, book: "Logbook") -> Search | str:
        try:
            search = fault_finding.begin(book, self.tower, self.named, self.visit)
        except SeasonlogError as refused:
            return sentence(refused)
        answerbook(search.circuit, search.session.base)
        return search

    def _begun(self, found: Search | str) -> None:
        if isinstance(found, str):
            self._say(words=say(found, "bold $tone-near-fail"))
            self.call_later(self.query_one(Dock).show_buttons, [Button("back", Content("LEAVE"), GO)])
        else:
            self.call_later(self.go_on, found)
            self.work_ahead(found)

    # -- showing ------------------------------------------------------------------------------------------------

    async def go_on(self, search: Search) -> None:
        """Show the search as it stands."""
        self.search, self.found = search, None if search.asks_who else search.next()
        await self.show_question()

    async def show_question(self) -> None:
        """The first question, the next test with its caution, or the end."""
        search, found = self.search, self.found
        if search is None:
            return
        self.query_one("#progress", Static).update(page.progress(search, self.app.size.width))
        self.query_one("#suspects", RowList).show(page.causes(search))
        if found is None:
            await self._ask_who(search)
        elif isinstance(found, Stop):
            await self._show_end(search, found)
        else:
            await self._ask(search, found.test)

    def _say(self, **words: Content) -> None:
        for name in PARTS:
            static = self.query_one(f"#{name}", Static)
            content = words.get(name, Content(""))
            static.update(content)
            static.set_class(bool(content), "-shown")
        self.query_one("#said").scroll_home(animate=False)

    async def _ask_who(self, search: Search) -> None:
        title, words = page.who()
        there = search.person or self.book.who
        known = rounds.is_qualified(rounds.person_of(search.register, there), self.book.today())
        caution = Content("") if known else page.unrecorded(there)
        self._say(last=page.last(search), title=title, words=words, caution=caution)
        answers = [Button(f"{ANSWER}{key}", words) for key, words in page.who_choices()]
        await self.query_one(Dock).show_buttons([*answers, Button("person", page.who_is_there(search), SMALL)])

    async def _ask(self, search: Search, check: Check) -> None:
        self._say(
            last=page.last(search),
            title=page.title(check),
            words=page.words(search, check),
            caution=page.caution(search.caution(check)),
            basis=page.remaining(search),
        )
        dock = self.query_one(Dock)
        if self._waits_for_caution(search, check):
            read = Button(READ, Content("I HAVE READ THE CAUTION"), GO)
            await dock.show_buttons([read, Button("cannot", Content("Cannot make this test"), SMALL)])
        elif check.choices:
            numbered = enumerate(check.choices, 1)
            await dock.show_buttons(
                [Button(f"{ANSWER}{each}", say(f"{n}   {each.replace('_', ' ')}")) for n, each in numbered]
            )
        else:
            await dock.show_fields(("",), "V" if check.unit == "V" else "Ω", "OL")

    def _waits_for_caution(self, search: Search, check: Check) -> bool:
        return search.must_be_read(check) and self._read is not search

    async def _show_end(self, search: Search, stop: Stop) -> None:
        cautions = page.caution(" ".join(stop.cautions))
        self._say(last=self._written(), title=page.end_look(stop).badge(), words=page.end_words(search, stop),
                  caution=cautions)  # fmt: skip
        await self.query_one(Dock).show_buttons(self._ways_on(stop))

    def _ways_on(self, stop: Stop) -> list[Button]:
        if self.recorded is not None:
            return [Button("finding", Content("OPEN THE FINDING"), GO), Button("retest", Content("Retest"), SMALL)]
        if self._noted:
            return [Button("back", Content("LEAVE"), GO)]
        named = names_a_cause(stop)
        record = Button("record", Content("RECORD AS A FINDING" if named else "RECORD AS A NOTE"), GO)
        return [record, Button("undo", Content("Undo"), SMALL), Button("dry_fire", Content("Dry fire"), SMALL)]

    def _written(self) -> Content:
        if self.recorded is not None:
            return say(f"✓ in the log as finding {self.recorded.id}", "bold $tone-pass")
        return say("✓ in the log as a note", "bold $tone-pass") if self._noted else Content("")

    # -- answering ----------------------------------------------------------------------------------------------

    @on(Dock.Given)
    async def _given(self, event: Dock.Given) -> None:
        search, found = self.search, self.found
        raw = event.raw if isinstance(event.raw, str) else event.raw[0]
        if search is None or isinstance(found, Stop):
            return
        try:
            after = search.at_the_panel(raw) if found is None else search.answered(found.test.id, raw)
        except SeasonlogError as refused:
            self.query_one(Dock).refuse(sentence(refused, "" if found is None else f"test {found.test.id}"))
            return
        await self.go_on(after)

    @on(Dock.Asked)
    async def _asked(self, event: Dock.Asked) -> None:
        if event.key == READ:
            self._read = self.search
            await self.show_question()
        else:
            await self.run_action(event.key)

    async def on_key(self, event: events.Key) -> None:
        """Numbers answer where there are buttons to answer with."""
        dock = self.query_one(Dock)
        if not dock.fields and event.character is not None and event.character in "123456789":
            event.stop()
            dock.pick(int(event.character))

    async def on_resize(self) -> None:
        """The line on top follows the width."""
        if self.is_mounted and self.search is not None:
            self.query_one("#progress", Static).update(page.progress(self.search, self.app.size.width))

    # -- keys ---------------------------------------------------------------------------------------------------

    async def action_cannot(self) -> None:
        """Leave the test out."""
        if self.search is not None and isinstance(self.found, Choice):
            await self.go_on(self.search.cannot(self.found.test.id))
        else:
            self.tell("There is no test to leave out just now.")

    def action_person(self) -> None:
        """Write down who stands at the panel."""
        if self.search is None:
            self.tell(NOT_YET)
        elif self.recorded is not None or self._noted:
            self.tell(WRITTEN)
        else:
            sheet = FormSheet(WHO_IS_THERE, [Line("name", "Name", self.search.person)], self._name_them)
            self.app.push_screen(sheet, self.when_done(self.show_question))

    def _name_them(self, typed: Typed) -> None:
        """A caution that was read stays read."""
        if self.search is not None:
            name = typed["name"].strip()
            named = self.search.with_person(name) if name else replace(self.search, person="")
            self._read = named if self._read is self.search else self._read
            self.search = named

    async def action_undo(self) -> None:
        """Take the last answer back."""
        if self.search is None or self.search.before is None:
            self.tell("There is nothing to take back.")
        elif self.recorded is not None or self._noted:
            self.tell(WRITTEN)
        else:
            await self.go_on(self.search.undone())

    def action_why(self) -> None:
        """Why this test."""
        if isinstance(self.found, Choice):
            self.app.push_screen(TextSheet(Content("Why this test"), page.why_words(self.found)))
        elif isinstance(self.found, Stop):
            self.app.push_screen(TextSheet(Content("Why it ends"), say(self.found.says)))
        else:
            self.app.push_screen(TextSheet(Content("Why this question"), say(fault_finding.WHO_WHY)))

    def action_causes(self) -> None:
        """What remains."""
        if self.search is None:
            self.tell(NOT_YET)
        else:
            self.app.push_screen(TextSheet(Content("What it may be"), page.causes_words(self.search)))

    def action_dry_fire(self) -> None:
        """What lets this heater run dry."""
        if self.search is None:
            self.tell(NOT_YET)
        else:
            words = page.dry_fire_words(self.search.circuit)
            self.app.push_screen(TextSheet(Content("Faults that let it run dry"), words))

    def action_drawing(self) -> None:
        """The wiring."""
        from seasonlog.tui.screens.wiring import WiringScreen

        if self.search is None:
            self.tell(NOT_YET)
        else:
            self.app.push_screen(WiringScreen(self.search.circuit))

    async def action_record(self) -> None:
        """Write the end into the log."""
        if self.search is None or not isinstance(self.found, Stop):
            self.tell("There is nothing to write down yet: the search has no end.")
        elif self.recorded is not None or self._noted:
            self.tell("It is in the log already.")
        else:
            with self.sentences():
                self.recorded = fault_finding_record.record(self.book, self.search, self.found)
                self._noted = self.recorded is None
            await self.show_question()

    def action_retest(self) -> None:
        """Start the visit that proves the repair."""
        starting.choose_instruments(self, self.tower, RETEST)

    def action_finding(self) -> None:
        """The finding that was recorded."""
        if self.recorded is not None:
            self.seasonlog.open_finding(self.recorded.id)

    def action_read_on(self, step: int) -> None:
        """Scroll what does not fit."""
        self.query_one("#said", VerticalScroll).scroll_relative(y=step * 2, animate=False)


def find_fault(screen: SeasonScreen, tower: str, circuit: str = "", visit: str = "") -> None:
    """Open the fault finder for a circuit of a tower; ask which where there are several."""
    from seasonlog.services import registry

    with screen.sentences():
        ours = [each.id for each in registry.of_known_tower(screen.book.db, tower).circuits_of(tower)]
        if circuit or len(ours) <= 1:
            screen.app.push_screen(FaultScreen(tower, circuit or "".join(ours), visit))
            return
        rows = [offer(each) for each in ours]

        def chosen(key: str | None) -> None:
            if key:
                screen.app.push_screen(FaultScreen(tower, key.partition(":")[2], visit))

        screen.app.push_screen(ChooseSheet(say(f"{tower}: which heater?"), rows), chosen)
