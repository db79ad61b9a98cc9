"""A recall reaches readings whose limit was worked from a reading of the instrument: amps judged at recalled volts.

That every result an instrument had a part in is in doubt: ISO/IEC 17025 7.10, nonconforming work (from memory). That a
limit counts as such a result is common practice, no source.
"""

import random
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import permutations, product
from pathlib import Path

import pytest

from seasonlog import resources
from seasonlog.cli import run
from seasonlog.domain.checklist import applicable
from seasonlog.domain.limit_inputs import INPUTS
from seasonlog.domain.limits import QUANTITIES, limit_for
from seasonlog.domain.protection import Protection
from seasonlog.domain.register import Register
from seasonlog.domain.verdict import Verdict
from seasonlog.domain.visit import Progress, Saved
from seasonlog.journal import queries
from seasonlog.journal.compare import first_difference
from seasonlog.journal.views import SCHEMA, TABLES, LogViews
from seasonlog.services import board, checklists, findings, recall, record_history, registry, rounds
from seasonlog.services import register as equipment
from seasonlog.services.corrections import amend
from seasonlog.services.limits import bare_context
from seasonlog.services.logbook import Logbook
from tests.builders import INSTRUMENTS, TODAY, a_book, a_visit, as_supervisor, sample_register
from tests.journal.test_late_entries import afresh, an_empty_log, arrive, tables

SINCE = date(2026, 9, 1)
VOLTS, AMPS = ("479.7", "479.7", "479.7"), ("21.1", "21.1", "21.1")
WORDS = "judged at 479.7 / 479.7 / 479.7 V, read with VM-01, recalled"


def with_another_meter(book: Logbook) -> Logbook:
    """VM-03, as good as VM-01."""
    known = registry.shared(book.db).instruments["VM-01"]
    equipment.write(book, equipment.preview(Register.of(()), [replace(known, id="VM-03")]))
    return book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Logbook]:
    with a_book(tmp_path) as made:
        opened = with_another_meter(made)
        yield opened
        assert first_difference(opened.journal, LogViews()) == ""


def read(book: Logbook, at: Progress, **values: rounds.Raw) -> Progress:
    """Steps of the fall enable answered whatever should come first: `ahead` of their gates, as from a file."""
    for step, value in values.items():
        at = rounds.answer(book, at, step, value, rounds.AnswerOptions(reported=True))
    return at


def judged_amps(book: Logbook, amps: rounds.Raw = AMPS, **instruments: str) -> Progress:
    start = rounds.Start("HOS-1", "mid-winter", INSTRUMENTS | instruments)
    return read(book, rounds.start(book, start, TODAY), supply_volts=VOLTS, line_amps=amps)


def recalled(book: Logbook, instrument: str = "VM-01", since: date = SINCE) -> str:
    return recall.recall(book, instrument, since, "read 4 % low at the laboratory").recalls[-1].id


def amps_of(book: Logbook, at: Progress) -> Saved:
    return queries.answers(book.db, at.visit.id)["line_amps"]


def test_amps_judged_at_recalled_volts_are_cannot_tell_until_a_review_lets_them_stand(book: Logbook) -> None:
    at = judged_amps(book)
    before = amps_of(book, at)
    assert before.verdict is Verdict.PASS
    ident = recalled(book)
    doubted = amps_of(book, at)
    assert (doubted.verdict, doubted.recalled, doubted.instrument) == (Verdict.CANNOT_TELL, ident, "CL-01")
    assert doubted.says.startswith(f"cannot tell: {WORDS} on 2026-09-15 for readings since 2026-09-01")
    assert doubted.says.endswith(before.says)
    assert [r.verdict for r in queries.readings(book.db, "HOS-1", "line_amps")] == ["cannot_tell"]
    recall.review(as_supervisor(book), ident, recall.REPEAT, "not known how far off", [at.visit.id])
    assert amps_of(book, at) == doubted
    recall.review(as_supervisor(book), ident, recall.STANDS, "the panel meter bears the volts out")
    assert amps_of(book, at) == doubted  # the review of the visit goes before one of all
    recall.review(as_supervisor(book), ident, recall.STANDS, "the panel meter bears the volts out", [at.visit.id])
    assert amps_of(book, at) == before


def test_the_list_of_what_rests_on_it_names_them_and_what_they_were_judged_at(
    book: Logbook, capsys: pytest.CaptureFixture[str]
) -> None:
    judged_amps(book)
    found = {r.step: r.judged_at for r in recall.reliance(book, "VM-01", SINCE).readings}
    assert found == {"supply_volts": "", "line_amps": "479.7 / 479.7 / 479.7 V"}
    assert {r.step for r in recall.reliance(book, "CL-01", SINCE).readings} == {"line_amps"}
    assert recall.reliance(book, "VM-01", date(2026, 9, 16)).readings == []
    assert run(["instrument", "recall", "VM-01", "--since", "2026-09-01", "--log", str(book.places.log)]) == 0
    told = capsys.readouterr().out
    assert "21.1 / 21.1 / 21.1 A, judged at 479.7 / 479.7 / 479.7 V" in told
    assert "2 readings, 1 visit, 1 tower rest on VM-01" in told


def test_a_day_before_the_doubt_leaves_them(book: Logbook) -> None:
    at = judged_amps(book)
    book.around.clock.now = datetime(2026, 9, 20, 13, tzinfo=UTC)  # type: ignore[attr-defined]
    recalled(book, since=date(2026, 9, 16))
    assert amps_of(book, at).verdict is Verdict.PASS


def test_amps_read_after_the_recall_say_so_before_and_when_they_are_saved(book: Logbook) -> None:
    recalled(book)
    start = rounds.Start("HOS-1", "mid-winter", INSTRUMENTS)
    at = read(book, rounds.start(book, start, TODAY), supply_volts=VOLTS)
    _, ahead = rounds.judgement(book, at, "line_amps", AMPS)
    assert ahead.verdict is Verdict.CANNOT_TELL
    assert ahead.says.startswith(f"{WORDS} on 2026-09-15 for readings since 2026-09-01; as read: 21.1")
    saved = read(book, at, line_amps=AMPS).answers["line_amps"]
    assert (saved.verdict, saved) == (Verdict.CANNOT_TELL, amps_of(book, at))


def test_volts_read_again_with_a_good_meter_help_only_amps_judged_again(book: Logbook) -> None:
    at = judged_amps(book)
    recalled(book)
    at = rounds.choose_instrument(book, rounds.progress(book, at.visit.id), "voltmeter", "VM-03")
    again = rounds.AnswerOptions(because="read again with a good meter", reported=True)
    at = rounds.answer(book, at, "supply_volts", ("480.0", "480.0", "480.0"), again)
    assert amps_of(book, at).verdict is Verdict.CANNOT_TELL
    at = rounds.answer(book, at, "line_amps", AMPS, again)
    assert amps_of(book, at).verdict is Verdict.PASS
    amend(book, at.visit.id, "line_amps", ("21.2", "21.2", "21.2"), "digit")
    assert amps_of(book, at).verdict is Verdict.PASS


def test_a_cut_out_is_held_against_the_thermometer_that_read_the_cut_in(book: Logbook) -> None:
    at = read(book, a_visit(book), cut_in_degf="39.8")
    at = rounds.choose_instrument(book, at, "thermometer", "TH-02")
    at = read(book, at, cut_out_degf="47.8")
    ident = recalled(book, "TH-01")
    out = queries.answers(book.db, at.visit.id)["cut_out_degf"]
    assert out.says.startswith("cannot tell: judged at 39.8 degf, read with TH-01, recalled")
    recall.review(as_supervisor(book), ident, recall.STANDS, "good in ice")
    assert queries.answers(book.db, at.visit.id)["cut_out_degf"].verdict is Verdict.PASS
    recalled(book, "TH-02")
    assert queries.answers(book.db, at.visit.id)["cut_in_degf"].verdict is Verdict.PASS


def test_what_was_not_judged_rests_on_nothing(book: Logbook) -> None:
    """Self-regulating cable is not judged by its amps, so the volts beside them change nothing."""
    at = read(book, a_visit(book), trace_volts="119.9", trace_amps="1.0")
    before = queries.answers(book.db, at.visit.id)["trace_amps"]
    recalled(book)
    assert queries.answers(book.db, at.visit.id)["trace_amps"] == before
    assert {r.step for r in recall.reliance(book, "VM-01", SINCE).readings} == {"trace_volts"}


def test_a_finding_closed_by_such_a_retest_stands_open_again_with_the_reason(book: Logbook) -> None:
    judged_amps(book, ("12.0", "12.0", "12.0"), voltmeter="VM-03")
    (found,) = findings.open_findings(book)
    visit = judged_amps(book).visit.id
    shut = findings.named(book, found.id)
    assert shut.state == "closed"
    assert [f.id for f in recall.reliance(book, "VM-01", SINCE).closed] == [found.id]
    ident = recalled(book)
    again = findings.named(book, found.id)
    words = "closed by a retest judged at 479.7 / 479.7 / 479.7 V, read with VM-01, recalled since 2026-09-01"
    assert (again.state, again.doubt) == ("open", words)
    assert [line.entry.kind for line in record_history.history(book, found.id).lines][-1] == "instrument_recalled"
    recall.review(as_supervisor(book), ident, recall.STANDS, "the panel meter bears the volts out", [visit])
    assert findings.named(book, found.id) == shut


def test_the_tower_is_not_proven_and_the_instrument_named_is_the_recalled_one(tmp_path: Path) -> None:
    from seasonlog.domain.audit_rules import instruments_stand
    from seasonlog.domain.coverage import facts_of

    with a_book(tmp_path) as book:
        at = judged_amps(book)
        recalled(book)
        (breach,) = instruments_stand(facts_of(rounds.progress(book, at.visit.id)))
        assert breach.says.startswith("VM-01 was recalled")
        assert amps_of(book, at).uid in breach.evidence
        state = board.covered(book, registry.of_tower(book.db, "HOS-1"), "HOS-1", TODAY)
        assert state.protection is Protection.NOT_PROVEN


def insulation(book: Logbook, mohm: str, by: str) -> Progress:
    start = rounds.Start("HOS-1", "fall-enable", INSTRUMENTS | {"insulation": by})
    return read(book, rounds.start(book, start, TODAY), insulation_mohm=mohm)


def test_insulation_held_against_an_earlier_reading_rests_on_the_tester_of_that_one(book: Logbook) -> None:
    """15 Mohm is near, since half of the 24 read before is 12; 25 is good whatever was read before."""
    first = insulation(book, "24", "IN-01")
    near, good = insulation(book, "15", "IN-02"), insulation(book, "25", "IN-02")
    ident = recalled(book, "IN-01")

    def verdicts() -> list[Verdict | None]:
        return [queries.answers(book.db, at.visit.id)["insulation_mohm"].verdict for at in (first, near, good)]

    said = queries.answers(book.db, near.visit.id)["insulation_mohm"].says
    assert said.startswith("cannot tell: judged at 24 Mohm, read with IN-01, recalled")
    assert verdicts() == [Verdict.CANNOT_TELL, Verdict.CANNOT_TELL, Verdict.PASS]
    assert recall.reliance(book, "IN-01", SINCE).visits == (first.visit.id, near.visit.id)
    recall.review(as_supervisor(book), ident, recall.STANDS, "read the same on a resistor", [first.visit.id])
    assert verdicts() == [Verdict.PASS, Verdict.NEAR_PASS, Verdict.PASS]
    recall.review(as_supervisor(book), ident, recall.REPEAT, "15 is too close", [near.visit.id])
    assert verdicts() == [Verdict.PASS, Verdict.CANNOT_TELL, Verdict.PASS]


def test_what_is_in_doubt_is_no_yardstick(book: Logbook) -> None:
    insulation(book, "12", "IN-02")
    insulation(book, "2000", "IN-01")
    recalled(book, "IN-01")
    at = insulation(book, "8", "IN-02")
    told = queries.answers(book.db, at.visit.id)["insulation_mohm"]
    assert told.verdict is Verdict.NEAR_PASS
    assert "it was 12 Mohm before" in told.limits[0]["basis"]


Deed = Callable[[Logbook], object]


@pytest.mark.parametrize("order", list(permutations(range(3))), ids=str)
def test_amps_doubted_by_both_their_meters_wait_for_both_reviews(tmp_path: Path, order: tuple[int, ...]) -> None:
    """In every order of two recalls and the visit: one review leaves the other's doubt, both restore the verdict."""
    with a_book(tmp_path) as book:
        deeds: list[Deed] = [judged_amps, lambda b: recalled(b, "CL-01"), recalled]
        for at in order:
            deeds[at](book)
        (visit,) = recall.reliance(book, "VM-01", SINCE).visits
        by = {r.instrument: r.id for r in recall.unreviewed(book)}
        recall.review(as_supervisor(book), by["CL-01"], recall.STANDS, "good at the laboratory")
        assert WORDS in queries.answers(book.db, visit)["line_amps"].says
        recall.review(as_supervisor(book), by["VM-01"], recall.STANDS, "good at the laboratory")
        assert queries.answers(book.db, visit)["line_amps"].verdict is Verdict.PASS
        assert first_difference(book.journal, LogViews()) == ""


@pytest.mark.parametrize("seed", range(3))
def test_entries_that_arrive_in_any_order_make_the_same_tables(tmp_path: Path, seed: int) -> None:
    with a_book(tmp_path / "made") as book:
        with_another_meter(book)
        start = book.journal.count()
        judged_amps(book, ("12.0", "12.0", "12.0"), voltmeter="VM-03")
        visit = judged_amps(book).visit.id
        ident = recalled(book)
        recalled(book, "CL-01")
        recall.review(as_supervisor(book), ident, recall.STANDS, "good after all", [visit])
        recalled(book)
        entries = list(book.journal.entries(order="causal"))
    late = random.Random(seed).sample(range(start, len(entries)), 10)
    with closing(an_empty_log(tmp_path / "log.db")) as db:
        arrive(db, [e for at, e in enumerate(entries) if at not in late])
        for at in late:
            arrive(db, [entries[at]])
        assert tables(db) == afresh(db)
        assert db.execute("SELECT state, json_extract(doc, '$.doubt') != '' FROM finding").fetchall() == [("open", 1)]


def test_older_entries_that_do_not_tell_are_held_against_their_visit(tmp_path: Path) -> None:
    """The tables of a log whose entries lack the field are those of one whose entries have it."""
    with a_book(tmp_path) as book:
        judged_amps(book)
        read(book, a_visit(book), cut_in_degf="39.8", cut_out_degf="47.8", trace_volts="119.9", trace_amps="1.0")
        recalled(book)
        entries = list(book.journal.entries(order="causal"))
        told = {name: book.db.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall() for name in TABLES}
    assert sum("rests_on" in stored.entry.body for stored in entries) == 2
    with closing(sqlite3.connect(":memory:")) as db:
        db.executescript(SCHEMA)
        for stored in entries:
            body = {k: v for k, v in stored.entry.body.items() if k != "rests_on"}
            LogViews().apply(db, replace(stored, entry=replace(stored.entry, body=body)))
        assert {name: db.execute(f"SELECT * FROM {name} ORDER BY 1, 2").fetchall() for name in TABLES} == told


class Asked(dict[str, str]):
    """Answers that note which steps a limit asks for."""

    def __init__(self) -> None:
        self.steps: set[str] = set()

    def __contains__(self, key: object) -> bool:
        self.steps.add(str(key).partition("@")[0])
        return True

    def __getitem__(self, key: str) -> str:
        return "1"


NO_INSTRUMENT = {"jaw_turns", "full_output_proven", "electrode_plate_volts", "drain_minutes_stated"}
"""Steps whose answer a limit asks for and that no instrument reads: said, chosen or read off a plate."""


def asked_for() -> dict[str, set[str]]:
    """Quantity to the steps whose answers its limit asks for, on every sample tower in every checklist."""
    register, found = sample_register(), {name: set[str]() for name in QUANTITIES}
    lists = [checklists.named(file.stem, None) for file in resources.checklists().glob("*.toml")]
    for checklist, tower in product(lists, register.towers):
        for instance in applicable(checklist, register, tower):
            name = instance.step.quantity
            if name:
                answers = Asked()
                context = replace(bare_context(register, tower, instance, TODAY, {}), answers=answers)
                if limit_for(name, replace(context, measured_volts=470.0)) != limit_for(name, context):
                    found[name].add("supply_volts")
                found[name] |= answers.steps
    return found


def test_the_table_names_every_reading_that_a_limit_asks_for() -> None:
    """Held against the limits themselves: what they ask for is noted; agreement is exact."""
    found = {name: steps - NO_INSTRUMENT for name, steps in asked_for().items()}
    assert {name: steps for name, steps in found.items() if steps} == {name: {step} for name, step in INPUTS.items()}
