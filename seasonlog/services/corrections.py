"""Corrections: a new entry that names the old one and why. The first observation stays, whatever comes after it.

Two devices that do not see each other may correct the same answer differently. Both corrections are kept, told to the
supervisor, and decided by an entry that names them all.
"""

from dataclasses import dataclass, replace

from seasonlog.domain.answers import Raw
from seasonlog.domain.conflicts import Answer, Conflict
from seasonlog.domain.judging import Judgement
from seasonlog.domain.late import late_of
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.units_shown import in_units
from seasonlog.domain.visit import Progress, Saved, VisitState
from seasonlog.journal import audit_queries, trust_queries
from seasonlog.journal.stored import Stored
from seasonlog.services import registry, rounds
from seasonlog.services.findings import is_supervisor
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import reason_in, refuse


def amend(book: Logbook, visit: str, key: str, raw: Raw, because: str) -> Progress:
    """Correct an answer, also after sign-off; judged as on the day it was observed.

    Raises:
        InputRefusedError: nothing to correct, no reason, or a closed visit of somebody else and no supervisor.
    """
    at, said = rounds.progress(book, visit), reason_in(f"step {key}", because)
    at = _as_read(at, key, amendable(book, at, key))
    rounds.answer(book, at, key, raw, rounds.AnswerOptions(because=said, after_closing=True))
    return rounds.progress(book, visit, at.register)


def _as_read(at: Progress, key: str, saved: Saved) -> Progress:
    """The visit with the instrument that this reading was taken with, whichever was chosen after it."""
    instance = at.instance(key)
    kind = instance.step.instrument if instance else ""
    if not kind:
        return at
    others = {name: ident for name, ident in at.visit.instruments.items() if name != kind}
    used = others | ({kind: saved.instrument} if saved.instrument else {})
    return replace(at, visit=replace(at.visit, instruments=used))


def amendable(book: Logbook, at: Progress, key: str) -> Saved:
    """The answer that would be corrected.

    Raises:
        InputRefusedError: there is none, or this person may not.
    """
    saved = at.answers.get(key)
    if saved is None or saved.is_skipped:
        raise refuse(f"step {key}", "has no answer in this visit; there is nothing to correct")
    if at.visit.state is not VisitState.OPEN and not _may(book, saved):
        words = f"is closed; {saved.who}, who gave the answer, or a supervisor may correct it"
        raise refuse(f"visit {at.visit.id}", words)
    return saved


@dataclass(frozen=True, slots=True)
class Amendment:
    """A correction as it would be saved."""

    chain: tuple[Answer, ...]
    """Every answer the step was given, first observation first; the last one stands now."""
    value: Raw
    judgement: Judgement
    """Of the new value, as on the day it was observed."""
    because: str
    units: str
    """Units that people at the tower's site read."""

    @property
    def says(self) -> str:
        """The verdict on the new value, as they read it."""
        return in_units(self.judgement.says, self.units)

    @property
    def new(self) -> str:
        """The new value, as they read it."""
        last = self.chain[-1]
        return replace(last, body={**last.body, "value": self.value}).value_in(self.units)


def preview(book: Logbook, at: Progress, key: str, raw: Raw, because: str) -> Amendment:
    """What a correction would be worth beside what stands; nothing is written.

    Raises:
        InputRefusedError: as `amend`, or the new value is no answer of this kind.
    """
    saved, said = amendable(book, at, key), reason_in(f"step {key}", because)
    on = rounds.observed_on(book, late_of(saved), saved)
    parsed, judgement = rounds.judgement(book, _as_read(at, key, saved), key, raw, on)
    return Amendment(chain(book, at.visit.id, key), parsed.value, judgement, said, at.units)


def _may(book: Logbook, saved: Saved) -> bool:
    return book.who.casefold() in (saved.who.casefold(), saved.from_paper.casefold()) or is_supervisor(book)


def chain(book: Logbook, visit: str, key: str) -> tuple[Answer, ...]:
    """Every answer a step of a visit was ever given, first observation first, whatever corrected it."""
    return tuple(answer for answer in _answers(book, visit) if answer.body["step"] == key)


def undecided(book: Logbook) -> tuple[Conflict, ...]:
    """Contradicting answers of two devices that a supervisor has to decide."""
    found = (_conflict(book, each) for each in trust_queries.conflicts(book.db))
    return tuple(conflict for conflict in found if conflict.contradicts)


def _conflict(book: Logbook, found: trust_queries.AnswerConflict) -> Conflict:
    answers = [a for a in chain(book, found.visit, found.step) if a.uid in found.answers]
    return Conflict(found.visit, found.tower, found.step, tuple(answers), registry.units_of(book.db, found.tower))


def decide(book: Logbook, uid: str, because: str) -> Progress:
    """A supervisor says which of contradicting answers stands; the others stay in the record.

    Args:
        book: The log.
        uid: Beginning of the uid of the answer that stands, long enough to be the only one.
        because: Why.

    Raises:
        InputRefusedError: no such conflict, no reason, or the person is no supervisor.
    """
    said = reason_in("decide", because)
    if not is_supervisor(book):
        raise refuse("decide", f"{book.who} is not on record as a supervisor; only a supervisor decides")
    picked = [(c, a) for c in undecided(book) for a in c.answers if uid and a.uid.startswith(uid)]
    if len(picked) != 1:
        words = "is not among them; `seasonlog conflicts` lists them" if not picked else "is more than one of them"
        raise refuse(f"answer {uid}", words)
    conflict, stands = picked[0]
    at = rounds.progress(book, conflict.visit)
    body = {k: v for k, v in stands.body.items() if k not in ("retest", "decides", "ahead_of")}
    uids = [answer.uid for answer in conflict.answers]
    body |= {"corrects": at.answers[conflict.step].uid, "because": said, "decides": uids}
    book.write(Record(Kind.STEP_ANSWERED, body))
    return rounds.progress(book, conflict.visit)


def _answers(book: Logbook, visit: str) -> list[Answer]:
    found = audit_queries.entries_of_visit(book.db, visit)
    return [_answer(each) for each in found if each.entry.kind == Kind.STEP_ANSWERED]


def _answer(stored: Stored) -> Answer:
    entry = stored.entry
    return Answer(entry.uid, entry.dev, entry.who, entry.wall, entry.body)
