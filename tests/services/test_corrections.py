"""A corrected reading can be walked back to its first observation (ISO/IEC 17025:2017 7.5.2, from memory: amendments
trace to earlier versions, both are kept with date, change and who); of two corrections both are kept until decided."""

from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.conflicts import Answer, conflicts
from seasonlog.domain.limits import Verdict
from seasonlog.domain.records import Kind, Record
from seasonlog.errors import InputRefusedError
from seasonlog.services import closing, corrections, findings, rounds, signing
from seasonlog.services.logbook import Logbook
from tests.builders import a_book, a_visit, answered

STEP = "probe_plumb_deg"


def _other_device(book: Logbook, visit: str, value: str, verdict: str, corrects: str) -> str:
    """An answer as another device wrote it without having seen ours."""
    first = corrections.chain(book, visit, STEP)[0].body
    body = {k: v for k, v in first.items() if k not in ("finding", "because", "corrects")}
    body |= {"value": value, "raw": value, "verdict": verdict, "says": f"{value} deg", "corrects": corrects}
    (stored,) = book.write(Record(Kind.STEP_ANSWERED, body | {"because": "read again"}))
    return stored.entry.uid


def test_an_amended_reading_is_walked_back_to_its_first_observation(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), STEP, "22")
        for value in ("12", "2"):
            at = corrections.amend(book, at.visit.id, STEP, value, f"it was {value}")
        chain = corrections.chain(book, at.visit.id, STEP)
    assert [a.body["value"] for a in chain] == ["22", "12", "2"]
    assert [a.body.get("corrects", "") for a in chain] == ["", chain[0].uid, chain[1].uid]
    assert [a.body.get("because", "") for a in chain] == ["", "it was 12", "it was 2"]
    assert all(a.who and a.wall_ms for a in chain)
    assert at.answers[STEP].value == "2"


def test_a_closed_visit_is_amended_by_whoever_read_it_or_a_supervisor_and_its_signature_says_so(
    tmp_path: Path,
) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis")
        assert [signing.doubts(at, s) for s in at.visit.signatures] == ["", ""]
        book.who = "Jessa Wickmoor"
        with pytest.raises(InputRefusedError, match="or a supervisor may correct it"):
            corrections.amend(book, at.visit.id, STEP, "22", "level read wrong")
        book.who = "Halden Pruskett"
        at = corrections.amend(book, at.visit.id, STEP, "22", "level read wrong")
        assert at.answers[STEP].verdict is Verdict.FAIL
        assert [f.step for f in findings.open_findings(book)] == [STEP]
        assert {signing.doubts(at, s) for s in at.visit.signatures} == {signing.AMENDED}
        at = closing.review(book, at, "seen with the correction")
    assert signing.doubts(at, at.visit.signatures[-1]) == ""


def test_an_amendment_is_judged_on_the_day_it_was_observed(tmp_path: Path) -> None:
    """Nine years later every meter of the register is out of calibration; the reading was not."""
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), STEP, "22")
    from datetime import UTC, datetime

    from tests.builders import around

    with a_book(tmp_path, sites=False, surroundings=around(datetime(2035, 9, 15, 13, tzinfo=UTC))) as late:
        at = corrections.amend(late, at.visit.id, STEP, "2", "typed twice")
    assert at.answers[STEP].verdict is Verdict.PASS


@pytest.mark.parametrize(("key", "because", "says"), [(STEP, " ", "reason"), ("line_amps", "x", "has no answer")])
def test_nothing_is_amended_without_reason_or_answer(tmp_path: Path, key: str, because: str, says: str) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), STEP, "2")
        with pytest.raises(InputRefusedError, match=says):
            corrections.amend(book, at.visit.id, key, "3", because)
        assert len(corrections.chain(book, at.visit.id, STEP)) == 1


def test_both_of_two_corrections_are_kept_and_a_supervisor_decides(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), STEP, "22")
        first = at.answers[STEP].uid
        ours = corrections.amend(book, at.visit.id, STEP, "2", "typed twice").answers[STEP].uid
        assert corrections.undecided(book) == ()
        theirs = _other_device(book, at.visit.id, "7", "fail", first)
        (conflict,) = corrections.undecided(book)
        assert [(a.uid, a.body["value"]) for a in conflict.answers] == [(ours, "2"), (theirs, "7")]
        assert conflict.about == first
        with pytest.raises(InputRefusedError, match="only a supervisor decides"):
            corrections.decide(book, ours, "meter photo shows 2")
        book.who = "Halden Pruskett"
        with pytest.raises(InputRefusedError, match="is not among them"):
            corrections.decide(book, "no-such", "x")
        at = corrections.decide(book, ours, "meter photo shows 2")
        assert corrections.undecided(book) == ()
        last = corrections.chain(book, at.visit.id, STEP)[-1]
        assert (at.answers[STEP].value, last.body["decides"], last.who) == ("2", [ours, theirs], "Halden Pruskett")
        assert len(corrections.chain(book, at.visit.id, STEP)) == 4
        _other_device(book, at.visit.id, "5", "fail", first)  # a third one, later: decided again, with all three
        (again,) = corrections.undecided(book)
    assert len(again.answers) == 3


_ANSWERS = st.lists(
    st.tuples(st.sampled_from("ab"), st.sampled_from(["", "u0", "u1"]), st.sampled_from("123"), st.booleans()),
    max_size=6,
)  # fmt: skip


@given(_ANSWERS)
def test_conflicts_do_not_depend_on_the_order_within_a_step(drawn: list[tuple[str, str, str, bool]]) -> None:
    """A set is the same however it arrives: held against a count over all pairs, for every order of up to four."""
    made = [
        Answer(f"u{n}", "d", "w", n, {"visit": "V", "tower": "T", "step": step, "value": value, "verdict": "pass",
                                      "says": value, "corrects": corrects, "retest": retest})
        for n, (step, corrects, value, retest) in enumerate(drawn)
    ]  # fmt: skip
    plain = [a for a in made if not a.body["retest"]]
    pairs = {
        (a.body["step"], a.body["corrects"])
        for a in plain
        for b in plain
        if a.body["step"] == b.body["step"] and a.body["corrects"] == b.body["corrects"] and a.says != b.says
    }
    for order in permutations(made[:4]) if len(made) <= 4 else [tuple(made), tuple(reversed(made))]:
        assert {(c.step, c.about) for c in conflicts(order)} == pairs
