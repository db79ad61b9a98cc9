"""How a visit ends: temporary changes undone, signatures with stated meanings, or closed unfinished with a reason."""

from collections.abc import Sequence

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.visit import Meaning, Progress, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import note_in, reason_in, refuse
from seasonlog.services.rounds import progress, still_open

CHANGES = ("jumper", "lifted wire", "bulb out of its well", "dial moved", "lock on", "valve shut", "other")
"""Kinds of temporary change."""
NOT_AVAILABLE, DECLINED = "not available", "declined"
"""What may stand for the customer's name."""


def make_change(book: Logbook, at: Progress, what: str, where: str) -> Progress:
    """Record a temporary change at the moment it is made."""
    still_open(at)
    if what not in CHANGES:
        raise refuse("temporary change", f'"{what}" is not one of {", ".join(CHANGES)}')
    body = {
        "visit": at.visit.id,
        "tower": at.visit.tower,
        "change": f"T{len(at.changes) + 1:02d}",
        "what": what,
        "where": reason_in("temporary change", where),
    }
    book.write(Record(Kind.TEMPORARY_CHANGE_MADE, body))
    return progress(book, at.visit.id)


def restore_change(book: Logbook, at: Progress, change: str) -> Progress:
    """Record that a temporary change is undone."""
    if change not in {c.id for c in at.open_changes}:
        raise refuse(f"temporary change {change}", "is not open in this visit")
    body = {"visit": at.visit.id, "tower": at.visit.tower, "change": change}
    book.write(Record(Kind.TEMPORARY_CHANGE_RESTORED, body))
    return progress(book, at.visit.id)


def sign_off(book: Logbook, at: Progress, received_by: str, words: str = "") -> Progress:
    """Done by the technician, received by the customer (a name, `not available`, or `declined` with words); closed."""
    still_open(at)
    if at.hindrances:
        raise InputRefusedError([Problem(f"visit {at.visit.id}", says) for says in at.hindrances])
    if received_by == DECLINED and not words.strip():
        raise refuse("sign-off", "declined needs the customer's words")
    names: Sequence[tuple[Meaning, str, str]] = (
        (Meaning.DONE_BY, book.who, ""),
        (Meaning.RECEIVED_BY, reason_in("sign-off", received_by), note_in("words", words)),
    )
    signatures = [_signed(at.visit.id, meaning, name, said) for meaning, name, said in names]
    book.write(*signatures, _closed(at, VisitState.COMPLETE, ""))
    return progress(book, at.visit.id)


def review(book: Logbook, at: Progress, words: str) -> Progress:
    """A second person states that the visit was reviewed."""
    if at.visit.state is VisitState.OPEN:
        raise refuse(f"visit {at.visit.id}", "is still open; a review comes after it is closed")
    if any(s.meaning is Meaning.DONE_BY and s.name == book.who for s in at.visit.signatures):
        raise refuse("review", "another person than the one who did the visit reviews it")
    book.write(_signed(at.visit.id, Meaning.REVIEWED_BY, book.who, note_in("words", words)))
    return progress(book, at.visit.id)


def _signed(visit_id: str, meaning: Meaning, name: str, words: str) -> Record:
    return Record(Kind.VISIT_SIGNED, {"visit": visit_id, "meaning": str(meaning), "name": name, "words": words})


def close_unfinished(book: Logbook, at: Progress, outcome: VisitState, because: str) -> Progress:
    """Close as incomplete or not possible: kept and signed, proves nothing, due again. Never counted against anyone."""
    still_open(at)
    if outcome not in (VisitState.INCOMPLETE, VisitState.NOT_POSSIBLE):
        raise refuse(f"visit {at.visit.id}", "closes unfinished as incomplete or not possible")
    closing = _closed(at, outcome, reason_in(f"visit {at.visit.id}", because))
    book.write(_signed(at.visit.id, Meaning.DONE_BY, book.who, ""), closing)
    return progress(book, at.visit.id)


def _closed(at: Progress, outcome: VisitState, because: str) -> Record:
    return Record(
        Kind.VISIT_CLOSED, {"visit": at.visit.id, "outcome": str(outcome), "because": because}, f"{at.visit.id}:end"
    )
