"""What the boards say: proven or not and why, provisional, wet again, replaced, handed over, reviewed, copied."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from seasonlog.domain.records import Kind
from seasonlog.errors import InputRefusedError
from seasonlog.services import board, closing, findings, registry, rounds
from seasonlog.services import register as equipment
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.logbook import Logbook
from tests.builders import TODAY, a_book, a_visit, answered


def proven(book: Logbook, tower: str, on: date = TODAY) -> board.Coverage:
    return board.covered(book, registry.of_known_tower(book.db, tower), tower, on)


def enabled(book: Logbook, tower: str = "HOS-1") -> None:
    closing.sign_off(book, answered(book, a_visit(book, tower)), "Oren Tallis")


def test_a_short_enable_stands_in_for_fourteen_days(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book, checklist="short-enable"))
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        assert proven(book, "HOS-1").protection == "provisional"
        assert proven(book, "HOS-1", date(2026, 9, 29)).protection == "provisional"
        assert proven(book, "HOS-1", date(2026, 9, 30)).protection == "not_proven"


def test_an_open_hazard_undoes_the_proof(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        enabled(book)
        assert proven(book, "HOS-1").protection == "proven"
        at = a_visit(book, checklist="mid-winter")
        key = next(i.key for i in at.instances if i.step.id == "supply_volts")
        at = rounds.answer(book, at, key, ("480", "480", "480"))
        rounds.answer(book, at, "line_amps", ("0", "18.7", "18.7"))
        found = proven(book, "HOS-1")
    assert found.protection == "not_proven"
    assert "Line amps" in " ".join(found.reasons)


def test_wet_again_after_the_fall_enable_is_not_proven(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        enabled(book)
        equipment.set_winter_mode(book, "HOS-1", "drained", date(2026, 9, 20), "pump seized")
        equipment.set_winter_mode(book, "HOS-1", "heated_basin", date(2026, 10, 1), "pump replaced")
        found = proven(book, "HOS-1", date(2026, 10, 2))
        assert found.reasons == ("wet again since 2026-10-01, after the fall enable",)
        due = [i for i in board.tower_view(book, "HOS-1", date(2026, 10, 1)).due if i.checklist == "fall-enable"]
        assert [(i.ordinal, str(i.state)) for i in due if i.state != "done"] == [(2, "overdue")]
        with pytest.raises(InputRefusedError, match="is not one of"):
            equipment.set_winter_mode(book, "HOS-1", "frozen", TODAY, "because")


def test_a_part_replaced_after_the_fall_enable_wants_a_retest(tmp_path: Path) -> None:
    from seasonlog.domain.register import Device, Register

    def fitted(ident: str, installed: date, removed: date | None = None) -> Device:
        facts = {"position": "contactor", "of": "HOS-1-H", "maker": "Somebody", "model": "K", "serial": ident}
        return Device(id=ident, installed=installed, removed=removed, **facts)

    with a_book(tmp_path) as book:
        enabled(book)
        old = fitted("K-1", date(2020, 1, 1), date(2026, 9, 20))
        equipment.write(book, Register.of(()).changes([old, fitted("K-2", date(2026, 9, 20))]))
        found = proven(book, "HOS-1", date(2026, 9, 21))
        assert found.reasons == ("contactor replaced on 2026-09-20, not retested since",)
        book.around.clock.now += timedelta(days=6)  # type: ignore[attr-defined]
        at = a_visit(book, checklist="repair-retest", on=date(2026, 9, 21))
        closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)
        assert proven(book, "HOS-1", date(2026, 9, 21)).protection == "proven"


def test_the_handover_tells_temporary_changes_first(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = closing.make_change(book, a_visit(book), "jumper", "terminals 7 and 8")
        rounds.answer(book, at, "probe_plumb_deg", "22")
        rounds.add_note(book, "HOS-1", "ladder rung loose")
        told = board.handover(book, "HOS")
    assert told.open_changes == [("HOS-1", "jumper, terminals 7 and 8")]
    assert [f.step for f in told.new_findings] == ["probe_plumb_deg"]
    assert [n.text for n in told.notes] == ["ladder rung loose"]


def test_the_yearly_review_lists_every_tower_not_proven(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        enabled(book)
        towers = registry.towers_and_sites(book.db).towers
        found = {t: proven(book, t) for t in towers}
        board.write_review(book, found, "start two weeks earlier", TODAY)
        (entry,) = book.journal.entries(kind=Kind.SEASON_REVIEWED)
    listed = {tower for tower, *_ in entry.entry.body["not_proven"]}
    assert listed == set(towers) - {"HOS-1"}


def test_the_customers_copy_says_what_was_and_was_not_proven(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis")
        good = customer_copy(book, at)
        at = answered(book, a_visit(book, "HOS-2"), {"line_amps": ("0", "18.7", "18.7")})
        bad = customer_copy(book, closing.sign_off(book, at, closing.DECLINED, "wants another quote"))
    assert "PROVEN: every step" in good
    assert "Received by: Oren Tallis" in good
    assert "NOT PROVEN" in bad
    assert "To be done tonight" in bad
    assert "Received by: declined: wants another quote" in bad
    assert "safe" not in good.replace("unsafe", "").casefold()


def test_acceptance_is_a_supervisors_and_runs_out(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        rounds.answer(book, a_visit(book), "probe_plumb_deg", "22")
        (found,) = findings.open_findings(book)
        with pytest.raises(InputRefusedError, match="not on record as a supervisor"):
            findings.accept(book, found.id, "Oren Tallis", date(2026, 9, 30), "part on order")
        book.who = "Halden Pruskett"
        accepted = findings.accept(book, found.id, "Oren Tallis", date(2026, 9, 30), "part on order")
    assert accepted.state_on(date(2026, 9, 30)) == "accepted"
    assert accepted.state_on(date(2026, 10, 1)) == "open"


def test_views_kept_and_views_rebuilt_are_equal(tmp_path: Path) -> None:
    """Every kind of entry there is, folded as it came and folded anew."""
    from seasonlog.journal.compare import first_difference
    from seasonlog.journal.views import LogViews

    with a_book(tmp_path) as book:
        enabled(book)
        at = rounds.answer(book, a_visit(book, "HOS-2"), "probe_plumb_deg", "22")
        at = rounds.answer(book, at, "probe_plumb_deg", "2", rounds.AnswerOptions(because="typed twice"))
        at = rounds.skip(book, at, "weather", "seen from below")
        at = closing.make_change(book, at, "lock on", "fan disconnect")
        closing.restore_change(book, at, "T01")
        rounds.answer(book, at, "conduit_not_pulling", "no")
        (found,) = findings.open_findings(book)
        findings.take_measure(book, found.id, "watch", "night engineer", "22:00")
        findings.assign(book, found.id, "Tobrin Askelund")
        findings.note_part(book, found.id, "strain relief", "ordered", TODAY)
        equipment.set_winter_mode(book, "HOS-3", "drained", TODAY, "not used")
        equipment.retire(book, "instrument", "CL-02", "too coarse")
        assert first_difference(book.journal, LogViews()) == ""
        before = [row for table in ("finding", "visit_step", "plan") for row in rows(book, table)]
        book.journal.rebuild_views(LogViews())
        assert [row for table in ("finding", "visit_step", "plan") for row in rows(book, table)] == before


def rows(book: Logbook, table: str) -> list[object]:
    return book.db.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()


@pytest.mark.parametrize(
    ("checklist", "says"),
    [
        ("short-enable", "PROVISIONALLY PROVEN until 2026-09-29"),
        ("mid-winter", "This visit alone does not prove the season"),
        ("spring-disable", "PROVEN OFF"),
    ],
)
def test_the_copy_claims_no_more_than_the_checklist_proves(tmp_path: Path, checklist: str, says: str) -> None:
    with a_book(tmp_path) as book:
        at = closing.sign_off(book, answered(book, a_visit(book, checklist=checklist)), closing.NOT_AVAILABLE)
        page = customer_copy(book, at)
    assert says in page
    assert "\nPROVEN: every step" not in page


def test_the_copy_names_an_open_hazard_of_another_visit(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        reported = rounds.AnswerOptions(reported=True)
        rounds.answer(book, a_visit(book, checklist="commissioning"), "supply_fits_plate", "no", reported)
        hazards = [f for f in findings.open_findings(book) if f.needs_retest]
        at = closing.sign_off(book, answered(book, a_visit(book)), closing.NOT_AVAILABLE)
        still = [f for f in findings.open_findings(book) if f.needs_retest]
        assert hazards == still
        assert f"NOT PROVEN:\n  - open finding {still[0].id}" in customer_copy(book, at)
