"""Which towers a season asks of, in its report: those that stood in it, also when they are gone by now."""

from dataclasses import dataclass
from datetime import date

from seasonlog.domain.register_records import Site
from seasonlog.domain.season import FALL_ENABLE, SPRING_DISABLE, season_bounds, windows
from seasonlog.domain.season_due import mode_on
from seasonlog.journal import audit_queries, queries
from seasonlog.services import registry, season
from seasonlog.services.days import day
from seasonlog.services.logbook import Logbook


@dataclass(frozen=True, slots=True)
class Stood:
    """One tower that stood in a season."""

    tower: str
    retired: date | None
    """Its last day in the register, when it is there no more."""


def stood(book: Logbook, site: Site, year: int) -> list[Stood]:
    """The towers of a site that stood in a season, in the order of their ids.

    One that came when the frost was over, or went while its fall enable could still be made, was not asked for any
    proof: it is told of only if somebody made a visit all the same.

    Args:
        book: The log.
        site: The site.
        year: First year of the season.
    """
    first, last = season_bounds(year, float(site.latitude_deg))
    planned = windows(site, year, frost=season.frosts(book).get(site.id))
    due = next((window.due for window in planned if window.checklist == FALL_ENABLE), first)
    over = next((window.opens for window in planned if window.checklist == SPRING_DISABLE), last)
    since, gone = audit_queries.towers_since(book.db), registry.retirements(book.db)
    found = []
    for item in sorted(queries.children(book.db, site.id, "tower", ever=True), key=lambda item: item.id):
        retired = day(gone[item.id]) if item.id in gone else None
        was_asked = since.get(item.id, "") < over.isoformat() and (retired is None or retired > due)
        if was_asked or queries.visits_of(book.db, item.id, year):
            found.append(Stood(item.id, retired))
    return found


def standing_words(book: Logbook, tower: str, on: date) -> str:
    """Since when a tower is on record, until when it was, and how it winters on a day: why a visit is asked for or not.

    Args:
        book: The log.
        tower: Its id, in the register now or before.
        on: The day its winter mode is told of.
    """
    retired, register = retired_on(book, tower), registry.of_tower_ever(book.db, tower)
    mode = mode_on(register.towers[tower], registry.mode_changes(book.db, tower).get(tower, []), on)
    since = audit_queries.towers_since(book.db).get(tower, "")
    gone = f", retired on {retired}" if retired else ""
    return f"on record since {since}{gone}; winters as {mode.replace('_', ' ')}"


def retired_on(book: Logbook, tower: str) -> date | None:
    """A tower's last day in the register; None while it is there."""
    gone = registry.retirements(book.db).get(tower)
    return None if gone is None else day(gone)
