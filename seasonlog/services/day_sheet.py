"""The morning's sheet: per person the visits to go on with and the towers that are due, and what is exposed tonight.

What a published plan gives to somebody for this day, or gave and was not done, stands on their sheet in the plan's
order; what it has for a later day stands on nobody's. The rest belongs to whoever made the newest visit at the site, in
the order in which it is due. Sites that nobody visited yet belong to nobody, and everybody sees them.
"""

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from seasonlog.domain.finding import Finding
from seasonlog.domain.register import Register
from seasonlog.domain.season_due import DueItem, DueKey, due_words, to_do
from seasonlog.domain.visit import Visit
from seasonlog.journal import queries
from seasonlog.journal.plan_queries import planned_visits
from seasonlog.services import claims, exposure, registry, season, today
from seasonlog.services.logbook import Logbook
from seasonlog.services.rounds import person_of

LAST = (date.max, 0)
"""After everything that a plan gives a time to."""
NOBODY = ""
"""Who has a site that nobody visited yet."""
_STAGE = re.compile(r"(?P<part>.*) (?P<stage>ordered|promised|fitted) (?P<on>\d{4}-\d\d-\d\d)", re.ASCII)


@dataclass(frozen=True, slots=True)
class Wanted:
    """One visit that is due."""

    checklist: str
    due: date
    words: str
    """`due by 2026-10-03, 12 days left`."""
    claimed: str = ""
    """Who has claimed it since when, in words; empty where nobody has."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One tower on somebody's round, with what is wanted to work there."""

    tower: str
    name: str
    site: str
    site_name: str
    visits: tuple[Wanted, ...]
    """What is due there, the first due first."""
    access: str
    """Gate, keys, escort, hours, shutdown windows: as the site's record has them."""
    permits: str
    roof_note: str
    parts_missing: tuple[str, ...]
    """Parts of open findings that are not fitted yet, with what was last said of them."""
    findings: tuple[str, ...]
    """Ids of the open findings."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One person's day."""

    person: str
    """Name; empty for what nobody has yet."""
    open_visits: tuple[today.OpenVisit, ...]
    """Newest first."""
    stops: tuple[Stop, ...]
    """In order."""


@dataclass(frozen=True, slots=True)
class DaySheets:
    """Everybody's, and what is exposed."""

    on: date
    sheets: tuple[Sheet, ...]
    exposed: exposure.ExposureBoard
    stranger: str = ""
    """Who was asked for, where neither the register nor any visit knows the name."""


def day_sheets(book: Logbook, on: date, who: str = "") -> DaySheets:
    """Who has what to do on a day.

    Args:
        book: The log.
        on: The day.
        who: Only this person, and what nobody has yet; everybody when empty.
    """
    register = registry.towers_and_sites(book.db)
    due = to_do(season.items(book, on))
    stops = _stops(book, register, on, due, claims.told(book))
    holders = _holders(book, register)
    planned = _planned(book, on, {item.key for item in due})
    visits = [today.open_visit(book, visit) for visit in queries.open_visits(book.db)]
    having = {s.tower: planned[s.tower].name if s.tower in planned else holders.get(s.site, NOBODY) for s in stops}
    names = _names(book, [*holders.values(), *having.values()], (v.visit.who for v in visits), who)
    stops.sort(key=lambda stop: planned[stop.tower].order if stop.tower in planned else LAST)
    sheets = [_sheet(name, visits, [s for s in stops if having[s.tower] == name]) for name in names]
    kept = tuple(sheet for sheet in sheets if sheet.open_visits or sheet.stops or (who and sheet.person))
    stranger = who if who and not _is_known(book, register, who) else ""
    return DaySheets(on, kept, exposure.exposure(book, on, exposure.Asked()), stranger)


def _is_known(book: Logbook, register: Register, who: str) -> bool:
    """In the register, or somebody who made a visit."""
    if person_of(registry.shared(book.db), who) is not None:
        return True
    return any(visit.who == who for tower in register.towers for visit in queries.visits_of(book.db, tower))


class _Turn(NamedTuple):
    """Whose a tower is by the published plan, and when."""

    name: str
    order: tuple[date, int]


def _planned(book: Logbook, on: date, due: Collection[DueKey]) -> Mapping[str, _Turn]:
    """Tower to whoever the published plan sends there, this day or on one gone by."""
    ours = [each for each in planned_visits(book.db) if each.day and each.day <= on and each.key in due]
    people = registry.shared(book.db).people if ours else {}
    turns: dict[str, _Turn] = {}
    for each in ours:
        name = people[each.person].name if each.person in people else each.person
        turn = _Turn(name, (each.day or on, each.start_minute))
        turns[each.key.tower] = max(turns.get(each.key.tower, turn), turn, key=lambda turn: turn.order)
    return turns


def _sheet(name: str, visits: Sequence[today.OpenVisit], stops: Sequence[Stop]) -> Sheet:
    return Sheet(name, tuple(visit for visit in visits if visit.visit.who == name), tuple(stops))


def _names(book: Logbook, holders: Iterable[str], busy: Iterable[str], who: str) -> list[str]:
    """Who gets a sheet, by name; nobody's comes last."""
    if not who:
        return [*sorted({*holders, *busy} - {NOBODY}), NOBODY]
    person = person_of(registry.shared(book.db), who)
    return [person.name if person is not None else who, NOBODY]


def _holders(book: Logbook, register: Register) -> Mapping[str, str]:
    """Site to whoever made the newest visit there, where no published plan says better."""
    newest: dict[str, Visit] = {}
    for tower in register.towers.values():
        for visit in queries.visits_of(book.db, tower.id)[-1:]:
            held = newest.setdefault(tower.site, visit)
            if held.started_wall_ms < visit.started_wall_ms:
                newest[tower.site] = visit
    return {site: visit.who for site, visit in newest.items()}


def _stops(
    book: Logbook, register: Register, on: date, due: Iterable[DueItem], claimed: Mapping[DueKey, str]
) -> list[Stop]:
    """Every tower with something to be done now, the one due first coming first."""
    found: dict[str, list[Finding]] = {}
    for finding in queries.findings(book.db, open_only=True):
        found.setdefault(finding.tower, []).append(finding)
    wanted: dict[str, list[DueItem]] = {}
    for item in due:
        if item.planned_with and item.planned > on:
            continue
        wanted.setdefault(item.tower, []).append(item)
    visits = {
        tower: tuple(Wanted(i.checklist, i.due, due_words(i, on), claimed.get(i.key, "")) for i in items)
        for tower, items in wanted.items()
    }
    return [_stop(register, tower, ours, found.get(tower, ())) for tower, ours in visits.items()]


def _stop(register: Register, name: str, visits: tuple[Wanted, ...], findings: Sequence[Finding]) -> Stop:
    tower = register.towers[name]
    site = register.sites[tower.site]
    return Stop(
        tower=tower.id,
        name=tower.name,
        site=site.id,
        site_name=site.name,
        visits=visits,
        access=site.access or "",
        permits=site.permits or "",
        roof_note=site.roof_note or "",
        parts_missing=tuple(part for finding in findings for part in parts_missing(finding)),
        findings=tuple(finding.id for finding in findings),
    )


def parts_missing(finding: Finding) -> tuple[str, ...]:
    """Parts that a finding's repair usually needs or that were noted, less those fitted; with what was last said."""
    said: dict[str, str] = dict.fromkeys(finding.parts, "")
    for note in finding.part_stages:
        stage = _STAGE.fullmatch(note)
        if stage is not None:
            said[stage["part"]] = f"{stage['stage']} {stage['on']}"
    waiting = {part: words for part, words in said.items() if not words.startswith("fitted")}
    return tuple(f"{part} ({words})" if words else part for part, words in waiting.items())
