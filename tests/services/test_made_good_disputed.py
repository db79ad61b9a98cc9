"""A step that two devices dispute, and a retest in which it passed since: one tower and the table say the same."""

from pathlib import Path

from seasonlog.services import closing, corrections, rounds
from seasonlog.services.exposure import Asked, exposure
from seasonlog.services.logbook import Logbook
from tests.builders import QUALIFIED, TODAY, a_visit, answered
from tests.services.test_coverage import both
from tests.services.test_disputed import furnished

TOWER = "DAT-1"
"""One on which no other step is weak."""


def test_what_two_devices_dispute_is_made_good_both_ways(tmp_path: Path) -> None:
    north, south = furnished(tmp_path)
    with north.book() as book:
        visit = done(book, "fall-enable")
        assert TOWER not in told(book)
        step = next(key for key in rounds.progress(book, visit).answers if key.startswith("insulation_mohm"))
    south.take(north.export())
    for laptop, value in ((north, "500"), (south, "600")):
        with laptop.book() as book:
            book.who = "Halden Pruskett"
            corrections.amend(book, visit, step, value, "typed wrong")
    north.take(south.export())
    with north.book() as book:
        assert len(corrections.undecided(book)) == 1
        assert "steps_proven" in both(book)[visit]
        assert TOWER in told(book), "nor does the board of what may freeze call it proven"
        done(book, "repair-retest")
        assert "steps_proven" not in both(book)[visit]


def told(book: Logbook) -> set[str]:
    """Towers that the board of exposed towers names one by one, since they are not proven."""
    shown = exposure(book, TODAY, Asked())
    return {each.found.tower for each in (*shown.exposed, *shown.not_now)}


def done(book: Logbook, checklist: str) -> str:
    book.who = QUALIFIED
    at = answered(book, a_visit(book, TOWER, checklist))
    return closing.sign_off(book, at, closing.NOT_AVAILABLE).visit.id
