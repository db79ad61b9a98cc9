"""The working days of people as routes that can be filled: what may stand in them, when, and at what detour."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from seasonlog.planning.model import Assignment, Instance, Job, LeftOut, Plan, Worker
from seasonlog.planning.order import Order, Room, Stand
from seasonlog.planning.travel import Travel


@dataclass(frozen=True, slots=True)
class Shift:
    """One person's working day, or what is left of it."""

    worker: Worker
    day: date
    from_place: str
    """The base, or the site of the last job that is done."""
    from_minute: int
    """From when on it is free [minutes after midnight]."""
    last_order: int = 0
    """Order of the last job of the day that is done."""

    def allows(self, job: Job) -> bool:
        """Whether this person may do a job on this day, whatever else is planned."""
        if not job.first_day <= self.day <= job.last_day:
            return False
        if job.appointment and job.appointment.day != self.day:
            return False
        return not job.needs_qualified or self.worker.is_qualified(self.day)


class Visit(NamedTuple):
    """A job with its times [minutes after midnight]."""

    job: Job
    start_minute: int
    finish_minute: int


class Spot(NamedTuple):
    """Where a job would cost the least; sorts by cost, then by day and person."""

    detour_minutes: int
    day: date
    worker: str
    position: int


@dataclass(slots=True)
class Route:
    """A shift and the jobs that are planned in it, in order."""

    shift: Shift
    jobs: list[Job]


def walk(shift: Shift, jobs: Sequence[Job], travel: Travel) -> tuple[list[Visit], int]:
    """The times of a day's jobs, as early as they can be, and by how much the day fails.

    Args:
        shift: Whose day it is.
        jobs: The jobs in order.
        travel: Minutes between places.

    Returns:
        The visits, and the minutes too late for appointments, for who is gone early and for the end of the
        shift together; 0 is a legal day.
    """
    place, now, late = shift.from_place, shift.from_minute, 0
    visits = []
    for job in jobs:
        now += travel.minutes(place, job.site)
        if job.appointment:
            now = max(now, job.appointment.from_minute)
            late += max(0, now - job.appointment.to_minute)
        visits.append(Visit(job, now, now + job.work_minutes))
        place, now = job.site, now + job.work_minutes
    if not jobs:
        return visits, 0
    late += max(0, now - shift.worker.gone_from.get(shift.day, now))
    home = now + travel.minutes(place, shift.worker.base)
    return visits, late + max(0, home - shift.worker.shift_end_minute)


def positions(room: Room | None, route: Route) -> range:
    """The places in a route that a job may take by its order; all of them where nothing binds it."""
    count = len(route.jobs)
    return room.positions(route.shift.worker.id, route.shift.day, count) if room else range(count + 1)


def travel_minutes(shift: Shift, jobs: Sequence[Job], travel: Travel) -> int:
    """Minutes on the road of a day, the way home included."""
    stops = [shift.from_place, *(job.site for job in jobs), shift.worker.base]
    return sum(travel.minutes(a, b) for a, b in pairwise(stops))


class Roster:
    """Every shift of an instance as a route; only legal insertions are offered."""

    def __init__(self, instance: Instance, travel: Travel | None = None, done: Collection[str] = ()) -> None:
        self.instance = instance
        self.travel = travel or Travel(instance)
        self.order = Order(instance, done)
        self.fixed: dict[str, Stand] = {}
        """What has begun and is not done: it stands before all that can still be changed."""
        self.routes: dict[tuple[str, date], Route] = {}
        for day in instance.days:
            for worker in instance.workers:
                if worker.works(day):
                    shift = Shift(worker, day, worker.base, worker.shift_start_minute)
                    self.routes[worker.id, day] = Route(shift, [])

    @classmethod
    def of(cls, instance: Instance, plan: Plan, done: Collection[str] = ()) -> "Roster":
        """The routes of a plan, whose assignments stand in the order of `Plan`."""
        roster = cls(instance, done=done)
        jobs = {job.id: job for job in instance.jobs}
        for made in plan.assignments:
            roster.routes[made.worker, made.day].jobs.append(jobs[made.job])
        return roster

    def open_to(self, job: Job) -> Iterator[Route]:
        """The routes a job may stand in, were they empty."""
        return (route for route in self.routes.values() if route.shift.allows(job))

    def cheapest(self, job: Job, routes: Iterable[Route] | None = None, *, keeps_times: bool = False) -> Spot | None:
        """The legal place with the least detour for a job, or None; only where no other job is retimed, if asked."""
        best: Spot | None = None
        room = self.room(job)
        for route in self.open_to(job) if routes is None else routes:
            open_places = positions(room, route)
            for spot in self._spots(route, job):
                if best is not None and spot >= best:
                    break
                if spot.position in open_places and self._is_legal(route, job, spot.position, keeps_times=keeps_times):
                    best = spot
                    break
        return best

    def insert(self, job: Job, spot: Spot) -> None:
        """Put a job where `cheapest` found place for it."""
        self.routes[spot.worker, spot.day].jobs.insert(spot.position, job)

    def place(self, jobs: Iterable[Job], *, keeps_times: bool = False) -> list[Job]:
        """Insert jobs one after the other at the least detour; those without a legal place come back.

        Args:
            jobs: Jobs that stand in no route.
            keeps_times: A place that retimes no other job goes first, however far.
        """
        homeless = list(jobs)
        before = len(homeless) + 1
        while len(homeless) < before:  # where ways are given, a stop on the way can open a place
            before = len(homeless)
            homeless = [job for job in homeless if not self._placed(job, keeps_times=keeps_times)]
        return homeless

    def _placed(self, job: Job, *, keeps_times: bool) -> bool:
        quiet = self.cheapest(job, keeps_times=True) if keeps_times else None
        spot = quiet or self.cheapest(job)
        if spot is not None:
            self.insert(job, spot)
        return spot is not None

    def least_overrun(self, route: Route, job: Job) -> int | None:
        """By how many minutes a job does not fit into a route, at the best place; None where order leaves it none."""
        tries = (_with(route.jobs, job, index) for index in positions(self.room(job), route))
        return min((walk(route.shift, jobs, self.travel)[1] for jobs in tries), default=None)

    def room(self, job: Job) -> Room | None:
        """Between which others a job may stand; None where nothing binds it."""
        if not self.order.binds(job.id):
            return None
        before = self.order.first.get(job.id)
        then = ((each, self.stand(each.id)) for each in self.order.then(job.id))
        return Room(job, self.stand(before.id) if before else None, tuple((e, at) for e, at in then if at))

    def stand(self, job_id: str) -> Stand | None:
        """Where a job stands; None where it is not planned."""
        for (worker, day), route in self.routes.items():
            for position, job in enumerate(route.jobs):
                if job.id == job_id:
                    return Stand(worker, day, position)
        return self.fixed.get(job_id)

    def out_of_order(self) -> list[Job]:
        """Take out what does not come after the job that goes before it; where its day fails then, the whole day."""
        followers = [job for route in self.routes.values() for job in route.jobs if job.id in self.order.first]
        return [gone for job in followers if self._is_out_of_order(job) for gone in self.take_out(job)]

    def _is_out_of_order(self, job: Job) -> bool:
        at = self.stand(job.id)
        return at is not None and at.position not in positions(self.room(job), self.routes[at.worker, at.day])

    def take_out(self, job: Job) -> list[Job]:
        """Take a job out of its route, with all of the day where it would fail without; what was taken out."""
        at = self.stand(job.id)
        route = self.routes[at.worker, at.day] if at else None
        if route is None or job not in route.jobs:
            return []
        rest = [each for each in route.jobs if each is not job]
        gone = [job] if walk(route.shift, rest, self.travel)[1] == 0 else list(route.jobs)
        route.jobs[:] = [each for each in route.jobs if each not in gone]
        return gone

    def plan(self, left_out: Iterable[LeftOut] = ()) -> Plan:
        """The routes as a plan."""
        found = [made for route in self.routes.values() for made in self._assignments(route)]
        return Plan(
            tuple(sorted(found, key=lambda made: (made.day, made.worker, made.order))),
            tuple(sorted(left_out, key=lambda left: left.job)),
        )

    def _assignments(self, route: Route) -> Iterator[Assignment]:
        visits, _ = walk(route.shift, route.jobs, self.travel)
        for order, (job, start, finish) in enumerate(visits, route.shift.last_order + 1):
            yield Assignment(job.id, route.shift.worker.id, route.shift.day, order, start, finish)

    def _spots(self, route: Route, job: Job) -> list[Spot]:
        """Every place in a route, least detour first; none where the work alone is too much."""
        shift, to = route.shift, self.travel.minutes
        work = sum(other.work_minutes for other in route.jobs) + job.work_minutes
        if shift.from_minute + work > shift.worker.shift_end_minute:
            return []
        stops = [shift.from_place, *(other.site for other in route.jobs), shift.worker.base]
        return sorted(
            Spot(to(a, job.site) + to(job.site, b) - to(a, b), shift.day, shift.worker.id, index)
            for index, (a, b) in enumerate(pairwise(stops))
        )

    def _is_legal(self, route: Route, job: Job, index: int, *, keeps_times: bool) -> bool:
        visits, late = walk(route.shift, _with(route.jobs, job, index), self.travel)
        if late or not keeps_times:
            return late == 0
        return [*visits[:index], *visits[index + 1 :]] == walk(route.shift, route.jobs, self.travel)[0]


def _with(jobs: Sequence[Job], job: Job, index: int) -> list[Job]:
    return [*jobs[:index], job, *jobs[index:]]
