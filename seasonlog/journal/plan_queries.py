"""Questions to the views about the published plan."""

import json
import sqlite3
from collections.abc import Iterator
from datetime import date

from seasonlog.domain.plan_record import AwaySpan, PlanBasis, PlannedVisit
from seasonlog.domain.season_due import DueKey


def planned_visits(db: sqlite3.Connection) -> Iterator[PlannedVisit]:
    """Every visit a published plan ever held, as it stands now, in the order of its name."""
    columns = "tower, checklist, season, ordinal, person, day, start, minutes, first_day, last_day, because, added, had"
    for *key, person, day, start, minutes, first, last, because, added, had in db.execute(
        f"SELECT {columns} FROM planned_visit"  # noqa: S608  (names of our own)
    ):
        yield PlannedVisit(
            key=DueKey(*key),
            first_day=date.fromisoformat(first),
            last_day=date.fromisoformat(last),
            person=person,
            day=date.fromisoformat(day) if day else None,
            start_minute=start,
            minutes=minutes,
            because=because,
            added=added,
            had=tuple(json.loads(had)),
        )


def plan_basis(db: sqlite3.Connection) -> PlanBasis | None:
    """What the published plan was made from; None when none was published."""
    row = db.execute("SELECT text, away FROM plan_basis").fetchone()
    if row is None:
        return None
    return PlanBasis(row[0], tuple(map(AwaySpan.read, json.loads(row[1]))))
