"""How good a plan is: what it leaves out, then how long people are on the road."""

from itertools import groupby
from typing import NamedTuple

from seasonlog.planning.model import Instance, Plan
from seasonlog.planning.routes import Shift, travel_minutes
from seasonlog.planning.travel import Travel


class Size(NamedTuple):
    """What is counted of a plan; the lower the better, in this order."""

    left_out: int
    travel_minutes: int
    """The ways from the base and home included."""
    person_days: int


def size(instance: Instance, plan: Plan) -> Size:
    """What a plan leaves out and costs.

    Args:
        instance: What was planned.
        plan: Its assignments in the order of `Plan`.

    Returns:
        Jobs left out, minutes on the road, and days on which a person goes out.
    """
    travel = Travel(instance)
    jobs = {job.id: job for job in instance.jobs}
    workers = {worker.id: worker for worker in instance.workers}
    minutes = days = 0
    for (day, name), made in groupby(plan.assignments, key=lambda made: (made.day, made.worker)):
        worker = workers[name]
        shift = Shift(worker, day, worker.base, worker.shift_start_minute)
        minutes += travel_minutes(shift, [jobs[one.job] for one in made], travel)
        days += 1
    return Size(len(plan.left_out), minutes, days)
