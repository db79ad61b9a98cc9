"""A log of every version is opened, folded, proved and gone on with for ever, without the key it was written with."""

import sqlite3
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from seasonlog.domain.judging import limit_from_record
from seasonlog.domain.limit import judge
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Meaning
from seasonlog.services import audit, board, closing, findings, registry, rounds, season
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, FixedBytes, FixedClock, Surroundings, a_book

LOGS = sorted((Path(__file__).parent.parent / "data" / "logs").glob("v*/seasonlog.sql"))


@pytest.fixture(params=LOGS, ids=lambda path: path.parent.name)
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Logbook]:
    db = sqlite3.connect(tmp_path / "seasonlog.db")
    db.executescript(request.param.read_text("utf-8"))
    db.close()
    later = Surroundings(FixedClock(), FixedBytes("a later version"))
    with a_book(tmp_path, sites=False, surroundings=later) as opened:
        yield opened


def test_the_first_one_is_there() -> None:
    assert [path.parent.name for path in LOGS][:1] == ["v1"]


def test_it_is_proved_at_both_depths_and_its_tables_follow(book: Logbook) -> None:
    for quick in (True, False):
        found = audit.verify_log(book.places, quick=quick)
        assert (found.ok, found.log.entries, found.says().startswith("OK: 24 entries")) == (True, 24, True)
    assert book.journal.last().hash.hex() == "a2e27fcb85d9998bf711750a5198feadb93dc8504dc4db83813001df57cb1ce6"


def test_its_visit_says_what_it_said(book: Logbook) -> None:
    at = rounds.progress(book, "V-1")
    amps = at.answers["line_amps"]
    assert (amps.value, amps.verdict, amps.instrument) == (("0", "18.7", "18.7"), Verdict.FAIL, "CL-01")
    assert at.answers["basin_clean"].note == 'Füllstand 5 "in" 🙂'
    assert [(s.meaning, s.name, s.words) for s in at.visit.signatures] == [
        (Meaning.DONE_BY, "Mirel Oduvane", ""),
        (Meaning.RECEIVED_BY, closing.DECLINED, "no time"),
    ]
    assert [(c.what, c.restored) for c in at.changes] == [("jumper", True)]
    assert "Line amps" in customer_copy(book, at)


def test_its_verdict_is_computed_again_from_what_was_kept(book: Logbook) -> None:
    """18 kW, 480 V, 3-phase at 480 V: 21.65 A, 0.90 to 1.05 of it (circuit theory; trade custom), within 0.001 A."""
    amps = rounds.progress(book, "V-1").answers["line_amps"]
    limit = limit_from_record(dict(amps.limits[0]))
    rated = 18000 / (3**0.5 * 480)
    assert (limit.low, limit.high) == (pytest.approx(0.90 * rated, abs=0.001), pytest.approx(1.05 * rated, abs=0.001))
    assert [judge(float(value), limit) for value in amps.value] == [Verdict.FAIL, Verdict.FAIL, Verdict.FAIL]
    assert judge(21.6, limit) is Verdict.PASS


def test_its_finding_its_plan_and_its_coverage_stand(book: Logbook) -> None:
    (found,) = findings.all_findings(book)
    assert (found.id, str(found.state), str(found.severity), found.parts) == (
        "F-7A3A8FF8", "open", "freeze_risk", ("line fuse",),
    )  # fmt: skip
    assert (found.assigned, found.measures) == (
        "Halden Pruskett", ("pump kept running; told night engineer, at once",),
    )  # fmt: skip
    moved = next(i for i in season.items(book, TODAY, tower="HOS-1") if i.checklist == "mid-winter")
    assert moved.planned == date(2026, 10, 20)
    covered = board.covered(book, registry.of_known_tower(book.db, "HOS-1"), "HOS-1", TODAY)
    assert covered.reasons == ("Line amps: fail", "open finding F-7A3A8FF8: Line amps")


def test_a_new_device_goes_on_with_it(book: Logbook) -> None:
    rounds.add_note(book, "HOS-1", "and on it goes")
    found = audit.verify_log(book.places, quick=False)
    assert (found.ok, found.log.entries, found.log.devices) == (True, 26, 2)
