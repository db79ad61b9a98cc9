"""The greedy plan: legal for any season, urgent before late, near before far, and a reason for what is left out."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings

from seasonlog.planning.checker import broken_rules
from seasonlog.planning.greedy import Weights, greedy
from seasonlog.planning.measure import size
from seasonlog.planning.model import Appointment, Instance, Plan, Worker
from seasonlog.planning.travel import Travel
from tests.planning.generator import season
from tests.planning.seasons import MONDAY, WEEK, job, seasons, week

TUESDAY = WEEK[1]
MONTH_LATER = MONDAY + timedelta(days=28)
UNSKILLED, SKILLED = Worker("Ann", "base"), Worker("Bea", "base", qualified_until=TUESDAY)


def order_of(plan: Plan) -> list[str]:
    return [made.job for made in plan.assignments]


@settings(max_examples=40)
@given(seasons())
def test_any_season_gets_a_legal_plan_with_every_job_planned_or_left_out_for_a_reason(instance: Instance) -> None:
    assert broken_rules(instance, greedy(instance)) == []


@settings(max_examples=40)
@given(seasons())
def test_any_weights_give_a_legal_plan(instance: Instance) -> None:
    for weights in (Weights(0, 1), Weights(1, 0), Weights(-5, 1, 3)):
        assert broken_rules(instance, greedy(instance, weights)) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_tight_season_gets_a_legal_plan(seed: int) -> None:
    instance = season(seed, towers=120, sites=20, people=3, bases=2, day_count=10)
    assert broken_rules(instance, greedy(instance)) == []


def test_what_is_due_first_is_done_first() -> None:
    late, soon = job("late"), job("soon", "site 5", last_day=WEEK[0])
    assert order_of(greedy(week(late, soon), Weights(per_day_left=100)))[0] == "soon"


def test_of_two_that_are_due_alike_the_near_one_is_done_first() -> None:
    assert order_of(greedy(week(job("far", "site 5"), job("near", "site 1")))) == ["near", "far"]


def test_towers_on_one_roof_are_done_one_after_the_other() -> None:
    roofs = ["site 1", "site 4", "site 1", "site 4"]
    plan = greedy(week(*(job(f"{site} {n}", site, 30) for n, site in enumerate(roofs))))
    assert order_of(plan) == ["site 1 0", "site 1 2", "site 4 1", "site 4 3"]


def test_an_appointment_is_waited_for_and_filled_before_and_after() -> None:
    agreed = job("agreed", "site 2", appointment=Appointment(WEEK[0], 600, 620))
    others = [job(f"other {n}", "site 2", 45) for n in range(6)]
    plan = greedy(week(*others, agreed, days=WEEK[:1]))
    made = next(one for one in plan.assignments if one.job == "agreed")
    assert 600 <= made.start_minute <= 620
    assert 1 < made.order < len(plan.assignments)


def test_each_person_starts_and_ends_at_the_own_base() -> None:
    at_site_5 = Worker("Bea", "site 5")
    instance = week(job("east", "site 5", 400), job("west", "site 1", 400), workers=(UNSKILLED, at_site_5))
    plan = greedy(instance)
    assert {(made.job, made.worker) for made in plan.assignments} == {("east", "Bea"), ("west", "Ann")}
    assert size(instance, plan) == (0, 2 * Travel(instance).minutes("base", "site 1"), 2)


REASONS = {
    "no day": (
        week(job("J", first_day=MONDAY + timedelta(days=20), last_day=MONDAY + timedelta(days=21))),
        "nobody works",
    ),
    "all on leave": (week(job("J"), workers=(Worker("Ann", "base", leave=frozenset(WEEK)),)), "nobody works"),
    "no qualification": (week(job("J", needs_qualified=True)), "needs a qualified person"),
    "qualification lapsed": (
        week(job("J", needs_qualified=True, first_day=WEEK[2]), workers=(UNSKILLED, SKILLED)),
        "needs a qualified person",
    ),
    "too long": (week(job("J", minutes=470)), "the longest shift between 2026-10-05 and 2026-10-09 has 8.0 h"),
    "near but not qualified": (
        week(job("J", needs_qualified=True, minutes=300), workers=(UNSKILLED, replace(SKILLED, shift_minutes=240))),
        "it takes 5.5 h with the way there and back, "
        "and the longest shift between 2026-10-05 and 2026-10-09 has 4.0 h; Ann is near enough but not qualified then",
    ),
    "near but away": (
        week(
            job("J", minutes=300, last_day=TUESDAY),
            workers=(Worker("Ann", "base", leave=frozenset(WEEK[:3])), Worker("Bob", "base", shift_minutes=240)),
        ),
        "Ann is near enough but away until 2026-10-08",
    ),
    "somebody with a name": (
        week(
            job("J", minutes=300, last_day=TUESDAY),
            workers=(
                Worker("ann", "base", leave=frozenset(WEEK[:3]), name="Ann Ost"),
                Worker("Bob", "base", shift_minutes=240),
            ),
        ),
        "Ann Ost is near enough but away until 2026-10-08",
    ),
    "appointment at night": (
        week(job("J", appointment=Appointment(TUESDAY, 60, 90))),
        "nobody can start it on 2026-10-06 between 01:00 and 01:30",
    ),
    "appointment out of window": (
        week(job("J", last_day=WEEK[0], appointment=Appointment(TUESDAY, 600, 690))),
        "its appointment on 2026-10-06 lies outside",
    ),
    "full": (
        week(job("A", minutes=300, last_day=WEEK[0]), job("J", minutes=300, last_day=WEEK[0])),
        "nearest is Ann on 2026-10-05, by 2.5 h too short",
    ),
}
"""300 + 300 minutes of work and 2 x 15 of way in a shift of 480: 150 too many."""


@pytest.mark.parametrize(("instance", "says"), REASONS.values(), ids=REASONS.keys())
def test_what_is_left_out_says_why(instance: Instance, says: str) -> None:
    left = greedy(instance).left_out
    assert [one for one in left if one.job in {"J", "A"} and says in one.reason], left


def test_a_qualified_person_may_do_it_on_the_last_day_of_the_qualification() -> None:
    skilled = job("J", needs_qualified=True, first_day=TUESDAY)
    (made,) = greedy(week(skilled, workers=(UNSKILLED, SKILLED))).assignments
    assert (made.worker, made.day) == ("Bea", TUESDAY)


def test_a_shift_may_be_filled_to_its_last_minute() -> None:
    """450 minutes of work and 2 x 15 of way are 480."""
    fits, one_more = (greedy(week(job("J", minutes=minutes))) for minutes in (450, 451))
    assert [made.finish_minute for made in fits.assignments] == [885]
    assert one_more.assignments == ()


def test_the_same_season_gives_the_same_plan() -> None:
    instance = season(5, towers=60, sites=10, people=2, bases=2, day_count=6)
    assert greedy(instance) == greedy(instance)
