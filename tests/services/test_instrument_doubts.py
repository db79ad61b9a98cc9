"""An instrument out of calibration, or recalled, is told before its first reading and asked about once; it is no bar.

That a reading with it proves nothing: ISO/IEC 17025 6.4 and 7.10 (from memory).
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from seasonlog.cli import run
from seasonlog.domain.desk import Mode, opened
from seasonlog.domain.instrument_doubt import doubt
from seasonlog.domain.register import Register
from seasonlog.domain.verdict import Verdict
from seasonlog.export.paper_html import to_html
from seasonlog.export.paper_text import to_text
from seasonlog.journal import queries
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import LogViews
from seasonlog.services import paper, recall, registry, rounds
from seasonlog.services import register as equipment
from seasonlog.services.instrument_doubts import doubts
from seasonlog.services.logbook import Logbook
from seasonlog.voice import spoken
from seasonlog.voice.session import Session
from tests.builders import INSTRUMENTS, TODAY, a_book, a_visit, as_supervisor, sample_register

SINCE = date(2026, 9, 1)
RECALLED = "recalled for readings since 2026-09-01: proves nothing"
STEP = "probe_plumb_deg"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as opened_:
        yield opened_


def recalled(book: Logbook, instrument: str = "AN-01") -> str:
    return recall.recall(book, instrument, SINCE, "dropped").recalls[-1].id


@pytest.mark.parametrize(
    ("due", "since", "words"),
    [
        (TODAY, "", ""),
        (TODAY - timedelta(days=1), "", "overdue since 2026-09-14: proves nothing"),
        (None, "", "no calibration on record: proves nothing"),
        (TODAY, "2026-09-01", RECALLED),
        (TODAY - timedelta(days=1), "2026-09-01", f"overdue since 2026-09-14; {RECALLED}"),
    ],
)
def test_both_are_said_once(due: date | None, since: str, words: str) -> None:
    known = replace(sample_register().instruments["AN-01"], calibration_due=due)
    assert doubt(known, TODAY, since) == words


def test_what_is_in_doubt_follows_recalls_days_and_reviews(book: Logbook) -> None:
    known = [sample_register().instruments["AN-01"]]
    at = rounds.answer(book, a_visit(book), STEP, "2")
    assert doubts(book.db, known, TODAY) == {}
    ident = recalled(book)
    assert doubts(book.db, known, TODAY) == {"AN-01": RECALLED}
    assert doubts(book.db, known, SINCE - timedelta(days=1)) == {}
    recall.review(as_supervisor(book), ident, recall.STANDS, "good by another gauge", [at.visit.id])
    assert (doubts(book.db, known, TODAY), doubts(book.db, known, TODAY, at.visit.id)) == ({"AN-01": RECALLED}, {})


def test_a_reading_with_it_says_so_at_once_and_is_kept_with_the_verdict_of_its_limit(book: Logbook) -> None:
    ident = recalled(book)
    at = a_visit(book)
    _, ahead = rounds.judgement(book, at, STEP, "2")
    at = rounds.answer(book, at, STEP, "2")
    saved = at.answers[STEP]
    assert (ahead.verdict, saved.verdict) == (Verdict.CANNOT_TELL, Verdict.CANNOT_TELL)
    assert "AN-01" in saved.says
    assert queries.answers(book.db, at.visit.id)[STEP] == saved
    assert book.journal.find(saved.uid).entry.body["verdict"] == "pass"  # type: ignore[union-attr]
    recall.review(as_supervisor(book), ident, recall.STANDS, "good by another gauge")
    assert rounds.progress(book, at.visit.id).answers[STEP].verdict is Verdict.PASS


def test_whoever_chose_it_was_told_and_the_record_says_so(book: Logbook) -> None:
    recalled(book)
    at = a_visit(book)
    assert at.visit.told == {"AN-01": RECALLED}
    assert not at.is_untold("AN-01")
    desk = opened(at)
    desk.go_to(STEP)
    desk.read_caution()  # its own
    assert (desk.mode, at.doubt_of(desk.instance)) == (Mode.ASK, f"AN-01: {RECALLED}")
    assert first_difference(book.journal, LogViews()) == ""


def test_recalled_since_it_was_chosen_it_is_asked_before_the_first_reading_after_the_steps_own_caution(
    book: Logbook,
) -> None:
    visit = a_visit(book).visit.id
    recalled(book)
    desk = opened(rounds.progress(book, visit))
    desk.go_to(STEP)
    if desk.has_unread_caution(desk.instance):
        desk.read_caution()
    assert desk.asks_of_doubt
    assert desk.to_read(desk.instance).startswith(f"Instrument AN-01: {RECALLED}. ")
    desk.read_caution()
    assert desk.mode is Mode.ASK
    again = rounds.choose_instrument(book, desk.at, "angle", "AN-01")
    assert not again.is_untold("AN-01")


def test_by_voice_it_is_read_out_and_understood_goes_on(book: Logbook) -> None:
    visit = a_visit(book).visit.id
    recalled(book)
    session = Session(book, opened(rounds.progress(book, visit)))
    session.desk.go_to(STEP)
    if session.desk.has_unread_caution(session.desk.instance):
        session.desk.read_caution()
    assert f"Caution. Instrument AN-01: {RECALLED}. Used anyway" in spoken.asked(session.ground())
    assert not session.type("two").saved
    session.type("understood")
    assert session.desk.mode is Mode.ASK
    assert session.type("two").saved
    assert session.desk.at.answers[STEP].verdict is Verdict.CANNOT_TELL


ANSWERS = '[instruments]\nangle = "AN-01"\n\n[answers]\nprobe_plumb_deg = "2"\n'


@pytest.fixture
def log(tmp_path: Path) -> Path:
    with a_book(tmp_path) as book:
        recalled(book)
    (tmp_path / "answers.toml").write_text(ANSWERS, "utf-8")
    return tmp_path / "seasonlog.db"


def command(log: Path, *more: str) -> int:
    words = ["visit", "--tower", "HOS-1", "--checklist", "fall-enable", "--answers", str(log.parent / "answers.toml")]
    return run([*words, "--by", "Mirel Oduvane", "--log", str(log), "--today", "2026-09-15", *more])


def test_on_the_command_line_it_is_told_and_without_a_terminal_goes_on(
    log: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command(log)
    out, err = capsys.readouterr()
    assert err.index("INSTRUMENT IN DOUBT: AN-01: ") < err.index("cannot tell")
    assert "saved" in out
    command(log)  # the same file again: told then, and asked no more
    assert "INSTRUMENT IN DOUBT" not in capsys.readouterr().err


@pytest.mark.parametrize("anyway", [True, False])
def test_at_a_terminal_it_is_asked_once(
    log: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, *, anyway: bool
) -> None:
    asked: list[str] = []
    monkeypatch.setattr("seasonlog.cli.frame.is_terminal", lambda: True)

    def confirm(words: str, **_: object) -> bool:
        asked.append(words)
        return anyway

    monkeypatch.setattr("click.confirm", confirm)
    code = command(log)
    out, err = capsys.readouterr()
    assert asked == ["Use it anyway?"]
    assert ("saved" in out, "Nothing was written" in err) == (anyway, not anyway)
    if not anyway:
        assert code == 1


def test_what_comes_from_paper_is_told_and_not_asked(
    log: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("seasonlog.cli.frame.is_terminal", lambda: True)
    monkeypatch.setattr("click.confirm", lambda words, **_: pytest.fail(words))
    moment = "2026-09-10 14:30"
    assert command(log, "--from-paper", moment) in (0, 1)
    assert "INSTRUMENT IN DOUBT: AN-01" in capsys.readouterr().err


def test_a_sheet_for_the_roof_names_what_is_in_doubt(book: Logbook) -> None:
    recalled(book)
    sheet = paper.sheet_of(book, "HOS-1", "fall-enable", "due", TODAY)
    assert sheet.doubted == (f"AN-01: {RECALLED}", "VM-02: overdue since 2026-05-31: proves nothing")
    for page in (to_text([sheet]), to_html([sheet])):
        assert "AN-01: recalled for readings since 2026-09-01" in page.replace("\n  ", " ")
    assert registry.shared(book.db).instruments["AN-01"].kind in sheet.instruments


def test_two_reasons_reach_the_log_as_one_sentence(book: Logbook) -> None:
    old = replace(sample_register().instruments["AN-01"], id="AN-09", calibration_due=date(2026, 1, 1))
    equipment.write(book, equipment.preview(Register.of(()), [old]))
    recalled(book, "AN-09")
    start = rounds.Start("HOS-1", "fall-enable", {**INSTRUMENTS, "angle": "AN-09"})
    assert rounds.start(book, start, TODAY).visit.told == {"AN-09": f"overdue since 2026-01-01; {RECALLED}"}
