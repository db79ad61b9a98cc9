"""One test for each row of the published rules for records that seasonlog is held to.

None of these rules binds a basin heater: they are the strictest published yardsticks. 21 CFR 11, ISO/IEC 17025,
ASHRAE 188, 29 CFR 1904.33 and 1910.147 and NFPA 25 are paraphrased, some of them from memory. Each row has a short test
here; the long ones stand where the thing itself is tested.
"""

import ast
import random
import re
import sqlite3
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

import seasonlog
from seasonlog.cli.group import COMMANDS
from seasonlog.domain.answers import number_of, parse_answer
from seasonlog.domain.audit_rules import CERTIFIED, held
from seasonlog.domain.coverage_cells import CellKey, Outcome
from seasonlog.domain.judging import limit_from_record
from seasonlog.domain.limit import judge, worst
from seasonlog.domain.records import FIELDS, Kind, Record
from seasonlog.domain.visit import Progress
from seasonlog.errors import InputRefusedError, LogError
from seasonlog.journal import audit_queries, queries, standalone_verifier
from seasonlog.services import (
    board,
    bundles,
    checklists,
    closing,
    coverage_facts,
    findings,
    record_history,
    registry,
    reports,
    rounds,
)  # fmt: skip
from seasonlog.services.audit import verify_log
from seasonlog.services.coverage_cell import opened
from seasonlog.services.coverage_facts import Findings
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.audit_story import TOWER
from tests.builders import QUALIFIED, TODAY, FixedBytes, FixedClock, a_book, a_visit, answered, around

ROWS = (
    "21 CFR 11.10(e)", "21 CFR 11.10(a)", "21 CFR 11.10(b),(c)", "21 CFR 11.10(d),(g)", "21 CFR 11.10(f)",
    "21 CFR 11.10(h)", "21 CFR 11.50, 11.70", "ALCOA+ attributable", "ALCOA+ legible, enduring, available",
    "ALCOA+ contemporaneous", "ALCOA+ original", "ALCOA+ accurate", "ALCOA+ complete, consistent",
    "ISO/IEC 17025 7.5.1-2", "ASHRAE 188", "29 CFR 1904.33", "29 CFR 1910.147(c)(6)(ii)", "NFPA 25 4.3",
)  # fmt: skip
"""The rows, in the order of the tests below: the first line of each test names its row."""


@pytest.fixture(scope="module")
def told(winters: tuple[Path, str]) -> Iterator[Logbook]:
    with Logbook.open(Places(winters[0]), around(), "", writing=False) as book:
        yield book


def test_each_row_has_a_test() -> None:
    rows = [
        (value.__doc__ or "").partition(":")[0] for name, value in globals().items() if name.startswith("test_row_")
    ]
    assert tuple(rows) == ROWS
    assert len(ROWS) == 18


def test_row_01_changes_hide_nothing(tmp_path: Path) -> None:
    """21 CFR 11.10(e): a step of each kind is corrected; old, new, who, when and why are told; nothing can update."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book))
        kinds = {i.step.kind: i for i in reversed(at.instances) if not at.answers[i.key].is_skipped}
        for instance in kinds.values():
            before = at.answers[instance.key].raw
            raw = before if isinstance(before, str) else list(before)
            at = rounds.answer(book, at, instance.key, raw, rounds.AnswerOptions(because=f"again {instance.key}"))
        found = {c.because: c for c in record_history.history(book, at.visit.id).corrections}
        assert len(kinds) >= 6
        assert set(found) == {f"again {i.key}" for i in kinds.values()}
        for each in found.values():
            assert each.old
            assert each.new
            assert each.who == QUALIFIED
            assert each.when.startswith("2026-09-15")
            assert book.journal.find(each.corrects) is not None
        path = book.journal.path
    db = sqlite3.connect(path)
    again = "INSERT OR REPLACE INTO entry SELECT pos, dev, seq, hash, uid, hlc, kind, line, sig FROM entry"
    for attempt in ("UPDATE entry SET line = x'00'", "DELETE FROM entry", again):
        with pytest.raises(sqlite3.IntegrityError):
            db.execute(attempt)
    db.close()


def test_row_02_altered_records_are_seen(tmp_path: Path) -> None:
    """21 CFR 11.10(a): nineteen ways to alter the file are named here, twenty-two more in the tests of trust."""
    from seasonlog.journal.verify import verify
    from tests.journal.logs import closed_log, spoil
    from tests.journal.test_attacks import ATTACKS
    from tests.journal.test_trust_attacks import KEY_HOLDER, OUTSIDER

    assert len(ATTACKS) + len({*OUTSIDER, *KEY_HOLDER}) >= 20
    for attack in ATTACKS:
        path = closed_log(tmp_path / attack.__name__, 9, seed="rules")
        spoil(path, lambda db, attack=attack: attack(db, 6, 10, random.Random(1)))
        assert not verify(path).ok, attack.__name__


def test_row_03_copies_are_complete(tmp_path: Path) -> None:
    """21 CFR 11.10(b),(c): a bundle taken to an empty machine gives the same report, byte for byte.

    All but what the empty machine adds: its own key is one more entry, its checkpoint one more witness.
    """
    from seasonlog.services.reports_file import written

    with a_book(tmp_path / "here") as book:
        visit = closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis").visit.id
        data = bundles.export(book).data
    pages = []
    empty = Surroundings(FixedClock(datetime(2026, 9, 16, 9, tzinfo=UTC)), FixedBytes("empty"))
    there = Places(tmp_path / "there" / "seasonlog.db")
    bundles.take(there, empty, "Verita Collumby", bundles.look(there, empty, data, "x.bundle"))
    for at in (Places(tmp_path / "here" / "seasonlog.db"), there):
        with Logbook.open(at, around(datetime(2026, 9, 17, tzinfo=UTC)), "", writing=False) as book:
            made = reports.Made("Verita Collumby", TODAY)
            page = written(reports.visit_report(book, visit, made), "html").decode()
            page = re.sub(r"[A-Z2-7]{4}(-[A-Z2-7]{4}){3}|\d+ entries|[-0-9: ]+UTC by device \w+", "OWN", page)
            pages.append(re.sub(r"before [-0-9: ]+UTC|no checkpoint of another device[^<]+", "BRACKET", page))
    assert pages[0] == pages[1]
    assert "Oren Tallis" in pages[0]


def test_row_04_only_who_may(told: Logbook, tmp_path: Path) -> None:
    """21 CFR 11.10(d),(g): accepting a hazard is the supervisor's, an auditor writes nothing, a name is asked for."""
    from tests.hub.test_roles import PERMITTED, REFUSED

    assert len(PERMITTED) + len(REFUSED) >= 31
    with a_book(tmp_path) as book:
        closing.sign_off(book, answered(book, a_visit(book), {"insulation_mohm": "0.4"}), closing.NOT_AVAILABLE)
        (hazard,) = findings.open_findings(book, tower=TOWER)
        for who, may in ((QUALIFIED, False), ("Verita Collumby", False), ("Halden Pruskett", True)):
            book.who = who
            try:
                findings.accept(book, hazard.id, "Oren Tallis", date(2026, 10, 1), "spare on its way")
            except InputRefusedError:
                assert not may
            else:
                assert may
        places = book.places
    with Logbook.open_untouched(places, around()) as book, pytest.raises(LogError, match="reading only"):
        rounds.add_note(book, TOWER, "x")
    with pytest.raises(InputRefusedError):
        Logbook.open(places, around(), " ", writing=True)


def test_row_05_no_step_before_its_gate(tmp_path: Path) -> None:
    """21 CFR 11.10(f): two hundred answers tried in any order; one whose gate is shut is refused every time."""
    chance, shut = random.Random(5), 0
    with a_book(tmp_path) as book:
        at = a_visit(book)
        for _ in range(200):
            instance = chance.choice(at.instances)
            waits = at.waits_for(instance.key)
            if waits:
                before = book.journal.count()
                with pytest.raises(InputRefusedError, match="waits for"):
                    rounds.answer(book, at, instance.key, "yes")
                assert book.journal.count() == before
                shut += 1
            elif instance.key not in at.answers:
                at = rounds.skip(book, at, instance.key, "tried")
        with pytest.raises(InputRefusedError, match="unanswered"):
            closing.sign_off(book, a_visit(book, "HOS-4"), closing.NOT_AVAILABLE)
    assert shut > 20


def test_row_06_a_strange_device_is_refused(tmp_path: Path) -> None:
    """21 CFR 11.10(h): entries of a device that nobody enrolled are not taken in."""
    from tests.journal.test_bundle import Laptop

    north, stranger = Laptop(tmp_path, "north"), Laptop(tmp_path, "stranger", 20)
    north.note("the log begins")
    stranger.take(north.export())
    stranger.note("from nowhere")
    before = north.count()
    with pytest.raises(InputRefusedError, match="is not enrolled here"):
        north.take(stranger.export())
    assert north.count() >= before
    assert north.take(stranger.export(), enrol=stranger.dev).entries == 2


def test_row_07_a_signature_stays_with_its_record(tmp_path: Path) -> None:
    """21 CFR 11.50, 11.70: name, time and meaning are told; moved to another record it breaks the rule."""
    with a_book(tmp_path) as book:
        first = closing.sign_off(book, answered(book, a_visit(book)), "Oren Tallis")
        assert [(str(s.meaning), s.name) for s in first.visit.signatures] == [
            ("done_by", QUALIFIED), ("received_by", "Oren Tallis"),
        ]  # fmt: skip
        assert all(s.wall_ms for s in first.visit.signatures)
        second = closing.sign_off(book, answered(book, a_visit(book, "HOS-4")), closing.NOT_AVAILABLE).visit.id
        body = next(s.entry.body for s in book.journal.entries(kind=Kind.VISIT_SIGNED))
        book.write(Record(Kind.VISIT_SIGNED, {**body, "visit": second}))
        results = {r.rule: r.outcome for r in rules(book, second)}
        assert results["signature_of_this_record"] is Outcome.BROKEN
        assert {r.rule: r.outcome for r in rules(book, first.visit.id)}["signature_of_this_record"] is Outcome.KEPT


def rules(book: Logbook, visit: str):  # type: ignore[no-untyped-def]
    known = Findings.of(audit_queries.finding_rows(book.db))
    return held(coverage_facts.whole(book, visit, known, TODAY))


def test_row_08_every_entry_has_a_name_and_a_device(told: Logbook) -> None:
    """ALCOA+ attributable: of every entry; a body that is not whole is refused before it is written."""
    entries = [s.entry for s in told.journal.entries()]
    assert len(entries) > 1000
    assert all(e.who.strip() and re.fullmatch("[0-9a-f]{16}", e.dev) for e in entries)
    for visit in told.db.execute("SELECT visit FROM proof").fetchall()[:5]:
        assert {r.rule: r.outcome for r in rules(told, visit[0])}["people_named"] is Outcome.KEPT


def test_row_09_an_old_bundle_is_read_for_ever() -> None:
    """ALCOA+ legible, enduring, available: the first version's bundle, by one file of the standard library."""
    kept = sorted((Path(__file__).parent / "data" / "bundles").glob("v1/*.bundle"))
    for file in kept:
        data = file.read_bytes()
        data.decode("utf-8")
        assert standalone_verifier.check(data)[0].startswith("OK: ")
    source = ast.parse(Path(standalone_verifier.__file__).read_text("utf-8"))
    named = {n.name.partition(".")[0] for node in ast.walk(source) if isinstance(node, ast.Import) for n in node.names}
    named |= {
        node.module.partition(".")[0] for node in ast.walk(source) if isinstance(node, ast.ImportFrom) and node.module
    }
    assert kept
    assert named - {"__future__"} <= sys.stdlib_module_names


def test_row_10_when_it_was_written_is_told(tmp_path: Path) -> None:
    """ALCOA+ contemporaneous: clock and distance from UTC in every entry; a clock set back is counted; a bracket."""
    clock = FixedClock(datetime(2026, 9, 15, 13, tzinfo=UTC), 330)
    with a_book(tmp_path, surroundings=Surroundings(clock, FixedBytes())) as book:
        rounds.add_note(book, TOWER, "before")
        clock.now -= timedelta(days=1)
        rounds.add_note(book, TOWER, "after")
        entry = book.journal.last().entry
        (line,) = record_history.history(book, entry.uid).lines
        assert "(UTC+05:30)" in record_history.when(line.entry)
        assert line.bracket
        places = book.places
    assert verify_log(places, quick=True).log.clock_set_back == 1


def test_row_11_what_was_typed_stays_beside_what_was_read(told: Logbook) -> None:
    """ALCOA+ original: every answer as typed gives the same value when it is read again."""
    tried = 0
    for (visit,) in told.db.execute("SELECT visit FROM proof").fetchall():
        at = rounds.progress(told, visit)
        for instance in at.instances:
            saved = at.answers.get(instance.key)
            if saved is not None and not saved.is_skipped:
                raw = saved.raw if isinstance(saved.raw, str) else list(saved.raw)
                assert parse_answer(instance.step, raw).value == saved.value  # type: ignore[union-attr]
                tried += 1
    assert tried > 1000


def test_row_12_old_verdicts_are_computed_again(told: Logbook) -> None:
    """ALCOA+ accurate: every reading against the limit kept beside it; no verdict changes."""
    tried = Counter[str]()
    for stored in told.journal.entries(kind=Kind.STEP_ANSWERED):
        body = stored.entry.body
        if len(body["limits"]) == 1 and body["quantity"]:
            limit = limit_from_record(body["limits"][0])
            values = body["value"] if isinstance(body["value"], list) else [body["value"]]
            found = worst(judge(number_of(value), limit) for value in values)
            assert str(found) == body["verdict"], body
            tried[body["verdict"]] += 1
    assert tried["pass"] > 200


def test_row_13_nothing_is_left_out(told: Logbook) -> None:
    """ALCOA+ complete, consistent: numbers without gaps, every kind known, failed tests kept."""
    by_device: dict[str, list[int]] = {}
    kinds = Counter[str]()
    for stored in told.journal.entries():
        by_device.setdefault(stored.entry.dev, []).append(stored.entry.seq)
        kinds[stored.entry.kind] += 1
    assert all(sorted(seqs) == list(range(1, len(seqs) + 1)) for seqs in by_device.values())
    assert set(kinds) <= {str(kind) for kind in FIELDS}
    assert sum(kinds.values()) == told.journal.count()
    for (visit,) in told.db.execute("SELECT visit FROM proof").fetchall():
        mine = [s for s in told.journal.entries() if s.entry.body.get("visit") == visit]
        assert len(record_history.history(told, visit).lines) == len(mine)
        break


def test_row_14_a_correction_leads_back_to_the_first_observation(tmp_path: Path) -> None:
    """ISO/IEC 17025 7.5.1-2: corrected three times, walked back to what was first read, each with its reason."""
    with a_book(tmp_path) as book:
        at = rounds.answer(book, a_visit(book), "supply_volts", ("480", "480", "480"))
        for volts in ("471", "472", "473"):
            at = rounds.answer(book, at, "supply_volts", (volts,) * 3, rounds.AnswerOptions(because=f"meant {volts}"))
        uid = at.answers["supply_volts"].uid
        lines = {line.entry.uid: line for line in record_history.history(book, uid).lines}
        walked = []
        while lines[uid].corrects is not None:
            change = lines[uid].corrects
            walked.append((change.old[:3], change.new[:3], change.because, change.who))
            uid = change.corrects
        assert walked == [
            ("472", "473", "meant 473", QUALIFIED), ("471", "472", "meant 472", QUALIFIED),
            ("480", "471", "meant 471", QUALIFIED),
        ]  # fmt: skip
        assert lines[uid].facts["value"] == ["480", "480", "480"]


def test_row_15_no_failure_without_an_action_or_an_open_item(tmp_path: Path) -> None:
    """ASHRAE 188: every failed answer is an open item until something is done; the yearly review lists the towers."""
    with a_book(tmp_path) as book:
        wrong = {"insulation_mohm": "0.4", "probe_plumb_deg": "25"}
        visit = closing.sign_off(book, answered(book, a_visit(book), wrong), closing.NOT_AVAILABLE).visit.id
        failed = [a for a in queries.answers(book.db, visit).values() if str(a.verdict) in ("fail", "near_fail")]
        items = {(f.step_id, f.target) for f in findings.all_findings(book)}
        assert len(failed) >= 2
        assert {(a.step_id, a.target) for a in failed} <= items
        for each in findings.open_findings(book, tower=TOWER):
            findings.take_measure(book, each.id, "watch", "lodge", "at once")
        acted = {r.rule: r for r in rules(book, visit)}["failures_acted_on"]
        assert acted.outcome is Outcome.KEPT
        towers = registry.towers_and_sites(book.db).towers
        found = {t: board.covered(book, registry.of_tower(book.db, t), t, TODAY) for t in towers}
        board.write_review(book, found, "two heaters to be replaced", TODAY)
        review = book.journal.last().entry
        assert {row[0] for row in review.body["not_proven"]} == {
            t for t, c in found.items() if c.protection != "proven"
        }


def test_row_16_nothing_can_be_deleted() -> None:
    """29 CFR 1904.33: five years and more; no command, no kind of entry and no statement of ours deletes an entry."""
    verbs = re.compile(r"delete|remove|purge|wipe|drop_entry|forget", re.IGNORECASE)
    assert not [name for name in COMMANDS if verbs.search(name)]
    assert not [kind for kind in Kind if verbs.search(str(kind))]
    for file in Path(seasonlog.__file__).parent.rglob("*.py"):
        text = file.read_text("utf-8")
        for statement in re.findall(r"(DELETE FROM|UPDATE|REPLACE INTO|DROP TABLE) +(\w+)", text):
            assert statement[1] != "entry" or file.name == "schema.py", (file, statement)


def test_row_17_a_lockout_inspection_lacks_nothing(tmp_path: Path) -> None:
    """29 CFR 1910.147(c)(6)(ii): machine, date, people, inspector; without one of them it cannot be signed off."""
    steps = {s.id for s in checklists.shipped()["lockout-inspection"].steps if s.required}
    assert set(CERTIFIED) <= steps
    with a_book(tmp_path) as book:
        for lacks in CERTIFIED:
            at = a_visit(book, checklist="lockout-inspection")
            for instance in at.instances:
                if instance.key != lacks and not at.waits_for(instance.key):
                    at = given(book, at, instance.key)
            with pytest.raises(InputRefusedError, match="unanswered"):
                closing.sign_off(book, at, closing.NOT_AVAILABLE)
            left = rounds.skip(book, at, lacks, "nobody knows")
            visit = closing.sign_off(book, left, closing.NOT_AVAILABLE).visit
            certified = {r.rule: r for r in rules(book, visit.id)}["lockout_certified"]
            assert (certified.outcome, lacks.replace("_", " ") in certified.says) == (Outcome.BROKEN, True)
            assert visit.day == "2026-09-15"


def given(book: Logbook, at: Progress, key: str) -> Progress:
    from seasonlog.services.demo import healthy

    instance = at.instance(key)
    assert instance is not None
    return rounds.answer(book, at, key, healthy(at, instance, TODAY))


def test_row_18_keep_until_is_shown(told: Logbook) -> None:
    """NFPA 25 4.3: a year past the next of its kind; commissioning for life; the property stands in test_retention."""
    from seasonlog.domain.retention import keep_until

    found = opened(told, CellKey(TOWER, "fall-enable", 2018), TODAY)
    assert "at least until 2020-08-28" in found.visits[0].keep_until
    newest = opened(told, CellKey(TOWER, "fall-enable", 2026), TODAY)
    assert "not made yet" in newest.visits[0].keep_until
    commissioning = checklists.shipped()["commissioning"]
    assert keep_until(commissioning.when, TODAY, [TODAY + timedelta(days=400)]).words.startswith(
        "for the life of the tower"
    )
