"""A corrected reading can be walked back to its first observation (ISO/IEC 17025:2017 7.5.2, from memory: amendments
trace to earlier versions, both are kept with date, change and who); of two corrections both are kept until decided."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.domain.limits import Verdict
from seasonlog.errors import InputRefusedError
from seasonlog.journal import trust_queries
from seasonlog.journal.encoding import Entry
from seasonlog.journal.stored import Stored
from seasonlog.journal.views import LogViews
from seasonlog.services import (
    attachments,
    bundles,
    closing,
    corrections,
    findings,
    record_history,
    reports_csv,
    rounds,
    signing,
)
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.builders import TODAY, FixedBytes, FixedClock, a_book, a_visit, answered
from tests.services.test_attachments import a_photo, handed

STEP = "probe_plumb_deg"


@dataclass
class Two:
    """Two laptops with one log, the second one enrolled."""

    here: Path
    there: Path

    def book(self, folder: Path, who: str) -> Logbook:
        return Logbook.open(Places(folder / "seasonlog.db"), _around(folder), who, writing=True)

    def carry(self, giver: Path, taker: Path, enrol: str = "") -> None:
        """What one has becomes known to the other, photos too."""
        with self.book(giver, "Mirel Oduvane") as book:
            data = bundles.export(book).data
        at, around_ = Places(taker / "seasonlog.db"), _around(taker)
        looked = bundles.look(at, around_, data, "carried", enrol=enrol)
        if not looked.is_nothing:
            bundles.take(at, around_, "Halden Pruskett", looked, enrol=enrol, enrol_as="second" if enrol else "")

    def meet(self) -> None:
        self.carry(self.there, self.here)
        self.carry(self.here, self.there)


_AROUND: dict[str, Surroundings] = {}


def _around(folder: Path) -> Surroundings:
    """Each laptop's own clock goes on and its own random bytes never come twice."""
    return _AROUND.setdefault(str(folder), Surroundings(FixedClock(), FixedBytes(str(folder))))


@pytest.fixture
def two(tmp_path: Path) -> tuple[Two, str]:
    """A visit with one answer, on both laptops."""
    found = Two(tmp_path / "here", tmp_path / "there")
    found.here.mkdir()
    with a_book(found.here, surroundings=_around(found.here)) as book:
        visit = rounds.answer(book, a_visit(book), STEP, "22").visit.id
    found.carry(found.here, found.there)
    with found.book(found.there, "Jessa Wickmoor") as book:
        rounds.add_note(book, "HOS-1", "joined")
        device = book.journal.device_id
    found.carry(found.there, found.here, enrol=device)
    found.carry(found.here, found.there)
    return found, visit


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


def test_both_of_two_corrections_are_kept_and_a_supervisor_decides(two: tuple[Two, str]) -> None:
    laptops, visit = two
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        ours = corrections.amend(book, visit, STEP, "2", "typed twice").answers[STEP].uid
    with laptops.book(laptops.there, "Halden Pruskett") as book:
        theirs = corrections.amend(book, visit, STEP, "12", "typed wrong").answers[STEP].uid
        assert corrections.undecided(book) == ()  # nobody knows yet
    laptops.meet()
    for folder in (laptops.here, laptops.there):
        with laptops.book(folder, "Mirel Oduvane") as book:
            (conflict,) = corrections.undecided(book)
            assert {a.uid: a.body["value"] for a in conflict.answers} == {ours: "2", theirs: "12"}
            disputed = rounds.progress(book, visit).answers[STEP]
            assert (disputed.verdict, disputed.is_good) == (Verdict.CANNOT_TELL, False)
            assert "two devices answered differently" in disputed.says
            now = {line.entry.uid: line.now for line in record_history.history(book, visit).lines if line.now}
            assert now == dict.fromkeys((ours, theirs), record_history.PARALLEL)
            assert set(in_a_spreadsheet(book)) == {"cannot_tell"}
            with pytest.raises(InputRefusedError, match="only a supervisor decides"):
                corrections.decide(book, ours, "the photo shows 2")
    with laptops.book(laptops.there, "Halden Pruskett") as book:
        with pytest.raises(InputRefusedError, match="is not among them"):
            corrections.decide(book, "no-such", "x")
        with pytest.raises(InputRefusedError, match="reason"):
            corrections.decide(book, ours, " ")
        at = corrections.decide(book, ours, "the photo shows 2")
        assert at.answers[STEP].value == "2"
        assert corrections.undecided(book) == ()
    laptops.meet()
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        assert corrections.undecided(book) == ()
        chain = corrections.chain(book, visit, STEP)
        decided = rounds.progress(book, visit).answers[STEP]
        assert (decided.value, decided.verdict) == ("2", Verdict.PASS)
        assert set(in_a_spreadsheet(book)) == {"pass"}
    assert len(chain) == 4
    assert (set(chain[-1].body["decides"]), chain[-1].who) == ({ours, theirs}, "Halden Pruskett")


def in_a_spreadsheet(book: Logbook) -> list[str]:
    """What the table says of the answers that stand."""
    table = next(t for t in reports_csv.tables(book, TODAY) if t.name == "answers")
    names = [field.name for field in table.fields]
    rows = [dict(zip(names, row, strict=True)) for row in table.rows]
    return [str(row["verdict_now"]) for row in rows if row["stands"]]


def test_two_laptops_that_wrote_the_same_leave_nothing_to_decide(two: tuple[Two, str]) -> None:
    laptops, visit = two
    for folder in (laptops.here, laptops.there):
        with laptops.book(folder, "Halden Pruskett") as book:
            corrections.amend(book, visit, STEP, "2", "typed twice")
    laptops.meet()
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        assert corrections.undecided(book) == ()
        assert len(corrections.chain(book, visit, STEP)) == 3


def test_a_photo_erased_on_one_laptop_goes_from_the_other_too(two: tuple[Two, str]) -> None:
    laptops, visit = two
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        wish = attachments.Wish(visit=visit)
        (photo,) = attachments.attach(book, attachments.proposals(book, [handed("a.jpg", a_photo())], wish), wish)
    laptops.meet()
    with laptops.book(laptops.there, "Halden Pruskett") as book:
        assert attachments.content(book, photo.id) == a_photo()
        attachments.erase(book, photo.id, "a face")
    laptops.meet()
    with laptops.book(laptops.here, "Mirel Oduvane") as book:
        assert attachments.store(book.places).names() == frozenset()
        assert "a face" in attachments.named(book, photo.id).says


_DEVICES = st.lists(st.tuples(st.sampled_from("AB"), st.sampled_from("123"), st.booleans()), min_size=1, max_size=7)


@given(_DEVICES)
def test_the_fold_finds_what_a_plain_look_at_all_answers_finds(drawn: list[tuple[str, str, bool]]) -> None:
    """The rule written the plainest way: of neighbours in causal order by two devices, did the later one name the
    earlier one, or say the same? Held against the table that the fold keeps."""
    db = sqlite3.connect(":memory:")
    db.executescript(LogViews.schema)
    parallel, before, seen_by = [], ("", "", ""), {"A": "", "B": ""}
    for n, (dev, value, knows) in enumerate(drawn):
        uid = f"u{n}"
        corrects = before[1] if knows else seen_by[dev]
        if before[0] not in ("", dev) and corrects != before[1] and (parallel or before[2] != value):
            parallel += [u for u in (before[1], uid) if u not in parallel]
        body = {
            "visit": "V", "tower": "T", "step": "s", "step_id": "s", "target": "", "value": value, "quantity": "",
            "verdict": "pass", "says": value, "limits": [], "raw": value, "unit": "", "instrument": "",
        }  # fmt: skip
        body |= {"corrects": corrects} if corrects else {}
        entry = Entry("0" * 32, dev * 16, n + 1, "", uid, n, 0, f"{n:021d}", "", "w", "step_answered", body)
        LogViews().apply(db, Stored(n + 1, entry, bytes(32), b"", bytes(64)))
        before, seen_by = (dev, uid, value), {**seen_by, dev: uid}
    found = [uid for each in trust_queries.conflicts(db) for uid in each.answers]
    assert found == parallel


def test_an_answer_after_a_skip_is_no_conflict(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.skip(book, a_visit(book), STEP, "no gauge at hand")
        rounds.answer(book, at, STEP, "2")
        assert trust_queries.conflicts(book.db) == []


def test_a_correction_is_of_the_day_its_first_observation_was_made(tmp_path: Path) -> None:
    """Read once, corrected twice in later years: recall, trend and newest reading go by the day it was read."""
    from datetime import UTC, date, datetime

    from seasonlog.journal import audit_queries, queries
    from tests.builders import around

    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), STEP, "22")
        read = book.today()
        target = at.answers[STEP].target
    for year, value in ((2035, "12"), (2036, "2")):
        with a_book(tmp_path, sites=False, surroundings=around(datetime(year, 9, 15, 13, tzinfo=UTC))) as late:
            at = corrections.amend(late, at.visit.id, STEP, value, "typed twice")
            assert (at.answers[STEP].day, at.answers[STEP].verdict is Verdict.PASS) == (str(read), value == "2")
            (row,) = audit_queries.readings_of(late.db, at.visit.tower, STEP, target)
            assert (row.day, row.values) == (str(read), (value,))
            assert queries.latest_readings(late.db, at.visit.tower)[STEP, target].value == value
            newer = date(2027, 1, 1)
            relied = audit_queries.relied_on(late.db, at.visit.instruments["angle"], str(newer))
            assert relied == []


def test_a_correction_names_the_instrument_that_was_read_with_and_not_one_chosen_later(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "supply_volts", ("480", "481", "47"), _REPORTED)
        used = at.answers["supply_volts"].instrument
        at = rounds.choose_instrument(book, at, "voltmeter", "VM-02")
        told = corrections.preview(book, at, "supply_volts", ("480", "481", "479"), "a digit short")
        at = corrections.amend(book, at.visit.id, "supply_volts", ("480", "481", "479"), "a digit short")
    saved = at.answers["supply_volts"]
    assert (used, saved.instrument) == ("VM-01", "VM-01")
    assert (saved.verdict, at.visit.instruments["voltmeter"]) == (told.judgement.verdict, "VM-02")
    assert [str(a.body["verdict"]) for a in told.chain] == ["fail"]


_REPORTED = rounds.AnswerOptions(reported=True)
