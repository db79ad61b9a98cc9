"""What a report says of coverage: which cells of a season want an explanation, in the words of the auditor's screen."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from seasonlog.domain.audit_words import amiss
from seasonlog.domain.coverage_cells import Cell as Covered
from seasonlog.domain.coverage_cells import CellState, CoverageGrid
from seasonlog.domain.season import FALL_ENABLE
from seasonlog.export.report_model import Badge, Block, Cell, Column, Para, Table, Tone, Voice
from seasonlog.services import coverage
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_words import plain

CELLS = {
    CellState.DONE: Badge("✓", "DONE", Tone.PASS), CellState.AMISS: Badge("✗~", "AMISS", Tone.NEAR),
    CellState.LATE: Badge("!", "LATE", Tone.NEAR), CellState.MISSING: Badge("✗", "MISSING", Tone.BAD),
    CellState.DUE: Badge("●", "DUE", Tone.NEAR), CellState.COMING: Badge("○", "TO COME", Tone.CALM),
    CellState.DROPPED: Badge("–", "TAKEN OUT", Tone.CALM),
}  # fmt: skip
MEANING = (
    "Missing: its last sensible day is over and no visit was signed off. Amiss: signed off, but a rule is broken, such "
    "as an open finding or an instrument out of calibration. Late: after the last sensible day. Told as known on the "
    "day of this report."
)


def table(book: Logbook, today: date, year: int, *, site: str = "", tower: str = "") -> CoverageGrid:
    """Coverage as it is known today, of all seasons up to one that a report is about.

    Args:
        book: The log.
        today: The day of the report.
        year: First year of the season.
        site: Only this site.
        tower: Only this tower.
    """
    back = max(coverage.SEASONS, today.year + 2 - year)
    return coverage.grid(book, today, coverage.Wanted(site, tower, back))


def of_season(found: CoverageGrid, year: int, *, tower: str = "") -> list[Covered]:
    """Cells of a season that want an explanation, missing ones first."""
    return [cell for cell in found.gaps() if cell.season == year and tower in ("", cell.tower)]


def by_site(found: CoverageGrid, years: Mapping[str, int]) -> dict[str, list[Covered]]:
    """The same of each site in the season it is reported of, in one go: a firm has hundreds of sites.

    Args:
        found: Coverage of all sites.
        years: Site to the first year of its season.
    """
    sites = {row.tower: row.site for row in found.rows}
    told: dict[str, list[Covered]] = {site: [] for site in years}
    for cell in found.gaps():
        site = sites[cell.tower]
        if years.get(site) == cell.season:
            told[site].append(cell)
    return told


def counted(gaps: Sequence[Covered]) -> str:
    """`2 missing, 3 amiss`; empty for none."""
    states = (CellState.MISSING, CellState.AMISS, CellState.LATE)
    numbers = ((state, sum(cell.state is state for cell in gaps)) for state in states)
    return ", ".join(f"{number} {state}" for state, number in numbers if number)


def blocks(gaps: Sequence[Covered]) -> Iterator[Block]:
    """The table of what wants an explanation; nothing where there is none."""
    if gaps:
        rows = tuple(
            (cell.tower, plain(cell.checklist), CELLS[cell.state], cell.words, amiss(cell.broken)) for cell in gaps
        )
        columns = (Column("Tower", 0.9), Column("Checklist", 1.3), Column("State", 1.1), Column("Made", 2.8),
                   Column("What is wrong", 3.4))  # fmt: skip
        yield Table("Missing, amiss or late in this season", columns, rows).filled()


def seasons(found: CoverageGrid, until: int) -> Iterator[Block]:
    """The fall enable of every tower over the seasons on record, for an auditor's first look.

    Args:
        found: Coverage.
        until: First year of the last season told.
    """
    years = [year for year in found.seasons if year <= until][-coverage.SEASONS :]
    rows = tuple(
        (f"{row.tower}, {row.name}{f' (retired {row.retired})' if row.retired else ''}",
         *(_season_cell(found, row.tower, year) for year in years))
        for row in found.rows
    )  # fmt: skip
    if rows and years:
        columns = (Column("Tower", 2), *(Column(str(year), 1) for year in years))
        yield Table("The fall enable of each season, named by its first year", columns, rows).filled()
        yield Para(MEANING, Voice.SMALL)


def _season_cell(found: CoverageGrid, tower: str, year: int) -> Cell:
    return CELLS.get(found.cell(tower, FALL_ENABLE, year).state, "")
