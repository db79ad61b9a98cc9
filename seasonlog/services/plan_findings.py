"""Visits that no window asks for and the record does: repairs of open findings, commissioning of new heaters.

Each tower gets one repair with its retest for all its open findings, and one commissioning where a heater is new. They
are to be made before the season's fall enable, or within a few days where that is over; a finding given to somebody
until a day, by that day.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from seasonlog.domain.coverage import RETESTING
from seasonlog.domain.due_state import DueState
from seasonlog.domain.finding import Finding, FindingState
from seasonlog.domain.register import Register
from seasonlog.domain.season import FALL_ENABLE
from seasonlog.domain.season_due import SETTLED, DueItem, DueKey
from seasonlog.domain.visit import Visit, VisitState
from seasonlog.journal import queries
from seasonlog.services import checklists, registry, season
from seasonlog.services.days import day, typed_day
from seasonlog.services.logbook import Logbook

COMMISSIONING, REPAIR = "commissioning", "repair-retest"
NEW_DAYS = 365
"""A heater is new for so long; an older one was proven by a fall enable. Common practice, no source."""
PRESSING_DAYS = 6
"""Days for a repair when the fall enable is behind it. Common practice, no source."""
WAITING_DAYS = 27
"""The same where no finding can freeze, burn or shock."""
MOST_NAMED = 3
"""Findings told by their title; more are counted."""


@dataclass(frozen=True, slots=True)
class _Reason:
    """Why a tower is to be visited."""

    tower: str
    checklist: str
    why: str
    by: date | None
    """The day somebody was given for it."""
    is_pressing: bool


def asked(book: Logbook, today: date, first: date) -> dict[DueKey, DueItem]:
    """The visits that findings and new heaters ask for and that nobody asked for yet.

    Args:
        book: The log.
        today: The day the record is looked at.
        first: First day on which anything can be planned.

    Returns:
        Visits as `services.plan_inputs.gather` takes them, each with its reason in words.
    """
    register = registry.whole(book.db)
    due = season.items(book, today)
    pending = {(item.tower, item.checklist) for item in due if item.state not in SETTLED}
    enables = {
        item.tower: item for item in reversed(due) if item.checklist == FALL_ENABLE and item.state not in SETTLED
    }
    found: dict[DueKey, DueItem] = {}
    for each in (*_repairs(book, register, today), *_commissionings(book, register, today)):
        if (each.tower, each.checklist) not in pending:
            last, reason = _last_day(each, enables.get(each.tower), first)
            number = season.unplanned(book, register, each.tower, each.checklist, today)
            site = register.towers[each.tower].site
            key = DueKey(each.tower, each.checklist, *number)
            found[key] = DueItem(each.tower, site, *key[1:], first, last, last, DueState.OPEN, each.why, reason=reason)
    return found


def _last_day(reason: _Reason, enable: DueItem | None, first: date) -> tuple[date, str]:
    """Before the fall enable that is still to come, or soon; by the day somebody was given, if that comes first."""
    days = PRESSING_DAYS if reason.is_pressing else WAITING_DAYS
    last, words = first + timedelta(days=days), "soon: no fall enable is still to come"
    if enable is not None and enable.due >= first:
        last, words = enable.due, "before the season's fall enable"
    if reason.by is not None and reason.by < last:
        last, words = reason.by, "the day it was given to somebody for"
    return max(first, last), words


def _repairs(book: Logbook, register: Register, today: date) -> Iterator[_Reason]:
    by_tower: dict[str, list[Finding]] = {}
    for finding in queries.findings(book.db, open_only=True):
        if finding.state_on(today) is FindingState.OPEN and finding.tower in register.towers:
            by_tower.setdefault(finding.tower, []).append(finding)
    for tower, ours in by_tower.items():
        ours.sort(key=lambda each: (not each.needs_retest, each.opened_wall_ms, each.id))
        days = [typed_day(each.assigned_due, "finding") for each in ours if each.assigned_due]
        yield _Reason(tower, REPAIR, _why(ours), min(days, default=None), any(each.needs_retest for each in ours))


def _why(findings: Sequence[Finding]) -> str:
    named = [f"{each.id} {each.title}" for each in findings[:MOST_NAMED]]
    more = len(findings) - MOST_NAMED
    return f"repair and retest: {'; '.join([*named, *([f'{more} more'] if more > 0 else [])])}"


def _commissionings(book: Logbook, register: Register, today: date) -> Iterator[_Reason]:
    """Towers with a heater put in this year that no commissioning or retest has proven since."""
    for tower, (circuit, installed) in _new_heaters(register, today).items():
        if not any(
            day(visit.day) >= installed and _proves_new(book, visit) for visit in queries.visits_of(book.db, tower)
        ):
            why = f"new heater on {circuit}, put in on {installed}, not commissioned since"
            yield _Reason(tower, COMMISSIONING, why, None, is_pressing=True)


def _new_heaters(register: Register, today: date) -> Mapping[str, tuple[str, date]]:
    """Tower to the circuit with its newest heater."""
    towers = {circuit.id: tower for tower in register.towers for circuit in register.circuits_of(tower)}
    found: dict[str, tuple[str, date]] = {}
    for device in register.devices.values():
        on, tower = device.installed, towers.get(device.of)
        if device.position != "heater" or device.removed is not None or tower is None or on is None:
            continue
        if 0 <= (today - on).days <= NEW_DAYS and on >= found.get(tower, ("", on))[1]:
            found[tower] = (device.of, on)
    return found


def _proves_new(book: Logbook, visit: Visit) -> bool:
    return visit.state is VisitState.COMPLETE and checklists.of_visit(book.db, visit.sha256).when in RETESTING
