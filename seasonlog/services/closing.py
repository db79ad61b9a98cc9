"""How a visit ends: temporary changes undone, signatures with stated meanings, or closed unfinished with a reason."""

from seasonlog.domain.late import paper_of
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.visit import Meaning, Progress, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import note_in, reason_in, refuse
from seasonlog.services.rounds import person_of, progress, still_open
from seasonlog.services.signing import signed

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
    """Done by the technician, received by the customer (a name, `not available`, or `declined` with words); closed.

    Raises:
        InputRefusedError: closed already, something hinders it, or the person had no part in it.
    """
    may_sign_off(book, at)
    received = _received(at, received_by, words)
    book.write(_done(book, at), received, _closed(at, VisitState.COMPLETE, ""))
    return progress(book, at.visit.id)


def may_sign_off(book: Logbook, at: Progress) -> None:
    """Refuse what no receiver's name would help: it comes before anybody is asked for one.

    Raises:
        InputRefusedError: closed already, something hinders it, or the person had no part in it.
    """
    still_open(at)
    _refuse_a_stranger(book, at)
    if at.hindrances:
        raise InputRefusedError([Problem(f"visit {at.visit.id}", says) for says in at.hindrances])


def _refuse_a_stranger(book: Logbook, at: Progress) -> None:
    """That the steps were carried out is stated by somebody who carried some of them out."""
    people = {name.casefold() for name in (at.visit.who, *(saved.who for saved in at.answers.values()))}
    known = person_of(at.register, book.who)
    own = {book.who.casefold(), *((known.id.casefold(), known.name.casefold()) if known else ())}
    if not own & people:
        words = f"{book.who} had no part in it; whoever did it signs that it is done: {at.visit.who}"
        raise refuse(f"visit {at.visit.id}", words)


def _done(book: Logbook, at: Progress) -> Record:
    """Signed by whoever did it; what comes from paper was signed there, and somebody else may have typed it in."""
    paper = paper_of(at.answers.values())
    if paper is None:
        return signed(at, Meaning.DONE_BY, book.who, "")
    return signed(at, Meaning.DONE_BY, paper.by, f"on paper; entered by {book.who}")


def _received(at: Progress, name: str, words: str) -> Record:
    if name == DECLINED and not words.strip():
        raise refuse("sign-off", "declined needs the customer's words")
    return signed(at, Meaning.RECEIVED_BY, reason_in("sign-off", name).strip(), note_in("words", words))


def receive(book: Logbook, at: Progress, name: str, words: str = "") -> Progress:
    """The customer receives a visit that is closed already: later the same day, or the next morning."""
    may_receive(at)
    book.write(_received(at, name, words))
    return progress(book, at.visit.id)


def may_receive(at: Progress) -> None:
    """Refuse a visit that is still open, or has the customer's word.

    Raises:
        InputRefusedError: so it is.
    """
    _over(at, "it is received when it is signed off")
    if not awaits_receipt(at):
        raise refuse(f"visit {at.visit.id}", f"has the customer's word already: {_receivers(at)[-1]}")


def awaits_receipt(at: Progress) -> bool:
    """The visit is over, and the customer has neither received nor declined it."""
    return at.visit.state is not VisitState.OPEN and _receivers(at)[-1:] in ([], [NOT_AVAILABLE])


def _receivers(at: Progress) -> list[str]:
    return [s.name for s in at.visit.signatures if s.meaning is Meaning.RECEIVED_BY and not s.moved]


def review(book: Logbook, at: Progress, words: str) -> Progress:
    """A second person states that the visit was reviewed."""
    _over(at, "a review comes after it is closed")
    if any(s.meaning is Meaning.DONE_BY and s.name.casefold() == book.who.casefold() for s in at.visit.signatures):
        raise refuse("review", "another person than the one who did the visit reviews it")
    book.write(signed(at, Meaning.REVIEWED_BY, book.who, note_in("words", words)))
    return progress(book, at.visit.id)


def _over(at: Progress, why: str) -> None:
    if at.visit.state is VisitState.OPEN:
        raise refuse(f"visit {at.visit.id}", f"is still open; {why}")


def close_unfinished(book: Logbook, at: Progress, outcome: VisitState, because: str) -> Progress:
    """Close as incomplete or not possible: kept and signed, proves nothing, due again. Never counted against anyone."""
    still_open(at)
    if outcome not in (VisitState.INCOMPLETE, VisitState.NOT_POSSIBLE):
        raise refuse(f"visit {at.visit.id}", "closes unfinished as incomplete or not possible")
    closing = _closed(at, outcome, reason_in(f"visit {at.visit.id}", because))
    book.write(_done(book, at), closing)
    return progress(book, at.visit.id)


def _closed(at: Progress, outcome: VisitState, because: str) -> Record:
    body = {"visit": at.visit.id, "outcome": str(outcome), "because": because}
    paper = paper_of(at.answers.values())
    body |= {"observed_on": paper.day.isoformat()} if paper else {}
    return Record(Kind.VISIT_CLOSED, body, f"{at.visit.id}:end")
