"""A plan after something happened: what is done stays, what can stay stays, and what moved is told."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from seasonlog.planning.changes import Change, changed
from seasonlog.planning.model import Assignment, Instance, Job, Plan
from seasonlog.planning.order import Order, Stand
from seasonlog.planning.reasons import clock, reasons
from seasonlog.planning.room import make_room
from seasonlog.planning.routes import Roster, Route, Shift, walk
from seasonlog.planning.travel import Travel


@dataclass(frozen=True, slots=True)
class Move:
    """One job that another person does now, or on another day, or that came in or fell out."""

    job: str
    before: Assignment | None
    """None: it was not planned."""
    after: Assignment | None
    """None: it is not planned any more."""

    def __str__(self) -> str:
        return f"{self.job}: {_where(self.before)} -> {_where(self.after)}"


@dataclass(frozen=True, slots=True)
class Replanned:
    """The season as it is now, its plan, and what is different."""

    instance: Instance
    plan: Plan
    moved: tuple[Move, ...]
    """Another person or another day; the rest of the plan is as it was."""
    retimed: tuple[Move, ...]
    """Same person and day, another time of day."""

    @property
    def says(self) -> str:
        """One sentence for the person who plans."""
        gone = sum(1 for move in self.moved if move.before and not move.after)
        return (
            f"Moved: {len(self.moved)}, of which out of the plan: {gone}. Another time on the same day: "
            f"{len(self.retimed)}. Left out in all: {len(self.plan.left_out)}."
        )


def replan(
    instance: Instance, plan: Plan, done: Collection[str], changes: Iterable[Change], from_day: date | None = None,
    from_minute: int = 0,
) -> Replanned:  # fmt: skip
    """Repair a plan after some changes, moving as little as can be.

    Only jobs that can no longer stand where they stand are moved, and jobs that must give way to one of those. A place
    that retimes no other job goes before a nearer one. It is a repair, not a search: a new plan from the beginning may
    drive less.

    Args:
        instance: As it was planned.
        plan: The plan so far.
        done: Ids of the jobs that are done; they keep their place and their time.
        changes: What happened since.
        from_day: First day on which anything may still be planned; None: the first working day.
        from_minute: The time on that day [minutes after midnight]. What somebody had set out for by then keeps its
            place, as if it were done; somebody who is gone by then keeps only what was to be finished.

    Returns:
        The changed instance, its plan, and what moved. What cannot be placed is left out with its reason.

    Raises:
        InputRefusedError: A change names a person or a job that is not there.
    """
    now = changed(instance, changes)
    begun = _in_turn(now, plan, _begun(now, plan, from_day, from_minute), done) if from_day else frozenset()
    finished = frozenset(done) | begun
    kept = tuple(made for made in plan.assignments if made.job in finished)
    jobs = {job.id: job for job in now.jobs if job.id not in finished}
    roster = _ahead(now, kept, done, from_day, from_minute)
    planned = _stay(roster, plan, jobs)
    loose = sorted((job for name, job in jobs.items() if name not in planned), key=_urgency)
    homeless = make_room(roster, loose, keeps_times=True)
    fresh = roster.plan(reasons(roster, homeless))
    after = Plan(_in_order([*kept, *fresh.assignments]), fresh.left_out)
    moved, retimed = _differences(plan, after)
    return Replanned(now, after, moved, retimed)


def _urgency(job: Job) -> tuple[bool, bool, date, int, str]:
    """What comes after another job last; appointments first, then what is due first, then what takes longest."""
    return bool(job.after), job.appointment is None, job.last_day, -job.work_minutes, job.id


def _begun(instance: Instance, plan: Plan, day: date, minute: int) -> frozenset[str]:
    """What people had set out for by a time of the day, and of those who are gone what was to be finished."""
    travel, workers = Travel(instance), {worker.id: worker for worker in instance.workers}
    sites = {job.id: job.site for job in instance.jobs}
    found, place = set(), {worker.id: worker.base for worker in instance.workers}
    for made in plan.assignments:
        if made.day != day or made.job not in sites or made.worker not in workers:
            continue
        sets_out = made.start_minute - travel.minutes(place[made.worker], sites[made.job])
        gone = workers[made.worker].gone_from.get(day)
        place[made.worker] = sites[made.job]
        if sets_out < minute and day not in workers[made.worker].leave and (gone is None or made.finish_minute <= gone):
            found.add(made.job)
    return frozenset(found)


def _in_turn(instance: Instance, plan: Plan, begun: frozenset[str], done: Collection[str]) -> frozenset[str]:
    """Without what comes after a job that is still to be made: that one goes first, as soon as it can."""
    order = Order(instance, done)
    at = {made.job: (made.worker, made.order) for made in plan.assignments if made.job in begun}
    first = {job: at.get(order.first[job].id) for job in begun if job in order.first}
    late = {job for job, stand in first.items() if stand is None or stand[0] != at[job][0] or stand > at[job]}
    return begun - late


def _ahead(
    instance: Instance, kept: Sequence[Assignment], done: Collection[str], from_day: date | None, from_minute: int
) -> Roster:
    """The shifts that are still to come; one that has begun goes on after its last done job, and not before now."""
    roster = Roster(instance, done=done)
    roster.fixed = {made.job: Stand(made.worker, made.day, -1) for made in kept if made.job not in done}
    sites = {job.id: job.site for job in instance.jobs}
    for key, route in list(roster.routes.items()):
        if from_day and key[1] < from_day:
            del roster.routes[key]
            continue
        now = from_minute if key[1] == from_day else 0
        begun = [made for made in kept if (made.worker, made.day) == key]
        if begun:
            last = max(begun, key=lambda made: made.finish_minute)
            place = sites.get(last.job, route.shift.from_place)
            order = max(made.order for made in begun)
            free = max(last.finish_minute, now)
            roster.routes[key] = Route(Shift(route.shift.worker, key[1], place, free, order), [])
        elif now > route.shift.from_minute:
            roster.routes[key] = Route(replace(route.shift, from_minute=now), [])
    return roster


def _stay(roster: Roster, plan: Plan, jobs: dict[str, Job]) -> set[str]:
    """Put every job back where it was, as far as that is legal now."""
    days: dict[tuple[str, date], list[Job]] = defaultdict(list)
    for made in plan.assignments:
        if made.job in jobs:
            days[made.worker, made.day].append(jobs[made.job])
    for key, wanted in days.items():
        route = roster.routes.get(key)
        if route is not None:
            route.jobs = _legal_part(roster, route.shift, [job for job in wanted if route.shift.allows(job)])
    roster.out_of_order()
    return {job.id for route in roster.routes.values() for job in route.jobs}


def _legal_part(roster: Roster, shift: Shift, jobs: list[Job]) -> list[Job]:
    """A day's jobs without those that make it too long, the one that helps most taken out first."""
    while walk(shift, jobs, roster.travel)[1] > 0:
        without = [jobs[:n] + jobs[n + 1 :] for n in range(len(jobs))]
        jobs = min(without, key=lambda rest: walk(shift, rest, roster.travel)[1])
    return jobs


def _in_order(assignments: Iterable[Assignment]) -> tuple[Assignment, ...]:
    return tuple(sorted(assignments, key=lambda made: (made.day, made.worker, made.order)))


def _differences(before: Plan, after: Plan) -> tuple[tuple[Move, ...], tuple[Move, ...]]:
    """What changed person or day, and what changed only its time."""
    moves = list(_moves(before, after))
    moved = [move for move in moves if _day_of(move.before) != _day_of(move.after)]
    retimed = [move for move in moves if move not in moved and _start_of(move.before) != _start_of(move.after)]
    return tuple(moved), tuple(retimed)


def _moves(before: Plan, after: Plan) -> Iterator[Move]:
    old = {made.job: made for made in before.assignments}
    new = {made.job: made for made in after.assignments}
    return (Move(job, old.get(job), new.get(job)) for job in sorted({*old, *new}))


def _day_of(made: Assignment | None) -> tuple[str, date] | None:
    return (made.worker, made.day) if made else None


def _start_of(made: Assignment | None) -> int | None:
    return made.start_minute if made else None


def _where(made: Assignment | None) -> str:
    return f"{made.worker} on {made.day} at {clock(made.start_minute)}" if made else "not planned"
