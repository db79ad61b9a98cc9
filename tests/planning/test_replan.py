"""A plan repaired: what is done stays, little moves, and everything that moved is told."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.errors import InputRefusedError
from seasonlog.planning.changes import Away, Change, DroppedJob, Gone, NewJob, ShiftedWindow
from seasonlog.planning.checker import broken_rules
from seasonlog.planning.greedy import greedy
from seasonlog.planning.model import Appointment, Assignment, Instance, Plan, Worker
from seasonlog.planning.replan import Replanned, replan
from tests.planning.generator import season
from tests.planning.seasons import WEEK, appointments, job, seasons, week
from tests.planning.seasons import jobs as any_job

TWO = (Worker("Ann", "base"), Worker("Bea", "base"))
SEASON = week(*(job(f"J{n}", f"site {n % 5 + 1}", 120) for n in range(12)), workers=TWO)
PLAN = greedy(SEASON)


def days_of(plan: Plan) -> dict[str, tuple[str, date]]:
    return {made.job: (made.worker, made.day) for made in plan.assignments}


def by_person(plan: Plan, worker: str, day: date) -> list[str]:
    return [made.job for made in plan.assignments if (made.worker, made.day) == (worker, day)]


def checked(found: Replanned, done: list[str] | None = None) -> Replanned:
    assert broken_rules(found.instance, found.plan, done or []) == []
    return found


def test_without_changes_nothing_moves() -> None:
    found = checked(replan(SEASON, PLAN, [], []))
    assert (found.plan, found.moved, found.retimed) == (PLAN, (), ())


def test_a_sick_persons_day_is_given_to_others_and_nothing_else_moves() -> None:
    sick = by_person(PLAN, "Ann", WEEK[0])
    found = checked(replan(SEASON, PLAN, [], [Away("Ann", frozenset(WEEK[:1]))]))
    assert sorted(move.job for move in found.moved) == sorted(sick) != []
    assert found.plan.left_out == ()


def test_a_new_job_is_taken_in_and_nobody_elses_day_changes() -> None:
    found = checked(replan(SEASON, PLAN, [], [NewJob(job("new", "site 2", 30))]))
    (move,) = found.moved
    assert (move.job, move.before) == ("new", None)
    assert {k: v for k, v in days_of(found.plan).items() if k != "new"} == days_of(PLAN)
    assert str(move).startswith("new: not planned -> ")


@pytest.mark.parametrize("site", [f"site {n}" for n in range(1, 6)])
def test_of_two_places_the_one_that_retimes_nothing_is_taken(site: str) -> None:
    """There are empty days and ends of days enough, so nobody's time needs to change."""
    found = checked(replan(SEASON, PLAN, [], [NewJob(job("new", site, 30))]))
    assert found.retimed == ()


def test_a_job_with_other_days_moves_alone() -> None:
    first = PLAN.assignments[0].job
    found = checked(replan(SEASON, PLAN, [], [ShiftedWindow(first, WEEK[4], WEEK[4])]))
    (move,) = found.moved
    assert move.job == first
    assert move.after is not None
    assert move.after.day == WEEK[4]


def test_an_appointment_that_came_later_is_kept() -> None:
    agreed = Appointment(WEEK[3], 600, 615)
    found = checked(replan(SEASON, PLAN, [], [ShiftedWindow("J0", WEEK[0], WEEK[4], agreed)]))
    (made,) = [made for made in found.plan.assignments if made.job == "J0"]
    assert made.day == WEEK[3]
    assert 600 <= made.start_minute <= 615


def test_a_dropped_job_leaves_and_nothing_else_moves() -> None:
    found = checked(replan(SEASON, PLAN, [], [DroppedJob("J0")]))
    (move,) = found.moved
    assert (move.job, move.after) == ("J0", None)
    assert found.says.startswith("Moved: 1, of which out of the plan: 1.")


def test_what_is_done_keeps_its_person_its_day_and_its_time_even_of_who_is_sick_now() -> None:
    done = by_person(PLAN, "Ann", WEEK[0])[:1]
    found = checked(replan(SEASON, PLAN, done, [Away("Ann", frozenset(WEEK))]), done)
    assert PLAN.assignments[0] in found.plan.assignments
    assert {worker for name, (worker, _) in days_of(found.plan).items() if name not in done} == {"Bea"}


def test_a_day_that_has_begun_goes_on_after_what_is_done() -> None:
    first, second = by_person(PLAN, "Ann", WEEK[0])[:2]
    late = tuple(
        replace(made, start_minute=600, finish_minute=720) if made.job == first else made for made in PLAN.assignments
    )
    found = checked(replan(SEASON, replace(PLAN, assignments=late), [first], []), [first])
    made = {one.job: one for one in found.plan.assignments}
    assert made[first].finish_minute == 720
    assert (made[second].worker, made[second].day) != ("Ann", WEEK[0]) or made[second].start_minute >= 720


def test_done_out_of_turn_leaves_no_two_jobs_of_one_order() -> None:
    second = by_person(PLAN, "Ann", WEEK[0])[1]
    checked(replan(SEASON, PLAN, [second], []), [second])


def test_what_was_not_done_in_time_is_planned_again_from_today_on() -> None:
    missed = [made.job for made in PLAN.assignments if made.day == WEEK[0]]
    found = checked(replan(SEASON, PLAN, [], [], from_day=WEEK[1]))
    assert sorted(move.job for move in found.moved) == sorted(missed)
    assert min(made.day for made in found.plan.assignments) >= WEEK[1]


def test_what_had_no_place_gets_one_when_there_is_room() -> None:
    small = week(job("A", minutes=300), job("B", minutes=300), days=WEEK[:1])
    plan = greedy(small)
    (left,) = plan.left_out
    (other,) = plan.assignments
    found = checked(replan(small, plan, [], [DroppedJob(other.job)]))
    assert [made.job for made in found.plan.assignments] == [left.job]


def test_one_job_gives_way_where_that_is_the_only_way() -> None:
    """Ann's Monday holds what could wait; the new job cannot, and Tuesday has room only for what gives way."""
    small = week(job("can wait", minutes=300), days=WEEK[:2])
    plan = greedy(small)
    found = checked(replan(small, plan, [], [NewJob(job("cannot", minutes=300, last_day=WEEK[0]))]))
    assert days_of(found.plan) == {"cannot": ("Ann", WEEK[0]), "can wait": ("Ann", WEEK[1])}
    assert [move.job for move in found.moved] == ["can wait", "cannot"]


def test_what_cannot_be_placed_is_left_out_with_its_reason() -> None:
    found = checked(replan(SEASON, PLAN, [], [Away(worker.id, frozenset(WEEK)) for worker in TWO]))
    assert found.plan.assignments == ()
    assert all("nobody works" in left.reason for left in found.plan.left_out)


@pytest.mark.parametrize(
    "change",
    [Away("Cid", frozenset()), DroppedJob("x"), ShiftedWindow("x", WEEK[0], WEEK[1]), NewJob(job("J0"))],
    ids=["person", "dropped", "shifted", "there already"],
)
def test_a_change_of_what_is_not_there_is_refused(change: Change) -> None:
    with pytest.raises(InputRefusedError, match=r"not part of this plan|more than once"):
        replan(SEASON, PLAN, [], [change])


@st.composite
def any_changes(draw: st.DrawFn, instance: Instance) -> list[Change]:
    changes: list[Change] = [NewJob(draw(any_job(99)))]
    if instance.workers:
        away = draw(st.frozensets(st.sampled_from(WEEK)))
        changes.append(Away(draw(st.sampled_from(instance.workers)).id, away))
    if instance.jobs:
        window = sorted(draw(st.tuples(st.sampled_from(WEEK), st.sampled_from(WEEK))))
        name = draw(st.sampled_from(instance.jobs)).id
        changes.append(ShiftedWindow(name, window[0], window[1], draw(st.none() | appointments())))
    return changes


@settings(max_examples=40)
@given(seasons(), st.data())
def test_any_changes_give_a_legal_plan_in_which_done_work_is_as_it_was(instance: Instance, data: st.DataObject) -> None:
    plan = greedy(instance)
    done = data.draw(st.sets(st.sampled_from([made.job for made in plan.assignments] or [""])))
    found = replan(instance, plan, done, data.draw(any_changes(instance)), data.draw(st.none() | st.sampled_from(WEEK)))
    assert broken_rules(found.instance, found.plan, done) == []
    facts = {made for made in plan.assignments if made.job in done}
    assert facts <= set(found.plan.assignments)


@settings(max_examples=40)
@given(seasons(), st.data())
def test_the_moves_are_the_difference_of_the_plans(instance: Instance, data: st.DataObject) -> None:
    plan = greedy(instance)
    found = replan(instance, plan, [], data.draw(any_changes(instance)))
    before, after = ({one.job: one for one in p.assignments} for p in (plan, found.plan))
    told = {move.job for move in (*found.moved, *found.retimed)}
    differs = {n for n in {*before, *after} if _when(before.get(n)) != _when(after.get(n))}
    assert told == differs


def _when(made: Assignment | None) -> tuple[object, ...] | None:
    return (made.worker, made.day, made.start_minute) if made else None


def test_a_sick_week_in_a_larger_season_moves_little_more_than_the_sick_persons_jobs() -> None:
    """Measured: at most as many others move as jobs had to find a new place."""
    large = season(3, towers=120, sites=20, people=4, bases=2, day_count=8)
    plan = greedy(large)
    away = frozenset(large.days[:3])
    struck = [made for made in plan.assignments if made.worker == "W1" and made.day in away]
    found = checked(replan(large, plan, [], [Away("W1", away)]))
    assert len(struck) <= len([move for move in found.moved if move.before]) <= 2 * len(struck)


NOON = 12 * 60


def test_a_person_gone_at_noon_keeps_the_morning_and_others_take_the_rest_after_noon() -> None:
    before = {made.job: made for made in PLAN.assignments}
    found = checked(replan(SEASON, PLAN, [], [Gone("Ann", WEEK[0], NOON)], WEEK[0], NOON))
    after = {made.job: made for made in found.plan.assignments}
    todays = [made for made in PLAN.assignments if made.day == WEEK[0]]
    finished = [made for made in todays if made.worker == "Ann" and made.finish_minute <= NOON]
    struck = [made for made in todays if made.worker == "Ann" and made.finish_minute > NOON]
    assert finished
    assert struck
    assert all(after[made.job] == made for made in finished)
    assert all(after[made.job] == made for made in todays if made.worker == "Bea")
    assert {move.job for move in found.moved} == {made.job for made in struck}
    assert all(made.start_minute >= NOON for made in after.values() if made.day == WEEK[0] and made != before[made.job])
    assert found.retimed == ()


def test_nothing_new_begins_before_the_time_of_day_and_who_had_set_out_is_left_alone() -> None:
    """Bea has an empty day; one minute before noon is over, and Ann on the road goes where she was sent."""
    later = replace(SEASON, days=WEEK[:2])
    ann = week(job("A", "site 1", 60), job("B", "site 5", 60), workers=TWO, days=WEEK[:1])
    plan = Plan((Assignment("A", "Ann", WEEK[0], 1, 435, 495), Assignment("B", "Ann", WEEK[0], 2, 555, 615)))
    assert greedy(later).assignments
    found = checked(replan(ann, plan, [], [NewJob(job("new", "site 1", 60))], WEEK[0], 500))
    new = next(made for made in found.plan.assignments if made.job == "new")
    assert [made for made in found.plan.assignments if made.job != "new"] == list(plan.assignments)
    assert new.start_minute >= 500 + (15 if new.worker == "Bea" else 0)


@settings(max_examples=40)
@given(seasons(), st.data())
def test_any_hour_of_any_day_gives_a_legal_plan_that_begins_nothing_before_it(
    instance: Instance, data: st.DataObject
) -> None:
    plan = greedy(instance)
    if not instance.days or not instance.workers:
        return
    day, minute = data.draw(st.sampled_from(instance.days)), data.draw(st.integers(0, 1439))
    gone = Gone(data.draw(st.sampled_from(instance.workers)).id, day, minute)
    done = [made.job for made in plan.assignments if made.day < day]
    found = replan(instance, plan, done, [gone], day, minute)
    assert broken_rules(found.instance, found.plan, done) == []
    was = {made.job: made for made in plan.assignments}
    fresh = [made for made in found.plan.assignments if made.day == day and made != was.get(made.job)]
    assert all(made.start_minute >= minute for made in fresh)
    assert all(
        made.worker != gone.worker or made.finish_minute <= minute for made in found.plan.assignments if made.day == day
    )
