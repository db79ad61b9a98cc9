"""Coverage of the seasons as a table: sites, towers, checklists and seasons, and what each cell holds.

The values that screens, reports and scripts draw; how a cell comes to its state is told in `coverage_grid`.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import NamedTuple


class CellState(StrEnum):
    """What can be said of one checklist on one tower in one season."""

    DONE = "done"
    """Every visit asked for was made in its window, and no rule is broken."""
    AMISS = "amiss"
    """Made and signed off, but a rule is broken: open findings, a meter out of calibration, nobody qualified ..."""
    LATE = "late"
    """Made, but after the last sensible day."""
    MISSING = "missing"
    """The last sensible day is over and no visit was signed off."""
    DUE = "due"
    """Its window is open."""
    COMING = "coming"
    """Its window has not opened yet."""
    DROPPED = "dropped"
    """Dropped with a reason."""
    NOT_ASKED = "not_asked"
    """No window asked for it, as of a drained tower in winter, and none was made."""


WORST_FIRST = (
    CellState.MISSING, CellState.AMISS, CellState.LATE, CellState.DUE, CellState.DROPPED, CellState.DONE,
    CellState.COMING, CellState.NOT_ASKED,
)  # fmt: skip
"""What an auditor looks at first."""
GAPS = frozenset({CellState.MISSING, CellState.AMISS, CellState.LATE})
"""States that want an explanation."""


class CellKey(NamedTuple):
    """Which cell."""

    tower: str
    checklist: str
    season: int
    """First year of the season."""


class Cell(NamedTuple):
    """One checklist on one tower in one season; a monthly one holds all its months."""

    tower: str
    checklist: str
    season: int
    """First year of the season."""
    state: CellState
    """The worst of its visits decides."""
    asked: int
    """Visits whose window has opened by the day asked about, dropped ones left out."""
    made: int
    """Visits signed off as complete."""
    late: int
    """Of these, after their last sensible day."""
    missing: int
    """Windows that are over without a visit."""
    broken: tuple[str, ...]
    """Names of the rules that are broken, of `audit_rules.RULES`."""
    visits: tuple[str, ...]
    """Ids of all its visits, oldest first: what it rests on."""
    words: str
    """In one line: `made 2026-09-15 by ...`, `due by 2026-10-03`, `3 of 5 made, 2 missing`."""

    @property
    def key(self) -> CellKey:
        """Which cell it is."""
        return CellKey(self.tower, self.checklist, self.season)


class Outcome(StrEnum):
    """What a rule says about a visit."""

    KEPT = "kept"
    BROKEN = "broken"
    CANNOT_TELL = "cannot_tell"
    """The record does not hold what the rule asks for, as in logs begun before it was asked."""


@dataclass(frozen=True, slots=True)
class RuleResult:
    """One rule, held against one visit."""

    rule: str
    """Its name in `audit_rules.RULES`."""
    title: str
    """What it asks, for a person."""
    requirement: str
    """The published requirement it serves."""
    outcome: Outcome
    says: str
    """Why, in words; empty when it is kept and nothing needs to be said."""
    evidence: tuple[str, ...] = ()
    """Uids of the entries that show it."""


@dataclass(frozen=True, slots=True)
class GridRow:
    """One tower of the table."""

    site: str
    site_name: str
    tower: str
    name: str
    is_southern: bool = False
    """Its season runs February to January, and is named by one year."""
    retired: str = ""
    """Local day it left the register; empty while it stands."""


@dataclass(frozen=True, slots=True)
class CoverageGrid:
    """The table."""

    on: date
    """The day the states are told for."""
    seasons: tuple[int, ...]
    """First years, oldest first."""
    checklists: tuple[str, ...]
    """Checklist ids, in the order of the year."""
    rows: tuple[GridRow, ...]
    """Towers by site, in the order of their ids."""
    cells: Mapping[CellKey, Cell]
    """Every cell that is not `NOT_ASKED`."""

    def cell(self, tower: str, checklist: str, season: int) -> Cell:
        """One cell, also where nothing was asked."""
        found = self.cells.get(CellKey(tower, checklist, season))
        return found or Cell(tower, checklist, season, CellState.NOT_ASKED, 0, 0, 0, 0, (), (), "not asked")

    def gaps(self) -> Iterator[Cell]:
        """What wants an explanation: missing first, then amiss, then late; the newest season first."""
        found = [cell for cell in self.cells.values() if cell.state in GAPS]
        yield from sorted(found, key=lambda c: (WORST_FIRST.index(c.state), -c.season, c.tower, c.checklist))

    def counts(self) -> Mapping[CellState, int]:
        """How many cells are in which state."""
        return Counter(cell.state for cell in self.cells.values())


@dataclass(frozen=True, slots=True)
class EvidenceLine:
    """One entry of the log that a cell rests on."""

    uid: str
    kind: str
    """`step_answered`, `visit_signed` ..."""
    wall_ms: int
    """UTC as the device's clock told it."""
    offset_minutes: int
    """Local time minus UTC."""
    who: str
    device: str
    says: str
    """What it says, in one line."""


@dataclass(frozen=True, slots=True)
class OpenedVisit:
    """One visit of a cell, held against every rule."""

    visit: str
    title: str
    """Of its checklist."""
    day: str
    """Local day it was closed, or started while it is open."""
    state: str
    who: str
    keep_until: str
    """Until when the record must be kept at least, in words."""
    results: Sequence[RuleResult]
    """Every rule, broken ones first."""
    evidence: Sequence[EvidenceLine]
    """Its entries, oldest first."""


@dataclass(frozen=True, slots=True)
class OpenedCell:
    """A cell with everything behind it."""

    cell: Cell
    visits: Sequence[OpenedVisit]
    """Oldest first; empty when nothing was made."""
    windows: Sequence[str]
    """Each window with its reason, in words."""
