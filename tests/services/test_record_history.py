"""The whole history of a record: what is read there agrees with the report and with coverage of the same visit."""

from datetime import date
from pathlib import Path

import pytest

from seasonlog.cli import run
from seasonlog.journal import queries
from seasonlog.services import findings, recall, record_history, rounds
from tests.builders import INSTRUMENTS, TODAY, a_book, as_supervisor
from tests.services.test_recalled_limit import AMPS, VOLTS, read


def test_a_recalled_reading_is_told_in_the_history_of_its_visit_and_of_its_entry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """ISO/IEC 17025 7.10 (from memory): work that a fault of an instrument reached is named wherever it is shown."""
    with a_book(tmp_path) as book:
        at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
        visit = read(book, at, supply_volts=VOLTS, line_amps=AMPS).visit.id
        saved = queries.answers(book.db, visit)["line_amps"]
        assert all(line.now == "" for line in record_history.history(book, visit).lines)
        ident = recall.recall(book, "CL-01", date(2026, 9, 1), "jaw cracked").recalls[-1].id
        recall.review(as_supervisor(book), ident, recall.REPEAT, "not known how far off", [visit])
        for record in (visit, saved.uid):
            told = record_history.history(book, record).lines
            (line,) = (line for line in told if line.entry.uid == saved.uid)
            assert (line.verdict, line.now) == (
                "pass", "cannot tell: CL-01 was recalled on 2026-09-15 for readings since 2026-09-01",
            )  # fmt: skip
            assert [each.entry.says for each in told][-2:] == [
                "CL-01 recalled for readings since 2026-09-01: jaw cracked",
                "recall reviewed, the readings prove nothing and are to be made again: not known how far off",
            ]
        volts = queries.answers(book.db, visit)["supply_volts"].uid
        assert len(record_history.history(book, volts).lines) == 1  # read with another meter
        log = str(book.places.log)
    assert run(["record", visit, "--log", log]) == 0
    words = capsys.readouterr().out
    assert "Line amps A, B, C: 21.1 / 21.1 / 21.1 A: limit" in words
    assert "[pass]\n    NOW cannot tell: CL-01 was recalled" in words


def test_the_history_of_a_finding_begins_with_what_opened_it_and_ends_with_what_closed_it(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        for amps in (AMPS, ("0", "18.7", "18.7"), AMPS, AMPS):
            at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
            read(book, at, supply_volts=VOLTS, line_amps=amps)
        (found,) = [each for each in findings.all_findings(book) if each.step_id == "line_amps"]
        assert found.state == "closed"
        told = record_history.history(book, found.id).lines
        assert [line.verdict for line in told] == ["fail", "pass"]
        assert told[0].entry.uid == found.entry
        assert told[0].entry.says.startswith("Line amps A, B, C: 0 / 18.7 / 18.7 A")


def test_a_choice_is_told_in_words_and_what_a_person_wrote_as_it_stands(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with a_book(tmp_path) as book:
        at = rounds.start(book, rounds.Start("HOS-1", "mid-winter", INSTRUMENTS), TODAY)
        read(book, at, heating_now="off_rightly", handover="lock_12")
        at = rounds.progress(book, at.visit.id)
        rounds.answer(book, at, "heating_now", "on_rightly", rounds.AnswerOptions(because="the wrong lamp"))
        log = str(book.places.log)
    assert run(["record", at.visit.id, "--log", log]) == 0
    words = capsys.readouterr().out
    assert "on rightly; On, water below cut-out" in words
    assert "CORRECTION off rightly -> on rightly, by" in words
    assert "lock_12" in words
    assert run(["record", at.visit.id, "--json", "--log", log]) == 0
    assert '"on_rightly"' in capsys.readouterr().out
