"""What a report says of a site and of the firm: which towers are not proven, the grid of visits, the season drawn."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.domain.coverage import Coverage
from seasonlog.domain.coverage_cells import Cell as Covered
from seasonlog.domain.coverage_cells import CoverageGrid
from seasonlog.domain.due_state import DueState
from seasonlog.domain.finding import Finding
from seasonlog.domain.protection import Protection
from seasonlog.domain.records import Kind
from seasonlog.domain.register import Register
from seasonlog.domain.register_records import Site
from seasonlog.domain.season import season_name, season_of
from seasonlog.domain.season_due import DueHistory, DueItem
from seasonlog.export import plots_time
from seasonlog.export.report_model import (
    Badge,
    Block,
    Bullets,
    Cell,
    Column,
    Facts,
    Figure,
    Notice,
    Para,
    Table,
    Tone,
)
from seasonlog.journal import queries, report_queries
from seasonlog.services import recall, registry, reports_gaps, reports_visit, season, season_strip
from seasonlog.services import reports_words as say
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_stood import stood
from seasonlog.services.reports_tower import TowerRecord, findings_table, judged_on, season_coverage
from seasonlog.services.reports_visit import Part
from seasonlog.services.reports_words import SiteWords, plain


def strip_of_tower(book: Logbook, record: TowerRecord) -> list[Block]:
    """The season of one tower, drawn, with what is due in words."""
    if record.retired:
        return []  # nothing is due any more
    site = record.register.site_of(record.tower)
    found = season_strip.tower_strips(book, site.id, record.on)
    lanes = [t for t in found.towers if t.id == record.tower]
    return [_strips(found.site, lanes, f"The season of {record.tower}", record.on), *_due(book, record)]


def _due(book: Logbook, record: TowerRecord) -> Iterator[Block]:
    items = season.items(book, record.on, tower=record.tower)
    rows = tuple(
        (plain(i.checklist).capitalize(), str(i.ordinal), say.DUE_STATES[i.state], f"{i.opens} to {i.due}",
         i.planned.isoformat(), i.planned_with or "")
        for i in sorted((i for i in items if i.season == record.season), key=lambda i: (i.due, i.checklist))
    )  # fmt: skip
    if rows:
        columns = (Column("Visit", 1.8), Column("No.", 0.6), Column("State", 1.4), Column("Window", 2.4),
                   Column("Planned for, or made on", 2), Column("With", 1.8))  # fmt: skip
        yield Table("Visits the season asks for", columns, rows).filled()


def _strips(site: season_strip.SiteStrip, towers: Sequence[season_strip.TowerStrip], caption: str, on: date) -> Figure:
    """The strips of a season as they stand on a day; what is made or planned for the next one is not in it."""
    year = site.weeks.first.year
    lanes = tuple(
        plots_time.StripLane(
            f"{t.id} {t.name}",
            tuple((span.opens, span.due) for span in t.lane.spans),
            tuple((mark.week, str(mark.sign)) for mark in t.lane.marks if mark.item.season == year),
            t.lane.next_words or "nothing more to do",
        )
        for t in towers
    )
    plot = plots_time.SeasonPlot(
        caption=f"{caption}, {site.season}. Freeze dates: {site.basis_words}.",
        months=site.weeks.months,
        today=site.today,
        day=on.isoformat(),
        frost=site.shares,
        usual=site.usual,
        frost_words=f"Season {site.season}, {site.basis_words}",
        lanes=lanes,
    )
    return plots_time.season_strips(plot)


def site_notice(records: Sequence[TowerRecord], gaps: str) -> Notice:
    """Which towers are not proven, first, and how much of the season wants an explanation."""
    return _proven_notice({r.tower: r.coverage for r in records}, gaps)


MOST_NAMED = 30
"""Towers named before anything else; the others in the tables."""


def _proven_notice(found: Mapping[str, Coverage], gaps: str = "") -> Notice:
    missing = {t: c for t, c in found.items() if c.protection is not Protection.PROVEN}
    more = f"Of the checklists of the season {gaps}." if gaps else ""
    if not missing:
        if not found:
            return Notice(Badge("–", "NO TOWER ON RECORD", Tone.CALM, "in this season: nothing was asked."))
        return Notice(Badge("✓", f"ALL {len(found)} TOWERS PROVEN", Tone.PASS, more))
    lines = [say.reason(f"{tower}: {(c.reasons or ('',))[0]}") for tower, c in missing.items()]
    rest = len(lines) - MOST_NAMED
    lines = [*lines[:MOST_NAMED], f"and {rest} more, each named below"] if rest > 0 else lines
    return Notice(Badge("✗", f"{len(missing)} OF {len(found)} TOWERS NOT PROVEN", Tone.BAD, more), tuple(lines))


def site_head(site: Site, records: Sequence[TowerRecord], season_words: str) -> Facts:
    """The head of a site's report."""
    words = SiteWords(site)
    found = [f for r in records for f in r.open_findings]
    design = words.degrees(float(site.design_degf)) if site.design_degf is not None else "not on record"
    low = words.degrees(float(site.record_low_degf)) if site.record_low_degf is not None else "not on record"
    return Facts((
        ("Site", f"{site.name} ({site.id})"),
        ("Season", season_words),
        ("Towers", str(len(records))),
        ("Open findings now", say.open_words(found)),
        ("Visits this season", str(sum(len(r.visits) for r in records))),
        ("Winter design air, record low", f"{design}, {low}"),
    ))  # fmt: skip


def site_parts(book: Logbook, site: Site, records: Sequence[TowerRecord], covered: CoverageGrid) -> list[Part]:
    """The summary of a site, before its towers; nothing where none stood in the season."""
    if not records:
        return []
    on = max(r.on for r in records)
    found = [f for r in records for f in r.open_findings]
    words = SiteWords(site)
    strips = season_strip.tower_strips(book, site.id, on)
    year = season_of(on, site.latitude_deg)
    items = [item for item in season.items(book, on, site=site.id) if item.season == year]
    replaced = [change for r in records for each in r.told for change in each.changes]
    made: list[tuple[str, Sequence[Block]]] = [
        ("Towers", [_towers(records)]),
        ("Missing, amiss or late", [*reports_gaps.blocks(reports_gaps.of_season(covered, year))]),
        ("Coverage of the season", [_strips(strips.site, strips.towers, f"The season of {site.name}", on),
                                    *grid(items, [r.tower for r in records]), *reports_gaps.seasons(covered, year)]),
        ("Open findings", [findings_table(found, words, "Worst first in each tower", on)] if found
         else [Para("No finding is open.")]),
        ("Answers that were replaced", [*reports_visit.changed(replaced, words, with_tower=True)]),
    ]  # fmt: skip
    return [(title, tuple(blocks)) for title, blocks in made if blocks]


def _towers(records: Sequence[TowerRecord]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (r.named, say.PROTECTIONS[r.coverage.protection], r.words.text("; ".join(_why(r.coverage, r.retired, 3))),
         str(len(r.open_findings)), str(len(r.visits)))
        for r in records
    ]  # fmt: skip
    columns = (Column("Tower", 2.1), Column("State", 1.6), Column("Why, or by what", 4), Column("Findings", 0.8, True),
               Column("Visits", 0.7, True))  # fmt: skip
    return Table("Is each tower proven for the season?", columns, tuple(rows))


def _why(state: Coverage, retired: date | None, most: int) -> list[str]:
    """The first reasons; of a tower that is gone, also since when."""
    return [*state.reasons[:most], *([f"retired on {retired}"] if retired else [])]


_GRID = {
    DueState.DONE: Badge("✓", "", Tone.PASS), DueState.OVERDUE: Badge("!", "", Tone.BAD),
    DueState.OPEN: Badge("●", "", Tone.NEAR), DueState.UPCOMING: Badge("○", "", Tone.CALM),
    DueState.DROPPED: Badge("–", "", Tone.CALM),
}  # fmt: skip


def grid(items: Sequence[DueItem], towers: Sequence[str]) -> Iterator[Block]:
    """Towers down, visits of the season across; each cell a sign with its day."""
    kinds = list(dict.fromkeys((i.checklist, i.ordinal) for i in sorted(items, key=lambda i: (i.due, i.checklist))))
    if not kinds or len(kinds) > MOST_ACROSS:
        return
    held = {(i.tower, i.checklist, i.ordinal): i for i in items}
    rows = tuple((tower, *(_grid_cell(held.get((tower, *kind))) for kind in kinds)) for tower in towers)
    columns = (Column("Tower", 1.1), *(Column(_short(*kind), 1.0) for kind in kinds))
    yield Table("Visits of the season: ✓ done on, ! overdue since, ● due by, ○ to come by, – taken out", columns, rows)


MOST_ACROSS = 14
"""Columns of visits that fit a page."""


def _short(checklist: str, ordinal: int) -> str:
    name = {"fall-enable": "Fall", "mid-winter": "Winter", "spring-disable": "Spring", "cold-snap": "Cold snap"}
    short = name.get(checklist, plain(checklist))
    return f"{short} {ordinal}" if checklist in ("mid-winter", "cold-snap") or ordinal > 1 else short


def _grid_cell(item: DueItem | None) -> Cell:
    if item is None:
        return ""
    on = item.planned if item.state is DueState.DONE else item.due
    badge = _GRID[item.state]
    return Badge(badge.symbol, f"{on:%m-%d}", badge.tone)


def causes(found: Sequence[Finding], words: SiteWords) -> Iterator[Block]:
    """What would explain each finding, and the next test."""
    lines = tuple(
        f"{f.id} {f.tower}: {words.text(c['says']).rstrip('.')}. Next: {words.text(c['next_test'])}"
        for f in found
        for c in f.causes
    )
    if lines:
        yield Para(
            "What would explain it, best first, and the next test (for a qualified person, locked out unless said):"
        )
        yield Bullets(lines)


@dataclass(frozen=True, slots=True)
class SiteGlance:
    """One site in the firm's report."""

    site: Site
    season: str
    year: int
    """First year of the season."""
    on: date
    towers: Mapping[str, Coverage]
    names: Mapping[str, str]
    retired: Mapping[str, date | None]
    findings: Sequence[Finding]
    """Open ones."""
    strip: season_strip.SiteTowers


@dataclass(frozen=True, slots=True)
class Asked:
    """What the firm's report asks of each site."""

    today: date
    season: int | None
    """First year of the season; None: the one of today."""
    past: DueHistory
    """What was done, moved and dropped anywhere: read once for all sites."""
    shared: Register
    """People and instruments."""


def glance(book: Logbook, known: Site, asked: Asked, each: Callable[[], None]) -> SiteGlance:
    """What the firm's report says of one site.

    Args:
        book: The log.
        known: The site.
        asked: What of it.
        each: Called after every tower.
    """
    chosen = season_of(asked.today, known.latitude_deg) if asked.season is None else asked.season
    on = judged_on(chosen, float(known.latitude_deg), asked.today)
    told = {each.tower: each.retired for each in stood(book, known, chosen)}
    named: dict[str, str] = {}
    covered: dict[str, Coverage] = {}
    for tower, register in zip(told, registry.each_of(book.db, known, told, asked.shared), strict=True):
        last = judged_on(chosen, float(known.latitude_deg), asked.today, told[tower])
        named[tower] = register.towers[tower].name
        covered[tower] = season_coverage(book, register, tower, last, asked.today)
        each()
    found = queries.findings(book.db, open_only=True, site=known.id)
    worst = sorted(found, key=lambda f: (not f.needs_retest, f.opened_wall_ms, f.id))
    strip = season_strip.tower_strips(book, known.id, on, asked.past)
    return SiteGlance(known, season_name(chosen, known.latitude_deg), chosen, on, covered, named, told, worst, strip)


def firm_head(found: Sequence[SiteGlance], covered: CoverageGrid) -> tuple[Block, ...]:
    """What is not proven, over all sites."""
    gaps = [cell for cells in reports_gaps.by_site(covered, _years(found)).values() for cell in cells]
    every = {tower: c for g in found for tower, c in g.towers.items()}
    facts = Facts((
        ("Sites", str(len(found))),
        ("Towers", str(len(every))),
        ("Open findings now", say.open_words([f for g in found for f in g.findings])),
    ))  # fmt: skip
    return (_proven_notice(every, reports_gaps.counted(gaps)), facts)


def firm_parts(book: Logbook, found: Sequence[SiteGlance], today: date, covered: CoverageGrid) -> list[Part]:
    """Sites in one table, then each site with its towers, its findings and its season."""
    rows: list[tuple[Cell, ...]] = [_site_row(g) for g in found]
    columns = (Column("Site", 2.4), Column("Season", 1.6), Column("State", 2.2), Column("Proven", 0.9, True),
               Column("Towers", 0.9, True), Column("Findings", 0.9, True))  # fmt: skip
    made: list[Part] = [("Sites", (Table("Every site", columns, tuple(rows)),))] if rows else []
    gaps = reports_gaps.by_site(covered, _years(found))
    for g in found:
        made.append((f"{g.site.name} ({g.site.id})", tuple(_site_blocks(g, gaps[g.site.id]))))
    last = max((g.year for g in found), default=today.year)
    made.append(("Coverage over the seasons", tuple(reports_gaps.seasons(covered, last))))
    recalled = tuple(recall.told(book))
    made += [("Instruments recalled and not reviewed", (Bullets(recalled),))] if recalled else []
    reviews = tuple(_reviews(book))
    return [*made, *([("Yearly reviews", reviews)] if reviews else [])]


def _site_row(g: SiteGlance) -> tuple[Cell, ...]:
    proven = sum(c.protection is Protection.PROVEN for c in g.towers.values())
    whole = len(g.towers)
    state = (
        Badge("–", "NO TOWER", Tone.CALM) if not whole
        else Badge("✓", "ALL PROVEN", Tone.PASS) if proven == whole
        else Badge("✗", f"{whole - proven} NOT PROVEN", Tone.BAD)
    )  # fmt: skip
    return (f"{g.site.name} ({g.site.id})", g.season, state, str(proven), str(whole), str(len(g.findings)))


def _years(found: Sequence[SiteGlance]) -> dict[str, int]:
    return {g.site.id: g.year for g in found}


def _site_blocks(g: SiteGlance, gaps: Sequence[Covered]) -> Iterator[Block]:
    words = SiteWords(g.site)
    rows: list[tuple[Cell, ...]] = [
        (f"{t}, {g.names[t]}", say.PROTECTIONS[c.protection], words.text("; ".join(_why(c, g.retired[t], 2))))
        for t, c in g.towers.items()
    ]
    yield Table("Towers", (Column("Tower", 2), Column("State", 1.6), Column("Why, or by what", 4.4)), tuple(rows))
    yield from reports_gaps.blocks(gaps)
    yield _strips(g.strip.site, g.strip.towers, f"The season of {g.site.name}", g.on)
    if g.findings:
        yield findings_table(g.findings, words, "Open findings", g.on)


def _reviews(book: Logbook) -> Iterator[Block]:
    rows = tuple(
        (e.body["on"], e.who, str(len(e.body["not_proven"])), e.body["words"])
        for e in (stored.entry for stored in report_queries.of_kinds(book.db, Kind.SEASON_REVIEWED))
    )
    if rows:
        columns = (Column("Day", 1), Column("By", 1.4), Column("Not proven", 0.9, True), Column("Conclusion", 5))
        yield Table("Yearly reviews, oldest first", columns, rows)
