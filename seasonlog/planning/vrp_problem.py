"""An instance in the solver's words and back: jobs as optional clients, shifts as vehicles, one clock over all days.

People of one base with the same hours and the same standing are one kind of vehicle: the search has fewer equals to
tell apart, and who of them goes is settled afterwards.

The solver knows no order of two jobs. A pair that follows one another in the plan it starts from is one client to it;
of a pair on different days the first keeps to the days up to a day between, the second to those after it.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, NamedTuple

from seasonlog.planning.model import DAY_MINUTES, Job, Plan
from seasonlog.planning.routes import Roster, Route, walk

_NO_WAY_MINUTES = 1_000_000
"""Between a person without qualification and a job that needs one."""

_PRIZE_WAYS = 50
"""A job is worth this many of the longest way; far more only keeps the search away from what is nearly legal."""


class _Kind(NamedTuple):
    """What makes two shifts the same for the solver."""

    day: date
    base: str
    start_minute: int
    end_minute: int
    qualified: bool


@dataclass(frozen=True)
class Problem:
    """What the solver is given, and what its numbers mean."""

    document: dict[str, Any]
    jobs: Sequence[Sequence[Job]]
    """The jobs of each client; those that fit into no shift at all are not among them."""
    shifts: Sequence[Sequence[Route]]
    """The routes behind each kind of vehicle."""
    hopeless: Sequence[Job]

    def fill(self, roster: Roster, answer: Sequence[Mapping[str, Any]]) -> list[Job]:
        """Put the solver's routes into a roster; jobs without a legal place there, or out of order, come back."""
        free = [list(routes) for routes in self.shifts]
        seated: set[str] = set()
        for found in answer:
            route = free[found["shift"]].pop(0)
            jobs = [job for number in found["jobs"] for job in self.jobs[number]]
            if all(map(route.shift.allows, jobs)) and walk(route.shift, jobs, roster.travel)[1] == 0:
                route.jobs[:] = jobs
                seated |= {job.id for job in jobs}
        seated -= {job.id for job in roster.out_of_order()}
        return [*(job for jobs in self.jobs for job in jobs if job.id not in seated), *self.hopeless]


def build(roster: Roster, first: Plan) -> Problem:
    """The solver's problem of a roster that is still empty.

    Args:
        roster: The shifts and the ways.
        first: A legal plan to start from.

    Returns:
        The problem.
    """
    fits = {job.id for job in roster.instance.jobs if roster.cheapest(job) is not None}
    fits |= {made.job for made in first.assignments}  # where ways are given, a stop on the way can open a place
    jobs, held = _clients(roster, [job for job in roster.instance.jobs if job.id in fits], first)
    kinds = _kinds(roster)
    stops = sorted({_stop(each) for each in jobs})
    bases = sorted({kind.base for kind in kinds})
    matrices = _matrices(roster, [*((base, False) for base in bases), *stops])
    prize = 1 + _PRIZE_WAYS * max(map(max, matrices[0]), default=0)
    document = {
        "jobs": [
            _client(roster, [held[job.id] for job in each], len(bases) + stops.index(_stop(each)), prize)
            for each in jobs
        ],
        "bases": list(range(len(bases))),
        "shifts": [_vehicle(roster, kind, bases.index(kind.base), len(routes)) for kind, routes in kinds.items()],
        "matrices": matrices,
        "first": _first(kinds, jobs, first),
    }
    hopeless = [job for job in roster.instance.jobs if job.id not in fits]
    return Problem(document, jobs, list(kinds.values()), hopeless)


def _kinds(roster: Roster) -> dict[_Kind, list[Route]]:
    kinds: dict[_Kind, list[Route]] = defaultdict(list)
    for route in roster.routes.values():
        worker, day = route.shift.worker, route.shift.day
        hours = (
            worker.shift_start_minute,
            min(worker.shift_end_minute, worker.gone_from.get(day, worker.shift_end_minute)),
        )
        kinds[_Kind(day, worker.base, *hours, worker.is_qualified(day))].append(route)
    return kinds


def _matrices(roster: Roster, stops: Sequence[tuple[str, bool]]) -> list[list[list[int]]]:
    """Minutes between the stops, for the qualified and for the others."""
    open_ways = [[roster.travel.minutes(a, b) for b, _ in stops] for a, _ in stops]
    shut = [[_NO_WAY_MINUTES if skilled else minutes for minutes, (_, skilled) in zip(row, stops, strict=True)]
            for row in open_ways]  # fmt: skip
    for number, row in enumerate(shut):
        row[number] = 0
    return [open_ways, shut]


def _clients(roster: Roster, jobs: Sequence[Job], first: Plan) -> tuple[list[list[Job]], Mapping[str, Job]]:
    """The jobs as clients, pairs on one roof that follow one another as one; each job with the days it may have."""
    at = {made.job: made for made in first.assignments}
    held = {job.id: job for job in jobs}
    together: dict[str, list[Job]] = {job.id: [job] for job in jobs}
    for name, before in roster.order.first.items():
        one, other = at.get(before.id), at.get(name)
        if one is None or other is None or held[name].appointment or before.appointment:
            continue
        if one.day < other.day:
            between = max(day for day in roster.instance.days if day < other.day)
            held[before.id] = replace(held[before.id], last_day=min(held[before.id].last_day, between))
            held[name] = replace(held[name], first_day=max(held[name].first_day, other.day))
            continue
        is_next = (one.worker, one.order + 1, before.site) == (other.worker, other.order, held[name].site)
        if is_next and all(len(together.get(each, ())) == 1 for each in (before.id, name)):
            together[before.id] += together.pop(name)
    return list(together.values()), held


def _stop(jobs: Sequence[Job]) -> tuple[str, bool]:
    return jobs[0].site, any(job.needs_qualified for job in jobs)


def _client(roster: Roster, jobs: Sequence[Job], location: int, prize: int) -> dict[str, int]:
    """Its window on the one clock; an appointment narrows it to minutes."""
    first, last = max(job.first_day for job in jobs), min(job.last_day for job in jobs)
    job = replace(jobs[0], first_day=first, last_day=last, work_minutes=sum(each.work_minutes for each in jobs))
    days = [number for number, day in enumerate(roster.instance.days) if job.first_day <= day <= job.last_day]
    early, late = days[0] * DAY_MINUTES, (days[-1] + 1) * DAY_MINUTES - 1
    if job.appointment:
        midnight = roster.instance.days.index(job.appointment.day) * DAY_MINUTES
        early, late = midnight + job.appointment.from_minute, midnight + job.appointment.to_minute
    window = {"tw_early": early, "tw_late": late}
    return {"location": location, "service_duration": job.work_minutes, "prize": prize * len(jobs), **window}


def _vehicle(roster: Roster, kind: _Kind, depot: int, count: int) -> dict[str, int]:
    midnight = roster.instance.days.index(kind.day) * DAY_MINUTES
    early, late = midnight + kind.start_minute, midnight + kind.end_minute
    number = {"num_available": count, "start_depot": depot, "end_depot": depot, "profile": int(not kind.qualified)}
    return {**number, "tw_early": early, "tw_late": late}


def _first(kinds: Mapping[_Kind, Sequence[Route]], jobs: Sequence[Sequence[Job]], first: Plan) -> list[dict[str, Any]]:
    """A plan as the solver's routes."""
    numbers = {each[0].id: number for number, each in enumerate(jobs)}
    days: dict[tuple[str, date], list[int]] = defaultdict(list)
    for made in first.assignments:
        if made.job in numbers:
            days[made.worker, made.day].append(numbers[made.job])
    return [
        {"shift": shift, "jobs": days[route.shift.worker.id, route.shift.day]}
        for shift, routes in enumerate(kinds.values())
        for route in routes
        if days[route.shift.worker.id, route.shift.day]
    ]
