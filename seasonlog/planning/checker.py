"""Which hard rules a plan breaks: worked out from the plan alone, with nothing taken from the planners.

Ways are measured here by the angle between two vectors, not by the planners' formula, and nothing is rounded.
"""

import math
from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import date

from seasonlog.planning.model import Assignment, Instance, Job, Plan, Worker

_EARTH_KM = 6371.0088
_SLACK_MINUTES = 1e-6
"""For the last digits of the two formulas."""


def broken_rules(instance: Instance, plan: Plan, done: Collection[str] = ()) -> list[str]:
    """Every hard rule that a plan breaks.

    Args:
        instance: What was to be planned.
        plan: What was planned.
        done: Ids of jobs that are done; they are facts and not judged, but they take their time.

    Returns:
        One sentence for each breach; empty for a legal plan.
    """
    judge = _Judge(instance, frozenset(done))
    found = [*judge.unaccounted(plan), *judge.strangers(plan)]
    if found:
        return found
    for made in plan.assignments:
        if made.job not in judge.done:
            found += judge.assignment(made)
    found += judge.order(plan)
    days: dict[tuple[str, date], list[Assignment]] = defaultdict(list)
    for made in plan.assignments:
        days[made.worker, made.day].append(made)
    for (worker, _), day in days.items():
        found += judge.shift(judge.workers[worker], sorted(day, key=lambda made: made.order))
    return found


class _Judge:
    """The rules, one method each kind."""

    def __init__(self, instance: Instance, done: frozenset[str]) -> None:
        self.instance = instance
        self.done = done
        self.jobs = {job.id: job for job in instance.jobs}
        self.workers = {worker.id: worker for worker in instance.workers}

    def unaccounted(self, plan: Plan) -> Iterator[str]:
        """Every job is planned once or left out once, with a reason."""
        count = Counter([made.job for made in plan.assignments] + [left.job for left in plan.left_out])
        for job_id in self.jobs:
            if count[job_id] != 1 and not (job_id in self.done and count[job_id] == 0):
                yield f"{job_id} stands in the plan {count[job_id]} times"
        for left in plan.left_out:
            if not left.reason:
                yield f"{left.job} is left out without a reason"

    def strangers(self, plan: Plan) -> Iterator[str]:
        """Nothing is planned that is not in the instance."""
        for made in plan.assignments:
            if made.job not in self.jobs and made.job not in self.done:
                yield f"{made.job} is planned and not in the instance"
            if made.worker not in self.workers:
                yield f"{made.worker} has work and is not in the instance"
        for left in plan.left_out:
            if left.job not in self.jobs:
                yield f"{left.job} is left out and not in the instance"

    def assignment(self, made: Assignment) -> Iterator[str]:
        """Windows, appointment, leave, qualification and the time the work takes."""
        job, worker, what = self.jobs[made.job], self.workers[made.worker], f"{made.job} on {made.day}"
        if made.day not in self.instance.days:
            yield f"{what} is not on a working day"
        if made.day < job.first_day or made.day > job.last_day:
            yield f"{what} is outside its days {job.first_day} to {job.last_day}"
        if made.day in worker.leave:
            yield f"{what} is given to {worker.called}, who is on leave"
        gone = worker.gone_from.get(made.day)
        if gone is not None and made.finish_minute > gone:
            yield f"{what} is given to {worker.called}, who is away from {gone // 60:02}:{gone % 60:02} on"
        if job.needs_qualified and (worker.qualified_until is None or made.day > worker.qualified_until):
            yield f"{what} is given to {worker.called}, who is not qualified then"
        if made.finish_minute - made.start_minute != job.work_minutes:
            yield f"{what} has {made.finish_minute - made.start_minute} minutes, and takes {job.work_minutes}"
        yield from self._appointment(job, made)

    def _appointment(self, job: Job, made: Assignment) -> Iterator[str]:
        agreed = job.appointment
        if agreed is None:
            return
        if made.day != agreed.day or not agreed.from_minute <= made.start_minute <= agreed.to_minute:
            yield f"{made.job} on {made.day} at {made.start_minute} misses its appointment"

    def order(self, plan: Plan) -> Iterator[str]:
        """What goes before another job stands on a day before it, or before it in the same person's day."""
        stands = {made.job: made for made in plan.assignments if made.job not in self.done}
        for made in stands.values():
            job, before = self.jobs[made.job], stands.get(self.jobs[made.job].after)
            if before is None or before.day < made.day or (job.is_look and before.day > job.last_day):
                continue
            if (before.day, before.worker) != (made.day, made.worker) or before.order > made.order:
                yield f"{made.job} on {made.day} is not after {before.job}, which goes first and is on {before.day}"

    def shift(self, worker: Worker, day: Sequence[Assignment]) -> Iterator[str]:
        """One person's day: order, ways between, and the shift from the base back to the base."""
        what = f"{worker.called} on {day[0].day}"
        if len({made.order for made in day}) != len(day):
            yield f"{what} has two jobs of the same order"
        ends = worker.shift_start_minute + worker.shift_minutes
        free, place = float(worker.shift_start_minute), worker.base
        for made in day:
            if made.job not in self.done:
                yield from self._on_time(made, free, place, what)
            free = float(made.finish_minute)
            place = self.jobs[made.job].site if made.job in self.jobs else place
        if day[-1].job not in self.done and free + self._minutes(place, worker.base) > ends + _SLACK_MINUTES:
            yield f"{what} is back at the base after the shift"

    def _on_time(self, made: Assignment, free: float, place: str, what: str) -> Iterator[str]:
        if made.start_minute + _SLACK_MINUTES < free + self._minutes(place, self.jobs[made.job].site):
            yield f"{what} cannot be at {made.job} at minute {made.start_minute}"

    def _minutes(self, start: str, end: str) -> float:
        if start == end:
            return 0.0
        roads = self.instance.roads
        if (start, end) in roads.given_minutes:
            return roads.given_minutes[start, end]
        a, b = (self._unit_vector(name) for name in (start, end))
        cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
        angle = math.atan2(math.hypot(*cross), sum(x * y for x, y in zip(a, b, strict=True)))
        return angle * _EARTH_KM * roads.factor / roads.speed_kmh * 60

    def _unit_vector(self, name: str) -> tuple[float, float, float]:
        lat, lon = (math.radians(x) for x in (self.instance.places[name].lat_deg, self.instance.places[name].lon_deg))
        return math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat)
