"""Values of the boards as list rows: what a site, a tower, a visit, a finding or a note says in a list."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.finding import Finding
from seasonlog.domain.visit import Visit
from seasonlog.tui.widgets.row import NOTHING, Row
from seasonlog.tui.wording import (
    CALM,
    FINDING_STATES,
    PROTECTIONS,
    SEVERITIES,
    VISIT_STATES,
    Look,
    counted,
    plain,
    say,
    say_lines,
)

if TYPE_CHECKING:
    from seasonlog.journal.queries import Note
    from seasonlog.services.board import SiteRow, TowerRow
    from seasonlog.services.today import OpenVisit

RESUME = Look("►", "RESUME", "hot")
HAZARD = Look("✗", "HAZARD", "fail")
OVERDUE = Look("!", "OVERDUE", "fail")
DUE = Look("●", "DUE", "hot")
QUIET = Look("✓", "NOTHING DUE", "pass")
RECALLED = Look("?", "RECALLED", "unsure")
NOTE = Look("»", "NOTE", "cold")
When = Callable[[int], str]
"""Clock reading [ms] to words."""


CONFLICT = "conflict:"
"""Beginning of the key of a row that stands for two answers to one step."""


def marks(*parts: tuple[str, str]) -> tuple[Content, ...]:
    """Words at the right of a row, each in its tone; empty ones left out."""
    return tuple(Content.styled(text, f"bold $tone-{tone}") for text, tone in parts if text)


def recalled(words: str) -> Row:
    """An instrument in doubt; what rests on it proves nothing until the review that the words name."""
    what, _, why = words.partition(": ")
    return Row("", say(what), say(why), marks(("? RECALLED", "unsure")), RECALLED)


def waiting_site(ident: str, name: str, towers: int) -> Row:
    """A site before its state is known."""
    return Row(f"site:{ident}", say(name), Content(f"{counted(towers, 'tower')} · reading the log …"), look=CALM)


def site(row: "SiteRow", today: date) -> Row:
    """A site with what is due."""
    mark = marks(
        (f"✗ {counted(row.hazards, 'hazard')}" if row.hazards else "", "fail"),
        (f"! {row.overdue} overdue" if row.overdue else "", "fail"),
        (f"● {row.due_now} due" if row.due_now else "", "hot"),
    )
    words = f"{counted(row.towers, 'tower')} · {_next(row, today)}"
    return Row(f"site:{row.id}", say(row.name), say(words), mark, _site_look(row))


def _site_look(row: "SiteRow") -> Look:
    if row.hazards:
        return HAZARD
    return OVERDUE if row.overdue else DUE if row.due_now else QUIET


def _next(row: "SiteRow", today: date) -> str:
    from seasonlog.domain.season_due import due_words

    if row.next_due is None:
        return "nothing due"
    return f"next {plain(row.next_due.checklist)} at {row.next_due.tower}, {due_words(row.next_due, today)}"


def open_visit(visit: "OpenVisit", when: str) -> Row:
    """A visit to go on with."""
    title = say(f"{visit.visit.tower} {visit.tower_name} · {visit.title}")
    words = say(f"started {when} by {visit.visit.who} · tap to go on")
    return Row(f"visit:{visit.visit.id}", title, words, marks((f"{visit.answered} of {visit.steps}", "hot")), RESUME)


def finding(found: Finding, today: date, *, tonight: bool = False) -> Row:
    """A finding; `tonight` puts first why the tower is unprotected."""
    look = SEVERITIES[found.severity]
    state = FINDING_STATES[found.state_on(today)]
    mark = look.word if found.is_open else state.word
    words = found.unprotected if tonight and found.unprotected else found.says
    told = [say(words), *([say(f"reopened: {found.doubt}")] if found.doubt else []), *next_tests(found.causes)]
    told += [say(f"assigned to {found.assigned}")] if found.assigned else []
    return Row(
        f"finding:{found.id}",
        say(f"{found.tower} · {found.title}"),
        Content("\n").join(told),
        marks((mark, look.tone if found.is_open else state.tone)),
        look if found.is_open else state,
    )


def next_tests(causes: Sequence[Mapping[str, str]], most: int = 1) -> Iterator[Content]:
    """What may be wrong, and the measurement that tells."""
    for cause in causes[:most]:
        yield Content.assemble(("Next: ", "bold $tone-hot"), say(cause["next_test"]))


def visit(visit: Visit, title: str, when: When) -> Row:
    """A visit, as it stands."""
    look = VISIT_STATES[visit.state]
    told = [say(f"{when(visit.closed_wall_ms or visit.started_wall_ms)} by {visit.who}")]
    told += [say(visit.closed_words)] if visit.closed_words else []
    return Row(f"visit:{visit.id}", say(title), Content("\n").join(told), marks((look.word, look.tone)), look)


def note(note: "Note", when: When) -> Row:
    """Words somebody left about a tower."""
    words = say(f"{note.tower} · {when(note.wall_ms)} by {note.who}")
    return Row(f"tower:{note.tower}", say_lines(note.text), words, look=NOTE)


def waiting_tower(ident: str, name: str) -> Row:
    """A tower before its state is known."""
    return Row(f"tower:{ident}", say(f"{ident}  {name}"), Content("…"), look=CALM)


def tower(row: "TowerRow") -> Row:
    """A tower with its state in words."""
    look = PROTECTIONS[row.protection]
    mark = marks(
        (f"✗ {counted(row.hazards, 'hazard')}" if row.hazards else "", "fail"),
        (counted(row.findings - row.hazards, "finding") if row.findings > row.hazards else "", "near-fail"),
        ("► open visit" if row.open_visit else "", "hot"),
        (look.word, look.tone),
    )
    words = " · ".join(_tower_words(row))
    return Row(f"tower:{row.id}", say(f"{row.id}  {row.name}"), say(words) if words else NOTHING, mark, look)


def _tower_words(row: "TowerRow") -> Iterator[str]:
    if row.due:
        yield row.due
    if row.words:
        yield row.words.replace("_", " ")
