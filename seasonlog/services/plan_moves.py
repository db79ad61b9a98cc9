"""Moves by hand: one visit to another person or day, or out of the plan. The checker refuses what breaks a rule."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from seasonlog.domain.season_due import SETTLED
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.planning.model import Assignment, Job, LeftOut, Plan
from seasonlog.planning.routes import Roster, Route, positions, walk
from seasonlog.services.plan import Workplan, differences
from seasonlog.services.reasons import refuse

BY_HAND = "taken out by hand"


def move(work: Workplan, job: str, person: str, day: date) -> Workplan:
    """A visit on another day or with another person, at the place in that day that costs the least driving.

    Args:
        work: The plan.
        job: Id of the visit.
        person: Register id.
        day: The day.

    Returns:
        The plan after it, a draft.

    Raises:
        InputRefusedError: it would break a rule; each breach is a sentence.
    """
    roster = _without(work, job)
    route = roster.routes.get((person, day))
    if route is None:
        raise refuse(job, _nobody_there(work, person, day))
    wanted = work.inputs.instance.job(job)
    route.jobs.insert(_best_position(roster, route, wanted), wanted)
    moved = _redrawn(work, roster, [left for left in work.plan.left_out if left.job != job])
    broken = [each for each in moved.broken if each not in work.broken]
    if broken:
        raise InputRefusedError([Problem(job, each.removeprefix(f"{job} ")) for each in broken])
    return moved


def take_out(work: Workplan, job: str) -> Workplan:
    """A visit with nobody; its place in the day is free."""
    return _redrawn(work, _without(work, job), [*work.plan.left_out, LeftOut(job, BY_HAND)])


def targets(work: Workplan, job: str) -> list[tuple[str, date]]:
    """Every person and day where a visit could stand without breaking a rule, as the plan is."""
    roster = _without(work, job)
    wanted = work.inputs.instance.job(job)
    open_to = (route for route in roster.open_to(wanted) if route.shift.day >= work.inputs.span.first)
    fitting = (route for route in open_to if roster.least_overrun(route, wanted) == 0)
    return sorted(((route.shift.worker.id, route.shift.day) for route in fitting), key=lambda each: (each[1], each[0]))


def _without(work: Workplan, job: str) -> Roster:
    """The days to come as routes, less one visit."""
    inputs = work.inputs
    if job not in inputs.items:
        raise refuse(job, "is not in this plan")
    if inputs.items[job].state in SETTLED:
        raise refuse(job, "is done; what is done keeps its place")
    kept = tuple(m for m in work.plan.assignments if m.job != job and m.day >= inputs.span.first)
    return Roster.of(inputs.instance, Plan(kept), inputs.done)


def _nobody_there(work: Workplan, person: str, day: date) -> str:
    instance = work.inputs.instance
    if person not in {worker.id for worker in instance.workers}:
        return f"{person} is not in the plan file"
    if day < work.inputs.span.first:
        return f"{day} is over"
    if day not in instance.days:
        return f"{day} is not a working day of this plan"
    return f"{person} is on leave on {day}"


def _best_position(roster: Roster, route: Route, job: Job) -> int:
    """Where it makes the day the least too long, then the earliest home."""

    def cost(index: int) -> tuple[int, int]:
        jobs = [*route.jobs[:index], job, *route.jobs[index:]]
        visits, late = walk(route.shift, jobs, roster.travel)
        home = visits[-1].finish_minute + roster.travel.minutes(visits[-1].job.site, route.shift.worker.base)
        return late, home

    in_order = positions(roster.room(job), route)
    return min(in_order or range(len(route.jobs) + 1), key=cost)


def _redrawn(work: Workplan, roster: Roster, left: Sequence[LeftOut]) -> Workplan:
    """The routes as a plan again; what is done, or on a day gone by, is as it was."""
    inputs = work.inputs
    as_was = {m.job: m for m in work.plan.assignments if m.job in inputs.done}
    past = [m for m in work.plan.assignments if m.day < inputs.span.first]
    made = [*past, *(as_was.get(m.job, m) for m in roster.plan().assignments)]
    plan = Plan(tuple(sorted(made, key=_in_order)), tuple(sorted(left, key=lambda each: each.job)))
    moved = differences(inputs, plan)
    return replace(work, plan=plan, is_draft=True, by="hand", says="Moved by hand.", moved=moved)


def _in_order(made: Assignment) -> tuple[date, str, int]:
    return made.day, made.worker, made.order
