"""What a plan is made of: places, jobs, people, the days they work, and the plan itself. Frozen values, no planner.

Times of day are whole minutes after midnight, days are dates, and travel is whole minutes.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date

from seasonlog.errors import InputRefusedError, Problem

DAY_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class Place:
    """Where a site or a base lies."""

    lat_deg: float
    lon_deg: float


@dataclass(frozen=True, slots=True)
class Appointment:
    """A start that was agreed on: a shutdown, an escort, a lift."""

    day: date
    from_minute: int
    """Earliest start of the work [minutes after midnight]."""
    to_minute: int
    """Latest start of the work [minutes after midnight]."""


@dataclass(frozen=True, slots=True)
class Job:
    """One checklist on one tower, to be done by one person without a break."""

    id: str
    """Unlike any other in the instance."""
    tower: str
    site: str
    """The roof it stands on: between two towers of one site there is no travel."""
    checklist: str
    work_minutes: int
    first_day: date
    last_day: date
    needs_qualified: bool = False
    access: str = ""
    """How one gets in, in the customer's words; carried along, never judged."""
    appointment: Appointment | None = None
    after: str = ""
    """Id of the job that goes before it where both are planned: on an earlier day, or earlier in the same person's."""
    is_look: bool = False
    """It is better made alone than not at all: it stands first where that job comes only after its last day."""


@dataclass(frozen=True, slots=True)
class Worker:
    """A person who goes out from a base and comes back to it the same day."""

    id: str
    base: str
    shift_minutes: int = 480
    """From leaving the base to being back, travel included."""
    shift_start_minute: int = 420
    """Earliest leaving [minutes after midnight]."""
    leave: frozenset[date] = frozenset()
    """Days this person does not work."""
    qualified_until: date | None = None
    """Last day of the qualification; None: not qualified."""
    gone_from: Mapping[date, int] = field(default_factory=dict)
    """Days on which all work must be finished by a time [minutes after midnight]; the way home may come after."""
    name: str = ""
    """What people call this person; the id where nothing is given."""

    @property
    def called(self) -> str:
        """The name, or the id, for sentences."""
        return self.name or self.id

    @property
    def shift_end_minute(self) -> int:
        """Latest return to the base [minutes after midnight]."""
        return self.shift_start_minute + self.shift_minutes

    def works(self, day: date) -> bool:
        """Whether this person goes out on a working day."""
        return day not in self.leave

    def is_qualified(self, day: date) -> bool:
        """Whether the qualification holds on a day, its last day included."""
        return self.qualified_until is not None and day <= self.qualified_until


@dataclass(frozen=True, slots=True)
class Roads:
    """How long a way takes: great circle times a factor at a speed, unless it is given."""

    factor: float = 1.3
    """Road length over great circle. Common practice, no source."""
    speed_kmh: float = 65.0
    """Mean speed from door to door. Common practice, no source."""
    given_minutes: Mapping[tuple[str, str], float] = field(default_factory=dict)
    """Known ways between two named places, one way [minutes]; they go before the great circle."""


@dataclass(frozen=True)
class Instance:
    """A season, or what is left of one: all that a planner may know."""

    days: tuple[date, ...]
    """Working days, in order."""
    workers: tuple[Worker, ...]
    jobs: tuple[Job, ...]
    places: Mapping[str, Place]
    """Every site and base by its name."""
    roads: Roads = Roads()

    def __post_init__(self) -> None:
        problems = list(_problems(self))
        if problems:
            raise InputRefusedError(problems)

    @property
    def followers(self) -> Iterator[Job]:
        """Jobs that come after another one."""
        return (job for job in self.jobs if job.after)

    def job(self, job_id: str) -> Job:
        """A job by its id."""
        return next(job for job in self.jobs if job.id == job_id)


@dataclass(frozen=True, slots=True)
class Assignment:
    """One job of one person's day."""

    job: str
    worker: str
    day: date
    order: int
    """1 for the day's first job."""
    start_minute: int
    """Work starts [minutes after midnight]."""
    finish_minute: int


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A job that is not planned."""

    job: str
    reason: str
    """Why, in words for the person who plans."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Who does what when, and what does not fit. Assignments are sorted by day, person and order."""

    assignments: tuple[Assignment, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def _problems(instance: Instance) -> Iterator[Problem]:
    yield from _day_problems(instance)
    yield from _road_problems(instance.roads)
    yield from _twice("job", [job.id for job in instance.jobs])
    yield from _twice("person", [worker.id for worker in instance.workers])
    for name, place in instance.places.items():
        if not (-90 <= place.lat_deg <= 90 and -180 <= place.lon_deg <= 180):
            yield Problem(f"place {name}", "latitude must lie between -90 and 90, longitude between -180 and 180")
    for worker in instance.workers:
        yield from _worker_problems(worker, instance.places)
    for job in instance.jobs:
        yield from _job_problems(job, instance.places)


def _day_problems(instance: Instance) -> Iterator[Problem]:
    if list(instance.days) != sorted(set(instance.days)):
        yield Problem("days", "the working days must be in order, each one once")


def _road_problems(roads: Roads) -> Iterator[Problem]:
    if not 1 <= roads.factor <= 10:
        yield Problem("roads", f"the road factor must lie between 1 and 10, not {roads.factor}")
    if not 1 <= roads.speed_kmh <= 200:
        yield Problem("roads", f"the speed must lie between 1 and 200 km/h, not {roads.speed_kmh}")
    for (start, end), minutes in roads.given_minutes.items():
        if not 0 <= minutes <= DAY_MINUTES:
            yield Problem(f"way {start} to {end}", f"must take between 0 minutes and a day, not {minutes}")


def _twice(what: str, names: list[str]) -> Iterator[Problem]:
    for name in sorted({name for name in names if names.count(name) > 1} if len(set(names)) < len(names) else set()):
        yield Problem(f"{what} {name}", "is there more than once; give each its own id")


def _worker_problems(worker: Worker, places: Mapping[str, Place]) -> Iterator[Problem]:
    where = f"person {worker.id}"
    if worker.base not in places:
        yield Problem(where, f"the base {worker.base} has no place")
    if worker.shift_start_minute < 0 or worker.shift_minutes <= 0 or worker.shift_end_minute > DAY_MINUTES:
        yield Problem(where, "the shift must be longer than nothing and lie within one day")


def _job_problems(job: Job, places: Mapping[str, Place]) -> Iterator[Problem]:
    where = f"job {job.id}"
    if job.site not in places:
        yield Problem(where, f"the site {job.site} has no place")
    if not 0 < job.work_minutes <= DAY_MINUTES:
        yield Problem(where, f"the work must take between 1 minute and a day, not {job.work_minutes}")
    if job.last_day < job.first_day:
        yield Problem(where, f"its last day {job.last_day} is before its first day {job.first_day}")
    if job.after == job.id:
        yield Problem(where, "it cannot come after itself")
    agreed = job.appointment
    if agreed and not 0 <= agreed.from_minute <= agreed.to_minute < DAY_MINUTES:
        yield Problem(where, "the appointment must start and end within one day, in that order")
