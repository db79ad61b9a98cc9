"""Instruments that are out of calibration or recalled: what is told of those in use and of those to choose from."""

import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from seasonlog.domain.checklist import StepInstance
from seasonlog.domain.instrument_doubt import doubt, in_doubt
from seasonlog.domain.judging import Judgement
from seasonlog.domain.register_records import Instrument
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress, Visit, VisitState
from seasonlog.journal.audit_views import doubt as doubt_of
from seasonlog.journal.audit_views import doubted_since
from seasonlog.services.limits import rests_on


def recalled_since(db: sqlite3.Connection, instrument: str, on: date, visit: str = "") -> str:
    """First day that a recall doubts, where it reaches a reading of this day and no review lets the visit's stand."""
    return doubted_since(db, instrument, visit, on.isoformat())


def doubts(db: sqlite3.Connection, known: Iterable[Instrument], on: date, visit: str = "") -> dict[str, str]:
    """Instrument id to why its readings of a day prove nothing; those in good order are left out.

    Args:
        db: The log.
        known: The instruments asked about.
        on: The day.
        visit: Of this visit's readings: a review may let them stand.
    """
    told = {each.id: doubt(each, on, recalled_since(db, each.id, on, visit)) for each in known}
    return {ident: words for ident, words in told.items() if words}


def of_visit(db: sqlite3.Connection, known: Mapping[str, Instrument], visit: Visit, on: date) -> dict[str, str]:
    """The same of the instruments in use, while the visit is open."""
    used = [known[ident] for ident in visit.instruments.values() if ident in known]
    return doubts(db, used, on, visit.id) if visit.state is VisitState.OPEN else {}


def untold(found: Mapping[str, str], told: Mapping[str, str]) -> tuple[str, ...]:
    """What whoever uses these instruments has not been told yet, one sentence each."""
    return tuple(f"{ident}: {words}" for ident, words in sorted(found.items()) if told.get(ident) != words)


def recalled(
    db: sqlite3.Connection, judgement: Judgement, at: Progress, instance: StepInstance, on: date
) -> Mapping[str, str] | None:
    """The recall that doubts what a step reads on a day, or the limit it is judged by; None for none."""
    own = {"instrument": at.instrument_of(instance), "visit": at.visit.id, "day": on.isoformat()}
    return doubt_of(db, at.visit.id, (own, *rests_on(db, at, instance, judgement)))


def weighed(db: sqlite3.Connection, judgement: Judgement, at: Progress, instance: StepInstance, on: date) -> Judgement:
    """A judgement as it counts while an instrument is recalled; what is saved stays the one by its limit."""
    by = recalled(db, judgement, at, instance, on)
    if by is None:
        return judgement
    return replace(judgement, verdict=Verdict.CANNOT_TELL, says=in_doubt(by, judgement.says))
