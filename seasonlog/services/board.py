"""What the boards show: sites with what is due, towers with their state in words, one tower with everything about it.

Rows are made for the part of a list that is on the screen, so that ten thousand towers cost no more than thirty.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain.coverage import RETESTING, Coverage, Evidence, coverage, shortfalls
from seasonlog.domain.due_state import DueState
from seasonlog.domain.finding import Finding
from seasonlog.domain.plain_words import plain
from seasonlog.domain.protection import Protection
from seasonlog.domain.records import Kind, Record
from seasonlog.domain.register import Register
from seasonlog.domain.season import FALL_ENABLE, season_of
from seasonlog.domain.season_due import DueHistory, DueItem, due_words, mode_on, to_do
from seasonlog.domain.season_items import due_items
from seasonlog.domain.units_shown import in_units
from seasonlog.domain.visit import Progress, Visit, VisitState
from seasonlog.journal import queries
from seasonlog.services import checklists, registry, rounds, season
from seasonlog.services.days import day
from seasonlog.services.limits import TowerLimit, limits_of
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import reason_in

PROVING = {"season": "full", "provisional": "short"}
"""What a checklist proves, and which evidence it is."""
"""Occasions of the checklists that test a part again after it was replaced."""


@dataclass(frozen=True, slots=True)
class SiteRow:
    """One site on the board of today."""

    id: str
    name: str
    towers: int
    due_now: int
    """Visits whose window is open."""
    overdue: int
    open_findings: int
    hazards: int
    """Open findings that can freeze, burn or shock."""
    open_visits: int
    next_due: DueItem | None


@dataclass(frozen=True, slots=True)
class TowerRow:
    """One tower in a list."""

    id: str
    name: str
    site: str
    protection: Protection
    words: str
    """The state in one line: why it is not proven, or by what it is."""
    findings: int
    hazards: int
    due: str
    """What is due next, in words; empty when nothing is."""
    overdue: bool
    open_visit: str
    """Id of a visit not finished yet, or empty."""


@dataclass(frozen=True, slots=True)
class TowerView:
    """Everything about one tower."""

    register: Register
    tower: str
    mode: str
    """How it winters on the day asked about."""
    coverage: Coverage
    limits: Sequence[TowerLimit]
    readings: Mapping[tuple[str, str], queries.Reading]
    """(quantity, target) -> newest reading."""
    findings: Sequence[Finding]
    """Open ones, worst first."""
    due: Sequence[DueItem]
    """To be done now, then what is still to come; settled and lapsed visits are left out."""
    visits: Sequence[Visit]
    """Newest first."""
    notes: Sequence[queries.Note]
    concerns: Sequence[str] = ()
    """What its trends tell: drifts that matter, devices that came out inside their warranty."""


def site_rows(book: Logbook, today: date) -> list[SiteRow]:
    """Every site with what is due on a day; the most pressing first."""
    due: dict[str, list[DueItem]] = {}
    for item in season.items(book, today):
        due.setdefault(item.site, []).append(item)
    found: dict[str, list[Finding]] = {}
    for finding in queries.findings(book.db, open_only=True):
        found.setdefault(finding.site, []).append(finding)
    visits = _visits_by_site(book)
    rows = [_site_row(s, due.get(s[0], []), found.get(s[0], []), visits.get(s[0], 0)) for s in queries.sites(book.db)]
    return sorted(rows, key=lambda r: (-r.hazards, -r.overdue, -r.due_now, r.name))


def _visits_by_site(book: Logbook) -> dict[str, int]:
    counts: dict[str, int] = {}
    for visit in queries.open_visits(book.db):
        item = queries.item(book.db, "tower", visit.tower)
        if item is not None:
            site = str(item.fields["site"])
            counts[site] = counts.get(site, 0) + 1
    return counts


def _site_row(site: tuple[str, str, int], due: Sequence[DueItem], found: Sequence[Finding], visits: int) -> SiteRow:
    pressing = to_do(due)
    coming = [i for i in due if i.state in (DueState.OPEN, DueState.OVERDUE, DueState.UPCOMING)]
    return SiteRow(
        id=site[0],
        name=site[1],
        towers=site[2],
        due_now=sum(i.state is DueState.OPEN for i in pressing),
        overdue=sum(i.state is DueState.OVERDUE for i in pressing),
        open_findings=len(found),
        hazards=sum(f.needs_retest for f in found),
        open_visits=visits,
        next_due=next(iter([*pressing, *coming]), None),
    )


def tower_rows(book: Logbook, towers: Sequence[str], today: date) -> list[TowerRow]:
    """Rows for the towers that are on the screen."""
    history = season.history(book)
    return [_tower_row(book, tower, today, history) for tower in towers]


def _tower_row(book: Logbook, tower: str, today: date, history: DueHistory) -> TowerRow:
    register = registry.of_tower(book.db, tower)
    found = queries.findings(book.db, open_only=True, tower=tower)
    state = covered(book, register, tower, today)
    pressing = to_do(due_items(register, today, history))
    visit = next((v for v in queries.visits_of(book.db, tower) if v.state is VisitState.OPEN), None)
    return TowerRow(
        id=tower,
        name=register.towers[tower].name,
        site=register.towers[tower].site,
        protection=state.protection,
        words=in_units(state.reasons[0], register.site_of(tower).units) if state.reasons else "",
        findings=len(found),
        hazards=sum(f.needs_retest for f in found),
        due=f"{plain(pressing[0].checklist)} {due_words(pressing[0], today)}" if pressing else "",
        overdue=any(i.state is DueState.OVERDUE for i in pressing),
        open_visit=visit.id if visit else "",
    )


def covered(book: Logbook, register: Register, tower: str, today: date) -> Coverage:
    """Is the tower proven for the season, on a day."""
    year = season_of(today, register.site_of(tower).latitude_deg)
    made = queries.visits_of(book.db, tower, year)
    lists = {sha256: checklists.of_visit(book.db, sha256) for sha256 in {visit.sha256 for visit in made}}

    def read(visits: Iterable[Visit]) -> list[tuple[Progress, date]]:
        return [(rounds.progress(book, visit.id, register), _day(visit)) for visit in visits]

    def proving(what: str) -> list[Visit]:
        return [visit for visit in made if PROVING.get(lists[visit.sha256].proves) == what]

    replaced = _replaced(register)
    full = read(proving("full")[-1:])  # the newest counts, and to read a visit whole takes its time
    ask = replaced or any(shortfalls(at) for at, _ in full)
    retests = read(v for v in made if lists[v.sha256].when in RETESTING) if ask else []
    retested = max((on for at, on in retests if not shortfalls(at)), default=None)
    findings = queries.findings(book.db, open_only=True, tower=tower)
    wet = _wet_since(book, tower, year, register)
    after = [at for at, _ in retests]
    return coverage(Evidence(full, read(proving("short")), findings, wet, replaced, retested, after), today)


def _replaced(register: Register) -> tuple[str, date] | None:
    """The device last installed where another one was before."""
    before = {(d.position, d.of) for d in register.devices.values() if d.removed is not None}
    fitted = [(d.position, d.installed) for d in register.devices.values() if (d.position, d.of) in before]
    return max(((what, on) for what, on in fitted if on is not None), key=lambda found: found[1], default=None)


def write_review(book: Logbook, found: Mapping[str, Coverage], words: str, today: date) -> None:
    """The yearly review: every tower that is not proven, with the first reason, and what the reviewer concludes."""
    missing = [[tower, *c.reasons[:1]] for tower, c in found.items() if c.protection is not Protection.PROVEN]
    body = {"on": today.isoformat(), "not_proven": missing, "words": reason_in("review", words)}
    book.write(Record(Kind.SEASON_REVIEWED, body))


def _day(visit: Visit) -> date:
    return day(visit.day)


def _wet_since(book: Logbook, tower: str, year: int, register: Register) -> date | None:
    changes = registry.mode_changes(book.db, tower).get(tower, [])
    latitude = register.site_of(tower).latitude_deg
    wet = [c.on for c in changes if c.winter != "drained" and season_of(c.on, latitude) == year]
    return max(wet, default=None)


def tower_view(book: Logbook, tower: str, today: date) -> TowerView:
    """One tower with everything about it.

    Raises:
        InputRefusedError: no such tower.
    """
    register = registry.of_known_tower(book.db, tower)
    from seasonlog.services import findings, trends

    return TowerView(
        register=register,
        tower=tower,
        mode=mode_on(register.towers[tower], registry.mode_changes(book.db).get(tower, []), today),
        coverage=covered(book, register, tower, today),
        limits=limits_of(
            registry.wintering(register, book.db, today),
            tower,
            checklists.named(FALL_ENABLE, book.places.checklists),
            today,
        ),
        readings=queries.latest_readings(book.db, tower),
        findings=findings.as_read(book, findings.open_findings(book, tower=tower)),
        due=_still_to_come(due_items(register, today, season.history(book))),
        visits=queries.visits_of(book.db, tower)[::-1],
        notes=queries.notes_of(book.db, tower),
        concerns=trends.concerns(book, tower, register),
    )


def _still_to_come(items: Sequence[DueItem]) -> tuple[DueItem, ...]:
    return (*to_do(items), *(item for item in items if item.state is DueState.UPCOMING))


@dataclass(frozen=True, slots=True)
class Handover:
    """What changed at a site since a person last looked, most urgent first."""

    open_changes: Sequence[tuple[str, str]]
    """(tower, words): temporary changes still in place."""
    new_findings: Sequence[Finding]
    visits: Sequence[Visit]
    """Visits started or closed since."""
    notes: Sequence[queries.Note]


def handover(book: Logbook, site: str) -> Handover:
    """What changed since this person last read it; the first time, everything still open."""
    from seasonlog.services import findings

    since = queries.handover_pos(book.db, site, book.who)
    return Handover(
        open_changes=queries.open_changes_of_site(book.db, site),
        new_findings=findings.as_read(book, queries.findings_since(book.db, site, since)),
        visits=queries.visits_since(book.db, site, since),
        notes=queries.notes_since(book.db, site, since),
    )


def handover_read(book: Logbook, site: str) -> None:
    """This person has read what changed at a site; next time only what is newer is shown."""
    book.write(Record(Kind.HANDOVER_READ, {"site": site}))
