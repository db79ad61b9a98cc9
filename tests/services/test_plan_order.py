"""On one tower the fall enable goes before the checks of the same winter: drafted, moved, published, repaired."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from seasonlog.domain.season import COLD_SNAP, FALL_ENABLE, MID_WINTER
from seasonlog.errors import InputRefusedError
from seasonlog.planning.vrp import best_greedy
from seasonlog.services import closing, plan
from seasonlog.services.logbook import Logbook
from seasonlog.services.plan import Absence, Addition, Workplan
from seasonlog.services.plan_moves import move, take_out, targets
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book, a_visit, answered
from tests.services.plan_samples import is_legal, published, request

ON = date(2026, 11, 20)
"""A Friday: every fall enable of the north is overdue, the second month is open."""
DAYS = 10


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 11, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


def pairs(work: Workplan) -> list[tuple[str, str]]:
    """Check and enable of a tower, both planned."""
    found = {m.job for m in work.plan.assignments}
    return [(j.id, j.after) for j in work.inputs.instance.followers if {j.id, j.after} <= found]


def in_order(work: Workplan) -> bool:
    at = {m.job: (m.day, m.start_minute) for m in work.plan.assignments}
    return all(at[enable] < at[check] for check, enable in pairs(work))


def as_before_the_rule(work: Workplan) -> Workplan:
    """The simple plan as if nothing were in order: what an older seasonlog drafted."""
    instance = replace(work.inputs.instance, jobs=tuple(replace(j, after="") for j in work.inputs.instance.jobs))
    return replace(work, plan=best_greedy(instance))


def test_a_draft_has_every_enable_before_its_months_check_and_without_the_rule_it_had_not(book: Logbook) -> None:
    """The control: the same season planned without the rule breaks it on several towers."""
    work = plan.draft(book, request(ON, days=DAYS))
    assert len(pairs(work)) == 9  # six towers of the north, three of the south
    assert is_legal(work)
    assert in_order(work)
    assert len([each for each in as_before_the_rule(work).broken if "goes first" in each]) >= 2


def test_who_is_asked_to_come_after_what(book: Logbook) -> None:
    """Month's check and cold-snap check after the enable of the same winter; the spring disable after nothing."""
    snap = Addition("HOS-1", COLD_SNAP, ON, ON + timedelta(days=1), "cold")
    published(book, ON)
    work = plan.replanned(book, request(ON, file=None, days=DAYS), added=[snap])
    ours = [j for j in work.inputs.instance.jobs if j.tower in ("HOS-1", "ORR-1")]
    told = {(j.tower, j.checklist): (j.after.partition(" ")[2], j.is_look) for j in ours if j.after}
    assert told["HOS-1", MID_WINTER] == ("fall-enable 2026-1", False)
    assert told["HOS-1", COLD_SNAP] == ("fall-enable 2026-1", True)
    assert {checklist for _, checklist in told} == {MID_WINTER, COLD_SNAP}


def test_an_enable_that_is_done_holds_nothing_back(book: Logbook) -> None:
    closing.sign_off(book, answered(book, a_visit(book, "HOS-1", FALL_ENABLE, ON)), closing.NOT_AVAILABLE)
    work = plan.draft(book, request(ON, days=DAYS))
    assert {j.after for j in work.inputs.instance.jobs if j.tower == "HOS-1"} == {""}


def test_by_hand_the_check_is_not_put_before_the_enable_and_every_day_offered_is_taken(book: Logbook) -> None:
    work = published(book, ON)
    check, enable = next(pair for pair in pairs(work) if pair[0].startswith("HOS-5"))
    at = {m.job: m for m in work.plan.assignments}
    assert at[check].day == date(2026, 11, 23)
    with pytest.raises(InputRefusedError, match="is not after HOS-5 fall-enable 2026-1, which goes first"):
        move(work, enable, at[enable].worker, date(2026, 11, 24))
    open_to = targets(work, check)
    assert open_to
    assert all(day > at[enable].day or (who, day) == (at[enable].worker, at[enable].day) for who, day in open_to)
    assert all(is_legal(move(work, check, who, day)) for who, day in open_to)
    alone = take_out(work, enable)  # nobody makes the enable: the check may stand where it likes
    assert len(targets(alone, check)) >= len(open_to)
    assert is_legal(alone)


def test_a_draft_out_of_order_is_not_published(book: Logbook) -> None:
    old = as_before_the_rule(plan.draft(book, request(ON, days=DAYS)))
    with pytest.raises(InputRefusedError, match="which goes first and is on"):
        plan.publish(book, old)


@pytest.mark.parametrize("minute", [0, 12 * 60])
def test_when_who_has_the_enables_falls_out_the_repair_keeps_the_order(book: Logbook, minute: int) -> None:
    work = published(book, ON)
    enable = pairs(work)[0][1]
    who = next(m.worker for m in work.plan.assignments if m.job == enable)
    repaired = plan.replanned(book, request(ON, file=None, days=DAYS), [Absence(who, ON, ON, minute)])
    assert repaired.moved
    assert is_legal(repaired)
    assert in_order(repaired)
    plan.publish(book, repaired, "ill")


def test_an_enable_missed_yesterday_goes_before_todays_check(book: Logbook) -> None:
    """Nobody made Friday's enables; on Monday they are planned first, and the checks after them."""
    work = published(book, ON)
    monday = ON + timedelta(days=3)
    assert [m for m in work.plan.assignments if m.day == ON and FALL_ENABLE in m.job]
    repaired = plan.replanned(book, request(monday, file=None, days=DAYS))
    assert {check.split()[0] for check, _ in pairs(repaired)} >= {f"HOS-{n}" for n in range(1, 7)}
    assert is_legal(repaired)
    assert in_order(repaired)
