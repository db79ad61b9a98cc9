"""The plan by day and person: visits are moved with keys, what breaks a rule is refused with a sentence."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.content import Content

from seasonlog.services.logbook import Logbook
from seasonlog.tui import plan_page
from seasonlog.tui.screens.parts import PartsScreen
from seasonlog.tui.widgets.row_list import RowList
from seasonlog.tui.widgets.segments import Segments
from seasonlog.tui.wording import counted, plain, say

if TYPE_CHECKING:
    from seasonlog.domain.season_due import DueKey
    from seasonlog.services.plan import Workplan
    from seasonlog.tui.screens.base import SeasonScreen


class PlanScreen(PartsScreen):
    """The draft where there is one, else the published plan."""

    SHOWS_DEVICES = True
    PARTS = ("days", "nobody", "windows")
    BINDINGS = [
        Binding(
            "left", "shift_day(-1)", "Earlier", key_display="←", priority=True, tooltip="To the working day before"
        ),
        Binding("right", "shift_day(1)", "Later", key_display="→", priority=True, tooltip="To the next working day"),
        Binding("p", "person", "Person", tooltip="Give the visit to the next person who may make it that day"),
        Binding("s", "publish", "Publish", tooltip="Write the draft into the log, where everybody sees it"),
        Binding("x", "take_out", "Take out", tooltip="Nobody has the visit any more; it stands under what nobody has"),
        Binding("c", "claim", "Claim", show=False, tooltip="Tell the others that you make this visit"),
        Binding(
            "u", "give_up", "Give up claim", show=False, tooltip="Tell the others that you do not make it after all"
        ),
        Binding("t", "tower", "Tower", show=False, tooltip="Open the tower of the visit"),
        Binding("d", "discard", "Drop draft", show=False, tooltip="Forget the draft and show what is published"),
        Binding("1", "part(0)", "Days", show=False, tooltip="The plan by day and person"),
        Binding("2", "part(1)", "Nobody has", show=False, tooltip="Visits that nobody has, each with its reason"),
        Binding("3", "part(2)", "Windows", show=False, tooltip="How the due visits of each site are covered"),
    ]
    AUTO_FOCUS = "#days"
    HELP = (
        "Who makes which visit on which day. Choose a visit with the arrow keys up and down. Left and right move it to "
        "another working day, p gives it to another person; Enter lists every day and person where it can go. A move "
        "that would break a rule is refused, and says which: the visit's last sensible day, a shift, leave, an "
        "appointment, the tower's fall enable that goes before a check of the same winter, or that it needs a person "
        "on record as qualified for energised work.\n\n"
        "Moves make a draft, kept beside the log. s publishes it: then it stands on every board and in the "
        "calendars. c claims a visit, so that whoever begins it elsewhere is told; u gives the claim up. "
        "Nobody has tells what found no place, and why."
    )

    def __init__(self) -> None:
        super().__init__(classes="-at-days")
        self._work: Workplan | None = None
        self._claimed: Mapping[DueKey, str] = {}

    def headings(self) -> tuple[Content, ...]:
        """Published or draft."""
        return (Content.styled("Plan", "bold"),)

    def body(self) -> ComposeResult:
        """The three parts, side by side where there is room."""
        yield Segments(("Days", "Nobody has|Nobody", "Windows"))
        with Horizontal(classes="panes"):
            yield RowList(id="days", most_lines=12)
            with Vertical(classes="side"):
                yield RowList(id="nobody")
                yield RowList(id="windows")

    def on_screen_resume(self) -> None:
        """Something may have been done or published meanwhile."""
        self.call_after_refresh(self._load)

    def read_again(self) -> None:
        """Others have written; what was moved here is kept as the draft."""
        self._load()

    @work(thread=True, exclusive=True, group="plan")
    def _load(self) -> None:
        from seasonlog.services import claims, plan, plan_draft

        def look(book: Logbook) -> "tuple[Workplan | None, Mapping[DueKey, str]]":
            work = plan_draft.standing(book, self.today) or plan.published(book, self.today)
            return work, claims.told(book)

        def show(found: "tuple[Workplan | None, Mapping[DueKey, str]]") -> None:
            self._claimed = found[1]
            self._show(found[0])

        self.ask(look, show)

    def _show(self, found: "Workplan | None") -> None:
        self._work = found
        days, nobody, windows = (self.query_one(f"#{part}", RowList) for part in self.PARTS)
        if found is None:
            days.show(plan_page.nothing_yet())
            return
        kept = [rows.picked.key if rows.picked else "" for rows in (days, nobody)]
        kept[0] = kept[0] or plan_page.next_ahead(found, self.today)
        days.show(plan_page.days(found, self._claimed))
        nobody.show(plan_page.nobody(found))
        windows.show(plan_page.windows(found))
        for rows, key in zip((days, nobody), kept, strict=True):
            if key:
                rows.go_to(key)
        self._name_parts(found)

    def _name_parts(self, found: "Workplan") -> None:
        from seasonlog.services.plan_rows import unplaced

        pressing = sum(not each.can_wait for each in unplaced(found))
        state = f"DRAFT, {counted(len(found.moved), 'change')}" if found.is_draft else "published"
        nobody = f"Nobody has {pressing}|Nobody {pressing}" if pressing else "Nobody has|Nobody"
        self.query_one(Segments).names = (f"Days: {state}|{'DRAFT' if found.is_draft else 'Days'}", nobody, "Windows")

    # The visit under the cursor

    def _picked(self) -> str:
        """Id of the visit; empty, with a word, when none is picked."""
        rows = self.focused if isinstance(self.focused, RowList) else self.query_one("#days", RowList)
        what, _, job = rows.picked.key.partition(":") if rows.picked else ("", "", "")
        if what != "stop" or self._work is None:
            self.tell("Choose a visit first.")
            return ""
        return job

    def _now(self, job: str) -> tuple[str, date] | None:
        made = next((m for m in self._work.plan.assignments if m.job == job), None) if self._work else None
        return (made.worker, made.day) if made else None

    def _change(self, change: "Callable[[Workplan], Workplan]") -> None:
        """Change the plan and keep it as a draft; a refusal is shown and changes nothing."""
        from seasonlog.services import plan_draft

        if self._work is not None:
            with self.sentences():
                changed = change(self._work)
                plan_draft.keep(self.book, changed)
                self._show(changed)

    def _move(self, job: str, person: str, day: date) -> None:
        from seasonlog.services.plan_moves import move

        self._change(lambda plan: move(plan, job, person, day))

    def action_shift_day(self, step: int) -> None:
        """To the working day before or after."""
        job = self._picked()
        now = self._now(job)
        if not job or self._work is None:
            return
        if now is None:
            self.tell("Nobody has this visit; Enter lists where it can go.")
            return
        days = self._work.inputs.instance.days
        following = days[days.index(now[1]) + step :][:1] if days.index(now[1]) + step >= 0 else ()
        if following:
            self._move(job, now[0], following[0])
        else:
            self.tell("The plan has no working day beyond this one.")

    def action_person(self) -> None:
        """To the next person on the same day."""
        from seasonlog.services.plan_moves import targets

        job = self._picked()
        now = self._now(job)
        if not job or now is None or self._work is None:
            return
        with self.sentences():
            others = [who for who, day in targets(self._work, job) if day == now[1] and who != now[0]]
            if others:
                self._move(job, next((who for who in others if who > now[0]), others[0]), now[1])
            else:
                self.tell("Nobody else may make it on that day, or has the time; Enter lists other days.")

    def action_take_out(self) -> None:
        """To nobody."""
        from seasonlog.services.plan_moves import take_out

        job = self._picked()
        if job and self._now(job):
            self._change(lambda plan: take_out(plan, job))

    @on(RowList.Opened)
    def _opened(self, event: RowList.Opened) -> None:
        what, _, ident = event.key.partition(":")
        if what == "stop":
            self._choose(ident)
        else:
            self.seasonlog.open_row(event.key)

    def _choose(self, job: str) -> None:
        from seasonlog.services.plan_moves import targets
        from seasonlog.tui.screens.choose import ChooseSheet

        if self._work is None:
            return
        with self.sentences():
            rows = plan_page.choices(self._work, targets(self._work, job), self._now(job))
            if not rows:
                self.tell("There is no day and person that could take it without breaking a rule.")
                return
            words, item = "Days and people that can take it without breaking a rule.", self._work.inputs.items[job]
            title = say(f"{item.tower} · {plain(item.checklist)}, due {item.due}")
            self.app.push_screen(ChooseSheet(title, rows, words), lambda key: self._go(job, key))

    def _go(self, job: str, key: str | None) -> None:
        who, _, day = (key or "").rpartition(":")
        if who:
            self._move(job, who, date.fromisoformat(day))

    def action_claim(self) -> None:
        """The visit is taken on; whoever begins it elsewhere is told."""
        from seasonlog.tui import claiming

        self._with_claim(claiming.claim)

    def action_give_up(self) -> None:
        """The claim is given up."""
        from seasonlog.tui import claiming

        self._with_claim(claiming.give_up)

    def _with_claim(self, change: "Callable[[SeasonScreen, str, str], bool]") -> None:
        job = self._picked()
        if job and self._work is not None:
            item = self._work.inputs.items[job]
            if change(self, item.tower, item.checklist):
                self._load()

    def action_tower(self) -> None:
        """The tower of the visit."""
        job = self._picked()
        if job and self._work is not None:
            self.seasonlog.open_tower(self._work.inputs.items[job].tower)

    # The draft

    def action_publish(self) -> None:
        """Ask why, then write."""
        from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed

        if self._work is None or not self._work.is_draft:
            self.tell("There is no draft to publish; move a visit first, or draft anew with `seasonlog plan`.")
            return

        def save(typed: Typed) -> None:
            from seasonlog.services import plan, plan_draft

            if self._work is not None:
                plan.publish(self.book, self._work, typed["because"])
                plan_draft.forget(self.book.places)

        words = "It is checked once more; then it stands on every board and in the calendars."
        asked = Asked("Publish the plan", words, "Publish")
        self.app.push_screen(FormSheet(asked, [Line("because", "Why it is so (may stay empty)")], save))

    def action_discard(self) -> None:
        """Back to what is published."""
        from seasonlog.services import plan_draft

        plan_draft.forget(self.book.places)
        self._load()
