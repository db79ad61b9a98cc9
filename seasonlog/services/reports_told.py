"""What a report needs of a visit beside the visit itself: what was replaced in it, instruments as they were, time."""

from collections.abc import Sequence

from seasonlog.domain.visit import Progress
from seasonlog.journal import held
from seasonlog.journal.bracket import Brackets
from seasonlog.services import reports_proof, reports_visit
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_history import instruments_at, of_visit
from seasonlog.services.reports_visit import Part, Told


def told(book: Logbook, at: Progress, beside: Sequence[Part]) -> Told:
    """One visit.

    Args:
        book: The log.
        at: The visit.
        beside: What stands after its photos.
    """
    parts = (*reports_visit.photos(book, at), *beside)
    return Told(at, of_visit(book, at.visit.id), instruments_at(book, at.visit), parts)


def each_told(book: Logbook, visits: Sequence[Progress]) -> list[Told]:
    """The visits of a tower's season, each with its time bracket."""
    brackets = Brackets(held.checkpoints(book.db)) if visits else Brackets(())
    return [told(book, at, reports_proof.written(book, at.visit.id, brackets)) for at in visits]
