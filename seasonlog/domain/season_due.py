"""What is due on which tower, and how it stands on a day: the values, and the words for them.

Which visits there are is decided in `season_items`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import NamedTuple

from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import Tower
from seasonlog.domain.season import FALL_ENABLE, MID_WINTER, SPRING_DISABLE, SiteFrost

DRAINED = "drained"
"""The winter mode in which nothing is heated and nothing can freeze."""

EARLY_DISABLE_DAYS = 31
"""A spring disable made this many days before its window still settles it. Common practice, no source."""


class DueKey(NamedTuple):
    """What makes a visit the same visit for ever, in the record and in a calendar."""

    tower: str
    checklist: str
    season: int
    ordinal: int


SEASONAL = frozenset({FALL_ENABLE, MID_WINTER, SPRING_DISABLE})
"""The checklists that fall due by the season."""

SETTLED = frozenset({DueState.DONE, DueState.DROPPED})
"""Nothing more is asked of these."""


class ModeChange(NamedTuple):
    """One dated change of how a tower winters."""

    on: date
    """The day it was recorded for."""

    winter: str
    """heated_basin, remote_sump, run_wet or drained."""


class Added(NamedTuple):
    """A visit that no window asked for and a person put into the plan."""

    opens: date
    """First day on which it may be made."""

    due: date
    """Last one."""

    why: str
    """What it is for, in words."""


class ColdSnap(NamedTuple):
    """Nights of hard frost that were forecast for a site: one check on each of its wet towers before the first."""

    season: int
    """First year of the season."""

    ordinal: int
    """Which cold-snap check of the season, from 1."""

    night: date
    """The first night, by the day its lowest temperature is forecast for."""

    last_night: date
    """The last night on end; after it the check has no sense any more."""

    raised: date
    """The day it was raised."""

    reason: str
    """What was forecast, in words."""

    @property
    def due(self) -> date:
        """The day before the first night: the lowest temperature of a day mostly comes before its morning."""
        return max(self.night - timedelta(days=1), min(self.raised, self.night))

    @property
    def opens(self) -> date:
        """The day it was raised."""
        return min(self.raised, self.due)


@dataclass(frozen=True)
class DueHistory:
    """What the record says about the visits that fall due."""

    done: Mapping[DueKey, date] = field(default_factory=dict)
    """Day each finished visit was made."""

    moved: Mapping[DueKey, date] = field(default_factory=dict)
    """Day each visit is planned for, where a person chose it."""

    dropped: Mapping[DueKey, str] = field(default_factory=dict)
    """Reason each dropped visit was dropped for."""

    mode_changes: Mapping[str, Sequence[ModeChange]] = field(default_factory=dict)
    """Tower id to its dated winter modes. Before the first of them the tower's register entry holds."""

    frosts: Mapping[str, SiteFrost] = field(default_factory=dict)
    """Site id to the freeze dates of its record. A site without has its typed ones."""

    snaps: Mapping[str, Sequence[ColdSnap]] = field(default_factory=dict)
    """Site id to the cold snaps raised for it."""

    planned_with: Mapping[DueKey, str] = field(default_factory=dict)
    """Who makes a visit at what time, in words, where a plan was published."""

    added: Mapping[DueKey, Added] = field(default_factory=dict)
    """Visits put into the plan by a person, beside those of the season."""

    @cached_property
    def done_by_season(self) -> Mapping[tuple[str, int], Sequence[DueKey]]:
        """The finished visits of each tower and season."""
        found: dict[tuple[str, int], list[DueKey]] = {}
        for key in sorted(self.done):
            found.setdefault((key.tower, key.season), []).append(key)
        return found


@dataclass(frozen=True, slots=True)
class DueItem:
    """One visit of one season on one tower, as it stands on a day."""

    tower: str
    """Tower id."""

    site: str
    """Site id."""

    checklist: str
    """Checklist id."""

    season: int
    """First year of the season."""

    ordinal: int
    """1 for the only or first one of its checklist in the season."""

    opens: date
    """First sensible day."""

    due: date
    """Last sensible day."""

    planned: date
    """Day it is planned for; the day it was made, once done."""

    state: DueState
    """How it stands."""

    why: str = ""
    """Why it is due outside the usual round, or why it was dropped; empty for the usual."""

    planned_with: str = ""
    """Who makes it at what time, in words; empty while no published plan says."""

    reason: str = ""
    """Why its window lies where it lies, in words."""

    has_begun: bool = False
    """Its first sensible day is not ahead any more; tells apart what was dropped in its time and what beforehand."""

    @property
    def key(self) -> DueKey:
        """What names this visit for ever."""
        return DueKey(self.tower, self.checklist, self.season, self.ordinal)


def mode_on(tower: Tower, changes: Sequence[ModeChange], on: date) -> str:
    """How a tower winters on a day: the last change up to it, else what the register says."""
    past = [change for change in changes if change.on <= on]
    return str(max(past, key=lambda change: change.on).winter if past else tower.winter)


def settles(items: Iterable[DueItem], tower: str, checklist: str, on: date) -> DueKey | None:
    """The visit that a checklist finished on a day settles, if any.

    That is the latest unsettled one whose window has opened; several missed months are not made up by one visit.
    Before its window a fall enable settles from the first day of its season, a spring disable from a month ahead,
    a monthly verification never (it is one more check, and the month's own stays due).
    """
    ours = [i for i in items if i.tower == tower and i.checklist == checklist and i.state not in SETTLED]
    begun = [item for item in ours if item.opens <= on]
    if begun:
        return max(begun, key=lambda item: (item.season, item.ordinal)).key
    early = [item for item in ours if _may_be_early(item, on)]
    return early[0].key if early else None


def to_do(items: Iterable[DueItem]) -> tuple[DueItem, ...]:
    """What is to be done now: open and overdue, and of several missed months of a tower only the latest.

    A missed month stays in the list of the season as overdue; one visit now is all that can still be done about it,
    and nothing is once the visit of a later month was made, or was dropped in its time: who needs not come for this
    month need not come for an earlier one. A month dropped beforehand leaves what is missed before it as it is.
    """
    known = tuple(items)
    over = {(i.tower, i.season, i.ordinal) for i in known if i.checklist == MID_WINTER and _is_answered(i)}
    newest = {(tower, season): ordinal for tower, season, ordinal in sorted(over)}
    latest: dict[tuple[str, str], DueItem] = {}
    for item in known:
        answered_later = item.checklist == MID_WINTER and newest.get((item.tower, item.season), 0) > item.ordinal
        if item.state is DueState.OPEN or (item.state is DueState.OVERDUE and not answered_later):
            held = latest.setdefault((item.tower, item.checklist), item)
            if (held.season, held.ordinal) < (item.season, item.ordinal):
                latest[item.tower, item.checklist] = item
    return tuple(sorted(latest.values(), key=lambda item: (item.due, item.site, item.key)))


def _is_answered(item: DueItem) -> bool:
    """Made, or dropped once it could have been made."""
    return item.state is DueState.DONE or (item.state is DueState.DROPPED and item.has_begun)


def due_words(item: DueItem, on: date) -> str:
    """The visit's state in plain words: `due by 2026-10-03, 12 days left`, `overdue by 3 days`."""
    match item.state:
        case DueState.DONE:
            return f"done {item.planned}"
        case DueState.DROPPED:
            return f"dropped: {item.why}" if item.why else "dropped"
        case DueState.OVERDUE:
            return f"overdue by {_days((on - item.due).days)}{_late_plan(item)}"
        case DueState.OPEN:
            return f"{_time_left(item, on)}{_late_plan(item)}"
        case DueState.UPCOMING:
            return f"opens {item.opens}, in {_days((item.opens - on).days)}; due by {item.due}{_late_plan(item)}"


def _may_be_early(item: DueItem, on: date) -> bool:
    """`on` lies before the window. The items of a day are of its season, but for those already open."""
    if item.checklist == SPRING_DISABLE:
        return item.opens - on <= timedelta(days=EARLY_DISABLE_DAYS)
    return item.checklist == FALL_ENABLE


def _time_left(item: DueItem, on: date) -> str:
    left = (item.due - on).days
    return f"due by {item.due}, {_days(left)} left" if left else f"due today, {item.due}"


def _late_plan(item: DueItem) -> str:
    if item.planned_with:
        return f"; planned for {item.planned}, {item.planned_with}"
    late = (item.planned - item.due).days
    return f"; planned for {item.planned}, {_days(late)} after the last sensible day" if late > 0 else ""


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
