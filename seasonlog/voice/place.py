"""The place that a phrase is held against from outside the app: a visit still open, or one as it would start."""

from seasonlog.domain.checklist import applicable
from seasonlog.domain.desk import Desk, opened
from seasonlog.domain.visit import Progress, Visit, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import queries
from seasonlog.services import checklists, registry, rounds
from seasonlog.services.logbook import Logbook


def desk_at(book: Logbook, tower: str, checklist: str, step: str = "") -> Desk:
    """A place in a visit; nothing is written.

    Args:
        book: The log.
        tower: The tower.
        checklist: The checklist; a visit of it that is still open is gone on with.
        step: Key of the step; empty: the first that can be answered.

    Raises:
        InputRefusedError: there is no such tower, checklist or step.
    """
    desk = opened(_standing(book, tower, checklist))
    if step and desk.at.instance(step) is None:
        near = [each.key for each in desk.at.instances if each.step.id == step.partition("@")[0]]
        hint = f"write {' or '.join(near)}" if near else f"`seasonlog checklist show {checklist}` lists them"
        raise InputRefusedError([Problem(f"step {step}", f"is not asked in this visit; {hint}")])
    desk.go_to(step or desk.key)
    return desk


def _standing(book: Logbook, tower: str, checklist: str) -> Progress:
    register = registry.of_known_tower(book.db, tower, book.today())
    chosen = checklists.named(checklist, book.places.checklists)
    same = [v for v in queries.visits_of(book.db, tower) if v.checklist == chosen.id and v.state is VisitState.OPEN]
    if same:
        return rounds.progress(book, same[-1].id)
    visit = Visit("", tower, chosen.id, chosen.sha256, 0, 0, VisitState.OPEN, "", 0, qualified=False)
    return Progress(visit, chosen, register, applicable(chosen, register, tower), {})
