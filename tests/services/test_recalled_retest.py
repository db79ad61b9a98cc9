"""A finding closed by a retest stands open again while the retest's instrument is recalled, and closes when that is
settled; in whatever order the entries arrive.

That a finding which can freeze, burn or shock closes only by a proof that stands is common practice, no source; that a
recall reaches every result that rests on the instrument is ISO/IEC 17025 7.10 (from memory).
"""

import random
import tempfile
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from seasonlog.cli import run
from seasonlog.domain.finding import Finding
from seasonlog.domain.protection import Protection
from seasonlog.domain.visit import Progress
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import board, exposure, findings, recall, record_history, registry, reports, rounds
from seasonlog.services.corrections import amend
from seasonlog.services.logbook import Logbook
from seasonlog.services.reports_file import written
from tests.builders import INSTRUMENTS, TODAY, a_book, a_visit, as_supervisor
from tests.journal.test_late_entries import afresh, an_empty_log, arrive, tables

SINCE = date(2026, 9, 1)
RETEST = rounds.AnswerOptions(retest=True)
STEP = "probe_plumb_deg"


def failed(book: Logbook) -> tuple[Progress, Finding]:
    at = rounds.answer(book, a_visit(book), STEP, "22")
    (found,) = findings.open_findings(book)
    return at, found


def retested(book: Logbook, by: str = "AN-01", value: str = "2") -> Progress:
    """The same step in a later visit."""
    start = rounds.Start("HOS-1", "fall-enable", {**INSTRUMENTS, "angle": by})
    return rounds.answer(book, rounds.start(book, start, TODAY), STEP, value)


def recalled(book: Logbook, instrument: str = "AN-01") -> str:
    return recall.recall(book, instrument, SINCE, "dropped").recalls[-1].id


def another_angle_gauge(book: Logbook) -> None:
    """A second one in the register."""
    from dataclasses import replace

    from seasonlog.domain.register import Register
    from seasonlog.services import register as equipment

    known = registry.shared(book.db).instruments["AN-01"]
    equipment.write(book, equipment.preview(Register.of(()), [replace(known, id="AN-02")]))


def test_it_stands_open_again_with_the_reason_and_closes_when_the_reading_is_upheld(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        visit = retested(book).visit.id
        shut = findings.named(book, found.id)
        assert shut.state == "closed"
        assert [f.id for f in recall.reliance(book, "AN-01", SINCE).closed] == [found.id]
        assert recall.reliance(book, "AN-01", date(2026, 9, 16)).closed == []
        ident = recalled(book)
        again = findings.named(book, found.id)
        assert (again.state, again.closed_words, again.closed_wall_ms) == ("open", "", 0)
        assert again.doubt == "closed by a retest with instrument AN-01, recalled since 2026-09-01"
        assert [f.id for f in findings.open_findings(book)] == [found.id]
        recall.review(as_supervisor(book), ident, recall.REPEAT, "cannot be told", [visit])
        assert findings.named(book, found.id).state == "open"
        recall.review(as_supervisor(book), ident, recall.STANDS, "found good by another gauge", [visit])
        assert findings.named(book, found.id) == shut
        assert first_difference(book.journal, LogViews()) == ""


def test_while_it_stands_open_the_tower_is_not_proven_and_every_board_says_why(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        retested(book)
        recalled(book)
        words = f"open finding {found.id}: {found.title} (reopened: closed by a retest with instrument AN-01"
        state = board.covered(book, registry.of_tower(book.db, "HOS-1"), "HOS-1", TODAY)
        assert state.protection is Protection.NOT_PROVEN
        assert any(reason.startswith(words) for reason in state.reasons)
        night = exposure.exposure(book, TODAY, exposure.Asked(outdoor_degf=0.0))
        (row,) = [each for each in night.exposed if each.found.tower == "HOS-1"]
        assert any(reason.startswith(words) for reason in row.found.reasons)
        told = record_history.history(book, found.id)
        assert "reopened: closed by a retest" in told.says
        assert [line.entry.kind for line in told.lines][-1] == "instrument_recalled"


def test_the_command_and_the_report_say_why(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with a_book(tmp_path) as book:
        failed(book)
        retested(book)
        recalled(book)
        page = written(reports.tower_report(book, "HOS-1", reports.Made("Verita Collumby", TODAY)), "html").decode()
    assert "Reopened: closed by a retest with instrument AN-01, recalled since 2026-09-01" in page
    assert run(["findings", "--log", str(tmp_path / "seasonlog.db"), "--today", TODAY.isoformat()]) == 0
    told = capsys.readouterr().out
    assert "reopened: closed by a retest with instrument AN-01, recalled since 2026-09-01" in told


def test_a_reading_made_after_the_recall_closes_nothing(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        recalled(book)
        retested(book)
        assert findings.named(book, found.id).doubt
        assert first_difference(book.journal, LogViews()) == ""


def test_a_day_before_the_doubt_leaves_it_closed(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        retested(book)
        book.around.clock.now = datetime(2026, 9, 20, 13, tzinfo=UTC)  # type: ignore[attr-defined]
        recall.recall(book, "AN-01", date(2026, 9, 16), "dropped")
        assert findings.named(book, found.id).state == "closed"


def test_what_failed_again_is_not_closed_by_a_review_of_the_older_reading(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        retested(book)
        ident = recalled(book)
        retested(book, value="20")
        recall.review(as_supervisor(book), ident, recall.STANDS, "good after all")
        again = findings.named(book, found.id)
        assert (again.state, again.seen, again.doubt) == ("open", 2, "")


def test_a_pass_taken_back_leaves_nothing_to_uphold(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        at = retested(book)
        ident = recalled(book)
        rounds.take_back(book, at, STEP)
        assert (findings.named(book, found.id).state, findings.named(book, found.id).doubt) == ("open", "")
        recall.review(as_supervisor(book), ident, recall.STANDS, "good after all")
        assert findings.named(book, found.id).state == "open"


def test_an_acceptance_counts_again_meanwhile(tmp_path: Path) -> None:
    with a_book(tmp_path, who="Halden Pruskett") as book:
        _, found = failed(book)
        findings.accept(book, found.id, "J. Example", date(2026, 12, 1), "customer waits for the part")
        retested(book)
        recalled(book)
        assert findings.named(book, found.id).state == "accepted"


@pytest.mark.parametrize("seed", range(3))
def test_entries_that_arrive_in_any_order_make_the_same_tables(tmp_path: Path, seed: int) -> None:
    """Closed, doubted, failed again, closed, upheld: the way back through a fold and a whole fold agree."""
    with a_book(tmp_path / "made") as book:
        failed(book)
        retested(book)
        ident = recalled(book)
        retested(book, value="20")
        retested(book)
        recall.review(as_supervisor(book), ident, recall.STANDS, "good after all")
        recalled(book)
        entries = list(book.journal.entries(order="causal"))
    rng = random.Random(seed)
    late = rng.sample(range(len(entries) - 60, len(entries)), 30)
    with closing(an_empty_log(tmp_path / "log.db")) as db:
        arrive(db, [e for at, e in enumerate(entries) if at not in late])
        for at in late:
            arrive(db, [entries[at]])
        assert tables(db) == afresh(db)
        assert db.execute("SELECT state, json_extract(doc, '$.doubt') != '' FROM finding").fetchall() == [("open", 1)]


Deed = Callable[[Logbook], object]


@pytest.mark.parametrize("order", list(permutations(range(3))), ids=str)
def test_what_is_known_in_the_end_does_not_depend_on_what_came_first(tmp_path: Path, order: tuple[int, ...]) -> None:
    """A doubted retest, a good one and the recall, in every order: closed, by the retest that stands, each time."""
    with a_book(tmp_path) as book:
        another_angle_gauge(book)
        _, found = failed(book)
        deeds: list[Deed] = [retested, lambda b: retested(b, "AN-02", "3"), recalled]
        for at in order:
            deeds[at](book)
        told = findings.named(book, found.id)
        assert (told.state, told.retest["instrument"], told.doubt) == ("closed", "AN-02", "")
        assert told.closed_words.startswith("retest: 3 deg")
        assert first_difference(book.journal, LogViews()) == ""


@pytest.mark.parametrize("upheld", ["AN-01", "AN-02"])
def test_of_two_doubted_retests_either_upheld_closes_it(tmp_path: Path, upheld: str) -> None:
    with a_book(tmp_path) as book:
        another_angle_gauge(book)
        _, found = failed(book)
        doubts = {name: recalled(book, name) for name in ("AN-01", "AN-02")}
        retested(book)
        retested(book, "AN-02", "3")
        assert findings.named(book, found.id).state == "open"
        recall.review(as_supervisor(book), doubts[upheld], recall.STANDS, "good after all")
        assert findings.named(book, found.id).retest["instrument"] == upheld
        assert findings.named(book, found.id).state == "closed"
        assert first_difference(book.journal, LogViews()) == ""


def test_a_correction_of_an_older_pass_does_not_close_what_failed_later(tmp_path: Path) -> None:
    """What is typed later was not seen later (common practice, no source)."""
    with a_book(tmp_path) as book:
        older = retested(book).visit.id
        retested(book, value="22")
        (found,) = findings.open_findings(book)
        amend(book, older, STEP, "3", "wrong digit")
        assert findings.named(book, found.id).state == "open"
        newer = retested(book, value="4").visit.id
        recalled(book)
        amend(book, older, STEP, "1", "wrong digit again")
        assert findings.named(book, found.id).doubt
        amend(book, newer, STEP, "21", "read upside down")
        assert (findings.named(book, found.id).state, findings.named(book, found.id).doubt) == ("open", "")
        assert first_difference(book.journal, LogViews()) == ""


def test_a_failed_reading_corrected_to_another_failed_one_stays_closed_by_its_retest(tmp_path: Path) -> None:
    with a_book(tmp_path, who="Halden Pruskett") as book:
        at, found = failed(book)
        findings.take_measure(book, found.id, "watch", "J. Example", "07:30")
        retested(book)
        amend(book, at.visit.id, STEP, "21", "wrong digit")
        told = findings.named(book, found.id)
        assert (told.state, told.says[:6], len(told.measures)) == ("closed", "21 deg", 1)
        assert told.closed_words.startswith("retest: 2 deg")
        assert first_difference(book.journal, LogViews()) == ""


def test_of_two_retests_the_second_keeps_it_closed_when_the_first_is_taken_back_and_a_correction_is_told(
    tmp_path: Path,
) -> None:
    with a_book(tmp_path) as book:
        _, found = failed(book)
        first, second = retested(book), retested(book, value="3")
        rounds.take_back(book, first, STEP)
        assert findings.named(book, found.id).closed_words.startswith("retest: 3 deg")
        amend(book, second.visit.id, STEP, "4", "wrong digit")
        told = findings.named(book, found.id)
        assert (told.state, told.closed_words[:13]) == ("closed", "retest: 4 deg")
        assert "corrected: wrong digit" in told.closed_words
        assert first_difference(book.journal, LogViews()) == ""


def test_a_sheet_of_an_earlier_day_typed_in_later_closes_nothing(tmp_path: Path) -> None:
    from seasonlog.domain.late import Late

    with a_book(tmp_path) as book:
        _, found = failed(book)
        start = rounds.Start("HOS-1", "fall-enable", INSTRUMENTS)
        at = rounds.start(book, start, TODAY)
        late = rounds.AnswerOptions(late=Late(datetime.fromisoformat("2026-09-14T09:00:00-05:00"), "Mirel Oduvane"))
        rounds.answer(book, at, STEP, "2", late)
        assert findings.named(book, found.id).state == "open"


GAUGES = st.sampled_from(["AN-01", "AN-02"])
READ = st.tuples(st.just("read"), GAUGES, st.booleans())
CORRECT = st.tuples(st.just("correct"), st.integers(0, 2), st.booleans())
DEEDS = st.one_of(
    READ,
    CORRECT,
    st.tuples(st.just("recall"), GAUGES, st.just(True)),
    st.tuples(st.just("review"), GAUGES, st.booleans()),
)
HISTORIES = st.tuples(
    st.lists(READ, min_size=2, max_size=3), st.lists(CORRECT, max_size=2), st.lists(DEEDS, max_size=5)
)


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(HISTORIES.map(lambda parts: [deed for part in parts for deed in part]))
def test_a_plain_look_at_the_readings_tells_what_may_be_closed(deeds: list[tuple[str, Any, bool]]) -> None:
    """Whatever is read, corrected, recalled and reviewed: closed only where a reading in no doubt passes at or after
    the last that fails; and without a recall, wherever one does. Held against a model of eight lines."""
    read: list[tuple[str, str, bool]] = []  # visit, instrument, passes
    doubts: dict[str, str] = {}
    with tempfile.TemporaryDirectory() as folder, a_book(Path(folder)) as book:
        another_angle_gauge(book)
        for n, (what, which, good) in enumerate(deeds):
            value = f"{1 if good else 20}.{n}"
            if what == "read":
                read.append((retested(book, which, value).visit.id, which, good))
            elif what == "correct" and which < len(read):
                amend(book, read[which][0], STEP, value, "typed wrong")
                read[which] = (*read[which][:2], good)
            elif what == "recall" and which not in doubts:
                doubts[which] = recalled(book, which)
            elif what == "review" and which in doubts:
                recall.review(
                    as_supervisor(book), doubts[which], recall.STANDS if good else recall.REPEAT, "looked into"
                )
                if good:
                    del doubts[which]
        failed_last = max((at for at, (_, _, good) in enumerate(read) if not good), default=-1)
        passed = any(good and by not in doubts for _, by, good in read[failed_last + 1 :])
        is_open = bool(findings.open_findings(book))
        assert is_open or failed_last < 0 or passed
        assert not is_open or any(what == "recall" for what, *_ in deeds) or (failed_last >= 0 and not passed)
        assert first_difference(book.journal, LogViews()) == ""
