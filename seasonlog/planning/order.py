"""Which job comes after which: a check of a tower after the visit that proves it, where both are planned.

Two jobs in order stand on different days, or in one person's day: what another person does the same day may be late.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from seasonlog.planning.model import Instance, Job


class Stand(NamedTuple):
    """Where a job stands in the routes."""

    worker: str
    day: date
    position: int
    """Place in that day; -1: before all that can still be changed."""


@dataclass(frozen=True, slots=True)
class Room:
    """Between which others a job may stand."""

    job: Job
    first: Stand | None
    """Where the job stands that goes before it."""
    then: tuple[tuple[Job, Stand], ...]
    """Those that come after it."""

    def positions(self, worker: str, day: date, count: int) -> range:
        """The places it may take in a day of a person, of those before, between and after `count` jobs."""
        low, high = 0, count
        if self.first is not None and not may_follow(self.job, self.first.day, day):
            if (self.first.worker, self.first.day) != (worker, day):
                return range(0)
            low = self.first.position + 1
        for follower, stand in self.then:
            if not may_follow(follower, day, stand.day):
                if (stand.worker, stand.day) != (worker, day):
                    return range(0)
                high = min(high, stand.position)
        return range(low, high + 1)


def may_follow(job: Job, first: date, then: date) -> bool:
    """Whether a job may stand on day `then` with the one before it on day `first`, by the days alone."""
    return first < then or (job.is_look and first > job.last_day)


class Order:
    """The pairs of an instance.

    Args:
        instance: With `after` of its jobs.
        facts: Jobs that are done: they bind nothing and are bound by nothing.
    """

    def __init__(self, instance: Instance, facts: Collection[str] = ()) -> None:
        jobs = {job.id: job for job in instance.jobs if job.id not in facts} if any(instance.followers) else {}
        self.first: Mapping[str, Job] = {job.id: jobs[job.after] for job in jobs.values() if job.after in jobs}
        """Id of a job to the one that goes before it."""
        self._then: dict[str, list[Job]] = {}
        for name, before in self.first.items():
            self._then.setdefault(before.id, []).append(jobs[name])

    def then(self, job: str) -> list[Job]:
        """Those that come after a job."""
        return self._then.get(job, [])

    def binds(self, job: str) -> bool:
        """Whether a job is one of a pair."""
        return job in self.first or job in self._then
