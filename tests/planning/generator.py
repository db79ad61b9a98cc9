"""Invented seasons for the planner: sites strewn over a rectangle, bases between them, towers with windows.

The large one has 500 towers on 60 sites in 200 by 150 km, 8 people at 4 bases, 16 working days, shifts of 8 h with the
ways, and about 629 h of work.
"""

import math
import random
from datetime import date, timedelta

from seasonlog.planning.model import Instance, Job, Place, Worker

SOUTH_WEST = Place(41.0, -90.0)
KM_PER_DEGREE = 111.195
START = date(2026, 10, 5)


def working_days(count: int) -> tuple[date, ...]:
    """Mondays to Fridays from the start on."""
    days = (START + timedelta(days=n) for n in range(2 * count + 7))
    return tuple([day for day in days if day.weekday() < 5][:count])


def place_at(east_km: float, north_km: float) -> Place:
    lat = SOUTH_WEST.lat_deg + north_km / KM_PER_DEGREE
    lon = SOUTH_WEST.lon_deg + east_km / (KM_PER_DEGREE * math.cos(math.radians(SOUTH_WEST.lat_deg)))
    return Place(lat, lon)


def season(
    seed: int, *, towers: int = 500, sites: int = 60, people: int = 8, bases: int = 4, day_count: int = 16
) -> Instance:
    """A season that fits with little room: towers are due by the day their site is expected to freeze.

    Fewer people than two a base leaves the last bases with one.
    """
    chance = random.Random(seed)
    days = working_days(day_count)
    places = {f"site {n}": place_at(chance.uniform(0, 200), chance.uniform(0, 150)) for n in range(sites)}
    corners = [(50, 40), (150, 40), (50, 110), (150, 110)]
    places |= {f"base {n}": place_at(*corners[n % len(corners)]) for n in range(bases)}
    jobs = [_job(chance, n, f"site {chance.randrange(sites)}", days) for n in range(towers)]
    return Instance(days, tuple(_worker(n, bases, days) for n in range(people)), tuple(jobs), places)


def _job(chance: random.Random, number: int, site: str, days: tuple[date, ...]) -> Job:
    minutes = chance.choice([45, 60, 75, 90, 105])
    last = chance.randint(len(days) // 4, len(days) - 1)
    first = 0
    skilled = chance.random() < 0.2
    return Job(f"T{number:03}", f"T{number:03}", site, "fall startup", minutes, days[first], days[last], skilled)


def _worker(number: int, bases: int, days: tuple[date, ...]) -> Worker:
    """The first of each base is qualified."""
    return Worker(f"W{number}", f"base {number % bases}", qualified_until=days[-1] if number < bases else None)
