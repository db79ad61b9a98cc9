"""What failed at the fall enable and passed in a retest since proves the season; asked of one tower and of the table.

That a repaired part is proved by repeating the step that failed is common practice, no source.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path

import pytest

from seasonlog.domain.answers import Raw
from seasonlog.domain.coverage import Coverage
from seasonlog.domain.coverage_cells import CellState
from seasonlog.domain.late import Late
from seasonlog.domain.visit import Progress, VisitState
from seasonlog.services import board, closing, corrections, customer_copy, recall, registry, rounds
from seasonlog.services.coverage import grid
from seasonlog.services.demo_readings import healthy
from seasonlog.services.logbook import Logbook, Surroundings
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, answered
from tests.services.test_coverage import both

AUGUST = date(2026, 8, 20)
TOWER, DEAD = "HOS-2", {"line_amps": ("0", "18.7", "18.7")}


def in_august(folder: Path) -> Logbook:
    return a_book(folder, surroundings=Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes()))


@pytest.fixture
def failed(tmp_path: Path) -> Iterator[Logbook]:
    """A fall enable in its window, signed off with a dead line."""
    with in_august(tmp_path) as book:
        done(book, "fall-enable", DEAD)
        assert state(book) == ("not_proven", CellState.AMISS)
        yield book


def done(book: Logbook, checklist: str, wrong: Mapping[str, Raw] | None = None) -> str:
    at = answered(book, a_visit(book, TOWER, checklist, AUGUST), wrong or {})
    return closing.sign_off(book, at, closing.NOT_AVAILABLE).visit.id


def state(book: Logbook) -> tuple[str, CellState]:
    """The answer for the tower, and for its cell; both ways of the cell agree."""
    both(book)
    return str(covered(book).protection), grid(book, AUGUST).cell(TOWER, "fall-enable", 2026).state


def covered(book: Logbook) -> Coverage:
    return board.covered(book, registry.of_known_tower(book.db, TOWER), TOWER, AUGUST)


def test_a_passed_retest_proves_the_season(failed: Logbook) -> None:
    done(failed, "repair-retest")
    assert state(failed) == ("proven", CellState.DONE)
    (reason,) = covered(failed).reasons
    assert reason.startswith("Fall enable on 2026-08-20 by Mirel Oduvane; what failed passed in the ")
    assert reason.endswith(" of 2026-08-20")


def test_the_visit_itself_still_says_that_it_failed(failed: Logbook) -> None:
    done(failed, "repair-retest")
    (first, *_) = [v for v, *_ in failed.db.execute("SELECT visit FROM proof WHERE checklist = 'fall-enable'")]
    assert "NOT PROVEN" in customer_copy.customer_copy(failed, rounds.progress(failed, first))


def test_a_retest_that_nobody_signed_proves_nothing(failed: Logbook) -> None:
    at = answered(failed, a_visit(failed, TOWER, "repair-retest", AUGUST))
    assert state(failed)[0] == "not_proven"
    closing.close_unfinished(failed, at, VisitState.INCOMPLETE, "dark")
    assert state(failed) == ("not_proven", CellState.AMISS)


def test_a_retest_in_which_it_fails_again_proves_nothing(failed: Logbook) -> None:
    done(failed, "repair-retest", DEAD)
    assert state(failed) == ("not_proven", CellState.AMISS)
    done(failed, "repair-retest")
    assert state(failed)[0] == "proven"
    done(failed, "repair-retest", DEAD)
    assert state(failed) == ("not_proven", CellState.AMISS), "the last one decides"


def test_a_retest_with_a_meter_that_is_recalled_proves_nothing_until_a_review(failed: Logbook) -> None:
    done(failed, "repair-retest")
    recall.recall(failed, "CL-01", date(2026, 8, 1), "dropped")
    assert state(failed) == ("not_proven", CellState.AMISS)


def test_a_retest_with_a_meter_out_of_calibration_proves_nothing(failed: Logbook) -> None:
    at = rounds.choose_instrument(failed, a_visit(failed, TOWER, "repair-retest", AUGUST), "voltmeter", "VM-02")
    closing.sign_off(failed, answered(failed, at), closing.NOT_AVAILABLE)
    assert state(failed) == ("not_proven", CellState.AMISS)


def test_a_step_the_retest_does_not_ask_stays_open(tmp_path: Path) -> None:
    with in_august(tmp_path) as book:
        at = a_visit(book, TOWER, "fall-enable", AUGUST)
        asked = {i.key for i in a_visit(book, TOWER, "repair-retest", AUGUST).instances}
        only = next(i.key for i in at.instances if i.step.required and i.key not in asked)
        at = rounds.skip(book, answered(book, at, until=only), only, "no time")
        for instance in at.instances[[i.key for i in at.instances].index(only) + 1 :]:
            if at.waits_for(instance.key):
                at = rounds.skip(book, at, instance.key, "its gate is shut")
            else:
                at = rounds.answer(book, at, instance.key, healthy(at, instance, book.today()))
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        done(book, "repair-retest")
        assert state(book) == ("not_proven", CellState.AMISS)


def test_what_failed_after_the_retest_of_a_visit_still_open_is_not_made_good(tmp_path: Path) -> None:
    with in_august(tmp_path) as book:
        first = answered(book, a_visit(book, TOWER, "fall-enable", AUGUST), until="line_amps")
        done(book, "repair-retest")
        at = rounds.answer(book, rounds.progress(book, first.visit.id), "line_amps", DEAD["line_amps"])
        for instance in at.instances[len(at.answers) :]:
            if at.waits_for(instance.key):
                at = rounds.skip(book, at, instance.key, "its gate is shut")
            else:
                at = rounds.answer(book, at, instance.key, healthy(at, instance, book.today()))
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        assert state(book) == ("not_proven", CellState.AMISS)


def rest(book: Logbook, at: Progress) -> None:
    """What is not answered yet, healthy; then signed off."""
    for instance in at.instances:
        if instance.key not in at.answers:
            at = rounds.answer(book, at, instance.key, healthy(at, instance, book.today()))
    closing.sign_off(book, at, closing.NOT_AVAILABLE)


def test_what_freezes_nothing_and_failed_after_the_retest_is_not_made_good(tmp_path: Path) -> None:
    """No finding of its severity stands in the way of proof, so that the order alone tells."""
    with in_august(tmp_path) as book:
        first = answered(book, a_visit(book, TOWER, "fall-enable", AUGUST), until="cut_out_degf")
        done(book, "repair-retest")
        rest(book, rounds.answer(book, rounds.progress(book, first.visit.id), "cut_out_degf", "70"))
        assert state(book) == ("not_proven", CellState.AMISS)
        done(book, "repair-retest")
        assert state(book) == ("proven", CellState.DONE)


def test_a_correction_after_the_retest_still_failed_before_it(tmp_path: Path) -> None:
    with in_august(tmp_path) as book:
        first = answered(book, a_visit(book, TOWER, "fall-enable", AUGUST), until="cut_out_degf")
        at = rounds.answer(book, first, "cut_out_degf", "70")
        done(book, "repair-retest")
        rest(book, at)
        assert state(book) == ("proven", CellState.DONE)
        corrections.amend(book, first.visit.id, "cut_out_degf", "71", "typed wrong")
        assert state(book) == ("proven", CellState.DONE)


def test_a_retest_typed_in_later_and_made_before_makes_nothing_good(tmp_path: Path) -> None:
    with in_august(tmp_path) as book:
        done(book, "fall-enable", {"cut_out_degf": "70"})
        at = a_visit(book, TOWER, "repair-retest", AUGUST)
        late = Late(datetime(2026, 8, 18, 9, tzinfo=timezone(timedelta(hours=-5))), "Mirel Oduvane")
        for instance in at.instances:
            given = healthy(at, instance, book.today())
            at = rounds.answer(book, at, instance.key, given, rounds.AnswerOptions(late=late))
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        assert state(book) == ("not_proven", CellState.AMISS)


@pytest.mark.parametrize("step", ["second_person", "permits"])
def test_a_permit_held_at_the_retest_was_not_held_at_the_fall_enable(tmp_path: Path, step: str) -> None:
    """How a visit was made is told by that visit alone; only the tower's own state is proved by repeating a step."""
    with in_august(tmp_path) as book:
        done(book, "fall-enable", {step: "no"})
        done(book, "repair-retest")
        assert state(book) == ("not_proven", CellState.AMISS)


def test_a_retest_before_the_fall_enable_makes_nothing_good(tmp_path: Path) -> None:
    with in_august(tmp_path) as book:
        done(book, "repair-retest")
        done(book, "fall-enable", DEAD)
        assert state(book) == ("not_proven", CellState.AMISS)
