"""The plan that is always there: each person takes the tower that is due next and near, day after day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from seasonlog.planning.model import Instance, Job, Plan
from seasonlog.planning.reasons import reasons
from seasonlog.planning.room import make_room
from seasonlog.planning.routes import Roster, Route, walk
from seasonlog.planning.travel import Travel

FEW_TRIES = 300
"""Exchanges looked at for jobs that others come after; a search, or a repair, looks at more."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What counts when the next job is chosen; the lowest sum goes first. Common practice, no source."""

    per_day_left: float = 20.0
    """For each calendar day between today and the job's last day."""
    per_travel_minute: float = 1.0
    """For each minute from where the person is."""
    per_minute_home: float = 0.0
    """For each minute from the job back to the base."""


def greedy(instance: Instance, weights: Weights | None = None, travel: Travel | None = None) -> Plan:
    """A legal plan at once: appointments first, then earliest due date with nearness, then what still fits anywhere.

    What comes after another job is taken once that one has its place, so that it never stands in its way.

    Args:
        instance: Days, people, jobs and places.
        weights: How much urgency counts against nearness.
        travel: Minutes between the places, where they are known already.

    Returns:
        A plan that breaks no hard rule; what does not fit is left out with its reason.
    """
    roster = Roster(instance, travel)
    agreed = [job for job in instance.jobs if job.appointment]
    homeless = roster.place(sorted((job for job in agreed if job.id not in roster.order.first), key=_agreed_at))
    waiting = [job for job in instance.jobs if not job.appointment]
    days = {job.id: day for (_, day), route in roster.routes.items() for job in route.jobs}
    for route in roster.routes.values():
        waiting = _Filling(roster, route, weights or Weights(), days).fill(waiting)
    then = [job for job in (*agreed, *waiting) if job.id in roster.order.first]
    homeless += roster.place(sorted((job for job in waiting if job.id not in roster.order.first), key=_urgency))
    followed = [job for job in homeless if roster.order.then(job.id)]
    homeless = [job for job in homeless if job not in followed] + make_room(roster, followed, FEW_TRIES)
    homeless += roster.place(sorted(then, key=_urgency))
    return roster.plan(reasons(roster, homeless))


def _agreed_at(job: Job) -> tuple[object, ...]:
    agreed = job.appointment
    return (agreed.day, agreed.to_minute, job.id) if agreed else ()


def _urgency(job: Job) -> tuple[object, ...]:
    return job.last_day, -job.work_minutes, job.id


class _Filling:
    """One day of one person, filled from its start to its end around the appointments that stand in it.

    Args:
        roster: The routes.
        route: The one to fill.
        weights: What counts.
        days: Job to the day on which it stands; kept up.
    """

    def __init__(self, roster: Roster, route: Route, weights: Weights, days: dict[str, date]) -> None:
        self._route = route
        self._order, self._days = roster.order, days
        self._travel = roster.travel
        self._weights = weights
        self._index = 0
        """Where the next job goes; what stands from here on is agreed."""

    def fill(self, waiting: Sequence[Job]) -> list[Job]:
        """Take jobs until none fits; what is left comes back."""
        allowed = {job.id: job for job in waiting if self._route.shift.allows(job)}
        open_jobs = [job for job in allowed.values() if self._is_in_turn(job)]
        taken: set[str] = set()
        while self._index <= len(self._route.jobs):
            chosen = self._next(open_jobs)
            if chosen is not None:
                self._route.jobs.insert(self._index, chosen)
                open_jobs.remove(chosen)
                taken.add(chosen.id)
                self._days[chosen.id] = self._route.shift.day
            if self._index < len(self._route.jobs):
                behind = self._order.then(self._route.jobs[self._index].id)
                open_jobs += [job for job in behind if job.id in allowed and job.id not in taken]
            self._index += 1
        return [job for job in waiting if job.id not in taken]

    def _is_in_turn(self, job: Job) -> bool:
        """What goes before it stands on a day before this one."""
        first = self._order.first.get(job.id)
        return first is None or self._days.get(first.id, date.max) < self._route.shift.day

    def _next(self, jobs: Sequence[Job]) -> Job | None:
        """The lowest sum among the jobs that fit here."""
        shift, to, base = self._route.shift, self._travel.minutes, self._route.shift.worker.base
        place, now = self._here()
        free = shift.worker.shift_end_minute - now
        fitting = (job for job in jobs if to(place, job.site) + job.work_minutes + to(job.site, base) <= free)
        ranked = sorted(fitting, key=lambda job: self._cost(job, place))
        return next((job for job in ranked if self._keeps_appointments(job)), None)

    def _here(self) -> tuple[str, int]:
        if self._index == 0:
            return self._route.shift.from_place, self._route.shift.from_minute
        visits, _ = walk(self._route.shift, self._route.jobs[: self._index], self._travel)
        return visits[-1].job.site, visits[-1].finish_minute

    def _cost(self, job: Job, place: str) -> tuple[float, str]:
        weights, to = self._weights, self._travel.minutes
        left = (job.last_day - self._route.shift.day).days
        home = to(job.site, self._route.shift.worker.base)
        near = weights.per_travel_minute * to(place, job.site) + weights.per_minute_home * home
        return weights.per_day_left * left + near, job.id

    def _keeps_appointments(self, job: Job) -> bool:
        jobs = self._route.jobs
        if self._index == len(jobs):
            return True
        return walk(self._route.shift, [*jobs[: self._index], job, *jobs[self._index :]], self._travel)[1] == 0
