"""One finding in full, and what may be done about it."""

from collections.abc import Callable, Iterator

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from seasonlog.domain.finding import Finding
from seasonlog.domain.severity import Severity
from seasonlog.services import findings, registry
from seasonlog.services.days import typed_day
from seasonlog.services.fault_finding import is_about_a_circuit
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed
from seasonlog.tui.site_page import fact
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.wording import FINDING_STATES, SEVERITIES, Look, counted, say
from seasonlog.tui.words import time_words

DO = Look("+", "DO", "hot")


class FindingScreen(SeasonScreen):
    """One finding."""

    BINDINGS = [
        Binding("o", "tower", "Tower", tooltip="The tower's page; a visit started there can test again"),
        Binding("w", "why", "Why", show=False, tooltip="Find out why; what its visit read is evidence"),
        Binding("m", "measure", "Measure", tooltip="What was done to get through the night, and who was told"),
        Binding("s", "assign", "Assign", tooltip="Give it to somebody, with a day"),
        Binding("p", "part", "Part", show=False, tooltip="A part was ordered, is promised, or was fitted"),
        Binding("r", "repair", "Repair", show=False, tooltip="The repair was offered; accepted or declined by whom"),
        Binding("u", "accept", "Accept", show=False, tooltip="Supervisor and customer accept it until a day"),
        Binding("c", "close", "Close", show=False, tooltip="Close it in words, where no retest is needed"),
    ]
    AUTO_FOCUS = "RowList"
    HELP = (
        "One finding: what was read and what is allowed, what it can lead to, what to do tonight, the parts a "
        "repair needs, and what was done so far. A freeze, dry-fire or shock risk closes only by a retest "
        "that passes, or is accepted for a while by a supervisor together with the customer. Anything else "
        "can be closed in words."
    )

    def __init__(self, finding: str) -> None:
        super().__init__()
        self.finding_id = finding

    @property
    def finding(self) -> Finding:
        """As it stands now, as people of its site read it."""
        return findings.as_read(self.book, [findings.named(self.book, self.finding_id)])[0]

    def headings(self) -> tuple[Content, ...]:
        """Tower and title."""
        found = self.finding
        return (say(found.tower, "bold") + say(f"  {found.title}"), say(found.tower, "bold"))

    def body(self) -> ComposeResult:
        """Facts, and what may be done."""
        with Horizontal(classes="panes"):
            with VerticalScroll(id="finding-facts"):
                yield Static(id="finding-words")
            yield RowList(id="finding-do")

    def on_screen_resume(self) -> None:
        """Something may have been done."""
        self.show_finding()

    def read_again(self) -> None:
        """Others have written."""
        with self.sentences(), self.steady():
            self.show_finding()

    def show_finding(self) -> None:
        """Draw it."""
        found = self.finding
        offset = self.book.around.clock.offset_minutes()
        self.query_one("#finding-words", Static).update(
            words(found, time_words(found.opened_wall_ms, offset), self.today)
        )
        self.query_one("#finding-do", RowList).show(list(_deeds(found)))

    @on(RowList.Opened)
    async def _opened(self, event: RowList.Opened) -> None:
        await self.run_action(event.key)

    def action_tower(self) -> None:
        """The tower's page."""
        self.seasonlog.open_tower(self.finding.tower)

    def action_why(self) -> None:
        """Search for the cause, with everything that the visit read."""
        from seasonlog.tui.screens.fault import find_fault

        found = self.finding
        if not is_about_a_circuit(found):
            self.tell("This finding is not about a heater's circuit; the tower's page finds a fault of one.")
            return
        register = registry.of_known_tower(self.book.db, found.tower)
        ours = [each.id for each in register.circuits_of(found.tower) if found.target in (each.id, each.basin)]
        find_fault(self, found.tower, ours[0] if len(ours) == 1 else "", found.visit)

    def _ask(self, asked: Asked, lines: list[Line], save: Callable[[Typed], object]) -> None:
        self.app.push_screen(FormSheet(asked, lines, save), self.when_done(self.show_finding))

    def action_measure(self) -> None:
        """What was done for tonight."""
        asked = Asked("Interim measure", "Drained and locked, pump kept running, portable heat, watch ...")
        lines = [Line("measure", "What was done"), Line("told", "Who was told"), Line("at", "When they were told")]
        self._ask(
            asked, lines, lambda t: findings.take_measure(self.book, self.finding_id, t["measure"], t["told"], t["at"])
        )

    def action_assign(self) -> None:
        """Give it to somebody."""
        found = self.finding
        lines = [
            Line("to", "To whom", found.assigned),
            Line("due", "By which day, YYYY-MM-DD (may be empty)", found.assigned_due),
        ]

        def save(typed: Typed) -> None:
            due = typed_day(typed["due"], "by which day") if typed["due"].strip() else None
            findings.assign(self.book, found.id, typed["to"], due)

        self._ask(Asked("Assign"), lines, save)

    def action_part(self) -> None:
        """A part: first which stage, then which part and day."""
        shown = [Row(stage, Content(stage), look=DO) for stage in findings.STAGES]
        self.app.push_screen(ChooseSheet(Content("The part was ..."), shown), self._part)

    def _part(self, stage: str | None) -> None:
        if stage:
            found = self.finding
            lines = [
                Line("part", "Which part", found.parts[0] if found.parts else ""),
                Line("on", "Day, YYYY-MM-DD", self.book.today().isoformat()),
            ]
            self._ask(
                Asked(f"Part {stage}"),
                lines,
                lambda t: findings.note_part(self.book, found.id, t["part"], stage, typed_day(t["on"], "day")),
            )

    def action_repair(self) -> None:
        """What the customer said to the repair: first which answer, then who and in which words."""
        shown = [Row(answer, Content(answer), look=DO) for answer in findings.ANSWERS]
        self.app.push_screen(ChooseSheet(Content("The repair is ..."), shown), self._repair)

    def _repair(self, answer: str | None) -> None:
        if answer:
            lines = [Line("by", "Who of the customer"), Line("words", "In which words (declined needs them)")]
            self._ask(
                Asked(f"Repair {answer}", "It shows on the customer's page."),
                lines,
                lambda t: findings.answer_offer(self.book, self.finding_id, answer, t["by"], t["words"]),
            )

    def action_accept(self) -> None:
        """Accepted until a day."""
        asked = Asked(
            "Accept until a day",
            "By a supervisor, with the customer's decision-maker. After that day it is open again.",
        )
        lines = [
            Line("customer", "Who decided for the customer"),
            Line("until", "Until which day, YYYY-MM-DD"),
            Line("because", "Reason"),
        ]
        if not findings.is_supervisor(self.book):
            self.tell(f"{self.book.who} is not on record as a supervisor; only a supervisor may accept a finding.")
            return
        self._ask(
            asked,
            lines,
            lambda t: findings.accept(
                self.book, self.finding_id, t["customer"], typed_day(t["until"], "until which day"), t["because"]
            ),
        )

    def action_close(self) -> None:
        """Close it in words; where words do not close it, that is said before anybody types them."""
        if self.finding.is_open and self.finding.needs_retest:
            self.tell(
                f"A {SEVERITIES[self.finding.severity].word.lower()} closes by a retest that passes: o opens the "
                "tower, start a repair retest there. u accepts it until a day."
            )
            return
        self._ask(
            Asked("Close the finding", "Say what was done."),
            [Line("because", "What was done")],
            lambda t: findings.close(self.book, self.finding_id, t["because"]),
        )


def words(found: Finding, opened: str, today: object) -> Content:
    """All that the record holds about it."""
    look, state = SEVERITIES[found.severity], FINDING_STATES[found.state]
    seen = f" · seen in {counted(found.seen, 'visit')}" if found.seen > 1 else ""
    parts = [
        look.badge() + Content("   ") + state.badge(f" until {found.accepted_until}" if found.accepted_until else ""),
        Content.styled(f"\n{Severity(found.severity).means}\n\n", "$soft"),
        *([fact("REOPENED", found.doubt, "fail")] if found.doubt else []),
        fact("WHAT WAS READ", found.says),
    ]
    if found.unprotected and found.is_open:
        parts.append(fact("TONIGHT", found.unprotected, "fail"))
    parts += [fact(label, text) for label, text in _facts(found)]
    where = f"{found.step}" + (f" at {found.target}" if found.target and "@" not in found.step else "")
    parts.append(fact("OPENED", f"{opened} by {found.opened_by}, step {where}{seen}\n{found.id}"))
    return Content("").join(parts).rstrip()


def _facts(found: Finding) -> Iterator[tuple[str, str]]:
    facts = (
        ("PARTS A REPAIR NEEDS", ", ".join(found.parts)),
        ("ASSIGNED TO", f"{found.assigned}" + (f", by {found.assigned_due}" if found.assigned_due else "")),
        ("DONE FOR TONIGHT", "\n".join(found.measures)),
        ("PARTS ON THE WAY", "\n".join(found.part_stages)),
        ("TEST AGAIN", findings.retest_words(found)),
        ("REPAIR", "\n".join(found.offers)),
        ("ACCEPTED", found.accepted_words),
        ("CLOSED", found.closed_words),
    )
    yield from ((label, text) for label, text in facts if text)


def _deeds(found: Finding) -> Iterator[Row]:
    if found.is_open:
        yield heading("DO")
        if is_about_a_circuit(found):
            yield Row("why", Content("Find out why"), Content("with what was read in that visit as evidence"), look=DO)
        yield Row("measure", Content("Interim measure"), Content("what gets it through the night"), look=DO)
        yield Row("assign", Content("Assign"), Content("to somebody, by a day"), look=DO)
        yield Row("part", Content("Part"), Content("ordered, promised, fitted"), look=DO)
        yield Row("repair", Content("Repair"), Content("offered, accepted or declined by the customer"), look=DO)
        yield Row("accept", Content("Accept until a day"), Content("supervisor and customer together"), look=DO)
        how = "a retest that passes closes it" if found.needs_retest else "say what was done"
        yield Row("close", Content("Close"), Content(how), look=DO)
    yield heading("GO TO")
    yield Row("tower", say(f"Tower {found.tower}"), Content("start a visit there to test again"), look=DO)
