"""One cell of the coverage table with everything behind it: windows, visits, every rule, every entry."""

from dataclasses import replace
from datetime import date

from seasonlog.domain.audit_rules import VisitFacts, held
from seasonlog.domain.coverage_cells import CellKey, OpenedCell, OpenedVisit
from seasonlog.domain.coverage_grid import Asked, AskedVisit
from seasonlog.domain.visit import Progress
from seasonlog.journal import audit_queries, two_pasts
from seasonlog.services import coverage_facts, record_history, rounds
from seasonlog.services.coverage import Wanted, asked_of, grid
from seasonlog.services.coverage_facts import Findings
from seasonlog.services.logbook import Logbook


def opened(book: Logbook, key: CellKey, on: date) -> OpenedCell:
    """A cell opened.

    Args:
        book: The log.
        key: Which cell.
        on: The day the states are told for.

    Raises:
        InputRefusedError: no such tower.
    """
    seasons = max(on.year + 1 - key.season, 1) + 1
    cell = grid(book, on, Wanted(tower=key.tower, seasons=seasons)).cell(*key)
    asked, partly = asked_of(book, key, on)
    findings = Findings.of(audit_queries.finding_rows(book.db))
    disputed = two_pasts.disputed(book.db)
    read = (rounds.progress(book, visit) for visit in cell.visits)
    facts = ((at, coverage_facts.of_progress(book, at, findings, on, disputed)) for at in read)
    visits = tuple(_visit(book, at, known, asked) for at, known in facts)
    told = [(each, "") for each in asked.visits if not each.dropped]
    windows = sorted((*told, *partly), key=lambda pair: pair[0].ordinal)
    return OpenedCell(cell, visits, tuple(_window(*window) for window in windows))


def _window(each: AskedVisit, why_not: str) -> str:
    """`2026-08-01 to 2026-09-12: 21 days before ...`."""
    days = f"{each.opens} to {each.due}{', not asked' if why_not else ''}"
    reasons = "; ".join(part for part in (why_not, each.reason) if part)
    return f"{days}: {reasons}" if reasons else days


def _visit(book: Logbook, at: Progress, facts: VisitFacts, asked: Asked) -> OpenedVisit:
    due = asked.due.get(at.visit.ordinal)
    return OpenedVisit(
        visit=at.visit.id,
        title=at.checklist.title,
        day=at.visit.day,
        state=str(at.visit.state),
        who=at.visit.who,
        keep_until=coverage_facts.kept_until(book, at).words,
        results=held(replace(facts, due=date.fromisoformat(due) if due else None)),
        evidence=tuple(record_history.evidence(s.entry) for s in audit_queries.entries_of_visit(book.db, at.visit.id)),
    )
