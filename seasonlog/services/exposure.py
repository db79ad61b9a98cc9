"""The exposure board: which towers may freeze tonight, ranked by what freezes first, with what the record last says.

Five hundred towers are asked at once: the register is read once, and a visit that proves its tower is seen to do so
from its verdicts alone. Whatever is less plain goes the way of every other board, `board.covered`.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.calc.units import degc_from_degf, within
from seasonlog.domain.checklist import applicable
from seasonlog.domain.coverage import Coverage
from seasonlog.domain.exposure import Exposed, Night, Standing, basin_night, exposed, night_of, ranked, unjudged
from seasonlog.domain.finding import Finding
from seasonlog.domain.protection import Protection
from seasonlog.domain.register import Register, Site
from seasonlog.domain.season import season_of
from seasonlog.domain.season_due import DRAINED, ModeChange, mode_on
from seasonlog.domain.text import visible
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Meaning, Visit, VisitState
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import queries
from seasonlog.journal.queries_season import Glance, glance
from seasonlog.services import board, checklists, figures, registry
from seasonlog.services.days import day_of
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook

MOST_WIND_MPH = 150.0
MPH_PER_KMH = 1.0 / 1.609344
_WIND = re.compile(r"(\d{1,3}(?:\.\d)?)\s*(mph|km/h)?", re.ASCII | re.IGNORECASE)
_GOOD = (str(Verdict.PASS), str(Verdict.NEAR_PASS))
CAUTIONS = (
    "Hours are low figures from the register and the last record, to plan the round by; they are no promise that a "
    "tower lasts so long.",
    "The wind at the water is not known, nor is the size of a bare line or what water it holds: what is seen on the "
    "roof goes first.",
    "A customer's report by phone is not proof, and what happened since the last visit is not seen: a breaker tripped, "
    "a basin emptied, a pump stopped.",
)
"""Stand under every board."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the board is asked for."""

    outdoor_degf: float | None = None
    """Forecast air; None: each site's design temperature, else its record low [degF]."""
    wind_mph: float | None = None
    """Free wind; None: the customary design wind [mph]."""
    site: str = ""
    """Only this site."""


@dataclass(frozen=True, slots=True)
class LastRecord:
    """What the log last says of a tower."""

    visit: str = ""
    """Id of the newest visit."""
    visit_words: str = ""
    """`fall enable 2026-08-17, complete, Mirel Oduvane`."""
    finding: str = ""
    """Id of the newest finding."""
    finding_words: str = ""
    """`2026-08-17, open: Line amps A, B, C`."""
    readings_on: str = ""
    """Day of the newest reading, or empty."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One exposed tower in its place."""

    rank: int
    """From 1; 0 for one that nothing freezes at in this weather."""
    name: str
    """Of the tower."""
    site_name: str
    units: str
    """Of the site: `us` or `si`."""
    found: Exposed
    last: LastRecord


@dataclass(frozen=True, slots=True)
class DrainedTower:
    """A tower that is said to hold no water."""

    tower: str
    site: str
    proven: bool
    words: str
    """`proof of drained: Fall enable on 2026-09-01 by ...`, or why it is not proven."""


@dataclass(frozen=True, slots=True)
class Unjudged:
    """A proven tower whose heat cannot be held against its loss."""

    tower: str
    site: str
    why: str


@dataclass(frozen=True, slots=True)
class ExposureBoard:
    """All of it."""

    on: date
    asked: Asked
    exposed: tuple[Placed, ...]
    """What freezes first stands first."""
    not_now: tuple[Placed, ...]
    """Not proven, but nothing freezes in this weather."""
    unjudged: tuple[Unjudged, ...]
    drained: tuple[DrainedTower, ...]
    covered: int
    """Towers proven or provisionally proven whose heat covers the loss, as far as is known."""
    provisional: int
    """How many of these are only provisionally proven."""

    @property
    def has_towers(self) -> bool:
        """There is a tower it could speak of."""
        return bool(self.exposed or self.not_now or self.unjudged or self.drained or self.covered)

    @property
    def all_well(self) -> bool:
        """Every tower is proven with heat enough, or proven drained."""
        is_open = self.exposed or self.not_now or self.unjudged or not all(each.proven for each in self.drained)
        return self.has_towers and not is_open

    @property
    def units(self) -> str:
        """What a line about all sites is told in: metric where all that are shown are."""
        return "si" if {each.units for each in (*self.exposed, *self.not_now)} == {"si"} else "us"


def exposure(book: Logbook, today: date, asked: Asked) -> ExposureBoard:
    """Which towers are exposed on a day.

    Args:
        book: The log.
        today: The day; decides season and winter mode.
        asked: Weather and site.

    Raises:
        InputRefusedError: no such site.
        RatingError: no weather is like that.
    """
    _believable(asked)
    registry.refuse_unknown(book.db, site=asked.site)
    whole = registry.whole(book.db)
    seen = [_look(book, each, today, asked) for each in _each(book, whole, asked.site)]
    order = ranked(look.found for look in seen if look.found is not None)
    last = {look.tower: look.last for look in seen}
    freezing = [found for found in order if not found.nothing_freezes]
    placed = [_placed(whole, rank, found, last[found.tower]) for rank, found in enumerate(freezing, 1)]
    not_now = [_placed(whole, 0, found, last[found.tower]) for found in order if found.nothing_freezes]
    rest = [look for look in seen if look.covered]
    return ExposureBoard(
        on=today,
        asked=asked,
        exposed=tuple(placed),
        not_now=tuple(not_now),
        unjudged=tuple(Unjudged(look.tower, look.site, look.why) for look in seen if look.why),
        drained=tuple(look.drained for look in seen if look.drained is not None),
        covered=len(rest),
        provisional=sum(look.covered is Protection.PROVISIONAL for look in rest),
    )


def _believable(asked: Asked) -> None:
    if asked.outdoor_degf is not None:
        within(asked.outdoor_degf, "outdoor air", "degF", figures.LEAST_OUTDOOR_DEGF, figures.MOST_OUTDOOR_DEGF)
    if asked.wind_mph is not None:
        within(asked.wind_mph, "wind", "mph", 0.0, MOST_WIND_MPH)


@dataclass(frozen=True, slots=True)
class _Tower:
    """What is fetched of one tower."""

    id: str
    register: Register
    findings: Sequence[Finding]
    """All of them, oldest first."""
    visits: Sequence[Visit]
    """Oldest first."""
    changes: Sequence[ModeChange]

    @property
    def site(self) -> Site:
        """Where it stands."""
        return self.register.site_of(self.id)


@dataclass(frozen=True, slots=True)
class _Look:
    """What was found of one tower."""

    tower: str
    site: str
    last: LastRecord
    found: Exposed | None = None
    drained: DrainedTower | None = None
    why: str = ""
    covered: Protection | None = None


def _each(book: Logbook, whole: Register, site: str) -> Iterator[_Tower]:
    """Every tower with its own part of the register, all records shared and read once."""
    findings: dict[str, list[Finding]] = {}
    for finding in queries.findings(book.db, open_only=False, site=site):
        findings.setdefault(finding.tower, []).append(finding)
    devices: dict[str, list[str]] = {}
    for device in whole.devices.values():
        devices.setdefault(device.of, []).append(device.id)
    changes = registry.mode_changes(book.db)
    for tower in whole.towers.values():
        if site in ("", tower.site):
            part = _part(whole, tower.id, devices)
            visits = queries.visits_of(book.db, tower.id)
            yield _Tower(tower.id, part, findings.get(tower.id, ()), visits, changes.get(tower.id, ()))


def _part(whole: Register, tower: str, devices: Mapping[str, Sequence[str]]) -> Register:
    """One tower's part of the register, as `registry.of_tower` gives it, without reading anything again."""
    basins = {basin.id: basin for basin in whole.basins_of(tower)}
    circuits = {circuit.id: circuit for circuit in whole.circuits_of(tower)}
    traces = {trace.id: trace for trace in whole.traces_of(tower)}
    own = [device for part in (*basins, *circuits, *traces) for device in devices.get(part, ())]
    return Register(
        sites={whole.towers[tower].site: whole.site_of(tower)},
        towers={tower: whole.towers[tower]},
        basins=basins,
        circuits=circuits,
        traces=traces,
        sources={source.id: source for source in whole.sources_of(tower)},
        instruments=whole.instruments,
        people=whole.people,
        devices={ident: whole.devices[ident] for ident in own},
    )


def _look(book: Logbook, tower: _Tower, today: date, asked: Asked) -> _Look:
    state, good = _state(book, tower, today)
    mode = mode_on(tower.register.towers[tower.id], tower.changes, today)
    readings = queries.latest_readings(book.db, tower.id)
    last, site = _last(tower, readings), tower.site
    if mode == DRAINED:
        return _Look(tower.id, site.id, last, drained=_drained(tower, state))
    practice = practice_table().with_site(site.tighten)
    night = night_of(site, practice, asked.outdoor_degf, asked.wind_mph)
    read = {c.id: figures.measured(c, readings) for c in tower.register.circuits_of(tower.id)}
    basins = [basin_night(tower.register, b, practice, read, night) for b in tower.register.basins_of(tower.id)]
    standing = Standing(mode, state, [f for f in tower.findings if f.is_open], good)
    found = exposed(tower.register, tower.id, practice.value("hold_water_degf"), standing, night, basins)
    why = "" if found is not None else unjudged(standing, basins)
    return _Look(tower.id, site.id, last, found, why=why, covered=None if found or why else state.protection)


def _state(book: Logbook, tower: _Tower, today: date) -> tuple[Coverage, frozenset[str]]:
    """Is it proven, and which steps passed in this season's last fall enable."""
    year = season_of(today, tower.site.latitude_deg)
    full = next((v for v in reversed(tower.visits) if v.season == year and _proves_season(book, v)), None)
    if full is None:
        return board.covered(book, tower.register, tower.id, today), frozenset()
    seen = glance(book.db, full.id)
    good = frozenset(step for step, verdict in seen.verdicts.items() if verdict in _GOOD)
    hazards = [f for f in tower.findings if f.is_open and f.needs_retest]
    if hazards:
        words = tuple(f.reason for f in hazards)
        return Coverage(Protection.NOT_PROVEN, words), good
    if _plainly_proven(book, tower, full, seen, good):
        title = checklists.of_visit(book.db, full.sha256).title
        return Coverage(Protection.PROVEN, (f"{title} on {full.day} by {full.who}",)), good
    return board.covered(book, tower.register, tower.id, today), good


def _proves_season(book: Logbook, visit: Visit) -> bool:
    return checklists.of_visit(book.db, visit.sha256).proves == "season"


def _plainly_proven(book: Logbook, tower: _Tower, visit: Visit, seen: Glance, good: frozenset[str]) -> bool:
    """A signed visit in which all that proves is good, with nothing since that could take it back.

    Says no whenever it is not plain; then `board.covered` is asked, which tells why.
    """
    if visit.state is not VisitState.COMPLETE or not visit.qualified or seen.unqualified or visit.uncalibrated:
        return False
    if not any(each.meaning is Meaning.DONE_BY and not each.moved for each in visit.signatures):
        return False
    if tower.changes or any(device.removed is not None for device in tower.register.devices.values()):
        return False
    asked = applicable(checklists.of_visit(book.db, visit.sha256), tower.register, tower.id)
    if not all(i.key in good for i in asked if i.step.required):
        return False
    return all(i.step.instrument in visit.instruments for i in asked if i.step.quantity and i.step.instrument)


def _drained(tower: _Tower, state: Coverage) -> DrainedTower:
    proven, reason = state.protection is Protection.PROVEN, (state.reasons or ("",))[0]
    words = f"proof of drained: {reason}" if proven else f"not proven drained: {reason}"
    return DrainedTower(tower.id, tower.site.id, proven, words)


def _last(tower: _Tower, readings: Mapping[tuple[str, str], queries.Reading]) -> LastRecord:
    visit = tower.visits[-1] if tower.visits else None
    finding = tower.findings[-1] if tower.findings else None
    read = max((reading.wall_ms for reading in readings.values()), default=None)
    return LastRecord(
        visit=visit.id if visit else "",
        visit_words=f"{visit.checklist} {visit.day}, {visit.state.replace('_', ' ')}, {visit.who}" if visit else "",
        finding=finding.id if finding else "",
        finding_words=(
            f"{day_of(finding.opened_wall_ms).isoformat()}, {finding.state}: {finding.title}" if finding else ""
        ),
        readings_on=day_of(read).isoformat() if read is not None else "",
    )


def _placed(whole: Register, rank: int, found: Exposed, last: LastRecord) -> Placed:
    site = whole.sites[found.site]
    return Placed(rank, whole.towers[found.tower].name, site.name, site.units, found, last)


def weather_words(night: Night, units: str) -> str:
    """The weather as people of a site read it: `-8 degF, 15 mph (design)`.

    Args:
        night: The weather.
        units: Of the site: `us` or `si`.
    """
    if units == "si":
        air, wind = f"{degc_from_degf(night.outdoor_degf):.0f} degC", f"{night.wind_mph / MPH_PER_KMH:.0f} km/h"
    else:
        air, wind = f"{night.outdoor_degf:.0f} degF", f"{night.wind_mph:.0f} mph"
    return f"{air}, {wind} ({night.label})"


def typed_wind(text: str, units: str) -> float:
    """A wind as a person types it, in the unit of the site or with its own: `15`, `25 km/h` [mph].

    Raises:
        InputRefusedError: it is none, or no wind is so strong.
    """
    found = _WIND.fullmatch(text.strip())
    if found is None:
        says = f'"{visible(text.strip()[:20])}" is not a wind; write it as 15 mph or 25 km/h'
        raise InputRefusedError([Problem("wind", says)])
    unit = (found[2] or ("km/h" if units == "si" else "mph")).casefold()
    mph = float(found[1]) * (MPH_PER_KMH if unit == "km/h" else 1.0)
    if mph > MOST_WIND_MPH:
        raise InputRefusedError([Problem("wind", f"{found[1]} {unit} is no wind; 0 to {MOST_WIND_MPH:g} mph is taken")])
    return mph
