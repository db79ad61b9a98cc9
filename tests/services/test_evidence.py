"""What counts as evidence: who did it, with what, on which day where it was done, in which season."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from seasonlog.domain.finding import FindingState
from seasonlog.services import answered_file, board, closing, findings, registry, rounds, season
from seasonlog.services import register as equipment
from seasonlog.services.customer_copy import customer_copy
from seasonlog.services.demo import healthy
from seasonlog.services.logbook import Logbook, Surroundings
from tests.builders import QUALIFIED, TODAY, FixedBytes, FixedClock, a_book, a_visit, answered

UNQUALIFIED = "Somebody Else"


def proven(book: Logbook, tower: str = "HOS-1", on: date = TODAY) -> board.Coverage:
    return board.covered(book, registry.of_known_tower(book.db, tower), tower, on)


def at_time(now: datetime, minutes: int) -> Surroundings:
    return Surroundings(FixedClock(now, minutes), FixedBytes())


def test_energised_work_by_the_one_who_goes_on_is_theirs(tmp_path: Path) -> None:
    """A visit begun by a qualified person does not qualify whoever takes the meter next (practice: on the day)."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), until="line_amps")
        book.who = UNQUALIFIED
        at = rounds.answer(book, at, "line_amps", ("21.5", "21.4", "21.6"))
        book.who = QUALIFIED
        for instance in at.remaining:
            if not at.waits_for(instance.key):
                at = rounds.answer(book, at, instance.key, healthy(at, instance, TODAY))
        closing.sign_off(book, at, closing.NOT_AVAILABLE)
        assert proven(book).reasons == (f"{UNQUALIFIED} was not on record as qualified for energised work on the day",)


def test_an_overdue_meter_put_away_again_spoils_nothing(tmp_path: Path) -> None:
    """Only an instrument that an answer rests on counts."""
    with a_book(tmp_path) as book:
        overdue = next(i for i in registry.whole(book.db).instruments.values() if _is_overdue(i.calibration_due))
        at = rounds.choose_instrument(book, a_visit(book), overdue.kind, overdue.id)
        assert at.visit.uncalibrated
        good = {"clamp": "CL-01", "voltmeter": "VM-01", "ohmmeter": "OM-01", "insulation": "IN-01", "angle": "AN-01",
                "thermometer": "TH-01", "timer": "TM-01"}  # fmt: skip
        at = rounds.choose_instrument(book, at, overdue.kind, good[overdue.kind])
        closing.sign_off(book, answered(book, at), closing.NOT_AVAILABLE)
        assert proven(book).protection == "proven"


def _is_overdue(due: date | None) -> bool:
    return due is None or due < TODAY


def test_the_day_is_the_one_on_the_roof(tmp_path: Path) -> None:
    """23:30 on the 14th at UTC-5 is the 15th in UTC, 08:30 on the 16th at UTC+12 the 15th: the roof's day is told."""
    for name, now, minutes, day in (
        ("west", datetime(2026, 9, 15, 4, 30, tzinfo=UTC), -300, date(2026, 9, 14)),
        ("east", datetime(2026, 9, 15, 20, 30, tzinfo=UTC), 720, date(2026, 9, 16)),
    ):
        (tmp_path / name).mkdir()
        with a_book(tmp_path / name, surroundings=at_time(now, minutes)) as book:
            at = closing.sign_off(book, answered(book, a_visit(book, on=day)), closing.NOT_AVAILABLE)
            assert proven(book, on=day).reasons == (f"Fall enable on {day} by {book.who}",)
            done = [i for i in season.items(book, day, tower="HOS-1") if i.checklist == "fall-enable"]
            assert [(str(i.state), i.planned) for i in done] == [("done", day)]
            assert f"{day}, visit" in customer_copy(book, at)
            equipment.set_winter_mode(book, "HOS-1", "heated_basin", day + timedelta(days=1), "piping changed")
            assert proven(book, on=day + timedelta(days=1)).protection == "not_proven"


def test_a_file_does_not_go_on_with_a_visit_of_another_season(tmp_path: Path) -> None:
    last_year = datetime(2025, 9, 15, 13, tzinfo=UTC)
    with a_book(tmp_path, surroundings=at_time(last_year, -300)) as book:
        old = a_visit(book, on=date(2025, 9, 15))
    work = answered_file.Work("HOS-1", "fall-enable", b'[answers]\nbasin_clean = "yes"\n', "a.toml")
    this_year = Surroundings(FixedClock(), FixedBytes("this year"))
    with a_book(tmp_path, sites=False, surroundings=this_year) as book:
        outcome = answered_file.carry_out(book, work, TODAY, lambda _: None)
        assert outcome.at.visit.id != old.visit.id
        assert (outcome.at.visit.season, old.visit.season) == (2026, 2025)


def test_a_slip_corrected_twice_is_withdrawn_not_closed_by_retest(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "supply_volts", ("480", "480", "480"))
        at = rounds.answer(book, at, "line_amps", ("2.1", "21.5", "21.5"))
        for amps in ("2.2", "21.6"):
            slip = rounds.AnswerOptions(because="point slipped")
            at = rounds.answer(book, at, "line_amps", (amps, "21.5", "21.5"), slip)
        (found,) = findings.all_findings(book, tower="HOS-1")
    assert found.state is FindingState.WITHDRAWN
