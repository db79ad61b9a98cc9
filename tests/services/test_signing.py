"""A signature shows name, time and meaning and cannot be moved to another record (21 CFR 11.50, 11.70, from memory)."""

from dataclasses import replace
from pathlib import Path

import pytest

from seasonlog.domain.records import Kind, Record
from seasonlog.domain.visit import Meaning, VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.services import closing, rounds, signing
from tests.builders import a_book, a_visit, answered


def test_three_signatures_with_their_meanings(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book)), closing.NOT_AVAILABLE)
        with pytest.raises(InputRefusedError, match="another person"):
            closing.review(book, at, "")
        at = closing.receive(book, at, "Oren Tallis", "read it on the phone")
        with pytest.raises(InputRefusedError, match="has the customer's word already: Oren Tallis"):
            closing.receive(book, at, "Somebody else")
        book.who = "Halden Pruskett"
        at = closing.review(book, at, "complete")
        bodies = [s.entry.body for s in book.journal.entries(kind=Kind.VISIT_SIGNED)]
    assert [(s.meaning, s.name) for s in at.visit.signatures] == [
        (Meaning.DONE_BY, "Mirel Oduvane"),
        (Meaning.RECEIVED_BY, "not available"),
        (Meaning.RECEIVED_BY, "Oren Tallis"),
        (Meaning.REVIEWED_BY, "Halden Pruskett"),
    ]
    assert all(s.wall_ms for s in at.visit.signatures)
    assert [b["signs"] for b in bodies] == [signing.signs(at, s.meaning, s.name) for s in at.visit.signatures]
    assert len({b["signs"] for b in bodies}) == 4  # meaning and name are part of what is signed


def test_declined_needs_words_and_an_open_visit_is_neither_received_nor_reviewed(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book))
        for refused in (lambda: closing.receive(book, at, "Oren Tallis"), lambda: closing.review(book, at, "")):
            with pytest.raises(InputRefusedError, match="is still open"):
                refused()
        with pytest.raises(InputRefusedError, match="declined needs"):
            closing.sign_off(book, at, closing.DECLINED)
        at = closing.sign_off(book, at, closing.DECLINED, "no heat trace on my bill")
    assert at.visit.signatures[-1].words == "no heat trace on my bill"


def test_a_signature_moved_to_another_visit_counts_for_nothing(tmp_path: Path) -> None:
    """Every signature of one visit copied into every other one: refused 100 %."""
    with a_book(tmp_path) as book:
        made = []
        for tower in ("HOS-1", "HOS-2", "HOS-4"):
            at = a_visit(book, tower)
            made.append(closing.close_unfinished(book, at, VisitState.NOT_POSSIBLE, "no access").visit.id)
        bodies = [s.entry.body for s in book.journal.entries(kind=Kind.VISIT_SIGNED)]
        moved = 0
        for body in bodies:
            for visit in made:
                if visit != body["visit"]:
                    book.write(Record(Kind.VISIT_SIGNED, {**body, "visit": visit}))
                    last = rounds.progress(book, visit)
                    assert last.visit.signatures[-1].moved
                    assert signing.doubts(last, last.visit.signatures[-1]) == signing.MOVED
                    moved += 1
        own = rounds.progress(book, made[0])
    assert moved == 6
    assert not own.visit.signatures[0].moved


def test_a_signature_put_on_another_name_or_meaning_does_not_hold(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis")
        body = next(s.entry.body for s in book.journal.entries(kind=Kind.VISIT_SIGNED))
        for change in ({"name": "Halden Pruskett"}, {"meaning": "reviewed_by"}):
            book.write(Record(Kind.VISIT_SIGNED, {**body, **change}))
            at = rounds.progress(book, at.visit.id)
            assert signing.doubts(at, at.visit.signatures[-1])


def test_done_is_signed_by_somebody_who_did_some_of_it(tmp_path: Path) -> None:
    """21 CFR 11.50 and 11.10(g), from memory: the signature states who carried it out; a stranger's would be untrue."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book))
        before = book.journal.count()
        for who in ("Nobody Onrecord", "Halden Pruskett"):
            with pytest.raises(InputRefusedError, match="had no part in it; whoever did it signs"):
                closing.sign_off(replace(book, who=who), at, closing.NOT_AVAILABLE)
        assert book.journal.count() == before
        helper = replace(book, who="Jessa Wickmoor")
        at = rounds.answer(helper, at, "probe_plumb_deg", "2", rounds.AnswerOptions(because="read once more"))
        at = closing.sign_off(helper, at, closing.NOT_AVAILABLE)
    assert at.visit.signatures[0].name == "Jessa Wickmoor"
