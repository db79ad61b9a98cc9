"""What happens to a season after it was planned: a person is missing, a job comes, goes or gets other days."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import reduce

from seasonlog.errors import InputRefusedError, Problem
from seasonlog.planning.model import Appointment, Instance, Job, Worker


@dataclass(frozen=True, slots=True)
class Away:
    """A person does not work on some days: sick, iced in, on leave."""

    worker: str
    days: frozenset[date]


@dataclass(frozen=True, slots=True)
class Gone:
    """A person is away for the rest of a day: taken ill, iced in on the way."""

    worker: str
    day: date
    from_minute: int
    """From when on [minutes after midnight]."""


@dataclass(frozen=True, slots=True)
class NewJob:
    """One more job."""

    job: Job


@dataclass(frozen=True, slots=True)
class DroppedJob:
    """A job that need not be done any more."""

    job: str


@dataclass(frozen=True, slots=True)
class ShiftedWindow:
    """A job may be done on other days, or by another appointment; without one, a former appointment is off."""

    job: str
    first_day: date
    last_day: date
    appointment: Appointment | None = None


Change = Away | Gone | NewJob | DroppedJob | ShiftedWindow


def changed(instance: Instance, changes: Iterable[Change]) -> Instance:
    """The instance after some changes, one after the other.

    Args:
        instance: As it was planned.
        changes: What happened since.

    Returns:
        The instance as it is now.

    Raises:
        InputRefusedError: A change names a person or a job that is not there, or makes an impossible one.
    """
    return reduce(_after, changes, instance)


def _after(instance: Instance, change: Change) -> Instance:
    match change:
        case NewJob(job):
            return replace(instance, jobs=(*instance.jobs, job))
        case Away(name, days):
            _must_be(name, "person", [worker.id for worker in instance.workers])
            workers = (replace(w, leave=w.leave | days) if w.id == name else w for w in instance.workers)
            return replace(instance, workers=tuple(workers))
        case Gone(name, day, minute):
            _must_be(name, "person", [worker.id for worker in instance.workers])
            workers = (_gone(w, day, minute) if w.id == name else w for w in instance.workers)
            return replace(instance, workers=tuple(workers))
        case DroppedJob(name):
            _must_be(name, "job", [job.id for job in instance.jobs])
            return replace(instance, jobs=tuple(job for job in instance.jobs if job.id != name))
        case ShiftedWindow(name, first, last, agreed):
            _must_be(name, "job", [job.id for job in instance.jobs])
            job = replace(instance.job(name), first_day=first, last_day=last, appointment=agreed)
            return replace(instance, jobs=tuple(job if other.id == name else other for other in instance.jobs))


def _gone(worker: Worker, day: date, minute: int) -> Worker:
    return replace(worker, gone_from={**worker.gone_from, day: min(minute, worker.gone_from.get(day, minute))})


def _must_be(name: str, what: str, known: Iterable[str]) -> None:
    if name not in known:
        raise InputRefusedError([Problem(f"{what} {name}", "is not part of this plan")])
