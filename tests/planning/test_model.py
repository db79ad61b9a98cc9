"""An impossible season is refused as a whole, with every problem in a sentence."""

from dataclasses import replace

import pytest

from seasonlog.errors import InputRefusedError
from seasonlog.planning.model import Appointment, Instance, Place, Roads, Worker
from tests.planning.seasons import WEEK, job, week

GOOD = week(job("J"))
NAN = float("nan")
BAD = {
    "job twice": ({"jobs": (job("J"), job("J"))}, "more than once"),
    "person twice": ({"workers": (Worker("Ann", "base"), Worker("Ann", "base"))}, "more than once"),
    "site unknown": ({"jobs": (job("J", "nowhere"),)}, "the site nowhere has no place"),
    "base unknown": ({"workers": (Worker("Ann", "nowhere"),)}, "the base nowhere has no place"),
    "no work": ({"jobs": (job("J", minutes=0),)}, "between 1 minute and a day"),
    "negative work": ({"jobs": (job("J", minutes=-5),)}, "between 1 minute and a day"),
    "endless work": ({"jobs": (job("J", minutes=10**9),)}, "between 1 minute and a day"),
    "window backwards": ({"jobs": (job("J", first_day=WEEK[3], last_day=WEEK[1]),)}, "is before its first day"),
    "appointment backwards": ({"jobs": (job("J", appointment=Appointment(WEEK[0], 700, 600)),)}, "the appointment"),
    "no shift": ({"workers": (Worker("Ann", "base", 0),)}, "the shift must be"),
    "shift past midnight": ({"workers": (Worker("Ann", "base", 480, 1200),)}, "the shift must be"),
    "days backwards": ({"days": WEEK[::-1]}, "in order"),
    "day twice": ({"days": WEEK[:1] * 2}, "in order"),
    "no latitude": ({"places": GOOD.places | {"x": Place(NAN, 0)}}, "latitude"),
    "latitude of a planet": ({"places": GOOD.places | {"x": Place(1e9, 0)}}, "latitude"),
    "faster than a car": ({"roads": Roads(speed_kmh=1e9)}, "km/h"),
    "no speed": ({"roads": Roads(speed_kmh=0)}, "km/h"),
    "shorter than straight": ({"roads": Roads(factor=0.5)}, "road factor"),
    "factor not a number": ({"roads": Roads(factor=NAN)}, "road factor"),
    "endless way": ({"roads": Roads(given_minutes={("base", "site 1"): 1e9})}, "way base to site 1"),
}


@pytest.mark.parametrize(("fields", "says"), BAD.values(), ids=BAD.keys())
def test_an_impossible_season_is_refused(fields: dict[str, object], says: str) -> None:
    with pytest.raises(InputRefusedError, match=says):
        replace(GOOD, **fields)


def test_every_problem_is_told_at_once() -> None:
    with pytest.raises(InputRefusedError) as refused:
        Instance(WEEK, (Worker("Ann", "x"),), (job("J", "y", 0),), {})
    assert len(refused.value.problems) == 3


def test_a_job_is_found_by_its_id() -> None:
    assert week(job("J"), job("K")).job("K").tower == "K"
