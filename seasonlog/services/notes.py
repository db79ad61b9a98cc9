"""Notes, temporary changes and the handover from the command line: the same services the screens use, by name."""

from dataclasses import dataclass

from seasonlog.domain.visit import Progress, TemporaryChange, VisitState
from seasonlog.journal import queries, search_queries
from seasonlog.services import closing, registry, rounds
from seasonlog.services.days import day_of
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import refuse


def leave(book: Logbook, tower: str, text: str, visit: str = "", step: str = "") -> None:
    """Words about a tower, a visit or a step.

    Raises:
        InputRefusedError: no such tower, visit or step, no words, or too many.
    """
    registry.refuse_unknown(book.db, tower=tower)
    if step and not visit:
        raise refuse(f"step {step}", "belongs to a visit; name the visit too")
    if visit:
        at = _visit_at(book, visit, tower)
        if step and at.instance(step) is None:
            raise refuse(f"step {step}", f"is not asked in visit {visit}")
    rounds.add_note(book, tower, text, visit, step)


def _visit_at(book: Logbook, visit: str, tower: str) -> Progress:
    at = rounds.progress(book, visit)
    if at.visit.tower != tower:
        raise refuse(f"visit {visit}", f"is of tower {at.visit.tower}, not {tower}")
    return at


def of_tower(book: Logbook, tower: str) -> list[str]:
    """The newest notes about a tower, one line each, newest first."""
    registry.refuse_unknown(book.db, tower=tower)
    return [words_of(book, note) for note in queries.notes_of(book.db, tower)]


def words_of(book: Logbook, note: queries.Note) -> str:
    """A note in one line: day, who, what about, the words."""
    on = day_of(note.wall_ms, book.around.clock.offset_minutes()).isoformat()
    about = " ".join(each for each in (note.visit, note.step) if each)
    return f"{on}  {note.who}{f' ({about})' if about else ''}: {note.text}"


@dataclass(frozen=True, slots=True)
class Standing:
    """A temporary change and the visit it was made in."""

    visit: str
    tower: str
    change: TemporaryChange
    closed: bool
    """The visit ended with the change still in place."""


def standing_changes(book: Logbook, site: str = "", tower: str = "") -> list[Standing]:
    """Every temporary change still in place, oldest first: those of closed visits too."""
    registry.refuse_unknown(book.db, site=site, tower=tower)
    found = []
    for visit in search_queries.visits_with_changes(book.db):
        at = queries.visit(book.db, visit)
        if at is not None and tower in ("", at.tower) and site in ("", _site(book, at.tower)):
            closed = at.state is not VisitState.OPEN
            changes = queries.changes(book.db, visit)
            found += [Standing(visit, at.tower, c, closed) for c in changes if not c.restored]
    return found


def _site(book: Logbook, tower: str) -> str:
    item = queries.item(book.db, "tower", tower, ever=True)
    return str(item.fields["site"]) if item else ""


def make_change(book: Logbook, visit: str, what: str, where: str) -> TemporaryChange:
    """A temporary change, recorded when it is made."""
    return closing.make_change(book, rounds.progress(book, visit), what, where).changes[-1]


def restore_change(book: Logbook, visit: str, change: str) -> None:
    """A temporary change is undone; also after its visit was closed unfinished."""
    closing.restore_change(book, rounds.progress(book, visit), change)
