"""Small seasons for tests: builders by hand, and Hypothesis strategies for any season at all."""

from datetime import date, timedelta
from itertools import combinations, pairwise, permutations

from hypothesis import strategies as st

from seasonlog.planning.model import Appointment, Instance, Job, Place, Roads, Worker
from seasonlog.planning.travel import Travel

MONDAY = date(2026, 10, 5)
WEEK = tuple(MONDAY + timedelta(days=n) for n in range(5))
PLACES = {"base": Place(42.0, -88.0)} | {f"site {n}": Place(42.0, -88.0 + 0.15 * n) for n in range(1, 6)}
"""A base and five sites in a row to the east of it, some 12 km apart: 15 minutes each."""


def job(name: str, site: str = "site 1", minutes: int = 60, **more: object) -> Job:
    """A job of the week, changed where a test says so."""
    fields = {"first_day": WEEK[0], "last_day": WEEK[-1], **more}
    return Job(name, name, site, "fall startup", minutes, **fields)  # type: ignore[arg-type]


def week(*jobs: Job, workers: tuple[Worker, ...] = (Worker("Ann", "base"),), days: tuple[date, ...] = WEEK) -> Instance:
    return Instance(days, workers, jobs, PLACES)


def minute_of_day(low: int = 300, high: int = 1000) -> st.SearchStrategy[int]:
    return st.integers(low, high)


@st.composite
def appointments(draw: st.DrawFn) -> Appointment:
    start = draw(minute_of_day())
    return Appointment(draw(st.sampled_from(WEEK)), start, start + draw(st.integers(0, 120)))


@st.composite
def jobs(draw: st.DrawFn, number: int) -> Job:
    first = draw(st.integers(0, 5))
    return Job(
        f"J{number}", f"T{number}", draw(st.sampled_from([f"site {n}" for n in range(1, 6)])), "fall startup",
        draw(st.integers(1, 600)), MONDAY + timedelta(days=first),
        MONDAY + timedelta(days=first + draw(st.integers(0, 5))), draw(st.booleans()),
        appointment=draw(st.none() | st.none() | appointments()),
        after=draw(st.just("") | st.sampled_from([f"J{n}" for n in range(9) if n != number])),
        is_look=draw(st.booleans()),
    )  # fmt: skip


@st.composite
def workers(draw: st.DrawFn, number: int) -> Worker:
    start = draw(st.integers(0, 600))
    base, shift = draw(st.sampled_from(["base", "site 3"])), draw(st.integers(60, 800))
    leave = frozenset(draw(st.sets(st.sampled_from(WEEK), max_size=3)))
    until = draw(st.none() | st.sampled_from(WEEK))
    return Worker(f"W{number}", base, shift, start, leave, until)


GIVEN = st.dictionaries(
    st.tuples(st.sampled_from(sorted(PLACES)), st.sampled_from(sorted(PLACES))), st.floats(0, 400), max_size=8
)
"""Some ways given, in one direction only and as absurd as they may be: a detour can be shorter than the way."""


@st.composite
def seasons(draw: st.DrawFn) -> Instance:
    days = tuple(sorted(draw(st.sets(st.sampled_from(WEEK), max_size=5))))
    people = [draw(workers(n)) for n in range(draw(st.integers(0, 3)))]
    work = [draw(jobs(n)) for n in range(draw(st.integers(0, 9)))]
    return Instance(days, tuple(people), tuple(work), PLACES, Roads(given_minutes=draw(GIVEN)))


def best_of_all(instance: Instance) -> tuple[int, int]:
    """Fewest left out, and then least travel [minutes], of every order of every choice of jobs; one day only."""
    return min(
        (len(instance.jobs) - count, travel)
        for count in range(len(instance.jobs) + 1)
        for chosen in combinations(instance.jobs, count)
        for order in permutations(chosen)
        for travel in _splits(instance, order, instance.workers)
    )


def _splits(instance: Instance, order: tuple[Job, ...], people: tuple[Worker, ...]) -> list[int]:
    """Travel of every legal way to cut an order of jobs into one piece a person."""
    if not people:
        return [] if order else [0]
    found = []
    for cut in range(len(order) + 1):
        own = _day(instance, order[:cut], people[0])
        if own is not None:
            found += [own + rest for rest in _splits(instance, order[cut:], people[1:])]
    return found


def _day(instance: Instance, order: tuple[Job, ...], worker: Worker) -> int | None:
    """Travel of one day, or None where it is not legal; appointments and windows are not looked at."""
    travel = Travel(instance)
    stops = [worker.base, *(one.site for one in order), worker.base]
    minutes = sum(travel.minutes(a, b) for a, b in pairwise(stops))
    able = all(worker.is_qualified(instance.days[0]) for one in order if one.needs_qualified)
    return minutes if able and minutes + sum(one.work_minutes for one in order) <= worker.shift_minutes else None
