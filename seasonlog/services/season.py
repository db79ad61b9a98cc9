"""The season: what is due where, what was moved or dropped, and the calendar file."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from seasonlog.domain.due_state import DueState
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.season import COLD_SNAP, ENABLE_LEAD, SiteFrost, season_of
from seasonlog.domain.season_due import SETTLED, Added, DueHistory, DueItem, DueKey, to_do
from seasonlog.domain.season_items import due_items
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import climate_queries, queries
from seasonlog.journal.climate_views import snap_id
from seasonlog.journal.plan_queries import planned_visits
from seasonlog.services import registry
from seasonlog.services.days import day, moment
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import note_in, reason_in

if TYPE_CHECKING:
    from seasonlog.export.calendar_event import CalendarEvent, VisitHistory


def items(
    book: Logbook, today: date, *, tower: str = "", site: str = "", past: DueHistory | None = None
) -> tuple[DueItem, ...]:
    """Every visit worth knowing about on a day, the one due first coming first.

    Args:
        book: The log.
        today: The day asked about.
        tower: Only this tower, when given.
        site: Only this site, when given.
        past: What `history` gives, when the caller asks about many sites.
    """
    register = _register(book, tower, site)
    return due_items(register, today, past or history(book))


def _register(book: Logbook, tower: str, site: str) -> Register:
    if tower:
        return registry.of_tower(book.db, tower)
    return registry.of_site(book.db, site) if site else registry.towers_and_sites(book.db)


def history(book: Logbook) -> DueHistory:
    """What the log says was done, moved and dropped, when each site freezes and which cold snaps were raised."""
    plans = list(queries.plans(book.db))
    return DueHistory(
        done={_key(p): day(p.done) for p in plans if p.done},
        moved={_key(p): day(p.moved_to) for p in plans if p.moved_to},
        dropped={_key(p): p.dropped for p in plans if p.dropped},
        mode_changes=registry.mode_changes(book.db),
        frosts=frosts(book),
        snaps=climate_queries.cold_snaps(book.db),
        planned_with=_planned_with(book),
        added={p.key: Added(p.first_day, p.last_day, p.added) for p in planned_visits(book.db) if p.added},
    )


def frosts(book: Logbook) -> dict[str, SiteFrost]:
    """Site to the freeze dates of its record, where it tells any."""
    lead = int(practice_table().value(ENABLE_LEAD))
    found = {site: climate.frost(lead) for site, climate in climate_queries.climates(book.db).items()}
    return {site: frost for site, frost in found.items() if frost is not None}


def _planned_with(book: Logbook) -> dict[DueKey, str]:
    """Who makes which visit when, by the published plan."""
    planned = [each for each in planned_visits(book.db) if each.is_planned]
    people = registry.shared(book.db).people if planned else {}
    names = {ident: person.name for ident, person in people.items()}
    return {p.key: f"{names.get(p.person, p.person)} at {p.clock}" for p in planned}


def _key(plan: queries.Plan) -> DueKey:
    return DueKey(plan.tower, plan.checklist, plan.season, plan.ordinal)


def unplanned(book: Logbook, register: Register, tower: str, checklist: str, today: date) -> tuple[int, int]:
    """Season and number of a visit that no window asked for: the next number of its kind in the season."""
    year = season_of(today, register.site_of(tower).latitude_deg)
    taken = [v.ordinal for v in queries.visits_of(book.db, tower) if (v.checklist, v.season) == (checklist, year)]
    planned = [i.ordinal for i in items(book, today, tower=tower) if (i.checklist, i.season) == (checklist, year)]
    return year, max([*taken, *planned], default=0) + 1


@dataclass(frozen=True, slots=True)
class DueRequest:
    """A due visit named by a person: the one of its kind to be done now or next on the tower, or a numbered one."""

    tower: str
    checklist: str
    ordinal: int | None = None


def _find(book: Logbook, wanted: DueRequest, today: date) -> DueItem:
    ours = [i for i in items(book, today, tower=wanted.tower) if i.checklist == wanted.checklist]
    if wanted.ordinal is not None:
        ours = [i for i in ours if i.ordinal == wanted.ordinal]
    unsettled = [i for i in ours if i.state not in SETTLED]
    dropped = [i for i in ours if i.state is DueState.DROPPED]
    found = next(iter([*to_do(unsettled), *unsettled, *dropped]), None)
    if found is None:
        where = f"tower {wanted.tower}, {wanted.checklist}"
        raise InputRefusedError([Problem(where, "nothing of this kind is due; `seasonlog due` lists what is")])
    return found


def move(book: Logbook, wanted: DueRequest, to: date, because: str, today: date) -> DueItem:
    """Plan a due visit for another day. Its last sensible day stays where the frost puts it."""
    item = _find(book, wanted, today)
    book.write(
        Record(
            Kind.DUE_MOVED, _body(item) | {"to": to.isoformat(), "because": note_in(f"tower {wanted.tower}", because)}
        )
    )
    return next(i for i in items(book, today, tower=wanted.tower) if i.key == item.key)


def drop(book: Logbook, wanted: DueRequest, because: str, today: date) -> DueItem:
    """Take a due visit out of the plan, with a reason; its calendar entry is cancelled, not deleted."""
    item = _find(book, wanted, today)
    where = f"tower {wanted.tower}, {wanted.checklist}"
    if item.state is DueState.DROPPED:
        raise InputRefusedError([Problem(where, f"is dropped already: {item.why}")])
    said = reason_in(where, because)
    book.write(Record(Kind.DUE_DROPPED, _body(item) | {"because": said}))
    return item


def _body(item: DueItem) -> dict[str, str | int]:
    return {"tower": item.tower, "checklist": item.checklist, "season": item.season, "ordinal": item.ordinal}


def calendar(book: Logbook, today: date, *, site: str = "", technician: str = "") -> bytes:
    """The season's reminders as an iCalendar file: the same log and season give the same bytes.

    Args:
        book: The log.
        today: The day the season is looked at.
        site: Only this site's visits, when given.
        technician: Register id of a person: only what the published plan gives them; what it took away is taken back.
    """
    from seasonlog.export.calendar import to_ics

    drawn = _Events(book)
    events = [event for item in items(book, today, site=site) for event in drawn.of(item, technician)]
    name = " ".join(["seasonlog", *(part for part in (technician, site) if part)])
    if not book.journal.is_demonstration:
        return to_ics(events, name)
    return to_ics([replace(e, summary=f"DEMONSTRATION {e.summary}") for e in events], f"{name} DEMONSTRATION")


class _Events:
    """Due visits as calendar events."""

    def __init__(self, book: Logbook) -> None:
        self._log = book.journal.log_id
        self._register = registry.towers_and_sites(book.db)
        self._told = _changes(book)
        self._planned = {each.key: each for each in planned_visits(book.db)}
        self._moved = {_key(p) for p in queries.plans(book.db) if p.moved_to}
        self._people = {p.id: p.name for p in registry.shared(book.db).people.values()}

    def of(self, item: DueItem, technician: str) -> "Iterator[CalendarEvent]":
        """The visit's event; none where it never was this technician's."""
        from seasonlog.export.calendar_event import event_for
        from seasonlog.export.calendar_plan import by_plan, for_person

        sites, towers = self._register.sites, self._register.towers
        event = event_for(self._log, sites[item.site], towers[item.tower], item, self._told.of(item))
        was = self._planned.get(item.key)
        if was is not None:
            event = by_plan(event, was, item.planned, self._people, is_moved=item.key in self._moved)
        mine = for_person(event, was, technician, self._people) if technician and was else None
        found = mine if technician else event
        if found is not None:
            yield found


@dataclass(frozen=True, slots=True)
class _Changes:
    """How often, and when last, what a calendar entry shows has changed in the log."""

    plans: Mapping[DueKey, tuple[int, int]]
    basis: Mapping[tuple[str, str], tuple[int, int]]

    def of(self, item: DueItem) -> "VisitHistory":
        from seasonlog.export.calendar_event import VisitHistory

        nothing = (0, 0)
        parts = [
            self.plans.get(item.key, nothing),
            self.basis.get(("site", item.site), nothing),
            self.basis.get(("tower", item.tower), nothing),
        ]
        if item.checklist == COLD_SNAP:
            parts.append(self.basis.get(("cold_snap", snap_id(item.site, item.season, item.ordinal)), nothing))
        elif (known := self.basis.get(("climate", item.site))) is not None:
            parts.append((known[0] + 1, known[1]))  # the first record changed what the typed dates had said
        return VisitHistory(sum(p[0] for p in parts), moment(max(p[1] for p in parts)))


def _changes(book: Logbook) -> _Changes:
    plans = {_key(p): (p.changes, p.stamp_ms) for p in queries.plans(book.db)}
    return _Changes(plans, queries.calendar_basis(book.db))
