"""How a visit is started from a screen: which checklist (the due one first), which instruments, then the first step."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.checklist import Checklist, applicable
from seasonlog.domain.due_state import DueState
from seasonlog.domain.season_due import DueItem, due_words
from seasonlog.domain.text import visible
from seasonlog.journal import queries
from seasonlog.services import checklists, claims, registry, rounds
from seasonlog.services.instrument_doubts import doubts
from seasonlog.tui import rows
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.instruments import InstrumentsSheet
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import CALM, DUE_STATES, say

if TYPE_CHECKING:
    from datetime import date

    from seasonlog.tui.screens.base import SeasonScreen

GO_ON = Row("go on", Content("Start it all the same"), Content("both results are kept"))
PRESSING = (DueState.OVERDUE, DueState.OPEN)


def checklist_rows(known: Mapping[str, Checklist], due: Sequence[DueItem], today: "date") -> list[Row]:
    """Every checklist, those that are due first, each with its purpose."""
    pressing = {i.checklist: i for i in reversed(due) if i.state in PRESSING}
    ordered = sorted(known.values(), key=lambda c: (c.id not in pressing, c.title))
    return [_row(c, pressing.get(c.id), today) for c in ordered]


def _row(checklist: Checklist, item: DueItem | None, today: "date") -> Row:
    if item is None:
        return Row(checklist.id, say(checklist.title), say(checklist.purpose), look=CALM)
    look = DUE_STATES[item.state]
    words = Content("\n").join([say(due_words(item, today), f"bold {look.ink}"), say(checklist.purpose)])
    return Row(checklist.id, say(checklist.title), words, rows.marks((look.word, look.tone)), look)


def choose_checklist(screen: "SeasonScreen", tower: str, due: Sequence[DueItem]) -> None:
    """Ask which checklist, then go on to the instruments."""
    with screen.sentences():
        known = checklists.available(screen.book.places.checklists)
        found = checklist_rows(known, due, screen.today)
        sheet = ChooseSheet(say(f"{tower} · start a visit"), found, "Which checklist?")
        screen.app.push_screen(sheet, lambda chosen: choose_instruments(screen, tower, chosen))


def choose_instruments(screen: "SeasonScreen", tower: str, checklist: str | None) -> None:
    """Tell who else has taken it on, ask which instruments, where the checklist reads any, then start."""
    if not checklist:
        return
    with screen.sentences():
        told = claims.warnings(screen.book, tower, checklist, screen.today)
        if not told:
            _instruments(screen, tower, checklist)
            return
        words = ". ".join(told) + "."
        sheet = ChooseSheet(say(f"{tower} · somebody has it already"), [GO_ON], visible(words))
        screen.app.push_screen(sheet, lambda chosen: _instruments(screen, tower, checklist) if chosen else None)


def _instruments(screen: "SeasonScreen", tower: str, checklist: str) -> None:
    with screen.sentences():
        kinds = instrument_kinds(screen, tower, checklist)
        if not kinds:
            begin(screen, tower, checklist, {})
            return
        known = list(registry.shared(screen.book.db).instruments.values())
        found = doubts(screen.book.db, known, screen.book.today())
        usual = queries.last_used(screen.book.db, screen.book.who)
        sheet = InstrumentsSheet(kinds, known, {}, found, "START", usual=usual)
        screen.app.push_screen(sheet, lambda used: begin(screen, tower, checklist, used))


def instrument_kinds(screen: "SeasonScreen", tower: str, checklist: str) -> list[str]:
    """The kinds of instrument that the steps asked of this tower are read with, in their order."""
    found = checklists.named(checklist, screen.book.places.checklists)
    asked = applicable(found, registry.of_known_tower(screen.book.db, tower, screen.book.today()), tower)
    return list(dict.fromkeys(i.step.instrument for i in asked if i.step.instrument))


def begin(screen: "SeasonScreen", tower: str, checklist: str, used: Mapping[str, str] | None) -> None:
    """Start it and show the first step; None means that the person thought better of it."""
    if used is None:
        return
    with screen.sentences():
        at = rounds.start(screen.book, rounds.Start(tower, checklist, used), screen.today)
        screen.seasonlog.open_visit(at.visit.id)
