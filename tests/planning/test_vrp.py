"""The better plan: legal, never worse than the simple one, the best there is where all can be tried, and honest
sentences where the solver is missing or fails. Two seconds a solve or less; the long searches are in `test_long`.
"""

import random
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings

from seasonlog.planning import vrp, vrp_problem
from seasonlog.planning.checker import broken_rules
from seasonlog.planning.greedy import greedy
from seasonlog.planning.measure import size
from seasonlog.planning.model import Appointment, Instance, Roads, Worker
from seasonlog.planning.routes import Roster
from seasonlog.planning.vrp import Progress, improve
from tests.bench.travel_bound import least_travel_minutes
from tests.planning.generator import place_at, season
from tests.planning.seasons import WEEK, best_of_all, job, seasons, week


def one_day(seed: int, towers: int, people: int = 1, shift_minutes: int = 480) -> Instance:
    """A day with sites strewn over 80 by 80 km, its base in the middle."""
    chance = random.Random(seed)
    places = {"base": place_at(40, 40)} | {
        f"site {n}": place_at(chance.uniform(0, 80), chance.uniform(0, 80)) for n in range(towers)
    }
    jobs = tuple(
        job(f"J{n}", f"site {n}", chance.randint(10, 50), needs_qualified=chance.random() < 0.3) for n in range(towers)
    )
    until = [WEEK[0], None, WEEK[0]]
    workers = tuple(Worker(f"W{n}", "base", shift_minutes, qualified_until=until[n]) for n in range(people))
    return Instance(WEEK[:1], workers, jobs, places)


TINY = {
    "7 stops, all fit": one_day(1, 7, shift_minutes=720),
    "7 stops, some do not fit": one_day(2, 7, shift_minutes=300),
    "6 stops, hardly any fits": one_day(3, 6, shift_minutes=150),
    "5 stops for two, one of them qualified": one_day(4, 5, people=2, shift_minutes=240),
}


@pytest.mark.parametrize("instance", TINY.values(), ids=TINY.keys())
def test_where_all_can_be_tried_the_best_is_found(instance: Instance) -> None:
    """Fewest left out, then least travel, of every order of every choice; agreement to the minute."""
    pytest.importorskip("pyvrp")
    found = improve(instance, 0.3).plan
    assert broken_rules(instance, found) == []
    assert size(instance, found)[:2] == best_of_all(instance)


@pytest.mark.parametrize("shift_minutes", [480, 720])
def test_no_plan_drives_less_than_the_least_travel(shift_minutes: int) -> None:
    """Of every order of every choice that leaves out none; so the bound that the bench prints is one."""
    instance = one_day(1, 6, shift_minutes=shift_minutes)
    left_out, travel = best_of_all(instance)
    assert left_out == 0
    assert 0 < least_travel_minutes(instance) <= travel


def test_the_large_season_is_driven_with_much_less_travel_and_legally() -> None:
    """500 towers, 3 s: measured 0.69 of the way of the best simple plan; the search of 20 s is in `test_long`."""
    pytest.importorskip("pyvrp")
    instance = season(42)
    before = size(instance, vrp.best_greedy(instance))
    heard: list[Progress] = []
    found = improve(instance, 3, on_progress=heard.append)
    after = size(instance, found.plan)
    assert broken_rules(instance, found.plan) == []
    assert found.by == "pyvrp"
    assert after.left_out == before.left_out == 0
    assert after.travel_minutes <= 0.85 * before.travel_minutes
    assert [one.seconds for one in heard] == sorted(one.seconds for one in heard) != []
    assert f"{after.travel_minutes / 60:.0f} h" in found.says


def test_a_season_that_cannot_fit_gives_a_legal_plan_and_the_list() -> None:
    pytest.importorskip("pyvrp")
    instance = season(2, towers=120, sites=20, people=2, bases=2, day_count=8)
    found = improve(instance, 0.5)
    assert broken_rules(instance, found.plan) == []
    assert 0 < len(found.plan.left_out) < 120
    assert all("is full; nearest is" in left.reason for left in found.plan.left_out)


@settings(max_examples=4)
@given(seasons())
def test_any_season_gets_a_legal_plan_not_worse_than_the_simple_one(instance: Instance) -> None:
    pytest.importorskip("pyvrp")
    found = improve(instance, 0.05)
    assert broken_rules(instance, found.plan) == []
    assert size(instance, found.plan) <= size(instance, greedy(instance))


@settings(max_examples=40)
@given(seasons())
def test_a_plan_comes_back_from_the_solvers_words_as_good_as_it_went(instance: Instance) -> None:
    """Only who of equals goes may differ: what stays unplanned, the travel and the legality do not."""
    plan, roster = greedy(instance), Roster(instance)
    problem = vrp_problem.build(roster, plan)
    homeless = problem.fill(roster, problem.document["first"])
    assert {job.id for job in homeless} == {left.job for left in plan.left_out}
    back = roster.plan(plan.left_out)
    assert broken_rules(instance, back) == []
    assert size(instance, back) == size(instance, plan)


def test_a_job_that_only_a_stop_on_the_way_makes_room_for_is_among_the_solvers() -> None:
    """From the base to site 1 it takes 400 minutes, by way of site 2 only 45."""
    instance = replace(week(job("near", "site 1", 90), job("on the way", "site 2", 60), days=WEEK[:1]),
                       roads=Roads(given_minutes={("base", "site 1"): 400}))  # fmt: skip
    plan = greedy(instance)
    assert plan.left_out == ()
    roster = Roster(instance)
    problem = vrp_problem.build(roster, plan)
    assert problem.fill(roster, problem.document["first"]) == []
    assert roster.plan() == plan


def test_appointments_and_qualifications_are_kept() -> None:
    pytest.importorskip("pyvrp")
    people = (Worker("Ann", "base"), Worker("Bea", "base", qualified_until=WEEK[1]))
    agreed = [job(f"agreed {n}", f"site {n}", appointment=Appointment(WEEK[n % 2], 600, 630)) for n in range(1, 4)]
    skilled = [job(f"skilled {n}", f"site {n}", needs_qualified=True) for n in range(1, 6)]
    instance = week(*agreed, *skilled, *(job(f"plain {n}", f"site {n}") for n in range(1, 6)), workers=people)
    found = improve(instance, 0.3).plan
    assert broken_rules(instance, found) == []
    assert found.left_out == ()


def test_without_pyvrp_the_simple_plan_comes_with_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(vrp, "is_installed", lambda: False)
    found = improve(TINY["7 stops, all fit"], 1)
    assert (found.by, found.says) == ("greedy", vrp.NOT_INSTALLED)
    assert "pip install 'seasonlog[plan]'" in found.says
    assert broken_rules(TINY["7 stops, all fit"], found.plan) == []


CHILDREN = {
    "fails": ("raise RuntimeError('the solver is broken')", "the solver is broken"),
    "says nothing": ("pass", "ended without an answer"),
    "says rubbish": ("print('[1]\\nrubbish')", "ended without an answer"),
    "names jobs that are not there": ('print(\'{"routes": [{"shift": 0, "jobs": [99]}]}\')', "cannot be read"),
    "gives half a document": ("print('{\"routes\": [{}]}')", "cannot be read"),
}


@pytest.mark.parametrize(("code", "says"), CHILDREN.values(), ids=CHILDREN.keys())
def test_a_solver_that_fails_leaves_the_simple_plan(
    code: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    child = tmp_path / "child.py"
    child.write_text(code)
    monkeypatch.setattr(vrp, "CHILD", child)
    monkeypatch.setattr(vrp, "is_installed", lambda: True)
    found = improve(TINY["7 stops, all fit"], 1)
    assert found.by == "greedy"
    assert says in found.says
    assert broken_rules(TINY["7 stops, all fit"], found.plan) == []


def test_illegal_routes_of_a_solver_are_not_believed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All seven in a shift that holds some: refused, and the day is filled by our own hand."""
    instance = TINY["7 stops, some do not fit"]
    child = tmp_path / "child.py"
    child.write_text('print(\'{"routes": [{"shift": 0, "jobs": [0, 1, 2, 3, 4, 5, 6]}]}\')')
    monkeypatch.setattr(vrp, "CHILD", child)
    monkeypatch.setattr(vrp, "is_installed", lambda: True)
    assert broken_rules(instance, improve(instance, 1).plan) == []


def test_an_error_of_the_listener_ends_the_search_and_is_passed_on() -> None:
    pytest.importorskip("pyvrp")

    def stop(progress: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        improve(season(1, towers=60, sites=10, people=2, bases=2, day_count=8), 30, on_progress=stop)


def test_nobody_and_nothing_to_do() -> None:
    pytest.importorskip("pyvrp")
    for instance in (week(), week(job("J"), workers=()), replace(week(job("J")), days=())):
        assert broken_rules(instance, improve(instance, 0.05).plan) == []


def test_pyvrp_and_what_it_pulls_in_never_load_into_our_process() -> None:
    pytest.importorskip("pyvrp")
    code = (
        "import sys; from seasonlog.planning.vrp import improve; from tests.planning.test_vrp import TINY;"
        "improve(TINY['6 stops, hardly any fits'], 0.05);"
        "print(*{m.partition('.')[0] for m in sys.modules} & {'pyvrp', 'numpy', 'matplotlib', 'textual'})"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == ""
