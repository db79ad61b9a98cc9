"""`seasonlog coverage`: which towers are proven, the seasons as a table, and one cell with everything behind it."""

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import entries

if TYPE_CHECKING:
    from seasonlog.domain.coverage_cells import CellKey, CoverageGrid, OpenedCell
    from seasonlog.services.logbook import Logbook


@click.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--review", metavar="TEXT", help="Write the yearly review: every tower not proven, and these words.")
@click.option("--seasons", type=click.IntRange(1, 50), metavar="N", help="The table of the last N seasons instead.")
@click.option("--open", "cell", metavar="CELL", help="One cell, as TOWER/CHECKLIST/SEASON, with every rule and entry.")
@by_option
@log_option
@shows
@click.pass_obj
def coverage(
    obj: Frame, site: str, review: str | None, seasons: int | None, cell: str | None, by: str | None,
    log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Say of each tower whether it is proven for the season, and if not, why.

    With --seasons: every checklist of every tower and season, what is missing first. With --open: one cell of it, held
    against every rule.
    """
    key = None if cell is None else _key(cell)
    with frame.writing(obj, log, by) if review else frame.reading(obj, log) as book:
        day = frame.day_or(today, book)
        if key is not None:
            return _open(book, key, day, as_json)
        if seasons is not None:
            show_table(book, site, seasons, day, as_json=as_json)
        else:
            _proven(book, site, review, day, as_json)
        frame.show_ages(frame.ages_of(book), as_json=as_json)
    return 0


def _proven(book: "Logbook", site: str, review: str | None, day: date, as_json: bool) -> None:
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units
    from seasonlog.services import board, registry

    registry.refuse_unknown(book.db, site=site)
    known = registry.of_site(book.db, site) if site else registry.towers_and_sites(book.db)
    ordered = sorted(known.towers, key=lambda t: (known.site_of(t).name, t))  # as in the table of seasons
    found = {t: board.covered(book, registry.of_tower(book.db, t), t, day) for t in ordered}
    if review:
        board.write_review(book, found, review, day)
        frame.say("The yearly review is in the log; the firm's report shows it.")
    if as_json:
        rows = [{"tower": t, "protection": str(c.protection), "reasons": list(c.reasons)} for t, c in found.items()]
        frame.out_json(rows)
    else:
        units = {t: known.site_of(t).units for t in found}
        first = {t: in_units((c.reasons or ("",))[0], units[t], IN_PLAIN_LETTERS) for t, c in found.items()}
        frame.table((t, c.protection.replace("_", " "), first[t]) for t, c in found.items())


def _key(text: str) -> "CellKey":
    from seasonlog.domain.coverage_cells import CellKey
    from seasonlog.errors import UsageError

    parts = text.split("/")
    if len(parts) != 3 or not (parts[2].isascii() and parts[2].isdigit() and len(parts[2]) == 4):
        raise UsageError(f'--open "{text}" is not a cell; write it as HOS-1/fall-enable/2026')
    return CellKey(parts[0], parts[1], int(parts[2]))


def show_table(book: "Logbook", site: str, seasons: int, day: date, *, as_json: bool) -> int:
    """The table in words or for a script, gaps first."""
    from seasonlog.domain.audit_words import amiss
    from seasonlog.services.coverage import Wanted, grid

    found = grid(book, day, Wanted(site=site, seasons=seasons))
    if as_json:
        frame.out_json(table_document(found))
        return 0
    rest = sorted((c for c in found.cells.values()), key=lambda c: (-c.season, c.tower, c.checklist))
    gaps = list(found.gaps())
    named = {each.key for each in gaps}
    gone = {row.tower: f" (the tower was retired on {row.retired})" for row in found.rows if row.retired}
    for each in [*gaps, *(c for c in rest if c.key not in named)]:
        broken = f": {amiss(each.broken)}" if each.broken else ""
        told = f"{each.words}{broken}{gone.get(each.tower, '')}"
        frame.out(f"{each.state.upper():9} {each.tower}/{each.checklist}/{each.season}  {told}")
    counts = found.counts()
    frame.out(", ".join(f"{count} {state.replace('_', ' ')}" for state, count in sorted(counts.items())))
    return 0


def table_document(found: "CoverageGrid") -> dict[str, Any]:
    """The table for a script."""
    return {
        "on": found.on.isoformat(),
        "seasons": list(found.seasons),
        "checklists": list(found.checklists),
        "towers": [{"site": r.site, "tower": r.tower, "name": r.name, "retired": r.retired} for r in found.rows],
        "cells": [each._asdict() | {"state": str(each.state)} for each in found.cells.values()],
    }


def _open(book: "Logbook", key: "CellKey", day: date, as_json: bool) -> int:
    from seasonlog.domain.audit_rules import CAVEAT
    from seasonlog.domain.audit_words import amiss
    from seasonlog.services import checklists
    from seasonlog.services.coverage_cell import opened
    from seasonlog.services.reports_stood import standing_words

    found = opened(book, key, day)
    if not found.visits:
        checklists.named(key.checklist, book.places.checklists)  # one that nobody knows is refused
    if as_json:
        frame.out_json(cell_document(found))
        return 0
    state, broken = found.cell.state.upper().replace("_", " "), amiss(found.cell.broken)
    frame.out(f"{state}  {key.tower} {key.checklist} {key.season}: {found.cell.words}{': ' if broken else ''}{broken}")
    frame.out(f"  {key.tower} is {standing_words(book, key.tower, day)}")
    for words in found.windows:
        frame.out(f"  window {words}")
    for visit in found.visits:
        frame.out(f"  visit {visit.visit}: {visit.title} on {visit.day}, {visit.state.replace('_', ' ')}, {visit.who}")
        kept = f"to be kept {visit.keep_until}; {entries(len(visit.evidence))}"
        frame.out(f"    {kept}, `seasonlog record {visit.visit}`")
        for result in visit.results:
            says = f": {result.says}" if result.says else ""
            frame.out(f"    {result.outcome.replace('_', ' '):11} {result.title}{says}  ({result.requirement})")
    frame.out(CAVEAT)
    return 0


def cell_document(found: "OpenedCell") -> dict[str, Any]:
    """A cell for a script."""
    from dataclasses import asdict

    visits = [
        asdict(visit) | {"results": [asdict(r) | {"outcome": str(r.outcome)} for r in visit.results]}
        for visit in found.visits
    ]
    cell = found.cell._asdict() | {"state": str(found.cell.state)}
    return {"cell": cell, "windows": list(found.windows), "visits": visits}
