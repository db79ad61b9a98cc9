"""Room for a job that has none, by giving one other job another place; nothing else is touched."""

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
    return [job for job in left if not _exchanged(roster, job, tries)]


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
