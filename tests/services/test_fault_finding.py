"""The fault finder over register and log: circuits, evidence of a visit, files, cautions, the end written down."""

import json
import math
from pathlib import Path

import pytest

from seasonlog.domain.finding import FindingState
from seasonlog.domain.severity import Severity
from seasonlog.errors import InputRefusedError, UsageError
from seasonlog.faults.circuit import Circuit
from seasonlog.faults.observation import DEAD, DOOR, LIVE, Choice, Stop
from seasonlog.faults.tests_offered import GATE, checks_of
from seasonlog.intake.observations_file import read_observations
from seasonlog.journal import queries
from seasonlog.services import fault_finding, fault_finding_report, rounds
from seasonlog.services.fault_finding import NOT_QUALIFIED, QUALIFIED, Search
from seasonlog.services.fault_finding_record import note_words, record
from seasonlog.services.fault_finding_report import names_a_cause
from tests.builders import a_book, a_visit, answered, sample_register


def technician(search: Search, number: int) -> tuple[Search, Stop]:
    """Answers every question as the circuit with this fault would, without error; the likeliest answer of each test."""
    search = search if search.panel else search.at_the_panel(QUALIFIED)
    while isinstance(found := search.next(), Choice):
        search = search.answered(found.test.id, what_shows(search, found, number))
    return search, found


def what_shows(search: Search, found: Choice, number: int) -> str:
    """The answer of the circuit with this fault, from the same model that every test of the finder is held against."""
    if found.test.id == GATE.id:
        return "cold"
    test = search.session.book.tests[found.test.id]
    place = [fault.number for fault in search.session.book.faults].index(number)
    likeliest = max(range(len(test.labels)), key=lambda n: test.shares[place][n])
    if found.test.choices:
        return found.test.choices[likeliest]
    label = test.labels[likeliest]
    if label.startswith("OL"):
        return "OL"
    _, value, unit = label.split()
    return f"{float(value) * (1000 if unit == 'kohm' else 1):.3f}"


def begin(folder: Path, tower: str = "HOS-2") -> Search:
    with a_book(folder) as book:
        return fault_finding.begin(book, tower)


def test_circuits_that_are_not_modelled_are_refused_in_words() -> None:
    found = {each.circuit: each.refused for tower in ("HOS-2", "DAT-3", "DAT-4") for each in
             fault_finding.circuits(sample_register(), tower)}  # fmt: skip
    assert found["HOS-2-H"] == ""
    assert "PLC decides when to heat" in found["DAT-3-H"]
    assert "conductance probe" in found["DAT-4-H"]


@pytest.mark.parametrize(
    ("tower", "named", "says"),
    [
        ("NONE-1", "", "is not in the register"),
        ("DAT-3", "", "circuit DAT-3-H: a PLC decides"),
        ("HOS-3", "", "has several heater circuits; name one of HOS-3-HN, HOS-3-HS"),
        ("HOS-2", "HOS-1-H", "is not one of HOS-2"),
        ("HOS-2", "\x1b[31m", "circuit ␛[31m: is not one of HOS-2"),
    ],
)
def test_what_cannot_be_asked_about_is_a_sentence(tower: str, named: str, says: str, tmp_path: Path) -> None:
    with a_book(tmp_path) as book, pytest.raises(InputRefusedError) as refused:
        fault_finding.begin(book, tower, named)
    assert says in str(refused.value)


def test_who_is_not_qualified_is_asked_only_from_outside(tmp_path: Path) -> None:
    """Practice: by telephone only door-closed looking, then `send a technician`."""
    search = begin(tmp_path)
    assert search.asks_who
    search = search.at_the_panel(NOT_QUALIFIED)
    modes = set()
    while isinstance(found := search.next(), Choice):
        modes.add(found.test.mode)
        search = search.answered(found.test.id, found.test.choices[0])
        assert not any(word in found.test.do for word in ("slush", "by hand", "held"))
    assert modes == {DOOR}
    assert "echnician" in found.says or found.reason == "one_cause"


def test_the_first_test_from_outside_moves_no_sensor(tmp_path: Path) -> None:
    """The numbers of its answers are those of the shorter list."""
    search = begin(tmp_path).at_the_panel(NOT_QUALIFIED)
    found = search.next()
    assert isinstance(found, Choice)
    assert found.test.choices == ("cold", "low", "not_ready")
    assert search.answered("ready", "2").session.answers["ready"] == "low"
    with pytest.raises(InputRefusedError):
        search.answered("ready", "iced")


def test_a_repair_is_told_only_with_a_cause(tmp_path: Path) -> None:
    """Forty possible causes are no cause: nobody is told forty repairs."""
    search = begin(tmp_path, "ICE-1").at_the_panel(NOT_QUALIFIED).answered("ready", "cold")
    while isinstance(found := search.next(), Choice):
        search = search.cannot(found.test.id)
    assert found.reason == "send_technician"
    assert not names_a_cause(found)
    document = fault_finding_report.document(search, found)
    assert (document["repair"], document["retest"]) == ("", [])


@pytest.mark.parametrize("number", [1, 6, 14, 22, 31, 40])
def test_a_technician_without_error_is_led_to_the_fault(number: int, tmp_path: Path) -> None:
    """The true fault is named first, with a repair and steps of the retest list that this tower is asked."""
    search, stop = technician(begin(tmp_path), number)
    assert int(stop.suspects[0].fault) == number
    assert stop.repair
    assert fault_finding_report.retest_steps(search, stop)
    assert len(search.session.observations) <= 16


def test_no_test_replaces_a_fuse_or_closes_a_breaker(tmp_path: Path) -> None:
    """Practice: never reclosed as a test (29 CFR 1910.334(b)(2), from memory)."""
    search = begin(tmp_path)
    for check in (GATE, *checks_of(search.circuit)):
        assert not any(word in check.do.casefold() for word in ("reclose", "reset", "replace the fuse", "close the br"))
    _, stop = technician(search, 1)
    assert any("not closed or replaced until its cause" in each for each in stop.cautions)


def test_every_answer_can_be_taken_back(tmp_path: Path) -> None:
    first = begin(tmp_path).at_the_panel(QUALIFIED)
    second = first.answered("ready", "cold")
    third = second.cannot(next(each.test.id for each in (second.next(),) if isinstance(each, Choice)))
    assert third.undone() == second
    assert third.undone().undone() == first
    assert first.undone().asks_who
    assert first.undone().undone() == first.undone()


def test_the_caution_of_energised_work_is_read_each_time_and_lockout_once(tmp_path: Path) -> None:
    search = begin(tmp_path).at_the_panel(QUALIFIED).answered("ready", "cold")
    checks = checks_of(search.circuit)
    live = next(each for each in checks if each.mode == LIVE)
    dead, other = [each for each in checks if each.mode == DEAD and each.choices][:2]
    assert search.must_be_read(live)
    assert search.must_be_read(dead)
    locked = search.answered(dead.id, dead.choices[0])
    assert not locked.must_be_read(other)
    assert locked.must_be_read(live)
    assert "power on only by a qualified person" in locked.caution(live)
    assert "power on" not in search.caution(live)
    assert not search.must_be_read(GATE)


def test_a_look_from_outside_after_a_lockout_is_energised_too(tmp_path: Path) -> None:
    """Lamps are lit only with the power on again: who restores it, and how, is said and acknowledged."""
    search = begin(tmp_path).at_the_panel(QUALIFIED).answered("ready", "cold")
    checks = checks_of(search.circuit)
    look = next(each for each in checks if each.mode == DOOR)
    dead = next(each for each in checks if each.mode == DEAD and each.choices)
    assert not search.must_be_read(look)
    locked = search.answered(dead.id, dead.choices[0])
    assert "power on only by a qualified person" in locked.caution(look)
    assert locked.must_be_read(look)
    assert not locked.answered(look.id, look.choices[0]).must_be_read(look)


@pytest.mark.parametrize("raw", ["", "x" * 4000, "[red]", "\x1b[31m", "9", "0", "-1", "٣", "1e3", "lit; drop"])
def test_hostile_answers_are_refused_with_a_sentence(raw: str, tmp_path: Path) -> None:
    search = begin(tmp_path).at_the_panel(QUALIFIED)
    for test in ("ready", next(each.id for each in checks_of(search.circuit) if each.unit == "V")):
        if (test, raw) in (("volts_b", "9"), ("volts_b", "0")):
            continue
        with pytest.raises(InputRefusedError) as refused:
            search.answered(test, raw)
        assert "\x1b" not in str(refused.value)
        assert len(str(refused.value)) < 500


def test_readings_take_units_and_over_range(tmp_path: Path) -> None:
    search = begin(tmp_path).at_the_panel(QUALIFIED)
    assert search.answered("ohms_coil", "1.2 kohm").session.answers["ohms_coil"] == 1200.0
    assert search.answered("ohms_coil", "OL").session.answers["ohms_coil"] == float("inf")
    with pytest.raises(InputRefusedError, match="not a reading in V"):
        search.answered("volts_b", "OL")


@pytest.mark.parametrize(
    ("raw", "ohms"),
    [("100000", 1e5), ("1000000", 1e6), ("2.2M", 2.2e6), ("2.2 Mohm", 2.2e6), ("4.7k", 4700.0), ("20 kohm", 2e4),
     ("20 k\u03a9", 2e4), ("0.2", 0.2), (".3", 0.3), ("5 ohms", 5.0), ("open", math.inf), ("inf", math.inf),
     ("OL", math.inf), ("0L", math.inf), ("O.L", math.inf), ("1.2 Meg", 1.2e6)],
)  # fmt: skip
def test_ohms_are_taken_as_meters_show_them(raw: str, ohms: float, tmp_path: Path) -> None:
    found = begin(tmp_path).at_the_panel(QUALIFIED).answered("ohms_float", raw).session.answers["ohms_float"]
    assert found == pytest.approx(ohms)


@pytest.mark.parametrize("raw", ["2.2m", "5 V", "-1", "1e3", "nan", "many", "4,7", "1 2", "\u0663", "9" * 11, ""])
def test_other_ohms_are_refused_with_what_is_taken(raw: str, tmp_path: Path) -> None:
    """Everything the sentence names is taken."""
    search = begin(tmp_path).at_the_panel(QUALIFIED)
    with pytest.raises(InputRefusedError, match=r"4\.7k, 2\.2M or 100000, or OL"):
        search.answered("ohms_float", raw)


def test_what_a_visit_read_is_evidence(tmp_path: Path) -> None:
    """A fall enable that failed at the heat call: nothing of it is asked again."""
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), {"heat_call": "no"}, until="line_amps")
        search = fault_finding.begin(book, "HOS-1", visit=at.visit.id)
        bare = fault_finding.begin(book, "HOS-1")
        assert len(search.session.observations) > 3
        assert all(each.given for each in search.session.observations)
        assert search.session.suspects()[0] != bare.session.suspects()[0]
        assert any(f"read in visit {at.visit.id}" in each for each in fault_finding_report.evidence(search))
        with pytest.raises(InputRefusedError, match="is of HOS-1, not of HOS-2"):
            fault_finding.begin(book, "HOS-2", visit=at.visit.id)
        with pytest.raises(InputRefusedError, match="is not in this log"):
            fault_finding.begin(book, "HOS-2", visit="V-none")


def test_a_file_is_taken_over_or_refused_whole_with_lines(tmp_path: Path) -> None:
    search = begin(tmp_path)
    text = b'at_the_panel = "qualified"\ncannot = ["volts_b"]\n[observations]\nready = "cold"\nohms_coil = "OL"\n'
    found = fault_finding.observed(search, read_observations(text, "seen.toml"))
    assert found.session.answers == {"ready": "cold", "ohms_coil": float("inf")}
    assert found.session.cannot == ("volts_b",)
    wrong = b'cannot = ["sing"]\n[observations]\nready = "warm"\ndance = 1\nohms_coil = "hot"\n'
    with pytest.raises(InputRefusedError) as refused:
        fault_finding.observed(search, read_observations(wrong, "seen.toml"))
    lines = [each.where for each in refused.value.problems]
    assert lines == ["seen.toml, line 3, ready", "seen.toml, line 4, dance", "seen.toml, line 5, ohms_coil",
                     "seen.toml, line 1, cannot"]  # fmt: skip


def test_the_document_names_causes_and_the_next_test(tmp_path: Path) -> None:
    search = begin(tmp_path)
    document = fault_finding_report.document(search, search.next())
    assert document["next_test"]["test"] == "at_the_panel"
    search = search.at_the_panel(QUALIFIED)
    document = fault_finding_report.document(search, search.next())
    assert document["next_test"]["test"] == "ready"
    assert document["next_test"]["live"] is False
    assert sum(each["probability"] for each in document["causes"]) == pytest.approx(1.0)
    search, stop = technician(search, 6)
    document = fault_finding_report.document(search, stop)
    assert document["next_test"] is None
    assert document["stop"] in ("one_cause", "group")
    assert document["causes"][0]["fault"] == "06"
    json.dumps(document, allow_nan=False)


def test_the_end_becomes_a_finding_that_the_retest_closes(tmp_path: Path) -> None:
    """A welded level contact: a dry-fire finding, closed by the low-level test of the next visit."""
    with a_book(tmp_path) as book:
        search, stop = technician(fault_finding.begin(book, "HOS-2"), 22)
        found = record(book, search, stop)
        assert found is not None
        assert (found.severity, found.step_id) == (Severity.DRY_FIRE_RISK, "off_low_level")
        assert found.causes[0]["cause"] == "22"
        assert stop.repair in found.causes[0]["next_test"]
        assert "water or sensor: cold" in found.says
        assert found.unprotected
        answered(book, a_visit(book, "HOS-2"))
        closed = queries.finding(book.db, found.id)
        assert closed is not None
        assert closed.state is FindingState.CLOSED


def test_a_finding_that_stands_is_explained_not_doubled(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book, "HOS-2"), {"heat_call": "no"}, until="line_amps")
        before = queries.findings(book.db, open_only=True, tower="HOS-2")
        search, stop = technician(fault_finding.begin(book, "HOS-2", visit=at.visit.id), 14)
        found = record(book, search, stop)
        after = queries.findings(book.db, open_only=True, tower="HOS-2")
        assert found is not None
        assert len(after) == len(before)
        kept = next(each for each in after if each.id == found.id)
        assert kept.step_id == "heat_call"
        assert "fault finder" in kept.says
        assert kept.needs_retest


def test_the_same_tower_may_have_the_same_fault_again(tmp_path: Path) -> None:
    """The first finding stays closed when the fault comes back."""
    with a_book(tmp_path) as book:
        ids = []
        for _ in range(2):
            search, stop = technician(fault_finding.begin(book, "HOS-2"), 22)
            found = record(book, search, stop)
            assert found is not None
            ids.append(found.id)
            answered(book, a_visit(book, "HOS-2"))
        assert len(set(ids)) == 2


def test_who_stood_at_the_panel_is_kept_beside_who_typed(tmp_path: Path) -> None:
    """The entry is of who types; who had the probes in hand is told in it, and only where somebody said so."""
    with a_book(tmp_path) as book:
        search, stop = technician(fault_finding.begin(book, "HOS-2").with_person(" Ossa Brenquil "), 22)
        record(book, search, stop)
        record(book, *technician(fault_finding.begin(book, "HOS-1"), 22))
        first, second = (each.entry for each in book.journal.entries() if each.entry.kind == "fault_found")
        assert first.body["at_panel"] == "Ossa Brenquil"
        assert first.who == book.who != "Ossa Brenquil"
        assert str(first.body["says"]).endswith("At the panel: Ossa Brenquil.")
        assert "at_panel" not in second.body
        for bad in ("", "   ", "x" * 61):
            with pytest.raises(InputRefusedError, match="a name of 1 to 60"):
                search.with_person(bad)


def test_a_file_holds_each_test_once_so_nothing_is_asked_again(tmp_path: Path) -> None:
    text = (b'at_the_panel = "qualified"\n[observations]\nready = "cold"\nlamps = "none"\n'
            b'breaker_handle = "tripped"\n')  # fmt: skip
    search = fault_finding.observed(begin(tmp_path), read_observations(text, "seen.toml"))
    found = search.next()
    assert isinstance(found, Stop)
    assert found.suspects[0].fault == "01"


def test_a_test_that_is_made_again_says_so(tmp_path: Path) -> None:
    search = begin(tmp_path).at_the_panel(QUALIFIED).answered("ready", "cold").answered("lamps", "none")
    found = search.answered("breaker_handle", "tripped").next()
    assert isinstance(found, Choice)
    assert found.test.id == "breaker_handle"
    assert fault_finding_report.once_more(search, found.test) == ""
    assert fault_finding_report.once_more(search.answered("breaker_handle", "tripped"), found.test) == "Once more: "


def test_without_a_cause_it_becomes_a_note(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        search = fault_finding.begin(book, "HOS-2").at_the_panel(NOT_QUALIFIED).answered("ready", "low")
        stop = search.next()
        assert isinstance(stop, Stop)
        assert not names_a_cause(stop)
        assert record(book, search, stop) is None
        assert "fill" in queries.notes_of(book.db, "HOS-2")[0].text
        assert len(note_words(search, stop)) < 2000
        with pytest.raises(UsageError, match="Nothing was seen"):
            record(book, fault_finding.begin(book, "HOS-2"), stop)


def test_the_log_with_a_search_is_rebuilt_to_the_same_tables(tmp_path: Path) -> None:
    from seasonlog.services import audit

    with a_book(tmp_path) as book:
        search, stop = technician(fault_finding.begin(book, "HOS-2"), 31)
        record(book, search, stop)
        rounds.add_note(book, "HOS-2", "after it")
    assert audit.verify_log(book.places, quick=False).ok


def test_no_pump_is_spoken_of_where_there_is_none(tmp_path: Path) -> None:
    """HOS-2 has no pump on the tower: questions, causes, repair of fault 12 and the legend do without."""
    search = begin(tmp_path)
    assert not search.circuit.interlock
    for qualified in (QUALIFIED, NOT_QUALIFIED):
        found = search.at_the_panel(qualified).next()
        assert isinstance(found, Choice)
        assert "pump" not in f"{found.test.do} {found.why} {fault_finding_report.test_words(found.test)}"
    assert [check.id for check in checks_of(search.circuit) if "pump" in check.do + check.caution] == []
    search, stop = technician(search, 12)
    assert stop.suspects[0].fault == "12"
    assert "pump" not in stop.says + stop.repair + " ".join(fault_finding_report.evidence(search))
    told = [
        *fault_finding_report.table_legend(search.circuit),
        *map(" ".join, fault_finding_report.table_rows(search.circuit)),
    ]
    assert [line for line in told if "pump" in line] == []
    refused = begin(tmp_path / "b").at_the_panel(QUALIFIED).answered("ready", "not_ready").next()
    assert isinstance(refused, Stop)
    assert "pump" not in refused.says


def test_single_phase_has_no_third_line(tmp_path: Path) -> None:
    circuit = Circuit(phases=1, heater_volts=240, supply_volts=240, heater_kw=6, poles=1, lamps=1)
    told = " ".join(check.do + check.caution + " ".join(check.choices) for check in checks_of(circuit))
    assert not any(word in told for word in ("T3", "L3", "line_c", "line C"))


def test_an_unknown_test_is_shown_as_it_can_be_seen(tmp_path: Path) -> None:
    search = begin(tmp_path).at_the_panel(QUALIFIED)
    for raw in ("\x1b[31m", "\u202eabc", "x" * 500):
        with pytest.raises(InputRefusedError) as refused:
            search.answered(raw, "1")
        assert "\x1b" not in str(refused.value)
        assert "\u202e" not in str(refused.value)
        assert len(str(refused.value)) < 300


def test_the_words_of_a_circuit_s_dry_fire_faults(tmp_path: Path) -> None:
    found = fault_finding_report.dry_fire_of(begin(tmp_path).circuit)
    assert {each.fault.code for each in found.faults} >= {"22", "24", "27", "28", "37", "43"}
    assert "never raised by hand" in found.intro
    assert "shows all of them but 24" in found.intro
    assert "drained past the trip level" in found.intro
    rows = list(fault_finding_report.table_rows(begin(tmp_path / "b").circuit))
    assert {len(row) for row in rows} == {9}
    assert rows[1][1] == "11111 00 AHRK 3"
