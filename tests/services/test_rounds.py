"""The main job: a fall enable judged against limits of that heater, saved answer by answer, ended with signatures."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from seasonlog.domain.limits import Verdict
from seasonlog.domain.visit import VisitState
from seasonlog.errors import InputRefusedError
from seasonlog.journal import queries
from seasonlog.services import board, closing, findings, rounds
from seasonlog.services.logbook import Surroundings
from tests.builders import TODAY, FixedBytes, FixedClock, a_book, a_visit, answered


def test_a_healthy_fall_enable_proves_the_tower(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book))
        assert [k for k, a in at.answers.items() if not a.is_good] == ["trace_amps"]  # may be left out: cannot tell
        closing.sign_off(book, at, "Oren Tallis")
        view = board.tower_view(book, "HOS-1", TODAY)
    assert view.coverage.protection == "proven"
    assert view.coverage.reasons == ("Fall enable on 2026-09-15 by Mirel Oduvane",)


def test_a_lost_line_fails_with_a_freeze_finding(tmp_path: Path) -> None:
    """0 / 18.7 / 18.7 A is 0.866 of 21.65 A on two lines: one line open (circuit theory, any wye or delta)."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), {"line_amps": ("0", "18.7", "18.7")})
        assert at.answers["line_amps"].verdict is Verdict.FAIL
        (found,) = findings.open_findings(book)
    assert (found.severity, found.step, found.tower) == ("freeze_risk", "line_amps", "HOS-1")
    assert found.parts
    assert found.unprotected
    # Healthy ohms were read before in the same visit: the elements are whole, so the line is open.
    assert [(cause["cause"], cause["where"]) for cause in found.causes] == [("line_open", "A")]
    assert found.causes[0]["next_test"]
    assert "looks like line open A" in found.says


def test_the_limit_is_kept_with_the_reading(tmp_path: Path) -> None:
    """18 kW at 480 V three-phase: 21.65 A; 0.90 to 1.05 of it at the volts measured."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), {"supply_volts": ("474", "474", "474")}, until="residual_none")
        limit = at.answers["line_amps"].limits[0]
    expected = 18000 / (3**0.5 * 480) * 474 / 480
    assert float(limit["low"]) == pytest.approx(0.90 * expected, abs=0.001)
    assert float(limit["high"]) == pytest.approx(1.05 * expected, abs=0.001)
    assert "474 V" in limit["basis"]
    assert limit["formula"]


def test_amps_before_volts_prove_nothing(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "line_amps", ("21.6", "21.6", "21.6"))
    assert at.answers["line_amps"].verdict is Verdict.CANNOT_TELL


def test_an_overdue_meter_keeps_the_reading_and_judges_nothing(tmp_path: Path) -> None:
    late = Surroundings(FixedClock(datetime(2035, 9, 15, 13, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=late) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "2")
    saved = at.answers["probe_plumb_deg"]
    assert (saved.value, saved.verdict) == ("2", Verdict.CANNOT_TELL)
    assert at.visit.uncalibrated


def test_gates_hold_back_and_open(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book)
        with pytest.raises(InputRefusedError, match="waits for"):
            rounds.answer(book, at, "insulation_mohm", "200")
        with pytest.raises(InputRefusedError, match="off_switch, off_warm"):
            rounds.answer(book, at, "off_low_level", "yes")
        for key in ("off_switch", "off_warm"):
            at = rounds.answer(book, at, key, "yes")
        assert not at.waits_for("off_low_level")
        at = rounds.answer(book, at, "off_low_level", "yes")
        assert at.answers["off_low_level"].verdict is Verdict.PASS


def test_a_correction_is_a_new_entry_and_the_old_one_stays(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        first = at.answers["probe_plumb_deg"]
        with pytest.raises(InputRefusedError, match="answered already"):
            rounds.answer(book, at, "probe_plumb_deg", "2")
        at = rounds.answer(book, at, "probe_plumb_deg", "2", rounds.AnswerOptions(because="typed twice"))
        entries = [e.entry.body for e in book.journal.entries(kind="step_answered")]
        (found,) = findings.all_findings(book)
    assert [b["value"] for b in entries] == ["22", "2"]
    assert entries[1]["corrects"] == first.uid
    assert found.state == "withdrawn"


def test_a_retest_closes_what_only_a_retest_closes(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        (found,) = findings.open_findings(book)
        with pytest.raises(InputRefusedError, match="closes by a passed retest"):
            findings.close(book, found.id, "looked fine")
        rounds.answer(book, at, "probe_plumb_deg", "2", rounds.AnswerOptions(retest=True))
        assert findings.open_findings(book) == []
        assert findings.named(book, found.id).state == "closed"


def test_a_pass_that_is_taken_back_has_closed_nothing(tmp_path: Path) -> None:
    """However often the pass itself was corrected; a pass that stands closes it in the end."""
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        (found,) = findings.open_findings(book)
        at = rounds.answer(book, at, "probe_plumb_deg", "2", rounds.AnswerOptions(retest=True))
        at = rounds.answer(book, at, "probe_plumb_deg", "3", rounds.AnswerOptions(because="heard wrong"))
        assert findings.named(book, found.id).state == "closed"
        at = rounds.take_back(book, at, "probe_plumb_deg")
        (again,) = findings.open_findings(book)
        assert (again.id, again.closed_words, again.seen) == (found.id, "", 1)
        rounds.answer(book, at, "probe_plumb_deg", "1", rounds.AnswerOptions(because="read again"))
        assert findings.open_findings(book) == []


def test_a_pass_corrected_to_a_fail_leaves_the_finding_open_and_one(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        at = rounds.answer(book, at, "probe_plumb_deg", "2", rounds.AnswerOptions(retest=True))
        rounds.answer(book, at, "probe_plumb_deg", "21", rounds.AnswerOptions(because="heard wrong"))
        (found,) = findings.all_findings(book)
        assert (found.state, "21" in found.says) == ("open", True)


def test_sign_off_waits_for_answers_and_for_temporary_changes(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = a_visit(book)
        with pytest.raises(InputRefusedError, match=r"required steps? (is|are) unanswered"):
            closing.sign_off(book, at, closing.NOT_AVAILABLE)
        at = closing.make_change(book, answered(book, at), "jumper", "pump interlock, terminals 7 and 8")
        with pytest.raises(InputRefusedError, match="jumper, pump interlock"):
            closing.sign_off(book, at, closing.NOT_AVAILABLE)
        at = closing.restore_change(book, at, at.open_changes[0].id)
        at = closing.sign_off(book, at, closing.NOT_AVAILABLE)
    assert at.visit.state is VisitState.COMPLETE
    assert [(s.meaning, s.name) for s in at.visit.signatures] == [
        ("done_by", "Mirel Oduvane"),
        ("received_by", "not available"),
    ]


def test_not_possible_proves_nothing_and_is_due_again(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        closing.close_unfinished(book, a_visit(book), VisitState.NOT_POSSIBLE, "not safe: ice on the ladder")
        view = board.tower_view(book, "HOS-1", TODAY)
    assert view.coverage.protection == "not_proven"
    assert any(i.checklist == "fall-enable" and i.state in ("open", "overdue") for i in view.due)


def test_an_unqualified_person_proves_nothing(tmp_path: Path) -> None:
    with a_book(tmp_path, who="Jessa Wickmoor") as book:
        closing.sign_off(book, answered(book, a_visit(book)), closing.NOT_AVAILABLE)
        view = board.tower_view(book, "HOS-1", TODAY)
    assert view.coverage.protection == "not_proven"
    assert "not on record as qualified" in " ".join(view.coverage.reasons)


def test_the_visit_goes_on_where_it_was_left(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), until="insulation_mohm")
    with a_book(tmp_path, sites=False) as again:
        (visit,) = queries.open_visits(again.db)
        resumed = rounds.progress(again, visit.id)
    assert resumed.next_step is not None
    assert resumed.next_step.key == "insulation_mohm"
    assert resumed.answers == at.answers


def test_what_cannot_be_is_a_slip_of_the_finger(tmp_path: Path) -> None:
    with a_book(tmp_path) as book, pytest.raises(InputRefusedError, match="cannot be"):
        rounds.answer(book, a_visit(book), "probe_plumb_deg", "1200")


def test_another_hand_in_the_same_visit_is_seen(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        stale = a_visit(book)
        rounds.answer(book, stale, "probe_plumb_deg", "2")
        with pytest.raises(InputRefusedError, match="answered already"):
            rounds.answer(book, stale, "probe_plumb_deg", "3")
