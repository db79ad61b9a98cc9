"""Instruments recalled, reviewed and checked: what rests on one, and what becomes of it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from seasonlog.errors import InputRefusedError
from seasonlog.journal import audit_queries, queries
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import closing, recall, rounds
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, a_visit, answered, as_supervisor

SINCE = date(2026, 9, 1)


def signed(book: Logbook, tower: str) -> str:
    return closing.sign_off(book, answered(book, a_visit(book, tower)), closing.NOT_AVAILABLE).visit.id


def verdicts(book: Logbook, visit: str, instrument: str) -> set[str]:
    return {str(a.verdict) for a in queries.answers(book.db, visit).values() if a.instrument == instrument}


def test_everything_that_rests_on_it_is_listed_and_nothing_else(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        first, second = signed(book, "HOS-1"), signed(book, "HOS-4")
        before = book.journal.count()
        found = recall.reliance(book, "CL-01", SINCE)
        assert book.journal.count() == before
        assert (found.visits, found.towers) == ((first, second), ("HOS-1", "HOS-4"))
        by_entry = {
            s.entry.uid for s in book.journal.entries(kind="step_answered") if s.entry.body["instrument"] == "CL-01"
        }
        assert {r.uid for r in found.readings} == by_entry
        assert recall.value_words(found.readings[0]).endswith("A")
        assert recall.reliance(book, "CL-01", date(2026, 9, 16)).readings == []


def test_a_review_of_one_visit_leaves_the_others_in_doubt(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        first, second = signed(book, "HOS-1"), signed(book, "HOS-4")
        ident = recall.recall(book, "CL-01", SINCE, "dropped on the roof").recalls[0].id
        assert verdicts(book, first, "CL-01") == verdicts(book, second, "CL-01") == {"cannot_tell"}
        assert verdicts(book, first, "VM-01") == {"pass"}
        recall.review(as_supervisor(book), ident, recall.STANDS, "the volts bear it out", [first])
        assert "pass" in verdicts(book, first, "CL-01")
        assert verdicts(book, second, "CL-01") == {"cannot_tell"}
        assert recall.told(book)
        recall.review(as_supervisor(book), ident, recall.REPEAT, "cannot be told any more", [second])
        assert verdicts(book, second, "CL-01") == {"cannot_tell"}
        assert recall.told(book) == ()
        assert first_difference(book.journal, LogViews()) == ""


def test_readings_made_with_it_after_the_recall_are_doubted_too(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        recall.recall(book, "CL-01", SINCE, "dropped")
        visit = signed(book, "HOS-1")
        assert verdicts(book, visit, "CL-01") == {"cannot_tell"}
        assert all(r.verdict == "cannot_tell" for r in queries.readings(book.db, "HOS-1", "line_amps"))
        assert first_difference(book.journal, LogViews()) == ""


def test_the_old_verdict_and_words_stay_beside_the_doubt(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = signed(book, "HOS-1")
        before = queries.answers(book.db, visit)["line_amps"]
        recall.recall(book, "CL-01", SINCE, "dropped")
        after = queries.answers(book.db, visit)["line_amps"]
        assert before.says in after.says
        assert after.recalled
        assert after.raw == before.raw


def test_a_check_before_use_is_asked_for_and_found(tmp_path: Path) -> None:
    from seasonlog.services.coverage_facts import Findings, whole

    with a_book(tmp_path) as book:
        visit = signed(book, "HOS-1")
        known = Findings.of(audit_queries.finding_rows(book.db))
        unchecked = set(whole(book, visit, known, TODAY).unchecked)
        assert {"CL-01", "VM-01"} <= unchecked
        recall.check(book, "CL-01", "against the panel meter: the same", ok=True)
        recall.check(book, "VM-01", "dead battery", ok=False)
        assert set(whole(book, visit, known, TODAY).unchecked) == unchecked - {"CL-01"}


REFUSED = {
    "no such instrument": lambda book: recall.recall(book, "CL-99", SINCE, "x"),
    "no reason": lambda book: recall.recall(book, "CL-01", SINCE, " "),
    "still to come": lambda book: recall.recall(book, "CL-01", date(2027, 1, 1), "x"),
    "no such recall": lambda book: recall.review(as_supervisor(book), "R-0", recall.STANDS, "x"),
    "no words": lambda book: recall.check(book, "CL-01", "", ok=True),
}


@pytest.mark.parametrize("attempt", REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_is_refused_and_nothing_is_written(tmp_path: Path, attempt) -> None:
    with a_book(tmp_path) as book:
        before = book.journal.count()
        with pytest.raises(InputRefusedError):
            attempt(book)
        assert book.journal.count() == before


def test_a_review_names_visits_that_rest_on_it(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        signed(book, "HOS-1")
        ident = recall.recall(book, "CL-01", SINCE, "dropped").recalls[0].id
        other = rounds.start(book, rounds.Start("HOS-2", "fall-enable", {}), TODAY).visit.id
        for wrong in ("maybe", recall.STANDS):
            with pytest.raises(InputRefusedError):
                recall.review(as_supervisor(book), ident, wrong, "x", [other])


def test_only_a_supervisor_lets_doubted_readings_stand(tmp_path: Path) -> None:
    """21 CFR 11.10(g): authority checks. Whoever read with the meter, or a stranger, cannot make it good again."""
    with a_book(tmp_path) as book:
        visit = signed(book, "HOS-1")
        ident = recall.recall(book, "CL-01", SINCE, "dropped").recalls[0].id
        before = book.journal.count()
        for who in (book.who, "Nobody Onrecord"):
            with pytest.raises(InputRefusedError, match="only a supervisor lets readings stand"):
                recall.review(replace(book, who=who), ident, recall.STANDS, "looks fine")
        assert book.journal.count() == before
        recall.review(book, ident, recall.REPEAT, "not known how far off")
        assert "pass" not in verdicts(book, visit, "CL-01")
        recall.review(as_supervisor(book), ident, recall.STANDS, "compared at the laboratory")
        assert "pass" in verdicts(book, visit, "CL-01")
