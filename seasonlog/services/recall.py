"""Instruments in doubt: recalled since a day, reviewed, and checked before use.

A recall turns every verdict that rests on the instrument to cannot tell; coverage and every board follow at once. A
review lets the readings stand, or says that they are to be made again; of all visits, or of some.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain.finding import Finding, FindingState, bases
from seasonlog.domain.limit_inputs import reading_words
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register_records import Instrument
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import audit_queries, queries
from seasonlog.journal.audit_queries import Check, Recall, Relied, Review
from seasonlog.services import registry
from seasonlog.services.findings import is_supervisor
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import reason_in, refuse

STANDS, REPEAT = "stands", "repeat"
OUTCOMES = (STANDS, REPEAT)
"""What a review may say: the readings stand, or prove nothing and are to be made again."""


@dataclass(frozen=True, slots=True)
class Reliance:
    """Everything that rests on an instrument since a day."""

    instrument: Instrument
    since: date
    readings: Sequence[Relied]
    """Oldest day first."""
    recalls: Sequence[Recall]
    """All recalls of this instrument, oldest first."""
    closed: Sequence[Finding]
    """Findings that one of these readings closed; those that are open stand open again by a recall."""

    @property
    def visits(self) -> tuple[str, ...]:
        """Their visits, oldest first."""
        return tuple(dict.fromkeys(each.visit for each in self.readings))

    @property
    def towers(self) -> tuple[str, ...]:
        """Their towers."""
        return tuple(sorted({each.tower for each in self.readings}))


def reliance(book: Logbook, instrument: str, since: date) -> Reliance:
    """What rests on an instrument since a day; nothing is written.

    Raises:
        InputRefusedError: no such instrument.
    """
    known = instrument_named(book, instrument)
    found = audit_queries.relied_on(book.db, known.id, since.isoformat())
    return Reliance(known, since, found, audit_queries.recalls(book.db, known.id), _closed_by(book, known.id, since))


def _closed_by(book: Logbook, instrument: str, since: date) -> list[Finding]:
    """Findings that a retest resting on an instrument since a day closed; a correction closed a withdrawn one."""
    found = queries.findings(book.db, open_only=False)
    shut = (f for f in found if f.retest and f.state is not FindingState.WITHDRAWN)
    return [f for f in shut if _rests_on(f, instrument, since.isoformat())]


def _rests_on(shut: Finding, instrument: str, since: str) -> bool:
    return any(base["instrument"] == instrument and base["day"] >= since for base in bases(shut.retest))


def recall(book: Logbook, instrument: str, since: date, because: str) -> Reliance:
    """Recall an instrument: from this commit on nothing that rests on it since the day proves anything.

    Raises:
        InputRefusedError: no such instrument, no reason, or the day is still to come.
    """
    known = instrument_named(book, instrument)
    if since > book.today():
        raise refuse(f"instrument {known.id}", f"{since} is still to come; name the first day that is doubted")
    body = {
        "recall": book.around.new_id("R"),
        "instrument": known.id,
        "since": since.isoformat(),
        "because": reason_in(f"instrument {known.id}", because),
    }
    book.write(Record(Kind.INSTRUMENT_RECALLED, body))
    return reliance(book, known.id, since)


def review(book: Logbook, recall_id: str, outcome: str, because: str, visits: Sequence[str] = ()) -> Reliance:
    """Review a recall, of all visits or of some. That doubted readings stand is a supervisor's to say.

    Raises:
        InputRefusedError: no such recall or outcome, no reason, a visit that does not rest on the instrument, or the
            readings are to stand and the person is no supervisor.
    """
    found = recall_named(book, recall_id)
    if outcome not in OUTCOMES:
        raise refuse(f"recall {found.id}", f'"{outcome}" is not one of {", ".join(OUTCOMES)}')
    if outcome == STANDS and not is_supervisor(book):
        words = f"{book.who} is not on record as a supervisor; only a supervisor lets readings stand"
        raise refuse(f"recall {found.id}", words)
    at = reliance(book, found.instrument, date.fromisoformat(found.since))
    stray = [visit for visit in visits if visit not in at.visits]
    if stray:
        raise refuse(f"recall {found.id}", f"visit {stray[0]} does not rest on {found.instrument} since {found.since}")
    said = reason_in(f"recall {found.id}", because)
    body = {"recall": found.id, "visits": list(visits), "outcome": outcome, "because": said}
    book.write(Record(Kind.RECALL_REVIEWED, body))
    return reliance(book, found.instrument, date.fromisoformat(found.since))


def check(book: Logbook, instrument: str, says: str, *, ok: bool) -> Check:
    """Note a check before use, of today.

    Raises:
        InputRefusedError: no such instrument, or no words.
    """
    known = instrument_named(book, instrument)
    on = book.today().isoformat()
    words = reason_in(f"instrument {known.id}", says)
    body = {"instrument": known.id, "on": on, "ok": ok, "says": words}
    (stored,) = book.write(Record(Kind.INSTRUMENT_CHECKED, body))
    return Check(known.id, on, ok, words, book.who, stored.entry.uid)


def instrument_named(book: Logbook, instrument: str) -> Instrument:
    """An instrument of the register.

    Raises:
        InputRefusedError: there is none of that id.
    """
    known = registry.shared(book.db).instruments
    if instrument not in known:
        words = "is not in the register; `seasonlog register list instrument` names all"
        raise InputRefusedError([Problem(f"instrument {instrument}", words)])
    return known[instrument]


def recall_named(book: Logbook, recall_id: str) -> Recall:
    """A recall by its id.

    Raises:
        InputRefusedError: there is none.
    """
    found = {each.id: each for each in audit_queries.recalls(book.db)}
    if recall_id not in found:
        raise refuse(f"recall {recall_id}", "is not in this log; `seasonlog instrument list` names all")
    return found[recall_id]


def unreviewed(book: Logbook) -> list[Recall]:
    """Recalls that no review of all their visits has settled, oldest first."""
    return [each for each in audit_queries.recalls(book.db) if not is_settled(book, each)]


def is_settled(book: Logbook, found: Recall) -> bool:
    """Whether it was reviewed as a whole, or each visit that rests on it was; where none does, it waits."""
    named = {each.visit for each in reviews(book, found.id)}
    visits = {relied.visit for relied in audit_queries.relied_on(book.db, found.instrument, found.since)}
    return "" in named or (bool(visits) and visits <= named)


def reviews(book: Logbook, recall_id: str) -> list[Review]:
    """What was reviewed of a recall."""
    return audit_queries.reviews(book.db, recall_id)


def told(book: Logbook) -> tuple[str, ...]:
    """One sentence for each instrument that is recalled and not reviewed, for the boards."""
    return tuple(
        f"{each.instrument} is recalled for readings since {each.since}: {each.because}; review {each.id}"
        for each in unreviewed(book)
    )


def value_words(relied: Relied) -> str:
    """A reading as recorded, with its unit, and what its limit was worked from if that is why it is listed."""
    at = f", judged at {relied.judged_at}" if relied.judged_at else ""
    return reading_words(json.loads(relied.value), relied.unit) + at
