"""Coverage over eight winters: made, late and missing, what breaks a rule, and one truth however it is asked."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from seasonlog.domain import audit_rules
from seasonlog.domain.coverage_cells import Cell, CellKey, CellState, CoverageGrid, Outcome
from seasonlog.domain.due_state import DueState
from seasonlog.domain.register import TYPES
from seasonlog.errors import InputRefusedError
from seasonlog.journal import audit_queries
from seasonlog.services import board, closing, coverage, findings, recall, register, registry, rounds, season
from seasonlog.services.coverage import Wanted, grid
from seasonlog.services.coverage_cell import opened
from seasonlog.services.coverage_facts import Findings, whole
from seasonlog.services.coverage_glance import Glances
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.audit_story import LATE, MISSED, TOWER
from tests.builders import QUALIFIED, TODAY, FixedBytes, FixedClock, a_book, a_visit, answered, around, as_supervisor

NINE = Wanted(tower=TOWER, seasons=9)
STEP = "insulation_mohm"


@pytest.fixture(scope="module")
def told(winters: tuple[Path, str]) -> Iterator[Logbook]:
    with Logbook.open(Places(winters[0]), around(), "", writing=False) as book:
        yield book


def fall(found: CoverageGrid, year: int = 2026, tower: str = TOWER) -> Cell:
    return found.cell(tower, "fall-enable", year)


def test_made_late_and_missing(told: Logbook) -> None:
    """Windows of the hospital: the usual first freeze, 24 September, less 21 days (see test_season)."""
    found = grid(told, TODAY, NINE)
    states = {year: fall(found, year).state for year in found.seasons}
    wanted = dict.fromkeys(range(2018, 2027), CellState.DONE)
    assert states == wanted | {MISSED: CellState.MISSING, LATE: CellState.LATE}
    assert fall(found, MISSED).words == f"was due by {MISSED}-09-03, no visit"
    assert fall(found, LATE).words == f"made {LATE}-10-20 by {QUALIFIED}"
    winter = found.cell(TOWER, "mid-winter", 2025)
    assert (winter.asked, winter.made, winter.missing, len(winter.visits)) == (7, 3, 4, 3)
    assert found.cell(TOWER, "spring-disable", 2026).state is CellState.COMING


def test_what_is_missing_comes_first(told: Logbook) -> None:
    gaps = list(grid(told, TODAY, NINE).gaps())
    assert [g.state for g in gaps] == sorted((g.state for g in gaps), key=["missing", "amiss", "late"].index)
    assert [g.season for g in gaps if g.state is CellState.MISSING] == sorted(
        (g.season for g in gaps if g.state is CellState.MISSING), reverse=True
    )


def test_nothing_was_asked_before_the_log_began(told: Logbook) -> None:
    found = grid(told, TODAY, Wanted(tower=TOWER, seasons=30))
    assert found.seasons[0] == 2018
    assert found.cell(TOWER, "fall-enable", 2017).state is CellState.NOT_ASKED


def test_both_ways_to_what_was_asked_agree(told: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    """The short way of ordinary towers against the list of due visits, every tower, on four days of the year."""
    short = {on: grid(told, on) for on in (date(2026, 9, 15), date(2026, 1, 10), date(2025, 5, 1), date(2026, 12, 24))}
    usual = coverage._Basis.__init__

    def all_special(self: coverage._Basis, book: Logbook, on: date) -> None:
        usual(self, book, on)
        self.special = set(registry.towers_and_sites(book.db).towers)

    monkeypatch.setattr(coverage._Basis, "__init__", all_special)
    for on, found in short.items():
        assert grid(told, on).cells == found.cells


def test_the_day_s_season_agrees_with_what_is_due(told: Logbook) -> None:
    """An overdue visit of this season is a missing one here, for every tower and checklist."""
    found = grid(told, TODAY)
    due = [i for i in season.items(told, TODAY) if i.season == 2026 and i.state is DueState.OVERDUE]
    missing = {(c.tower, c.checklist) for c in found.cells.values() if c.season == 2026 and c.missing}
    assert {(i.tower, i.checklist) for i in due} == missing
    assert len(missing) > 5


def test_a_cell_opens_with_its_rules_and_its_entries(told: Logbook) -> None:
    found = opened(told, CellKey(TOWER, "fall-enable", LATE), TODAY)
    (visit,) = found.visits
    assert found.windows == (
        f"{LATE}-07-30 to {LATE}-09-03: 21 days before the usual first freeze, 24 September, as typed for the site",
    )
    assert visit.results[0].rule == "in_its_window"
    assert visit.results[0].says == f"made 47 days after its last sensible day, {LATE}-09-03"
    assert {r.rule for r in visit.results} == set(audit_rules.BY_NAME)
    assert [e.uid for e in visit.evidence] == [
        s.entry.uid for s in audit_queries.entries_of_visit(told.db, visit.visit)
    ]
    assert visit.evidence[0].kind == "visit_started"
    assert f"at least until {LATE + 2}-08-28" in visit.keep_until


def test_a_missing_cell_opens_too(told: Logbook) -> None:
    found = opened(told, CellKey(TOWER, "fall-enable", MISSED), TODAY)
    assert (found.cell.state, found.visits, len(found.windows)) == (CellState.MISSING, (), 1)


def test_a_tower_that_is_not_there_is_refused(told: Logbook) -> None:
    with pytest.raises(InputRefusedError, match="HOS-9"):
        grid(told, TODAY, Wanted(tower="HOS-9"))


def proven(book: Logbook, tower: str = TOWER) -> bool:
    return board.covered(book, registry.of_known_tower(book.db, tower), tower, TODAY).protection == "proven"


def every_proof(book: Logbook) -> Iterator[audit_queries.Proof]:
    return (proof for _, visits in audit_queries.proofs(book.db) for proof in visits)


def both(book: Logbook) -> dict[str, tuple[str, ...]]:
    """Broken rules of every visit signed off; asked of many at once and of each in full, which must agree."""
    at_once, out = Glances(book, TODAY), {}
    known = Findings.of(audit_queries.finding_rows(book.db))
    for proof in every_proof(book):
        if proof.state == "complete":
            out[proof.visit] = at_once.broken(proof)
            assert out[proof.visit] == audit_rules.broken(whole(book, proof.visit, known, TODAY)), proof
    return out


def signed(book: Logbook, wrong: dict[str, object] | None = None, tower: str = TOWER) -> str:
    at = answered(book, a_visit(book, tower), wrong or {})
    return closing.sign_off(book, at, closing.NOT_AVAILABLE).visit.id


def test_a_failed_reading_an_open_finding_and_what_was_done_about_it(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = signed(book, {STEP: "0.4"})
        assert both(book)[visit] == ("steps_proven", "failures_acted_on", "findings_closed")
        assert fall(grid(book, TODAY)).state is CellState.AMISS
        (found,) = findings.open_findings(book, tower=TOWER)
        findings.take_measure(book, found.id, "drained and locked", "lodge", "at once")
        assert both(book)[visit] == ("steps_proven", "findings_closed")
        book.who = "Halden Pruskett"
        findings.accept(book, found.id, "Oren Tallis", date(2026, 10, 1), "spare on its way")
        assert both(book)[visit] == ("steps_proven",)
        assert Glances(book, date(2026, 10, 2)).broken(next(every_proof(book))) == (
            "steps_proven", "findings_closed",
        )  # fmt: skip


def test_out_of_calibration_unqualified_and_unnamed(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.choose_instrument(book, a_visit(book), "voltmeter", "VM-02")
        closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)
        book.who = "Jessa Wickmoor"
        signed(book, tower="HOS-4")
        book.who = QUALIFIED
        at = rounds.start(book, rounds.Start("HOS-5", "fall-enable", {"thermometer": "TH-01"}), TODAY)
        closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)
        towers = {proof.visit: proof.tower for proof in every_proof(book)}
        told = {towers[visit]: rules for visit, rules in both(book).items()}
        assert "instruments_calibrated" in told[TOWER]
        assert "people_qualified" in told["HOS-4"]
        assert "instruments_named" in told["HOS-5"]
        states = {t: fall(grid(book, TODAY), tower=t).state for t in told}
        assert set(states.values()) == {CellState.AMISS}
        assert not any(proven(book, t) for t in told)


def test_a_part_added_after_the_fall_enable_shows(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        signed(book)
        assert fall(grid(book, TODAY)).broken == ()
        assert proven(book)
        second = registry.whole(book.db).circuits["HOS-1-H"]
        register.write(book, register.preview(registry.whole(book.db), [replace(second, id="HOS-1-H2")]))
        assert not proven(book)
        assert fall(grid(book, TODAY)).broken == ("steps_proven",)


def test_closed_as_not_possible_is_missing_once_the_window_is_over(tmp_path: Path) -> None:
    august = Surroundings(FixedClock(datetime(2026, 8, 20, 12, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=august) as book:
        at = a_visit(book, on=date(2026, 8, 20))
        closing.close_unfinished(book, at, closing.VisitState.NOT_POSSIBLE, "no shutdown")
        assert fall(grid(book, date(2026, 8, 21))).words == "due by 2026-09-03, closed as not possible on 2026-08-20"
        assert fall(grid(book, TODAY)).words == "was due by 2026-09-03, closed as not possible on 2026-08-20"
        assert fall(grid(book, TODAY)).state is CellState.MISSING


def test_a_dropped_visit_and_a_drained_tower(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        season.drop(book, season.DueRequest("HOS-4", "fall-enable"), "demolished in October", TODAY)
        register.set_winter_mode(book, "HOS-5", "drained", date(2026, 9, 1), "no load this winter")
        found = grid(book, date(2026, 12, 20))
        assert fall(found, tower="HOS-4").state is CellState.DROPPED
        assert "demolished" in fall(found, tower="HOS-4").words
        assert found.cell("HOS-5", "mid-winter", 2026).state is CellState.DROPPED
        assert found.cell("HOS-1", "mid-winter", 2026).state is CellState.MISSING


def scrapped(book: Logbook, tower: str) -> None:
    """Take a tower out of the register, its parts first."""
    mine = registry.of_tower(book.db, tower)
    for what in reversed(TYPES):
        if what not in ("site", "person", "instrument"):
            for ident in mine.table(what):
                register.retire(book, what, ident, "scrapped")


def test_a_retired_tower_keeps_what_was_asked_while_it_stood(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        signed(book)
        for tower in (TOWER, "HOS-5"):
            scrapped(book, tower)
        found = grid(book, date(2027, 2, 1))
        assert {r.tower: r.retired for r in found.rows if r.retired} == {TOWER: "2026-09-15", "HOS-5": "2026-09-15"}
        made = fall(found)
        assert (made.state, len(made.visits), fall(found, tower="HOS-5").state) == (
            CellState.LATE, 1, CellState.MISSING,
        )  # fmt: skip
        assert found.cell("HOS-4", "mid-winter", 2026).missing
        assert found.cell(TOWER, "mid-winter", 2026).state is CellState.NOT_ASKED
        assert [v.visit for v in opened(book, made.key, date(2027, 2, 1)).visits] == list(made.visits)
        assert grid(book, date(2027, 2, 1), Wanted(tower=TOWER)).cells == {
            key: cell for key, cell in found.cells.items() if key.tower == TOWER
        }


def test_a_window_the_tower_stood_through_for_a_part_is_told_with_why_it_was_not_asked(tmp_path: Path) -> None:
    """The hospital's window: the usual first freeze, 24 September, less eight weeks and less three, counted by hand."""
    clock = FixedClock(datetime(2026, 7, 1, 12, tzinfo=UTC))
    key, later = CellKey(TOWER, "fall-enable", 2026), date(2028, 2, 1)
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes())) as book:
        (asked,) = opened(book, key, later).windows
        assert asked.startswith("2026-07-30 to 2026-09-03: ")
        clock.now = datetime(2026, 8, 20, 12, tzinfo=UTC)
        scrapped(book, TOWER)
        found = opened(book, key, later)
        assert (found.cell.state, found.windows[1:]) == (CellState.NOT_ASKED, ())
        days = "2026-07-30 to 2026-09-03, not asked: the tower was retired on 2026-08-20, while there was still time; "
        assert found.windows[0].startswith(days)


def test_a_tower_put_on_record_in_a_window_of_a_season_gone_by_was_not_asked_in_it(tmp_path: Path) -> None:
    august = Surroundings(FixedClock(datetime(2026, 8, 20, 12, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=august) as book:
        (window,) = opened(book, CellKey(TOWER, "fall-enable", 2026), date(2028, 2, 1)).windows
        assert ", not asked: it had opened when the tower was put on record on 2026-08-20; " in window
        assert opened(book, CellKey(TOWER, "spring-disable", 2025), date(2028, 2, 1)).windows == ()


def test_a_tower_retired_before_anything_was_asked_is_not_told(tmp_path: Path) -> None:
    july = Surroundings(FixedClock(datetime(2026, 7, 1, 12, tzinfo=UTC)), FixedBytes())
    with a_book(tmp_path, surroundings=july) as book:
        scrapped(book, TOWER)
        assert TOWER not in {row.tower for row in grid(book, date(2027, 2, 1)).rows}


def test_a_recall_follows_through_coverage_proof_and_back(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        visit = signed(book)
        assert proven(book)
        found = recall.recall(book, "IN-01", date(2026, 9, 1), "as found 30 % high")
        assert found.visits == (visit,)
        assert all(r.verdict == "cannot_tell" for r in found.readings)
        assert not proven(book)
        assert (
            "IN-01 was recalled and no review lets it stand"
            in board.covered(book, registry.of_known_tower(book.db, TOWER), TOWER, TODAY).reasons
        )
        assert {"steps_proven", "instruments_stand"} <= set(both(book)[visit])
        cell = opened(book, CellKey(TOWER, "fall-enable", 2026), TODAY)
        stands = next(r for r in cell.visits[0].results if r.rule == "instruments_stand")
        assert (stands.outcome, bool(stands.evidence)) == (Outcome.BROKEN, True)
        recall.review(as_supervisor(book), found.recalls[0].id, recall.STANDS, "checked against IN-02: the same")
        assert proven(book)
        assert both(book)[visit] == ()
        assert fall(grid(book, TODAY)).state is CellState.LATE  # the window closed on the 3rd


def test_exposure_asks_the_same_proof(tmp_path: Path) -> None:
    """The short way of the exposure board and the whole proof say the same, before and after a recall."""
    from seasonlog.services import exposure

    with a_book(tmp_path) as book:
        visit = signed(book)
        for before in (True, False):
            board_ = exposure.exposure(book, TODAY, exposure.Asked())
            seen = {p.found.tower: p.found.reasons for p in (*board_.exposed, *board_.not_now)}
            not_proven = {t for t in registry.towers_and_sites(book.db).towers if not proven(book, t)}
            drained = {d.tower for d in board_.drained}
            assert {t for t in not_proven if t not in drained} <= set(seen)
            told = board.covered(book, registry.of_known_tower(book.db, TOWER), TOWER, TODAY)
            assert (TOWER in not_proven) is (not before)
            if not before:
                assert set(told.reasons) <= set(seen[TOWER])
                assert both(book)[visit]
            recall.recall(book, "CL-01", date(2026, 9, 1), "dropped")
