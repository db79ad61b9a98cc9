"""Coverage as list rows: what is missing first, one line of signs per tower and season, a cell with its rules."""

from collections.abc import Iterator

from textual.content import Content

from seasonlog.domain.audit_rules import CAVEAT
from seasonlog.domain.coverage_cells import (
    WORST_FIRST,
    Cell,
    CellKey,
    CellState,
    CoverageGrid,
    GridRow,
    OpenedCell,
    OpenedVisit,
    Outcome,
    RuleResult,
)
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import NOTHING, Row, heading
from seasonlog.tui.wording import Look, counted, plain, say

CELLS = {
    CellState.MISSING: Look("!", "MISSING", "fail"),
    CellState.AMISS: Look("✗", "AMISS", "near-fail"),
    CellState.LATE: Look("✓~", "LATE", "near-pass"),
    CellState.DUE: Look("●", "DUE", "hot"),
    CellState.DROPPED: Look("–", "DROPPED", "calm"),
    CellState.DONE: Look("✓", "DONE", "pass"),
    CellState.COMING: Look("○", "TO COME", "calm"),
    CellState.NOT_ASKED: Look("·", "NOT ASKED", "calm"),
}
SIGNS = {CellState.LATE: "~"}
"""One cell wide, where the look's own sign is wider."""
OUTCOMES = {
    Outcome.BROKEN: Look("✗", "BROKEN", "fail"),
    Outcome.CANNOT_TELL: Look("?", "CANNOT TELL", "unsure"),
    Outcome.KEPT: Look("✓", "KEPT", "pass"),
}
MEANS = {
    CellState.MISSING: "its last sensible day is over and no visit was signed off",
    CellState.AMISS: "made and signed off, but a rule is broken",
    CellState.LATE: "made after its last sensible day",
}
LETTERS = {
    "commissioning": "N", "fall-enable": "F", "short-enable": "E", "cold-snap": "C", "mid-winter": "M",
    "spring-disable": "S", "repair-retest": "R", "lockout-inspection": "L", "frozen-or-overflowing": "Z",
}  # fmt: skip
OTHER = "+"
"""A checklist of the site's own."""
NARROW = 60
PROOF = Look("◆", "PROOF", "hot")
EVIDENCE = Look("»", "EVIDENCE", "cold")
NO_TOWERS = Row("", Content("No towers yet"), Content("The register holds no tower."))


def season_short(season: int, *, southern: bool = False) -> str:
    """`26/27`, or south of the equator `2026 `: as wide for every season."""
    return f"{season} " if southern else f"{season % 100:02d}/{(season + 1) % 100:02d}"


def gaps(grid: CoverageGrid) -> list[Row]:
    """What wants an explanation, the worst first."""
    towers = {row.tower: row for row in grid.rows}
    found: list[Row] = [_summary(grid)]
    by_state: dict[CellState, list[Cell]] = {}
    for each in grid.gaps():
        by_state.setdefault(each.state, []).append(each)
    for state, cells in by_state.items():
        found.append(heading(f"{CELLS[state].word} · {len(cells)}: {MEANS[state]}"))
        found += [cell_row(each, towers[each.tower]) for each in cells]
    return found


def _summary(grid: CoverageGrid) -> Row:
    counts = grid.counts()
    total = sum(counts.values())
    bad = sum(counts[state] for state in MEANS)
    words = [f"{counts[state]} {CELLS[state].word.lower()}" for state in WORST_FIRST if counts[state]]
    title = "Nothing is missing" if not bad else f"{bad} of {counted(total, 'cell')} want an explanation"
    look = CELLS[CellState.DONE if not bad else CellState.MISSING]
    return Row("", Content(title), say(", ".join(words) or "no visit was asked for yet"), look=look)


def cell_row(each: Cell, tower: GridRow, *, with_tower: bool = True) -> Row:
    """One cell in a list."""
    look = CELLS[each.state]
    what = f"{plain(each.checklist)} {season_short(each.season, southern=tower.is_southern).strip()}"
    title = f"{each.tower}  {what}" if with_tower else what
    broken = f" · broken: {'; '.join(plain(rule) for rule in each.broken)}" if each.broken else ""
    where = f" · {tower.name}, {tower.site_name}{_gone(tower)}" if with_tower else ""
    return Row(
        key_of(each.key), say(title), say(f"{each.words}{broken}{where}"), rows.marks((look.word, look.tone)), look
    )


def _gone(tower: GridRow) -> str:
    return f", retired {tower.retired}" if tower.retired else ""


def key_of(key: CellKey) -> str:
    """What a row that stands for a cell is called."""
    return f"cell:{key.tower}/{key.checklist}/{key.season}"


def key_from(text: str) -> CellKey:
    """Back from a row's key, without its first word."""
    tower, checklist, season = text.rsplit("/", 2)
    return CellKey(tower, checklist, int(season))


def tower_row(row: GridRow, grid: CoverageGrid, width: int) -> Row:
    """A tower: one group of signs for each season, the newest last."""
    worst = min((c.state for c in _cells(row, grid)), key=WORST_FIRST.index, default=CellState.NOT_ASKED)
    groups = [_season(row, grid, season, narrow=width < NARROW) for season in grid.seasons[-_fits(grid, width) :]]
    title = say(f"{row.tower}  {row.name}{_gone(row)}")
    site = "" if width < NARROW else row.site_name
    marks = (say(site, "$soft"),) if site else ()
    return Row(f"tower:{row.tower}", title, Content("   ").join(groups), marks, CELLS[worst])


def _fits(grid: CoverageGrid, width: int) -> int:
    """How many seasons have room."""
    each = len(grid.checklists) * (1 if width < NARROW else 2) + 6 + 3
    return max(min((width - 8) // each, len(grid.seasons)), 1)


def _cells(row: GridRow, grid: CoverageGrid) -> Iterator[Cell]:
    for season in grid.seasons:
        for checklist in grid.checklists:
            yield grid.cell(row.tower, checklist, season)


def _season(row: GridRow, grid: CoverageGrid, season: int, *, narrow: bool) -> Content:
    parts: list[tuple[str, str]] = [(f"{season_short(season, southern=row.is_southern)} ", "$soft")]
    for checklist in grid.checklists:
        state = grid.cell(row.tower, checklist, season).state
        sign = SIGNS.get(state, CELLS[state].symbol)
        if not narrow:
            parts.append((LETTERS.get(checklist, OTHER), "$soft"))
        parts.append((sign, f"bold {CELLS[state].ink}"))
    return Content.assemble(*parts)


def legend(grid: CoverageGrid, width: int) -> Content:
    """What letters and signs of the table mean."""
    signs = [(SIGNS.get(s, CELLS[s].symbol), CELLS[s].word.lower(), CELLS[s].ink) for s in WORST_FIRST]
    letters = [(LETTERS.get(name, OTHER), plain(name), "$tone-hot") for name in grid.checklists]
    parts = [Content.assemble((sign, f"bold {ink}"), " ", (word, "$soft")) for sign, word, ink in (*letters, *signs)]
    lines: list[Content] = []
    for part in parts:
        longer = Content("  ").join([lines[-1], part]) if lines else part
        if not lines or longer.cell_length > width - 2:
            lines.append(part)
        else:
            lines[-1] = longer
    return Content("\n").join(lines)


def tower_cells(tower: str, grid: CoverageGrid) -> list[Row]:
    """Every cell of one tower, the newest season first, under it what was asked or made."""
    row = next(each for each in grid.rows if each.tower == tower)
    found: list[Row] = [
        Row(f"trends:{tower}", Content("Trends"), Content("every quantity read over the years"), look=PROOF)
    ]
    for season in reversed(grid.seasons):
        cells = [grid.cell(tower, name, season) for name in grid.checklists]
        shown = [c for c in cells if c.state is not CellState.NOT_ASKED]
        if shown:
            found.append(heading(f"SEASON {season_short(season, southern=row.is_southern).strip()}"))
            found += [cell_row(each, row, with_tower=False) for each in shown]
    return found


def cell(found: OpenedCell) -> list[Row]:
    """A cell opened: its state, its windows, each visit held against every rule."""
    each = found.cell
    look = CELLS[each.state]
    shown = [
        Row("", say(f"{look.word}: {each.words}"), say("; ".join(found.windows) or "no window asks for it"), look=look)
    ]
    for visit in found.visits:
        shown += _visit(visit)
    if not found.visits:
        shown.append(Row("", Content("No visit"), Content("The record holds none for this window."), look=look))
    return [*shown, Row("", NOTHING, say(CAVEAT))]


def _visit(visit: OpenedVisit) -> Iterator[Row]:
    yield heading(f"{visit.title} · {visit.day} · {plain(visit.state)}")
    words = f"{visit.visit} by {visit.who} · to be kept {visit.keep_until}"
    yield Row(f"record:{visit.visit}", say(f"Whole history: {counted(len(visit.evidence), 'entry', 'entries')}"),
              say(words), look=EVIDENCE)  # fmt: skip
    for result in visit.results:
        yield rule_row(result)


def rule_row(result: RuleResult) -> Row:
    """One rule: kept or broken, and which requirement it serves."""
    look = OUTCOMES[result.outcome]
    lines = [say(result.says)] if result.says else []
    lines.append(say(result.requirement))
    key = f"record:{result.evidence[0]}" if result.evidence else ""
    return Row(key, say(result.title), Content("\n").join(lines), rows.marks((look.word, look.tone)), look)


def names_of(grid: CoverageGrid) -> dict[str, str]:
    """Tower to its name and site."""
    return {row.tower: f"{row.name}, {row.site_name}" for row in grid.rows}
