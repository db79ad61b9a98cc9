"""A visit written by a device in dispute: of two pasts, or after its key was revoked."""

import shutil
import sqlite3
from pathlib import Path

import pytest

from seasonlog.domain.audit_rules import undisputed
from seasonlog.domain.coverage_cells import CellState, Outcome
from seasonlog.domain.records import Kind
from seasonlog.domain.register import Register
from seasonlog.journal import two_pasts
from seasonlog.services import closing, devices
from seasonlog.services.coverage import grid
from seasonlog.services.coverage_cell import opened
from seasonlog.services.logbook import Logbook, Record
from seasonlog.services.register import preview, write
from tests.builders import TODAY, a_visit, answered, sample_register
from tests.journal.laptops import Laptop, enrolled

TOWER, SUPERVISOR = "HOS-1", "Halden Pruskett"


def signed(laptop: Laptop) -> None:
    with laptop.book() as book:
        closing.sign_off(book, answered(book, a_visit(book, TOWER)), closing.NOT_AVAILABLE)


def furnished(tmp_path: Path) -> tuple[Laptop, Laptop]:
    north, south = enrolled(tmp_path)
    with north.book() as book:
        write(book, preview(Register.of(()), list(sample_register().records())))
    south.take(north.export())
    north.take(south.export())
    return north, south


def told(book: Logbook) -> tuple[CellState, Outcome, str]:
    cell = grid(book, TODAY).cell(TOWER, "fall-enable", 2026)
    (visit,) = opened(book, cell.key, TODAY).visits
    result = next(r for r in visit.results if r.rule == undisputed.__name__)
    assert (undisputed.__name__ in cell.broken) == (result.outcome is Outcome.BROKEN), "both ways say the same"
    return cell.state, result.outcome, result.says


def test_a_visit_of_one_of_two_pasts_is_amiss_and_says_why(tmp_path: Path) -> None:
    north, south = furnished(tmp_path)
    twin = Laptop(tmp_path, "twin", 30)
    shutil.copytree(south.at.home, twin.at.home)
    signed(south)
    twin.note("something else")
    north.take(south.export())
    with north.book() as book:
        assert told(book)[1:] == (Outcome.KEPT, "")
    north.take(twin.export())
    with north.book() as book:
        state, outcome, says = told(book)
    assert (state, outcome) == (CellState.AMISS, Outcome.BROKEN)
    assert f"FORK: device {south.dev} wrote two entries with number" in says


def test_what_is_disputed_is_worked_out_once_for_the_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All entries since the fork are read for it: once for each of very many visits, the table would stand still."""
    north, south = furnished(tmp_path)
    twin = Laptop(tmp_path, "twin", 30)
    shutil.copytree(south.at.home, twin.at.home)
    signed(south)
    signed(south)
    twin.note("something else")
    north.take(south.export())
    north.take(twin.export())
    worked_out: list[object] = []
    branches = two_pasts.branches

    def counted(db: sqlite3.Connection) -> list[two_pasts.Branches]:
        worked_out.append(db)
        return branches(db)

    monkeypatch.setattr(two_pasts, "branches", counted)
    with north.book() as book:
        assert undisputed.__name__ in grid(book, TODAY).cell(TOWER, "fall-enable", 2026).broken
    assert len(worked_out) == 1


def test_a_fork_that_is_only_claimed_decides_nothing(tmp_path: Path) -> None:
    north, south = furnished(tmp_path)
    signed(south)
    north.take(south.export())
    with north.book() as book:
        before = told(book)[0]
        body = {"device": south.dev, "seq": 2, "held": "ab" * 32, "other": "cd" * 32, "line": "", "sig": "00" * 64}
        book.write(Record(Kind.FORK_FOUND, body))
        state, outcome, says = told(book)
    assert (state, outcome) == (before, Outcome.CANNOT_TELL)
    assert "what is here does not prove it" in says


def test_a_visit_written_after_its_device_was_revoked(tmp_path: Path) -> None:
    """North took it in before it learnt from east that the laptop had been lost."""
    north, south = furnished(tmp_path)
    east = Laptop(tmp_path, "east", 3)
    east.take(north.export())
    with north.book() as book:
        book.who = SUPERVISOR
        devices.enrol(book, east.dev, "the east laptop")
    east.take(north.export())
    signed(south)
    north.take(south.export())
    with east.book() as book:
        book.who = SUPERVISOR
        devices.revoke(book, south.dev, "left on a roof")
    north.take(east.export())
    with north.book() as book:
        state, outcome, says = told(book)
    assert (state, outcome) == (CellState.AMISS, Outcome.BROKEN)
    assert says.startswith(f"REVOKED: of device {south.dev} the first ")
