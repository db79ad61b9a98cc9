"""The customer's page in plain words: proven, not proven, tonight, repairs offered and what was said to them."""

from pathlib import Path

import pytest

from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.export.report_html import to_html
from seasonlog.services import attachments, board, closing, corrections, findings, reports, rounds
from seasonlog.services.attachments import Wish
from seasonlog.services.customer_copy import customer_copy
from tests.builders import TODAY, a_book, a_visit, answered
from tests.services.test_attachments import a_photo, handed

LOST = {"line_amps": ("0", "18.7", "18.7")}


def test_a_repair_is_offered_and_answered_by_entries_and_fitting_asks_for_a_retest(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book), LOST), closing.NOT_AVAILABLE)
        (found,) = findings.open_findings(book)
        assert "accepted [ ]  declined [ ]" in customer_copy(book, at)
        for answer, by, words, says in (
            ("accepted", "", "", "A name is needed"),
            ("declined", "Oren Tallis", " ", "needs the customer's words"),
            ("maybe", "Oren Tallis", "", "is not one of"),
        ):
            with pytest.raises(InputRefusedError, match=says):
                findings.answer_offer(book, found.id, answer, by, words)
        findings.answer_offer(book, found.id, "offered", "", "", at.visit.id)
        assert "accepted [ ]  declined [ ]" in customer_copy(book, at)
        findings.answer_offer(book, found.id, "declined", "Oren Tallis", "another quote first")
        assert "declined by Oren Tallis: another quote first" in customer_copy(book, at)
        findings.answer_offer(book, found.id, "accepted", "Oren Tallis", "")
        page = customer_copy(book, at)
        assert "accepted by Oren Tallis" in page
        assert "[ ]" not in page
        assert findings.retest_words(found) == ""
        found = findings.note_part(book, found.id, "line fuse", "ordered", TODAY)
        assert not found.awaits_retest
        found = findings.note_part(book, found.id, "line fuse", "fitted", TODAY)
        assert found.awaits_retest
        assert "test line_amps at HOS-1-H again" in customer_copy(book, at)
        assert found.offers == (
            "offered", "declined by Oren Tallis: another quote first", "accepted by Oren Tallis",
        )  # fmt: skip
        retest = a_visit(book, checklist="repair-retest")
        for step, value in (("supply_volts", ("480", "480", "480")), ("line_amps", ("21.6", "21.6", "21.6"))):
            retest = rounds.answer(book, retest, step, value, rounds.AnswerOptions(reported=True))
        found = findings.named(book, found.id)
    assert (found.state, found.awaits_retest) == ("closed", False)


def test_what_is_still_in_place_corrected_photographed_or_moved_is_said(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        at = closing.make_change(book, at, "jumper", "pump interlock")
        at = closing.close_unfinished(book, at, VisitState.INCOMPLETE, "dark")
        at = corrections.amend(book, at.visit.id, "probe_plumb_deg", "2", "typed twice")
        files = attachments.proposals(book, [handed("a.jpg", a_photo())], Wish(visit=at.visit.id))
        (photo,) = attachments.attach(book, files, Wish())
        page = customer_copy(book, at)
        assert "still in place, to be undone: jumper, pump interlock" in page
        assert "corrected since first read" in page
        assert "an answer was corrected after it was signed" in page
        assert f"photo {photo.id}" in page
        attachments.erase(book, photo.id, "a face")
        assert "ERASED on 2026-09-15 by Mirel Oduvane: a face" in customer_copy(book, at)
        report = to_html(reports.visit_report(book, at.visit.id, reports.Made("", TODAY)))
        assert "ERASED on 2026-09-15 by Mirel Oduvane: a face" in report
        assert photo.sha256[:16] in report


def test_the_yearly_review_lists_every_tower_not_proven(tmp_path: Path) -> None:
    """Common practice, no source: each tower that is not proven is named with why; proven ones are not."""
    with a_book(tmp_path) as book:
        closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis")
        from seasonlog.services import registry

        towers = registry.towers_and_sites(book.db).towers
        found = {t: board.covered(book, registry.of_tower(book.db, t), t, TODAY) for t in towers}
        with pytest.raises(InputRefusedError, match="reason"):
            board.write_review(book, found, " ", TODAY)
        book.who = "Halden Pruskett"
        board.write_review(book, found, "two towers want a new circuit", TODAY)
        body = book.journal.last().entry.body
    assert body["words"] == "two towers want a new circuit"
    assert [row[0] for row in body["not_proven"]] == [t for t in towers if t != "HOS-1"]
    assert all(len(row) == 2 and row[1] for row in body["not_proven"])
