"""Why a job has no place, in words: the first thing that stands in its way, and how much is missing."""

from collections.abc import Iterable, Iterator
from datetime import date

from seasonlog.planning.model import Job, LeftOut
from seasonlog.planning.routes import Roster, Route, positions, walk


def reasons(roster: Roster, jobs: Iterable[Job]) -> list[LeftOut]:
    """Every job that is not planned, with its reason."""
    return [LeftOut(job.id, why_left_out(roster, job)) for job in jobs]


def why_left_out(roster: Roster, job: Job) -> str:
    """Why a job has no place among what is planned.

    Args:
        roster: The routes as they are.
        job: A job that stands in none of them.

    Returns:
        One sentence.
    """
    return _no_shift(roster, job) or _never_fits(roster, job) or _out_of_turn(roster, job) or _full(roster, job)


def clock(minute: int) -> str:
    """Minutes after midnight as people write them: 07:05."""
    return f"{minute // 60:02}:{minute % 60:02}"


def _window(job: Job) -> str:
    first, last = (job.appointment.day,) * 2 if job.appointment else (job.first_day, job.last_day)
    return f"on {first}" if first == last else f"between {first} and {last}"


def _no_shift(roster: Roster, job: Job) -> str:
    """Nobody who may do it works on a day on which it may be done."""
    if job.appointment and not job.first_day <= job.appointment.day <= job.last_day:
        return f"its appointment on {job.appointment.day} lies outside {job.first_day} to {job.last_day}"
    if job.appointment and job.appointment.day > max(roster.instance.days, default=job.appointment.day):
        return f"agreed for {job.appointment.day}, after this plan"
    at_work = [route for route in roster.routes.values() if _in_window(job, route.shift.day)]
    if not at_work:
        return f"nobody works {_window(job)}"
    if not any(route.shift.allows(job) for route in at_work):
        return f"it needs a qualified person, and nobody who works {_window(job)} is qualified then"
    return ""


def _in_window(job: Job, day: date) -> bool:
    if job.appointment and job.appointment.day != day:
        return False
    return job.first_day <= day <= job.last_day


def _never_fits(roster: Roster, job: Job) -> str:
    """It fits into no shift that may take it, even were the shift empty."""
    routes = list(roster.open_to(job))
    if any(walk(route.shift, [job], roster.travel)[1] == 0 for route in routes):
        return ""
    if job.appointment:
        agreed = f"{clock(job.appointment.from_minute)} and {clock(job.appointment.to_minute)}"
        return f"nobody can start it {_window(job)} between {agreed} and be back at the base within the shift"
    need = _hours(min(job.work_minutes + _there_and_back(roster, route, job) for route in routes))
    longest = _hours(max(route.shift.worker.shift_end_minute - route.shift.from_minute for route in routes))
    far = f"it takes {need} with the way there and back, and the longest shift {_window(job)} has {longest}"
    return "; ".join([far, *_near_but_not(roster, job)])


def _hours(minutes: int) -> str:
    return f"{minutes} minutes" if minutes < 120 else f"{minutes / 60:.1f} h"


def _near_but_not(roster: Roster, job: Job) -> Iterator[str]:
    """Who could make it within a shift, and why they may not."""
    to = roster.travel.minutes
    days = [day for day in roster.instance.days if _in_window(job, day)]
    for worker in roster.instance.workers:
        if job.work_minutes + to(worker.base, job.site) + to(job.site, worker.base) > worker.shift_minutes:
            continue
        works = [day for day in days if worker.works(day)]
        if not works:
            back = next((day for day in roster.instance.days if days and day > days[-1] and worker.works(day)), None)
            yield f"{worker.called} is near enough but away{f' until {back}' if back else ''}"
        elif job.needs_qualified and not any(worker.is_qualified(day) for day in works):
            yield f"{worker.called} is near enough but not qualified then"


def _there_and_back(roster: Roster, route: Route, job: Job) -> int:
    to = roster.travel.minutes
    return to(route.shift.from_place, job.site) + to(job.site, route.shift.worker.base)


def _out_of_turn(roster: Roster, job: Job) -> str:
    """What goes before it, or comes after it, leaves it no day at all."""
    room = roster.room(job)
    if room is None or any(positions(room, route) for route in roster.open_to(job)):
        return ""
    if room.first is not None:
        first = f"{roster.order.first[job.id].id}, which goes first, is on {room.first.day}"
        return f"{first}, and nobody works after it {_window(job)}"
    then, stand = min(room.then, key=lambda each: each[1].day)
    return f"it goes before {then.id}, which is on {stand.day}, and nobody works before that {_window(job)}"


def _full(roster: Roster, job: Job) -> str:
    """What may take it is full: who comes nearest, and what is missing there."""
    tries = ((roster.least_overrun(route, job), n, route) for n, route in enumerate(roster.open_to(job)))
    missing, _, nearest = min((minutes, n, route) for minutes, n, route in tries if minutes is not None)
    who = f"{nearest.shift.worker.called} on {nearest.shift.day}"
    return f"every shift that may take it {_window(job)} is full; nearest is {who}, by {_hours(missing)} too short"
