"""A plan as people read it: by day and person with times and ways, what has nobody, and how the windows are covered."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby, pairwise
from typing import Any

from seasonlog.domain.due_state import DueState
from seasonlog.domain.season_due import DueItem
from seasonlog.planning.model import Assignment
from seasonlog.planning.reasons import clock
from seasonlog.planning.replan import Move
from seasonlog.planning.travel import Travel
from seasonlog.services.plan import Workplan


@dataclass(frozen=True, slots=True)
class Stop:
    """One visit of a person's day."""

    job: str
    item: DueItem
    tower_name: str
    site_name: str
    start_minute: int
    finish_minute: int
    travel_minutes: int
    """Way from the stop before, or from the base."""
    access: str
    permits: str
    is_done: bool
    is_late: bool
    """After its last sensible day: it was overdue when it was planned."""
    is_live: bool
    """Needs a person qualified for energised work."""

    @property
    def times(self) -> str:
        """`07:42-09:42`."""
        return f"{clock(self.start_minute)}-{clock(self.finish_minute)}"


@dataclass(frozen=True, slots=True)
class PersonDay:
    """One day of one person."""

    day: date
    person: str
    """Register id."""
    name: str
    base: str
    stops: tuple[Stop, ...]
    leaves_minute: int
    home_minute: int
    travel_minutes: int


@dataclass(frozen=True, slots=True)
class Unplaced:
    """A visit that nobody has."""

    job: str
    item: DueItem
    site_name: str
    tower_name: str
    reason: str
    can_wait: bool
    """Its window goes on after the last day of the plan."""


@dataclass(frozen=True, slots=True)
class SiteCover:
    """How the visits of a site that may be made in these days are covered."""

    site: str
    name: str
    due: int
    """All of them."""
    done: int
    in_time: int
    late: int
    waiting: int
    """Not planned yet; their window goes on after the plan."""
    unplaced: int


def person_days(work: Workplan, person: str = "", day: date | None = None) -> list[PersonDay]:
    """The plan by day and person, of one person or day where named."""
    travel = Travel(work.inputs.instance)
    shown = [m for m in work.plan.assignments if person in ("", m.worker) and day in (None, m.day)]
    grouped = groupby(shown, key=lambda made: (made.day, made.worker))
    return [_person_day(work, travel, on, who, list(made)) for (on, who), made in grouped]


def _person_day(work: Workplan, travel: Travel, on: date, who: str, made: Sequence[Assignment]) -> PersonDay:
    worker = next(each for each in work.inputs.instance.workers if each.id == who)
    sites = [work.inputs.items[each.job].site for each in made]
    ways = [travel.minutes(a, b) for a, b in pairwise([worker.base, *sites, worker.base])]
    stops = tuple(_stop(work, each, way) for each, way in zip(made, ways, strict=False))
    leaves = max(worker.shift_start_minute, stops[0].start_minute - ways[0])
    return PersonDay(
        on, who, name_of(work, who), worker.base, stops, leaves, stops[-1].finish_minute + ways[-1], sum(ways)
    )


def name_of(work: Workplan, person: str) -> str:
    """A person's name; the id of one who is not in the register any more."""
    found = work.inputs.register.people.get(person)
    return found.name if found else person


def _stop(work: Workplan, made: Assignment, way: int) -> Stop:
    inputs, item = work.inputs, work.inputs.items[made.job]
    site = inputs.register.sites[item.site]
    return Stop(
        job=made.job,
        item=item,
        tower_name=inputs.register.towers[item.tower].name,
        site_name=site.name,
        start_minute=made.start_minute,
        finish_minute=made.finish_minute,
        travel_minutes=way,
        access=site.access or "",
        permits=site.permits or "",
        is_done=item.state is DueState.DONE,
        is_late=made.day > item.due,
        is_live=inputs.instance.job(made.job).needs_qualified,
    )


def unplaced(work: Workplan) -> list[Unplaced]:
    """What nobody has, the most pressing first; what can wait last."""
    found = [_unplaced(work, left.job, left.reason) for left in work.plan.left_out]
    missed = (_unplaced(work, made.job, _missed(work, made)) for made in work.missed)
    return sorted([*found, *missed], key=lambda each: (each.can_wait, each.item.due, each.job))


def _missed(work: Workplan, made: Assignment) -> str:
    return f"it was planned for {made.day} with {name_of(work, made.worker)} and was not done; `plan replan` places it"


def _unplaced(work: Workplan, job: str, reason: str) -> Unplaced:
    item = work.inputs.items[job]
    site, tower = work.inputs.register.sites[item.site], work.inputs.register.towers[item.tower]
    return Unplaced(job, item, site.name, tower.name, reason, item.due > work.inputs.span.last)


def cover(work: Workplan) -> list[SiteCover]:
    """Every site with how its windows are covered, the one with most unplaced first."""
    ahead = {made.job: made for made in work.plan.assignments if made not in work.missed}
    by_site: dict[str, list[tuple[str, DueItem]]] = {}
    for name, item in work.inputs.items.items():
        by_site.setdefault(item.site, []).append((name, item))
    found = [_site_cover(work, site, ours, ahead) for site, ours in by_site.items()]
    return sorted(found, key=lambda each: (-each.unplaced, -each.late, each.name))


def _site_cover(
    work: Workplan, site: str, ours: Sequence[tuple[str, DueItem]], ahead: dict[str, Assignment]
) -> SiteCover:
    done = {name for name, _ in ours if name in work.inputs.done}
    in_time = [name for name, item in ours if name not in done and name in ahead and ahead[name].day <= item.due]
    late = [name for name, item in ours if name not in done and name in ahead and ahead[name].day > item.due]
    nobody = [item for name, item in ours if name not in done and name not in ahead]
    waiting = sum(item.due > work.inputs.span.last for item in nobody)
    name = work.inputs.register.sites[site].name
    return SiteCover(site, name, len(ours), len(done), len(in_time), len(late), waiting, len(nobody) - waiting)


def move_words(work: Workplan, move: Move) -> str:
    """`HOS-2 fall-enable: Mirel Oduvane on 2026-09-22 at 07:40 -> not planned`."""
    item = work.inputs.items.get(move.job)
    what = f"{item.tower} {item.checklist}" if item else move.job
    return f"{what}: {move_times(work, move)}"


def move_times(work: Workplan, move: Move) -> str:
    """`Mirel Oduvane on 2026-09-22 at 07:40 -> Halden Pruskett on 2026-09-22 at 13:05`; what stays is said once."""
    before, after = move.before, move.after
    if before and after and before.worker == after.worker:
        day = f" on {before.day}" if before.day == after.day else ""
        return f"{name_of(work, before.worker)}{day}: {_when(before, day)} -> {_when(after, day)}"
    return f"{_where(work, move.before)} -> {_where(work, move.after)}"


def told_moves(work: Workplan) -> tuple[Move, ...]:
    """What a draft has otherwise than the published plan; nothing where none was published."""
    return work.moved if work.is_draft and work.inputs.published else ()


def _when(made: Assignment, day: str) -> str:
    return clock(made.start_minute) if day else f"{made.day} at {clock(made.start_minute)}"


def _where(work: Workplan, made: Assignment | None) -> str:
    return f"{name_of(work, made.worker)} on {made.day} at {clock(made.start_minute)}" if made else "not planned"


def document(work: Workplan) -> dict[str, Any]:
    """The plan for a script."""
    span = work.inputs.span
    return {
        "state": "draft" if work.is_draft else "published",
        "first": span.first.isoformat(),
        "last": span.last.isoformat(),
        "by": work.by,
        "says": work.says,
        "days": [_day_document(each) for each in person_days(work)],
        "left_out": [
            _item_document(each.item) | {"job": each.job, "reason": each.reason, "can_wait": each.can_wait}
            for each in unplaced(work)
        ],
        "moved": [_move_document(work, each) for each in work.moved],
        "coverage": [
            {"site": c.site, "due": c.due, "done": c.done, "in_time": c.in_time, "late": c.late, "waiting": c.waiting,
             "unplaced": c.unplaced} for c in cover(work)
        ],
        "broken_rules": work.broken,
        "notes": list(work.inputs.notes),
    }  # fmt: skip


def _day_document(each: PersonDay) -> dict[str, Any]:
    return {
        "day": each.day.isoformat(),
        "person": each.person,
        "name": each.name,
        "base": each.base,
        "leaves": clock(each.leaves_minute),
        "home": clock(each.home_minute),
        "travel_minutes": each.travel_minutes,
        "visits": list(map(_stop_document, each.stops)),
    }


def _stop_document(stop: Stop) -> dict[str, Any]:
    told = {"job": stop.job, "start": clock(stop.start_minute), "finish": clock(stop.finish_minute)}
    words = {"access": stop.access, "permits": stop.permits}
    states = {"done": stop.is_done, "late": stop.is_late, "needs_qualified": stop.is_live}
    return told | _item_document(stop.item) | {"travel_minutes": stop.travel_minutes} | states | words


def _item_document(item: DueItem) -> dict[str, Any]:
    names = {"site": item.site, "tower": item.tower, "checklist": item.checklist}
    window = {"season": item.season, "ordinal": item.ordinal, "opens": item.opens.isoformat()}
    return names | window | {"due": item.due.isoformat(), "why": item.why}


def _move_document(work: Workplan, move: Move) -> dict[str, Any]:
    return {"job": move.job, "before": _made(move.before), "after": _made(move.after), "says": move_words(work, move)}


def _made(made: Assignment | None) -> dict[str, Any] | None:
    if made is None:
        return None
    return {"person": made.worker, "day": made.day.isoformat(), "start": clock(made.start_minute)}
