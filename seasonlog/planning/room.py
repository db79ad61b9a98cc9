"""Room for a job that has none, by giving one other job another place; nothing else is touched.

Of two jobs in order the first one matters more: where it finds no place before the other, the other is placed anew; and
where the second finds none after it, the first is brought forward.
"""

from collections.abc import Iterable, Iterator

from seasonlog.planning.model import Job
from seasonlog.planning.routes import Roster, Route, walk

MOST_TRIES = 3_000
"""Exchanges looked at before it is given up; about a second of work."""


def make_room(
    roster: Roster, homeless: Iterable[Job], most_tries: int = MOST_TRIES, *, keeps_times: bool = False
) -> list[Job]:
    """Place jobs at the least detour, and where that is not possible by moving one planned job each.

    Args:
        roster: The routes; changed.
        homeless: Jobs that stand in no route, the most important first.
        most_tries: Exchanges to look at in all.
        keeps_times: A place that retimes no other job goes first.

    Returns:
        The jobs that still have no place.
    """
    left = roster.place(homeless, keeps_times=keeps_times)
    tries = _Tries(most_tries)
    still = [job for job in left if not _exchanged(roster, job, tries)]
    if not any(roster.order.binds(job.id) for job in still):
        return still
    pushed_out = [follower for job in still for follower in _before_those_that_follow(roster, job, tries)]
    left = roster.place(pushed_out, keeps_times=keeps_times)
    left += [job for job in still if roster.stand(job.id) is None and job not in left]
    return [job for job in left if not _brought_forward(roster, job, tries)]


def _before_those_that_follow(roster: Roster, job: Job, tries: "_Tries") -> list[Job]:
    """Place a job where those that come after it stand in its way; what had to go for it comes back."""
    routes = {key: list(route.jobs) for key, route in roster.routes.items()}
    gone = [each for follower in roster.order.then(job.id) for each in roster.take_out(follower)]
    if gone and (roster.place([job]) == [] or _exchanged(roster, job, tries)):
        return gone
    for key, jobs in routes.items():
        roster.routes[key].jobs[:] = jobs
    return []


def _brought_forward(roster: Roster, job: Job, tries: "_Tries") -> bool:
    """Place a job after the one that goes before it, by giving that one an earlier place."""
    first = roster.order.first.get(job.id)
    at = roster.stand(first.id) if first else None
    if first is None or at is None or at.position < 0:
        return False
    route = roster.routes[at.worker, at.day]
    before = list(route.jobs)
    if roster.take_out(first) == [first]:
        for other in sorted(roster.open_to(first), key=lambda each: each.shift.day):
            spot = roster.cheapest(first, [other]) if other.shift.day <= at.day and tries.take() else None
            if spot is not None:
                roster.insert(first, spot)
                if roster.place([job]) == []:
                    return True
                other.jobs.remove(first)
    route.jobs[:] = before
    return False


class _Tries:
    """What is left of the patience."""

    def __init__(self, most: int) -> None:
        self._left = most

    def take(self) -> bool:
        """Whether one more try is allowed."""
        self._left -= 1
        return self._left >= 0


def _exchanged(roster: Roster, job: Job, tries: _Tries) -> bool:
    """Whether a job found a place in the first exchange that works."""
    if roster.cheapest(job) is not None:  # an exchange before this one left room
        return not roster.place([job])
    for route, other in _exchanges(roster, job):
        if not tries.take():
            return False
        if _rehomed(roster, route, other, job):
            return True
    return False


def _exchanges(roster: Roster, job: Job) -> Iterator[tuple[Route, Job]]:
    """Routes and the job in them that would have to go; those that would free the most first."""
    for route in list(roster.open_to(job)):
        for other in sorted(route.jobs, key=lambda one: (-one.work_minutes, one.id)):
            yield route, other


def _rehomed(roster: Roster, route: Route, other: Job, job: Job) -> bool:
    """Swap `other` for `job` in a route and give `other` a new place, or leave all as it was."""
    before = list(route.jobs)
    route.jobs.remove(other)
    if walk(route.shift, route.jobs, roster.travel)[1] == 0:  # where ways are given, a stop less can be longer
        spot = roster.cheapest(job, [route])
        if spot is not None:
            roster.insert(job, spot)
            new = roster.cheapest(other)
            if new is not None:
                roster.insert(other, new)
                return True
    route.jobs[:] = before
    return False
