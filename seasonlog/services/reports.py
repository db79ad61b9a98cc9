"""Reports: one tower, one site's season, the whole firm, the open findings, one visit; built once, drawn by a writer.

Each begins with what is not proven. The same log, clock and person give the same report, byte for byte.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib.metadata import version
from itertools import count

from seasonlog.domain.coverage_cells import CoverageGrid
from seasonlog.domain.plain_words import entries
from seasonlog.domain.register import Site
from seasonlog.domain.season import season_name, season_of
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, LogError, Problem
from seasonlog.export.report_model import Badge, Block, Bullets, Document, Notice, Para, Section, Stamp, Tone, Voice
from seasonlog.journal import held, queries
from seasonlog.journal.two_pasts import branches
from seasonlog.services import (
    registry,
    reports_gaps,
    reports_proof,
    reports_site,
    reports_tower,
    reports_trends,
    reports_visit,
    rounds,
)
from seasonlog.services import reports_words as say
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.devices import integrity_code
from seasonlog.services.findings import open_findings
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_stood import retired_on, stood
from seasonlog.services.reports_told import told
from seasonlog.services.reports_words import SiteWords
from seasonlog.services.season import history

Progress = Callable[[int, int], None]
"""Told how many of how many towers are done."""
CAUTIONS = (
    "This report says what was measured, when, by whom, with which instrument, and against which limit. It is no "
    "statement that anything is safe. Local codes, licensed practice and the site's own procedures come first.",
    "Before any work: lock out the branch disconnect, try, prove dead with a tested meter. The control switch is no "
    "lock. Energised readings are for a qualified person. Ice, roof edges and spray hurt people too.",
)
_READING = (
    "Limits are computed from each heater's own rating, the volts measured in the same visit and the accuracy of the "
    "meter. Pass and near pass count as proof; cannot tell, near fail and fail never do. A value that was corrected "
    "stands with its older value, who changed it, when and why. Times are local to the site. Nothing in the log is "
    "ever changed or deleted; the command seasonlog verify proves that no entry was."
)


@dataclass(frozen=True, slots=True)
class Made:
    """Who makes a report, on which day, and who is told how far it is."""

    by: str
    today: date
    told: Progress = lambda done, whole: None


def stamp(book: Logbook, made: Made) -> Stamp:
    """Who, when, of which log, with its integrity code."""
    clock = book.around.clock
    wall_ms, offset = clock.wall_ms(), clock.offset_minutes()
    hours, minutes = divmod(abs(offset), 60)
    code, covers = _code(book)
    follows = "this report follows those beginning with"
    forks = "".join(f" {fork}; {follows} {fork.here[:16] or 'neither'}." for fork in branches(book.db))
    zone = f"UTC{'-' if offset < 0 else '+'}{hours:02d}:{minutes:02d}"
    return Stamp(
        made_by=made.by or "nobody named",
        made_at=f"{say.clock(wall_ms, offset)} {zone}",
        log=f"{book.journal.log_id}, {entries(book.journal.count())}",
        code=code,
        covers=covers + forks,
        software=f"seasonlog {version('seasonlog')}",
        wall_ms=wall_ms,
    )


def _code(book: Logbook) -> tuple[str, str]:
    """The integrity code and what it covers."""
    code = _stated_code(book)
    stated = next((c for c in reversed(held.checkpoints(book.db)) if c.code == code), None)
    if stated is None:
        return "none", "No checkpoint is held: make the report under a name (--by) on a device of the log to state one."
    covered = sum(size.entries for size in stated.sizes.values())
    whole = book.journal.count()
    words = "all entries" if covered == whole else f"the first {covered} of {entries(whole)}"
    return code, f"Checkpoint of {words}, stated {say.clock(stated.issued_ms, 0)} UTC by device {stated.by}."


def _stated_code(book: Logbook) -> str:
    """Of a checkpoint stated now; of the newest one held where the log is only read."""
    try:
        return integrity_code(book)
    except LogError:
        return integrity_code(replace(book, who=""))


def tower_report(book: Logbook, tower: str, made: Made, season: int | None = None) -> Document:
    """Everything about one tower in a season: today's, or of a tower that is gone its last one, where none is named.

    Raises:
        InputRefusedError: no such tower.
    """
    registry.refuse_unknown(book.db, tower=tower)
    site = registry.of_tower_ever(book.db, tower).site_of(tower)
    last = min(made.today, retired_on(book, tower) or made.today)
    year = season_of(last, site.latitude_deg) if season is None else season
    made.told(0, 1)
    record = reports_tower.tower_record(book, tower, year, made.today)
    name = season_name(year, site.latitude_deg)
    strips = reports_site.strip_of_tower(book, record)
    gaps = reports_gaps.of_season(reports_gaps.table(book, made.today, year, tower=tower), year, tower=tower)
    sections = [
        Section(title, blocks) for title, blocks in reports_tower.parts(record, [*reports_gaps.blocks(gaps), *strips])
    ]
    trends = reports_trends.of_tower(book, record)
    sections += [Section("Trends", trends)] if trends else []
    made.told(1, 1)
    return _document(book, made, "Freeze protection record of one tower", record.named, f"{site.name}, {name}",
                     (reports_tower.protection(record), reports_tower.head(record, name)), sections,
                     record.words.paper)  # fmt: skip


def site_report(book: Logbook, site: str, made: Made, season: int | None = None) -> Document:
    """A site's season: what is not proven, the grid of visits, findings, then every tower in full.

    Raises:
        InputRefusedError: no such site.
    """
    known = registry.site(book.db, site, ever=True)
    if known is None:
        says = "is not in the register; `seasonlog register list site` names all"
        raise InputRefusedError([Problem(f"site {visible(site)}", says)])
    year = season_of(made.today, known.latitude_deg) if season is None else season
    towers = [each.tower for each in stood(book, known, year)]
    records = []
    for number, tower in enumerate(towers):
        made.told(number, len(towers) + 1)
        records.append(reports_tower.tower_record(book, tower, year, made.today))
    words, name = SiteWords(known), season_name(year, known.latitude_deg)
    covered = reports_gaps.table(book, made.today, year, site=site)
    summary = reports_site.site_parts(book, known, records, covered)
    sections = [Section(title, blocks) for title, blocks in summary]
    for record in records:
        sections += _chapter(book, record, name, covered)
    made.told(len(towers) + 1, len(towers) + 1)
    gaps = reports_gaps.counted(reports_gaps.of_season(covered, year))
    head = (reports_site.site_notice(records, gaps), reports_site.site_head(known, records, name))
    return _document(book, made, "Freeze protection record of a site", known.name, f"{known.id}, {name}", head,
                     sections, words.paper)  # fmt: skip


def _chapter(book: Logbook, record: reports_tower.TowerRecord, season: str, covered: CoverageGrid) -> Iterator[Section]:
    """One tower inside a site's report, on a page of its own."""
    first = (reports_tower.protection(record), reports_tower.head(record, season))
    yield Section(f"Tower {record.named}", first, new_page=True)
    gaps = reports_gaps.blocks(reports_gaps.of_season(covered, record.season, tower=record.tower))
    for title, blocks in reports_tower.parts(record, [*gaps, *reports_site.strip_of_tower(book, record)]):
        yield Section(title, blocks, level=3)
    trends = reports_trends.of_tower(book, record)
    if trends:
        yield Section("Trends", trends, level=3)


def firm_report(book: Logbook, made: Made, season: int | None = None) -> Document:
    """Every site of the log: which towers are not proven and why, open findings, the season of each site."""
    sites = list(_sites(book, made, season))
    whole = 2 * sum(towers for _, _, towers in queries.sites(book.db)) + 1  # the seasons' table takes as long again
    done = count(1)
    made.told(0, whole)
    asked = reports_site.Asked(made.today, season, history(book), registry.shared(book.db))
    found = [reports_site.glance(book, site, asked, lambda: made.told(min(next(done), whole), whole)) for site in sites]
    covered = reports_gaps.table(book, made.today, min((g.year for g in found), default=made.today.year))
    sections = [Section(title, blocks) for title, blocks in reports_site.firm_parts(book, found, made.today, covered)]
    made.told(whole, whole)
    head = reports_site.firm_head(found, covered)
    subtitle = f"{say.counted(len(found), 'site')}, {say.counted(sum(len(g.towers) for g in found), 'tower')}"
    paper = "a4" if found and all(g.site.units == "si" for g in found) else "us-letter"
    return _document(book, made, "Freeze protection of all sites", "All sites", subtitle, head, sections, paper)


def _sites(book: Logbook, made: Made, season: int | None) -> Iterator[Site]:
    """Every site; of those that were retired, the ones of which a tower stood in the season."""
    still = {ident for ident, _, _ in queries.sites(book.db)}
    for ident, _, _ in queries.sites(book.db, ever=True):
        known = registry.site(book.db, ident, ever=True)
        if known is None:
            continue
        year = season_of(made.today, known.latitude_deg) if season is None else season
        if ident in still or stood(book, known, year):
            yield known


def _grave_words(grave: int) -> str:
    if not grave:
        return "None of them can freeze, burn or shock."
    return f"{grave} can freeze, burn or shock, to be closed only by a passed retest."


def findings_report(book: Logbook, made: Made, *, site: str = "", tower: str = "") -> Document:
    """The findings that need a person, worst first."""
    registry.refuse_unknown(book.db, site=site, tower=tower)
    found = open_findings(book, site=site, tower=tower)
    groups: dict[str, list[Section]] = {}
    for ident in dict.fromkeys(f.site for f in found):
        known = registry.site(book.db, ident)
        ours = [f for f in found if f.site == ident]
        if known is not None:
            words = SiteWords(known)
            table = reports_tower.findings_table(ours, words, "Worst first, then oldest", made.today)
            groups[ident] = [Section(f"{known.name} ({ident})", (table, *reports_site.causes(ours, words)))]
    grave = sum(f.needs_retest for f in found)
    notice = (
        Notice(Badge("✗", f"{len(found)} OPEN FINDING{'S' if len(found) > 1 else ''}",
                     Tone.BAD if grave else Tone.NEAR, _grave_words(grave)))
        if found else Notice(Badge("✓", "NO OPEN FINDING", Tone.PASS))
    )  # fmt: skip
    subtitle = tower or site or "all sites"
    sections = [section for sections in groups.values() for section in sections]
    return _document(book, made, "What is wrong and needs a person", "Open findings", subtitle, (notice,), sections)


def visit_report(book: Logbook, visit: str, made: Made) -> Document:
    """The record of one visit.

    Raises:
        InputRefusedError: no such visit.
    """
    at = rounds.progress(book, visit)
    words = SiteWords(at.register.site_of(at.visit.tower))
    found = open_findings(book, tower=at.visit.tower)
    whole = told(book, at, reports_proof.parts(book, at, words, made.today))
    parts = (*reports_visit.failed(at, words), *reports_visit.parts(whole, words))
    sections = [Section(title, blocks) for title, blocks in parts]
    tower = at.register.towers[at.visit.tower]
    head = (reports_visit.outcome(at, found), reports_visit.facts(at, words))
    return _document(book, made, "Record of one visit", f"{at.checklist.title}, {at.visit.day}",
                     f"{tower.id}, {tower.name}; {words.site.name}", head, sections, words.paper)  # fmt: skip


def copy_report(book: Logbook, visit: str, made: Made) -> Document:
    """The customer's page of a visit, in the words of `customer_copy`.

    Raises:
        InputRefusedError: no such visit.
    """
    at = rounds.progress(book, visit)
    words = SiteWords(at.register.site_of(at.visit.tower))
    _, _, *told = customer_copy(book, at).strip().split("\n\n")  # its heading and its outcome stand above
    sections = [_of_copy(part.splitlines(), words) for part in told if not part.startswith("Measured:")]
    measured = tuple(reports_visit.measured(at, words))  # what is to be done comes first
    sections += [Section("Measured", measured)] if measured else []
    tower = at.register.towers[at.visit.tower]
    head = (reports_visit.outcome(at, open_findings(book, tower=at.visit.tower)),)
    where = f"{words.site.name}: {tower.name} ({tower.id}), visit {visit}"
    title = f"{at.checklist.title}, {at.visit.day}"
    page = _document(book, made, "The customer's copy of a visit", title, where, head, sections, words.paper)
    cautions = Section("Cautions", tuple(Para(caution, Voice.CAUTION) for caution in CAUTIONS))
    return replace(page, sections=(*sections, cautions), is_short=True)


def _of_copy(lines: Sequence[str], words: SiteWords) -> Section:
    """A heading that ends in a colon and its lines; signatures and a lone sentence have none."""
    title, rest = (lines[0][:-1], lines[1:]) if lines[0].endswith(":") else ("Signatures", lines)
    return Section(title, (Bullets(tuple(words.text(line.strip().removeprefix("- ")) for line in rest)),))


def _document(
    book: Logbook, made: Made, kicker: str, title: str, subtitle: str, head: tuple[Block, ...],
    sections: Sequence[Section], paper: str = "us-letter",
) -> Document:  # fmt: skip
    cautions = tuple(Para(words, Voice.CAUTION) for words in CAUTIONS)
    last = Section("Cautions, and how to read this", (*cautions, Para(_READING, Voice.SMALL)))
    return Document(kicker, title, subtitle, head, (*sections, last), stamp(book, made),
                    book.journal.is_demonstration, paper)  # fmt: skip
