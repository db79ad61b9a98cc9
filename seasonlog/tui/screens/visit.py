"""A visit, one step at a time: what to do, the caution, the band with the reading on it, the answer, its meaning.

Nothing here judges. The screen asks `rounds` what an answer would be worth while it is typed, saves it there, and
shows what came back. An answer that could not be saved stays on the screen with the reason.
"""

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.checklist import MEASURED
from seasonlog.domain.desk import Again, Desk, Mode, opened
from seasonlog.domain.visit import Progress
from seasonlog.errors import SeasonlogError
from seasonlog.services import rounds
from seasonlog.tui import step_page as page
from seasonlog.tui import visit_asks as asks
from seasonlog.tui import visit_sheets as sheets
from seasonlog.tui import visit_voice as phrases
from seasonlog.tui.reading import Reading
from seasonlog.tui.screens.base import STYLES, VISIT_STYLES, SeasonScreen
from seasonlog.tui.widgets.band_scale import BandScale
from seasonlog.tui.widgets.dock import READ, Dock
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.widgets.voice_bar import VoiceBar
from seasonlog.tui.wording import say, sentence
from seasonlog.voice.hearing import Hearing, typed


class VisitScreen(SeasonScreen):
    """One visit."""

    CSS_PATH = [STYLES, VISIT_STYLES]
    BINDINGS = [
        Binding("escape", "back", "Leave", tooltip="The visit stays open and goes on where you left it"),
        Binding("f9", "stop", "STOP", tooltip="Not safe: the visit ends; nobody holds it against you"),
        Binding("f2", "steps", "Steps", tooltip="All steps with their state; go to any of them"),
        Binding("f3", "skip", "Skip", tooltip="Leave this step out, with a reason"),
        Binding("f4", "note", "Note", tooltip="Leave a note beside this step"),
        Binding("f5", "correct", "Correct", show=False, tooltip="Correct an answer, signed or not; the old one stays"),
        Binding("f6", "retest", "Retest", show=False, tooltip="Answer again after a repair"),
        Binding("f7", "changes", "Changes", show=False, tooltip="Jumper in, wire lifted, lock on: record and restore"),
        Binding("f8", "instruments", "Instruments", show=False, tooltip="Choose what you measure with"),
        Binding("f10", "finish", "End", tooltip="Sign off, or close unfinished"),
        Binding("c", "copy", "Customer copy", show=False, tooltip="The page for the customer, in plain words"),
        Binding("v", "review", "Review", show=False, tooltip="State that you, another person, have reviewed it"),
        Binding("pagedown", "walk(1)", "Next step", show=False, tooltip="The step after this one"),
        Binding("pageup", "walk(-1)", "Step before", show=False, tooltip="The step before this one"),
        Binding("down", "read_on(1)", "Read on", show=False, tooltip="Scroll the words of the step"),
        Binding("up", "read_on(-1)", "Read back", show=False, tooltip="Scroll the words of the step back"),
        Binding("colon,ctrl+o", "phrase", "Phrase", key_display=":", show=False, tooltip="Type what you would say"),
        Binding("f12", "talk", "Talk", show=False, tooltip="Speak one phrase; press again when you have said it"),
        Binding("ctrl+l", "listen", "Hands-free", key_display="^l", show=False, tooltip="Listen until told to stop"),
        Binding("ctrl+n", "following", "Next open", key_display="^n", show=False, tooltip="The next step to answer"),
    ]  # fmt: skip
    HELP = (
        "One step at a time. Do what it says, then answer: tap a button, press its number (or y and n), or "
        "type a reading and press Enter. The scale shows the limit computed for this very heater and where "
        "your reading lies on it.\n\n"
        "A step with a caution shows it first. A step that waits for others says for which. You may go to any "
        "step, skip one with a reason, leave and come back. Every answer is on disk before the next step "
        "shows; if it could not be saved, it says so and your entry stays.\n\n"
        "The line at the bottom takes phrases: press : and type what you would say, such as leg one 21.6, pass, "
        "skip because the deck is iced, undo, limit. With a microphone, F12 takes one phrase and ^l listens "
        "hands-free; what was heard stands above the line, and what is in doubt is asked back.\n\n"
        "STOP is always allowed, by key or by voice: stop, not safe.\n\n"
        "After sign-off F5 still corrects: say why, answer again, see both verdicts, confirm. All of it is kept."
    )

    def __init__(self, at: Progress) -> None:
        super().__init__()
        self.at_desk = opened(at)
        """The place in the visit."""
        self._last = Content("")
        self._voice: phrases.VisitVoice | None = None

    @property
    def visit_id(self) -> str:
        """The visit."""
        return self.at_desk.at.visit.id

    def headings(self) -> tuple[Content, ...]:
        """Tower and checklist."""
        at = self.at_desk.at
        name = at.register.towers[at.visit.tower].name
        ident = say(at.visit.tower, "bold")
        return (
            ident + say(f"  {name} · {at.checklist.title}"),
            ident + say(f"  {at.checklist.title}"),
            ident,
        )

    def body(self) -> ComposeResult:
        """Steps at the left where there is room; the step; the answer beside or below it."""
        yield Static(Content(""), id="progress")
        with Horizontal(id="work"):
            yield RowList(id="steps", keeps_pick=True, most_lines=1)
            with Vertical(id="step"):
                with VerticalScroll(id="said", can_focus=False):
                    yield Static(Content(""), id="last")
                    yield Static(Content(""), id="title")
                    yield Static(Content(""), id="words")
                    yield Static(Content(""), id="caution")
                    yield Static(Content(""), id="basis")
                yield BandScale()
                yield Static(Content(""), id="verdict")
            yield Dock(id="dock")
        yield VoiceBar()

    async def on_mount(self) -> None:
        """The step where it was left."""
        await self.show_step()

    # -- showing ------------------------------------------------------------------------------------------------

    async def show_step(self) -> None:
        """Draw the step as it stands; the dialogue, once there is one, follows."""
        desk = self.at_desk
        if self._voice is not None:
            self._voice.sync()
        self._draw_words(desk)
        self._draw_scale(desk)
        await self._ask(desk)
        self._draw_steps(desk)
        self.tell_keys(sheets.keys_of_closed(desk.at.visit.state))

    def _draw_words(self, desk: Desk) -> None:
        self.query_one("#progress", Static).update(page.progress_line(desk, self.app.size.width))
        for name, content in (
            ("last", self._last),
            ("title", page.title(desk.instance)),
            ("words", page.words(desk)),
            ("caution", page.caution(desk)),
        ):
            static = self.query_one(f"#{name}", Static)
            static.update(content)
            static.set_class(bool(content), "-shown")
        self.query_one("#said").scroll_home(animate=False)

    def _draw_scale(self, desk: Desk) -> None:
        reading = Reading.of(self.book, desk) if desk.instance.step.kind in MEASURED else None
        scale, basis = self.query_one(BandScale), self.query_one("#basis", Static)
        if reading is None:
            scale.show(None, "", float)
        else:
            scale.show(reading.limit, reading.unit, reading.in_unit)
        words = reading.basis if reading else Content("")
        basis.update(words)
        basis.set_class(bool(words), "-shown")
        self.query_one("#verdict", Static).update(reading.ahead if reading else Content(""))
        if reading is not None and (saved := desk.saved) and not saved.is_skipped and desk.again is None:
            scale.markers = reading.markers_of(saved)

    def _draw_steps(self, desk: Desk) -> None:
        steps = self.query_one("#steps", RowList)
        if steps.display:
            steps.show(page.step_rows(desk, short=True))
            steps.go_to(desk.key)

    async def _ask(self, desk: Desk) -> None:
        self.set_class(desk.instance.step.kind in MEASURED, "-reading")
        self.set_class(desk.mode in (Mode.SAVED, Mode.SKIPPED, Mode.CLOSED), "-told")
        self.set_class(desk.mode is Mode.READ_CAUTION, "-warned")
        await asks.ask(self.query_one(Dock), self.book, desk, self.seasonlog.drafts)

    # -- answering ----------------------------------------------------------------------------------------------

    @on(Dock.Typed)
    def _typed(self, event: Dock.Typed) -> None:
        self.seasonlog.drafts[self.visit_id, self.at_desk.key] = event.texts
        reading = Reading.of(self.book, self.at_desk) if self.at_desk.instance.step.kind in MEASURED else None
        if reading is not None:
            self.query_one(BandScale).markers = reading.markers(event.texts)
            self.query_one("#verdict", Static).update(reading.worth(event.texts))

    @on(Dock.Given)
    async def _given(self, event: Dock.Given) -> None:
        desk, raw = self.at_desk, event.raw
        if desk.instance.step.kind in MEASURED:
            raw = Reading.of(self.book, desk).raw(raw)
        try:
            is_saved = sheets.answer(self, raw)
        except SeasonlogError as error:
            self.query_one(Dock).refuse(sentence(error, desk.key))
            return
        if is_saved:
            await self.after_save()

    async def after_save(self) -> None:
        """Good answers lead on at once; the others stay until they were read."""
        desk, saved, instance = self.at_desk, self.at_desk.saved, self.at_desk.instance
        self._last = Content("")
        self.seen_news()
        if saved is not None and (saved.is_good or saved.is_skipped) and desk.following:
            self._last = page.last_saved(desk.at, instance, saved)
            desk.go_to(desk.following)
        await self.show_step()

    @on(Dock.Asked)
    async def _asked(self, event: Dock.Asked) -> None:
        what, _, rest = event.key.partition(":")
        if what == READ:
            self.at_desk.read_caution()
            await self.show_step()
        elif what == "stopwatch":
            self.query_one(Dock).stopwatch(self.book.around.clock.wall_ms())
        elif what == "step":
            await self.go_to(rest)
        elif what == "answer":
            await self.ask_again(Again())
        elif what == "walk":
            await self.action_walk(int(rest))
        else:
            await self.run_action({"next": "following", "sign": "sign"}.get(what, what))

    async def on_key(self, event: events.Key) -> None:
        """Numbers and y and n answer where there are buttons; y and n first of all what was asked back."""
        char, dock = event.character or "", self.query_one(Dock)
        decided = {"y": "yes", "n": "no"}.get(char.lower(), "")
        if decided and self._voice is not None and self._voice.is_asking:
            event.stop()
            await self.phrase(typed(decided))
        elif self.at_desk.mode is Mode.ASK and not dock.fields and (decided or char in tuple("123456789")):
            event.stop()
            dock.pick_value(decided) if decided else dock.pick(int(char))

    # -- phrases ------------------------------------------------------------------------------------------------

    @property
    def voice(self) -> phrases.VisitVoice:
        """The dialogue, made with the first phrase."""
        if self._voice is None:
            self._voice = phrases.VisitVoice(self, self.at_desk)
        return self._voice

    @on(VoiceBar.Said)
    async def _said(self, event: VoiceBar.Said) -> None:
        await self.phrase(typed(event.text))

    @on(phrases.Heard)
    async def _heard(self, event: phrases.Heard) -> None:
        if self.voice.is_on and phrases.is_for(self, event.hearing):
            await self.phrase(event.hearing)

    async def phrase(self, hearing: Hearing) -> None:
        """A phrase, typed or heard: done, asked back or refused, and shown."""
        bar, dock = self.query_one(VoiceBar), self.query_one(Dock)
        kept_line, before = bar.is_typed_in, (self.at_desk.key, self.at_desk.mode)
        with self.sentences():
            outcome = self.voice.hear(hearing, dock.texts)
            self._last = page.last_of(self.at_desk, before[0])
            if outcome.saved or (self.at_desk.key, self.at_desk.mode) != before:
                await self.show_step()
            dock.fill(self.voice.session.state.lines)
            bar.tell(phrases.told(outcome, is_told=bool(self._last) or self.at_desk.mode is Mode.SAVED))
            bar.ears(self.voice.ears)
        if kept_line:
            bar.take_focus()

    @on(phrases.Deaf)
    def _deaf(self, event: phrases.Deaf) -> None:
        self.voice.stop()
        self.query_one(VoiceBar).ears(self.voice.ears)
        self.tell(event.says)

    @on(VoiceBar.Left)
    def _line_left(self) -> None:
        self.query_one(Dock).take_focus()

    def action_phrase(self) -> None:
        """The line for phrases."""
        self.query_one(VoiceBar).take_focus()

    def action_talk(self) -> None:
        """One phrase by voice."""
        self._listen(hands_free=False)

    def action_listen(self) -> None:
        """Hands-free, until told to stop."""
        self._listen(hands_free=True)

    def _listen(self, *, hands_free: bool) -> None:
        with self.sentences():
            self.voice.toggle(hands_free=hands_free)
            self.query_one(VoiceBar).ears(self.voice.ears)

    def on_unmount(self) -> None:
        """Nobody listens behind another screen."""
        if self._voice is not None:
            self._voice.stop()

    # -- moving -------------------------------------------------------------------------------------------------

    async def go_to(self, key: str) -> None:
        """Show another step."""
        self._last = Content("")
        self.at_desk.go_to(key)
        await self.show_step()

    @on(RowList.Opened, "#steps")
    async def _step_chosen(self, event: RowList.Opened) -> None:
        event.stop()
        await self.go_to(event.key)

    async def action_walk(self, step: int) -> None:
        """The step before or after."""
        self._last = Content("")
        self.at_desk.step_by(step)
        await self.show_step()

    async def action_following(self) -> None:
        """The next step that can be answered."""
        following = self.at_desk.following
        if following:
            await self.go_to(following)
        else:
            sheets.sign(self)

    def action_read_on(self, step: int) -> None:
        """Scroll what does not fit: the answer's words, where there are any, else the step's."""
        places = [*self.query(".dock-words").results(VerticalScroll), self.query_one("#said", VerticalScroll)]
        place = next((p for p in places if p.max_scroll_y), places[-1])
        place.scroll_relative(y=step * 2, animate=False)

    async def ask_again(self, again: Again) -> None:
        """Ask the step again: after a repair, to correct it, or because it was skipped."""
        self.at_desk.again = again
        await self.show_step()
        if again.because:
            words = say(f"Correcting, because: {again.because}", "bold $tone-near-fail")
            self.query_one("#verdict", Static).update(words)

    def show_soon(self) -> None:
        """Draw the step again once this message is dealt with."""
        self.call_later(self.show_step)

    async def refresh_visit(self) -> None:
        """Read the visit again: something was written beside the steps."""
        self.at_desk.saw(rounds.progress(self.book, self.visit_id))
        await self.show_step()

    async def on_resize(self) -> None:
        """The list of steps comes and goes with the width."""
        if self.is_mounted:
            self._draw_words(self.at_desk)
            self.call_after_refresh(self._draw_steps, self.at_desk)

    # -- sheets -------------------------------------------------------------------------------------------------

    def action_steps(self) -> None:
        """All steps."""
        sheets.steps(self)

    def action_skip(self) -> None:
        """Leave the step out."""
        sheets.skip(self)

    def action_note(self) -> None:
        """A note beside the step."""
        sheets.note(self)

    def action_correct(self) -> None:
        """Correct the saved answer."""
        sheets.correct(self)

    async def action_retest(self) -> None:
        """Answer again after a repair."""
        await sheets.retest(self)

    def action_changes(self) -> None:
        """Temporary changes."""
        sheets.changes(self)

    def action_instruments(self) -> None:
        """Instruments."""
        sheets.instruments(self)

    def action_stop(self) -> None:
        """Not safe."""
        sheets.stop(self)

    def action_finish(self) -> None:
        """Sign off or close unfinished."""
        sheets.finish(self)

    def action_copy(self) -> None:
        """The page for the customer."""
        sheets.customer_page(self)

    def action_review(self) -> None:
        """A second person's signature."""
        sheets.review(self)

    def action_sign(self) -> None:
        """Sign off."""
        sheets.sign(self)
