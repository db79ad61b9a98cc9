"""Coverage: sites, towers, checklists and seasons as one table.

One short row is read per visit, and only those in which something may be amiss are opened (`coverage_glance`). What
lies behind a cell is told by `coverage_cell.opened`. Both hold the same rules against the record.
"""

import gc
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple

from seasonlog.domain.audit_rules import steps_proven
from seasonlog.domain.coverage import unanswered
from seasonlog.domain.coverage_cells import Cell, CellKey, CellState, CoverageGrid, GridRow
from seasonlog.domain.coverage_grid import Asked, AskedVisit, cell
from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Register, Site, Tower
from seasonlog.domain.season import (
    COLD_SNAP,
    FALL_ENABLE,
    MID_WINTER,
    SPRING_DISABLE,
    Window,
    is_southern,
    season_bounds,
    season_of,
    windows,
)
from seasonlog.domain.season_due import DRAINED, DueHistory, DueKey
from seasonlog.domain.season_items import items_of_season, snap_windows
from seasonlog.domain.visit import VisitState
from seasonlog.journal import audit_queries, climate_queries
from seasonlog.journal.audit_queries import Proof
from seasonlog.services import checklists, registry, rounds, season
from seasonlog.services.coverage_glance import Glances
from seasonlog.services.days import day
from seasonlog.services.logbook import Logbook

SEASONS = 5
"""How many seasons are told when nothing else is asked."""
YEAR = (
    "commissioning", FALL_ENABLE, "short-enable", COLD_SNAP, MID_WINTER, SPRING_DISABLE, "repair-retest",
    "lockout-inspection", "frozen-or-overflowing",
)  # fmt: skip
"""The shipped checklists in the order of the year; a site's own come after them."""
WINTER_ONLY = (MID_WINTER, COLD_SNAP)
"""Not asked of a tower that stands drained."""
ASKED = (FALL_ENABLE, COLD_SNAP, MID_WINTER, SPRING_DISABLE)
"""What a tower is asked in a season; a cold-snap check where one was raised."""
_CELL = itemgetter(Proof._fields.index("checklist"), Proof._fields.index("season"))
_NEVER = "9999"
"""After every day a tower was retired on."""
_ALWAYS = ("", _NEVER)
"""A tower that was there from the beginning and still is."""
Season = Mapping[str, Asked]
"""Checklist to what was asked of it."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which part of the table."""

    site: str = ""
    tower: str = ""
    seasons: int = SEASONS
    """So many of the newest seasons; fewer when no tower was on record before."""


ALL = Wanted()


def grid(book: Logbook, on: date, wanted: Wanted = ALL) -> CoverageGrid:
    """The table of coverage as it stands on a day.

    Args:
        book: The log; it may be opened for reading only.
        on: The day the states are told for.
        wanted: Which site, tower and seasons.

    Raises:
        InputRefusedError: no such site or tower.
    """
    registry.refuse_unknown(book.db, site=wanted.site, tower=wanted.tower)
    register = registry.towers_and_sites(book.db, ever=True)
    towers = [t for t in register.towers.values() if wanted.site in ("", t.site) and wanted.tower in ("", t.id)]
    towers.sort(key=lambda tower: (register.sites[tower.site].name, tower.site, tower.id))
    basis = _Basis(book, on)
    newest = max((season_of(on, site.latitude_deg) for site in register.sites.values()), default=on.year)
    seasons = range(max(newest - wanted.seasons + 1, basis.first_season(newest)), newest + 1)
    with _uncollected():
        cells = dict(basis.table(register, {t.id for t in towers}, seasons, some=bool(wanted.site or wanted.tower)))
    used, retired = {key.checklist for key in cells}, basis.retired
    told_of = {key.tower for key in cells} if retired else ()
    stood = (tower for tower in towers if tower.id not in retired or tower.id in told_of)
    rows = tuple(_row(register.sites[tower.site], tower, retired.get(tower.id, "")) for tower in stood)
    told = tuple(range(min((key.season for key in cells), default=newest), newest + 1))
    return CoverageGrid(on, told, (*(c for c in YEAR if c in used), *sorted(used - set(YEAR))), rows, cells)


@contextmanager
def _uncollected() -> Iterator[None]:
    """No search for circular garbage meanwhile: a million small values without any would be looked through again.

    Afterwards they count as old ones at once, instead of being looked through by the next search for new garbage.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.unfreeze()
        if was_on:
            gc.enable()


def _row(site: Site, tower: Tower, retired: str) -> GridRow:
    return GridRow(site.id, site.name, tower.id, tower.name, is_southern(site.latitude_deg), retired)


class AskedOf(NamedTuple):
    """What was asked of one cell, with the reason of each window."""

    asked: Asked
    partly: tuple[tuple[AskedVisit, str], ...]
    """Windows in which the tower stood for a part only, so that nothing was asked, and why."""


def asked_of(book: Logbook, key: CellKey, on: date) -> AskedOf:
    """What was asked of a cell."""
    registry.refuse_unknown(book.db, tower=key.tower)
    register = registry.of_tower_ever(book.db, key.tower)
    visits: dict[str, list[Proof]] = {}
    for _, proofs in audit_queries.proofs(book.db, [key.tower]):
        for proof in proofs:
            if proof.season == key.season:
                visits.setdefault(proof.checklist, []).append(proof)
    site, tower, basis = register.site_of(key.tower), register.towers[key.tower], _Basis(book, on)
    told, ever = (
        basis.asked(site, tower, key.season, visits, stood).get(key.checklist, Asked((), on))
        for stood in (basis.stood(tower.id), _ALWAYS)
    )
    return AskedOf(told, tuple(_partly(told, ever, basis.stood(tower.id))))


def _partly(told: Asked, ever: Asked, stood: tuple[str, str]) -> Iterator[tuple[AskedVisit, str]]:
    since, until = stood
    known = {visit.ordinal for visit in told.visits}
    for visit in ever.visits:
        opens, due = visit.opens.isoformat(), visit.due.isoformat()
        if visit.ordinal in known or visit.dropped or due < since or opens >= until:
            continue
        came = f"it had opened when the tower was put on record on {since}"
        yield visit, f"the tower was retired on {until}, while there was still time" if due >= until else came


class _Basis:
    """What is read once for the whole table."""

    def __init__(self, book: Logbook, on: date) -> None:
        self.book, self.on = book, on
        self.glances = Glances(book, on)
        self.since = audit_queries.towers_since(book.db)
        self.retired = registry.retirements(book.db)
        self.changes = registry.mode_changes(book.db)
        dropped = {DueKey(*row[:4]): row[5] for row in audit_queries.unsettled(book.db) if row[5]}
        self.history = DueHistory(
            dropped=dropped,
            mode_changes=self.changes,
            frosts=season.frosts(book),
            snaps=climate_queries.cold_snaps(book.db),
        )
        self.special = {key.tower for key in dropped} | set(self.changes)
        self.register_pos = audit_queries.register_changes(book.db)
        self._windows: dict[tuple[str, int], tuple[Window, ...]] = {}
        self._usual: dict[tuple[str, int, bool, str, str], Season] = {}
        self._nothing = Asked((), on)

    def first_season(self, newest: int) -> int:
        """The first season in which a tower was on record, or a visit was made."""
        began = min(self.since.values(), default=f"{newest}-12-31")
        return min(int(began[:4]) - 1, audit_queries.first_season(self.book.db, newest))

    def table(
        self, register: Register, towers: Collection[str], seasons: Sequence[int], *, some: bool
    ) -> Iterator[tuple[CellKey, Cell]]:
        """Every cell of these towers in which something was asked or made; one tower's visits at a time."""
        idle = set(towers)
        for name, visits in audit_queries.proofs(self.book.db, towers if some else None):
            if name in idle:
                idle.discard(name)
                yield from self._cells(register, register.towers[name], seasons, visits)
        for name in sorted(idle):
            yield from self._cells(register, register.towers[name], seasons, ())

    def _cells(
        self, register: Register, tower: Tower, seasons: Sequence[int], visits: Iterable[Proof]
    ) -> Iterator[tuple[CellKey, Cell]]:
        made: dict[int, dict[str, list[Proof]]] = {year: {} for year in seasons}
        for (checklist, year), group in groupby(visits, _CELL):
            if year in made:
                made[year][checklist] = list(group)
        last, changed_at = made[seasons[-1]], self.register_pos.get(tower.id, 0)
        was_changed = changed_at > 0 and any(changed_at > each.pos for ours in last.values() for each in ours)
        broken_of = self._broken if was_changed else self.glances.broken
        site, stood = register.sites[tower.site], self.stood(tower.id)
        for year, found in made.items():
            asked = self.asked(site, tower, year, found, stood)
            for checklist in {**asked, **found}:
                key, ours = CellKey(tower.id, checklist, year), found.get(checklist, ())
                each = cell(key, asked.get(checklist, self._nothing), ours, broken_of)
                if ours or each.state is not CellState.NOT_ASKED:
                    yield key, each

    def stood(self, tower: str) -> tuple[str, str]:
        """The day a tower was put on record, and the one it was retired on."""
        return self.since.get(tower, ""), self.retired.get(tower, _NEVER)

    def asked(
        self, site: Site, tower: Tower, year: int, made: Mapping[str, Sequence[Proof]], stood: tuple[str, str]
    ) -> Season:
        """What was asked of a tower; towers of one site that nothing sets apart share the answer."""
        if tower.id in self.special:
            return self._told(site, year, stood, self._by_history(site, tower, year, made))
        key = (site.id, year, tower.winter == DRAINED, *stood)
        if key not in self._usual:
            asked = {
                checklist: [
                    AskedVisit(w.ordinal, w.opens, w.due, "", w.reason)
                    for w in self._planned(site, year)
                    if w.checklist == checklist and not (tower.winter == DRAINED and checklist in WINTER_ONLY)
                ]
                for checklist in ASKED
            }
            self._usual[key] = self._told(site, year, stood, asked)
        return self._usual[key]

    def _told(self, site: Site, year: int, stood: tuple[str, str], asked: Mapping[str, Sequence[AskedVisit]]) -> Season:
        """Nothing was asked that opened before the tower was on record, or could still be made when it was retired.

        Of the day's season, all is asked that the due list asks.
        """
        (first, last), (since, until) = season_bounds(year, site.latitude_deg), stood
        opens = "" if first.isoformat() >= since or first <= self.on <= last else since
        known = {
            name: [v for v in visits if v.opens.isoformat() >= opens and v.due.isoformat() < until]
            for name, visits in asked.items()
        }
        return {name: Asked(visits, self.on) for name, visits in known.items() if visits}

    def _planned(self, site: Site, year: int) -> tuple[Window, ...]:
        key = (site.id, year)
        if key not in self._windows:
            own = windows(site, year, frost=self.history.frosts.get(site.id))
            self._windows[key] = (*own, *snap_windows(site, year, self.history))
        return self._windows[key]

    def _by_history(
        self, site: Site, tower: Tower, year: int, made: Mapping[str, Sequence[Proof]]
    ) -> Mapping[str, Sequence[AskedVisit]]:
        """A tower whose winter mode changed, or of whose visits one was dropped: as the list of due visits has it."""
        complete = [v for visits in made.values() for v in visits if v.state == VisitState.COMPLETE]
        done = {DueKey(tower.id, v.checklist, year, v.ordinal): day(v.day) for v in complete}
        found: dict[str, list[AskedVisit]] = {checklist: [] for checklist in ASKED}
        history = replace(self.history, done=done)
        for item in items_of_season(site, tower, year, self.on, history, self._planned(site, year)):
            why = (item.why or "dropped") if item.state is DueState.DROPPED else ""
            found[item.checklist].append(AskedVisit(item.ordinal, item.opens, item.due, why, item.reason))
        return found

    def _broken(self, visit: Proof) -> tuple[str, ...]:
        names = self.glances.broken(visit)
        if self.register_pos.get(visit.tower, 0) > visit.pos and self._lacks_steps(visit):
            return tuple(dict.fromkeys((*names, steps_proven.__name__)))
        return names

    def _lacks_steps(self, proof: Proof) -> bool:
        """This season's fall enable was not asked what the tower would be asked as it is now."""
        if checklists.of_visit(self.book.db, proof.sha256).proves != "season":
            return False
        at = rounds.progress(self.book, proof.visit)
        if proof.season != season_of(self.on, at.register.site_of(proof.tower).latitude_deg) or not unanswered(at):
            return False
        return steps_proven.__name__ in self.glances.in_full(proof.visit)
