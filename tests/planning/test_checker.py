"""The checker sees each hard rule broken: a legal plan is spoilt in one way at a time."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.planning.checker import broken_rules
from seasonlog.planning.greedy import greedy
from seasonlog.planning.model import Appointment, Assignment, Instance, LeftOut, Plan, Roads, Worker
from tests.planning.seasons import WEEK, job, seasons, week

ANN = Worker("Ann", "base", leave=frozenset(WEEK[3:]))
BEA = Worker("Bea", "base", qualified_until=WEEK[2])
SEASON = week(
    job("plain", "site 1", 60),
    job("far", "site 5", 60, last_day=WEEK[1]),
    job("skilled", "site 2", 60, needs_qualified=True),
    job("agreed", "site 3", 60, appointment=Appointment(WEEK[2], 600, 660)),
    job("impossible", "site 1", 900),
    workers=(ANN, BEA),
)
LEFT = (LeftOut("impossible", "it takes too long"),)
LEGAL = Plan(
    (
        Assignment("plain", "Ann", WEEK[0], 1, 435, 495),
        Assignment("far", "Ann", WEEK[0], 2, 560, 620),
        Assignment("skilled", "Bea", WEEK[2], 1, 460, 520),
        Assignment("agreed", "Bea", WEEK[2], 2, 610, 670),
    ),
    LEFT,
)
"""Written by hand: 15 minutes from the base to site 1, 60 more to site 5, 75 home."""


def with_job(name: str, **fields: object) -> Plan:
    made = tuple(replace(one, **fields) if one.job == name else one for one in LEGAL.assignments)
    return replace(LEGAL, assignments=made)


SPOILT: dict[str, tuple[Plan, str]] = {
    "job forgotten": (replace(LEGAL, left_out=()), "impossible stands in the plan 0 times"),
    "job twice": (replace(LEGAL, assignments=LEGAL.assignments + LEGAL.assignments[:1]), "plain stands in the plan 2"),
    "planned and left out": (replace(LEGAL, left_out=(*LEFT, LeftOut("plain", "x"))), "plain stands in the plan 2"),
    "no reason": (replace(LEGAL, left_out=(LeftOut("impossible", ""),)), "without a reason"),
    "unknown job": (replace(LEGAL, left_out=(*LEFT, LeftOut("ghost", "x"))), "ghost is left out and not in"),
    "unknown job planned": (
        replace(LEGAL, assignments=(*LEGAL.assignments, Assignment("ghost", "Ann", WEEK[0], 3, 800, 810))),
        "ghost is planned and not in",
    ),
    "unknown person": (with_job("plain", worker="Cid"), "Cid has work and is not"),
    "no working day": (with_job("plain", day=WEEK[0].replace(day=10)), "not on a working day"),
    "outside its days": (with_job("far", day=WEEK[2]), "outside its days"),
    "on leave": (with_job("plain", day=WEEK[3]), "who is on leave"),
    "never qualified": (with_job("skilled", worker="Ann"), "who is not qualified"),
    "qualification lapsed": (with_job("skilled", day=WEEK[3]), "who is not qualified"),
    "work cut short": (with_job("plain", finish_minute=494), "has 59 minutes, and takes 60"),
    "appointment too early": (with_job("agreed", start_minute=599, finish_minute=659), "misses its appointment"),
    "appointment too late": (with_job("agreed", start_minute=661, finish_minute=721), "misses its appointment"),
    "appointment on another day": (with_job("agreed", day=WEEK[1]), "misses its appointment"),
    "started before the shift": (with_job("plain", start_minute=420, finish_minute=480), "cannot be at plain"),
    "no time for the way": (with_job("far", start_minute=530, finish_minute=590), "cannot be at far"),
    "two at once": (with_job("far", start_minute=450, finish_minute=510), "cannot be at far"),
    "same order": (with_job("far", order=1), "two jobs of the same order"),
    "home too late": (with_job("far", start_minute=800, finish_minute=860), "is back at the base after the shift"),
}


def test_the_plan_made_by_hand_is_legal() -> None:
    assert broken_rules(SEASON, LEGAL) == []


@pytest.mark.parametrize(("plan", "says"), SPOILT.values(), ids=SPOILT.keys())
def test_each_rule_broken_is_told(plan: Plan, says: str) -> None:
    assert [one for one in broken_rules(SEASON, plan) if says in one], broken_rules(SEASON, plan)


def test_what_is_done_is_not_judged() -> None:
    late = with_job("far", start_minute=800, finish_minute=860)
    assert broken_rules(SEASON, late, done=["plain", "far"]) == []


def test_what_is_done_still_takes_its_time() -> None:
    """`plain` was done until 620, far away; `far` cannot start at 560."""
    late = with_job("plain", start_minute=560, finish_minute=620)
    assert "cannot be at far" in broken_rules(SEASON, late, done=["plain"])[0]


def test_given_ways_count() -> None:
    slow = replace(SEASON, roads=Roads(given_minutes={("base", "site 1"): 16.0}))
    assert "cannot be at plain" in broken_rules(slow, LEGAL)[0]


def earlier(made: Assignment, minutes: int) -> Assignment:
    return replace(made, start_minute=made.start_minute - minutes, finish_minute=made.finish_minute - minutes)


@settings(max_examples=40)
@given(seasons(), st.data())
def test_the_planners_times_are_as_early_as_they_can_be(instance: Instance, data: st.DataObject) -> None:
    """Two minutes earlier is always a breach (ways are rounded up, by less than a minute)."""
    plan = greedy(instance)
    number = data.draw(st.integers(0, max(0, len(plan.assignments) - 1)))
    spoilt = [earlier(made, 2) if n == number else made for n, made in enumerate(plan.assignments)]
    assert bool(broken_rules(instance, replace(plan, assignments=tuple(spoilt)))) == bool(spoilt)
