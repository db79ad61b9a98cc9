"""What a plan file says and the plan cannot keep to is told: appointments past or to come, checklists that are none."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.domain.season import FALL_ENABLE
from seasonlog.errors import InputRefusedError
from seasonlog.services import plan, plan_rows
from seasonlog.services.logbook import Logbook
from tests.builders import FixedBytes, FixedClock, Surroundings, a_book
from tests.services.plan_samples import FROM, PLAN, request

AGREED = '[[appointment]]\ntower = "HOS-2"\nchecklist = "fall-enable"\nday = {}\nfrom = "10:00"\n'


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    around = Surroundings(FixedClock(datetime(2026, 8, 20, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=around) as opened:
        yield opened


@pytest.mark.parametrize(
    ("day", "reason"), [("2026-08-26", "agreed for 2026-08-26, after this plan"), ("2062-08-26", "lies outside")]
)
def test_an_appointment_beyond_the_plan_holds_its_visit_back(book: Logbook, day: str, reason: str) -> None:
    """Nobody may go on another day than the one that was agreed; a mistyped year is seen by its reason."""
    short = request(file=PLAN + AGREED.format(day), days=4)
    work = plan.draft(book, short)
    (left,) = [u for u in plan_rows.unplaced(work) if u.item.tower == "HOS-2" and u.item.checklist == FALL_ENABLE]
    assert reason in left.reason


@pytest.mark.parametrize("day", ["2026-08-19", "2025-08-26"])
def test_an_appointment_that_is_past_is_told(book: Logbook, day: str) -> None:
    (note,) = plan.draft(book, request(file=PLAN + AGREED.format(day))).inputs.notes
    assert note.endswith(f"agreed for {day}, which is past on {FROM}; no visit is held to it.")


@pytest.mark.parametrize(
    "wrong",
    [
        PLAN.replace("fall-enable = 120", "fal-enable = 120"),
        PLAN.replace("fall-enable = 45", "fal-enable = 45"),
        PLAN + AGREED.format("2026-08-26").replace("fall-enable", "fal-enable"),
    ],
    ids=["minutes", "minutes of a kind", "appointment"],
)
def test_a_mistyped_checklist_is_refused_with_its_line(book: Logbook, wrong: str) -> None:
    with pytest.raises(InputRefusedError, match=r"line \d+, .*fal-enable is no checklist; there are .*fall-enable"):
        plan.draft(book, request(file=wrong))
