"""The demonstration's winters: a firm that did its job, with real lapses, each of them in the record as it happened.

What must be there is told by the story file; held against what coverage, verify and the reports' services say.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest

from seasonlog import resources
from seasonlog.domain.coverage_cells import CellKey, CellState, CoverageGrid
from seasonlog.domain.finding import FindingState
from seasonlog.domain.records import Kind
from seasonlog.domain.visit import Meaning
from seasonlog.journal import queries, trust_queries
from seasonlog.services import attachments, audit, demo, findings, recall, registry, rounds, season, trends
from seasonlog.services.coverage import Wanted, grid
from seasonlog.services.coverage_cell import opened
from seasonlog.services.days import day_of
from seasonlog.services.demo_acts import ACTS, drawn
from seasonlog.services.demo_story import BRIEF, WHOLE, story
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from seasonlog.services.reports_history import earlier_certificates
from tests.builders import around

NOW = datetime(2026, 11, 29, 13, tzinfo=UTC)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    at = Places(tmp_path_factory.mktemp("demo") / "seasonlog.db")
    with demo.build(at, around(NOW), lambda _: None) as made:
        yield made


@pytest.fixture(scope="module")
def table(book: Logbook) -> CoverageGrid:
    return grid(book, NOW.date(), Wanted(seasons=4))


def broken(table: CoverageGrid, tower: str, checklist: str, year: int) -> tuple[str, ...]:
    return table.cells[CellKey(tower, checklist, year)].broken


def test_it_verifies_and_its_photo_reads_as_a_picture(book: Logbook) -> None:
    """Every hash, link and signature; the PNG by another reader (Pillow), where it is installed."""
    found = audit.verify_log(book.places, quick=False)
    assert found.ok, found.says
    pytest.importorskip("PIL.Image")
    from io import BytesIO

    from PIL import Image

    picture = Image.open(BytesIO(drawn("a08e78")))
    picture.load()
    assert (picture.size, picture.getpixel((3, 3))) == ((64, 48), (0xA0, 0x8E, 0x78))


def test_most_was_done_in_its_window_and_the_lapses_are_few(table: CoverageGrid) -> None:
    counts = Counter(cell.state for cell in table.cells.values() if cell.state not in (CellState.COMING, CellState.DUE))
    told = sum(counts.values())
    assert len(table.seasons) == 4
    assert counts[CellState.DONE] > 0.7 * told
    for state in (CellState.MISSING, CellState.AMISS, CellState.LATE, CellState.DROPPED):
        assert 0 < counts[state] < 0.12 * told, state


def test_each_lapse_of_the_story_breaks_the_rule_it_is_there_for(table: CoverageGrid) -> None:
    assert "people_qualified" in broken(table, "HOS-1", "mid-winter", 2025)
    assert "instruments_stand" in broken(table, "HOS-1", "mid-winter", 2025)
    assert "instruments_stand" not in broken(table, "HOS-2", "mid-winter", 2025)  # its review let them stand
    assert "instruments_calibrated" in broken(table, "HOS-2", "mid-winter", 2025)
    assert "failures_acted_on" in broken(table, "ULV-4", "fall-enable", 2026)
    assert "failures_acted_on" not in broken(table, "HOS-2", "fall-enable", 2026)
    assert table.cells[CellKey("HOS-2", "fall-enable", 2024)].state is CellState.LATE
    assert table.cells[CellKey("HOS-5", "mid-winter", 2024)].missing == 1
    assert table.cells[CellKey("HOS-1", "mid-winter", 2023)].state is CellState.DROPPED


def test_the_burnt_heater_was_open_at_sign_off_and_closed_by_its_retest(book: Logbook) -> None:
    found = [f for f in findings.all_findings(book, tower="HOS-2") if f.step == "ohms_line_to_line"]
    assert [f.state for f in found] == [FindingState.CLOSED]
    known = rounds.progress(book, _visit(book, "HOS-2", "repair-retest")).register.devices
    assert {"HOS-2-H-1", "HOS-2-H-2"} <= set(known)
    assert recall.unreviewed(book) == []


def _visit(book: Logbook, tower: str, checklist: str, year: int = 0, number: int = 0) -> str:
    found = queries.visits_of(book.db, tower)
    return next(v.id for v in found if v.checklist == checklist and year in (0, v.season) and number in (0, v.ordinal))


def test_a_correction_a_paper_a_refusal_and_a_lost_photo_stand_as_they_were(book: Logbook) -> None:
    slip = rounds.progress(book, _visit(book, "HOS-6", "mid-winter", 2024, 2)).answers["water_degf"]
    assert (slip.value, bool(slip.corrects)) == ("43.1", True)
    paper = rounds.progress(book, _visit(book, "HOS-3", "mid-winter", 2025, 3))
    assert {a.from_paper for a in paper.answers.values()} == {"Mirel Oduvane"}
    assert {a.who for a in paper.answers.values()} == {"Jessa Wickmoor"}
    refused = rounds.progress(book, _visit(book, "HOS-4", "spring-disable", 2023)).visit.signatures
    assert [s.name for s in refused if s.meaning is Meaning.RECEIVED_BY] == ["declined"]
    assert [bool(p.erased) for p in attachments.listed(book, tower="HOS-1")] == [False, True]
    assert "HOS-7" not in {i.id for i in queries.all_items(book.db)}


def test_years_of_readings_tell_what_changes_and_only_that(book: Logbook) -> None:
    """The courses of the story, found again by Mann and Kendall's test; a steady heater tells nothing."""
    assert any("nsulation" in words for words in trends.concerns(book, "HOS-6"))
    assert any("heater on" in words for words in trends.concerns(book, "ORR-1"))
    assert not any("heater on" in words for words in trends.concerns(book, "HOS-1"))
    (wet,) = [f for f in findings.open_findings(book, tower="HOS-6") if f.step == "insulation_mohm"]
    assert wet.needs_retest


def test_a_meter_past_its_calibration_reads_what_is_there(book: Logbook) -> None:
    """A heater of 18 kW at 480 V draws 21.65 A (P = sqrt(3) V I): nowhere is an ampere read while it heats."""
    summer = datetime(2026, 8, 1, tzinfo=UTC).timestamp() * 1000
    told = [r.value for r in queries.readings(book.db, "HOS-2", "line_amps") if r.wall_ms < summer]
    amps = [float(line) for lines in told for line in lines]
    assert len(amps) > 40
    assert all(20 < line < 22 for line in amps)


def test_another_laptop_stood_for_the_log_until_it_was_handed_back(book: Logbook) -> None:
    """Its checkpoint brackets what was written before it; the time of what came later rests on this device alone."""
    states = {d.name: d.state for d in trust_queries.devices(book.db)}
    assert states["office laptop"] == "revoked"
    early, late = _visit(book, "HOS-1", "fall-enable", 2023), _visit(book, "HOS-1", "fall-enable", 2025)
    brackets = [audit.witnessed(book, f"{visit}:start").when for visit in (early, late)]
    assert [bracket.not_after_ms is not None for bracket in brackets] == [True, False]


def test_windows_of_the_hospital_rest_on_its_weather_record(book: Logbook) -> None:
    cell = opened(book, CellKey("HOS-1", "fall-enable", 2026), NOW.date())
    assert any("hospital-invented.csv" in words for words in cell.windows)
    assert {i.site for i in season.items(book, NOW.date())} == {"HOS", "DAT", "ICE", "ULV", "ORR"}


@pytest.mark.parametrize("name", [WHOLE, BRIEF])
def test_every_word_of_a_story_is_known(name: str) -> None:
    told = story(name)
    acts = [*told.acts, *(each for visit in told.visits for each in visit.then)]
    assert {each.do for each in acts} <= set(ACTS)
    assert all((resources.sample_sites() / "weather" / file).is_file() for file in told.climate.values())


def test_the_file_beside_the_stories_names_all_that_can_be_done() -> None:
    text = (resources.sample_sites() / "history" / "README.md").read_text("utf-8")
    assert [word for word in ACTS if f"`{word}`" not in text] == []


def test_each_reading_was_taken_under_the_certificate_on_file_by_then(book: Logbook) -> None:
    """Followed through the signed entries: dated before the reading, not run out on it; the one lapse has no part."""
    known: dict[str, dict[str, Any]] = {}
    held: Counter[str] = Counter()
    for stored in book.journal.entries():
        body, on = stored.entry.body, day_of(stored.entry.wall, stored.entry.offset).isoformat()
        if stored.entry.kind == Kind.REGISTER_RECORDED and body["what"] == "instrument":
            known[body["id"]] = body["item"]
        used = known.get(str(body.get("instrument") or "")) if stored.entry.kind == Kind.STEP_ANSWERED else None
        if used and used.get("certificate"):
            assert used["calibrated"] <= on <= used["calibration_due"], (used["id"], on)
            held[used["certificate"]] += 1
    clamps = [f"BM-{year}-1041" for year in (22, 23, 24, 25, 26)]
    assert all(held[each] > 9 for each in clamps), held
    (clamp,) = [i for i in registry.shared(book.db).instruments.values() if i.id == "CL-01"]
    before = [each.certificate for each in earlier_certificates(book, [clamp])["CL-01"]]
    assert [clamp.certificate, *before] == clamps[::-1]
