"""The board of today: visits to go on with, what leaves a tower unprotected tonight, every site with what is due."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain.conflicts import Conflict
from seasonlog.domain.finding import Finding
from seasonlog.domain.visit import Visit
from seasonlog.journal import queries
from seasonlog.services import board, claims, corrections, findings, recall, rounds
from seasonlog.services.logbook import Logbook

MOST_VISITS = 20
"""Open visits listed; older ones are found at their tower."""
MOST_CLAIMS = 20
"""Claimed visits listed, the first due first; the tower and the plan tell the others."""


@dataclass(frozen=True, slots=True)
class OpenVisit:
    """A visit to go on with."""

    visit: Visit
    tower_name: str
    title: str
    """The checklist's title."""
    answered: int
    steps: int


@dataclass(frozen=True, slots=True)
class TodayBoard:
    """All of it."""

    visits: Sequence[OpenVisit]
    """Newest first."""
    tonight: Sequence[Finding]
    """Findings that leave a tower unprotected, worst first."""
    sites: Sequence[board.SiteRow]
    """The most pressing first."""
    conflicts: Sequence[Conflict]
    """Answers of two devices that contradict each other, for a supervisor to decide."""
    claimed: Sequence[claims.ClaimedVisit]
    """Visits that somebody has claimed and nobody made yet, the first due first."""
    recalls: Sequence[str]
    """One sentence for each instrument that is recalled and that nobody has reviewed."""


def today_board(book: Logbook, today: date) -> TodayBoard:
    """The board as it stands on a day."""
    return TodayBoard(
        visits=[open_visit(book, visit) for visit in queries.open_visits(book.db)[:MOST_VISITS]],
        tonight=findings.as_read(book, findings.tonight(findings.open_findings(book), today)),
        sites=board.site_rows(book, today),
        conflicts=corrections.undecided(book),
        claimed=claims.claimed_visits(book, today)[:MOST_CLAIMS],
        recalls=recall.told(book),
    )


def open_visit(book: Logbook, visit: Visit) -> OpenVisit:
    """How far a visit has come."""
    at = rounds.progress(book, visit.id)
    tower = queries.item(book.db, "tower", visit.tower)
    name = str(tower.fields["name"]) if tower else visit.tower
    return OpenVisit(visit, name, at.checklist.title, len(at.instances) - len(at.remaining), len(at.instances))
