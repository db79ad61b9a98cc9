"""Trends over eight winters: they start at each device, and tell a drift that matters."""

import math
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from seasonlog.domain.trend import Drift, TrendPoint
from seasonlog.domain.trend_rules import POSITIONS, Followed, followed, marks_of, runs
from seasonlog.errors import InputRefusedError
from seasonlog.export.report_html import to_html
from seasonlog.export.report_model import Figure, Notice
from seasonlog.services import recall, reports, trends
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from tests.audit_story import HEATER, MOHM, NEW_HEATER, TOWER, again, corrected, fit
from tests.audit_story import told as visit_told
from tests.builders import FixedBytes, FixedClock, a_book, a_visit, answered, around, as_supervisor

MOHM_READ = "insulation_mohm"


@pytest.fixture(scope="module")
def told(winters: tuple[Path, str]) -> Iterator[Logbook]:
    with Logbook.open(Places(winters[0]), around(), "", writing=False) as book:
        yield book


def test_every_reading_with_its_limits_and_its_entry(told: Logbook) -> None:
    found = trends.trend(told, TOWER, MOHM_READ)
    assert [p.value for p in found.points] == [float(v) for year, v in MOHM.items() if year != 2021]
    assert {p.low for p in found.points} == {5.0}
    assert (found.target, found.unit, found.points[0].instrument) == (HEATER, "Mohm", "IN-01")
    for point in found.points:
        stored = told.journal.find(point.uid)
        assert stored is not None
        assert float(stored.entry.body["value"]) == point.value


def test_a_trend_starts_at_its_device(told: Logbook) -> None:
    """The old heater held its insulation; the new one loses 14 Mohm a year. Together they would fall from the start."""
    found = trends.trend(told, TOWER, MOHM_READ)
    old, new = found.runs
    assert (old.device, old.readings, old.drift, old.matters) == ("H-OLD", 3, Drift.STEADY, False)
    assert (new.device, new.readings, new.drift, new.matters) == ("HOS-1-H-1", 5, Drift.FALLING, True)
    assert new.p_value == pytest.approx(2 / math.factorial(5))
    assert new.per_year == pytest.approx(-14.0, abs=0.3)
    assert "chance 0.017" in new.says
    assert str(found.marks[1].on) == NEW_HEATER
    assert found.matters


def test_a_failure_inside_its_warranty_is_marked(told: Logbook) -> None:
    found = trends.trend(told, TOWER, MOHM_READ)
    words = f"H-OLD came out on {NEW_HEATER}, inside its warranty until 2022-12-31: sheath cracked"
    assert found.marks[1].failed_in_warranty == words
    assert words in trends.concerns(told, TOWER)
    assert trends.concerns(told, TOWER)[0].startswith("Insulation of the heater to its sheath at HOS-1-H falls")


def test_steady_amps_are_called_steady(told: Logbook) -> None:
    found = trends.trend(told, TOWER, "line_amps")
    assert {run.drift for run in found.runs} == {Drift.STEADY}
    assert not found.matters


def test_what_matters_stands_first(told: Logbook) -> None:
    found = trends.trends(told, TOWER)
    assert found[0].quantity == MOHM_READ
    assert [each.matters for each in found] == sorted((each.matters for each in found), reverse=True)


@pytest.mark.parametrize(
    ("words", "says"),
    [(("HOS-9", "line_amps"), "HOS-9"), ((TOWER, "amperes"), "there are readings of:"),
     ((TOWER, "line_amps", "HOS-1-X"), "has no reading at HOS-1-X")],
)  # fmt: skip
def test_what_is_not_there_is_named(told: Logbook, words: tuple[str, ...], says: str) -> None:
    with pytest.raises(InputRefusedError, match=says):
        trends.trend(told, *words)


def test_a_slip_that_was_corrected_is_no_reading(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        corrected(book)
        (point,) = trends.trend(book, "HOS-2", "line_amps").points
        assert point.values == (18.6, 18.7, 18.7)


def test_a_document_holds_no_infinity(told: Logbook) -> None:
    found = trends.document(trends.trend(told, TOWER, MOHM_READ))
    assert [p["on"] for p in found["points"]] == sorted(p["on"] for p in found["points"])
    assert trends._told([math.inf, 2.0]) == ["OL", 2.0]
    assert found["concerns"]
    lines = trends.lines(trends.trend(told, TOWER, MOHM_READ), whole=True)
    assert any("LOOK" in line for line in lines)
    drifting = [line.removeprefix("  LOOK: ").strip() for line in lines if "a year, chance" in line]
    assert len(drifting) == len(set(drifting)), "what matters is said once"


def points(*values: float, low: float | None = None, high: float | None = None) -> list[TrendPoint]:
    return [
        TrendPoint(date(2015 + n, 9, 1), 0, (v,), v, "pass", low, high, f"E-{n}", "Mirel", "")
        for n, v in enumerate(values)
    ]


@pytest.mark.parametrize(
    ("series", "drift", "matters"),
    [
        (points(10, 10.1, 10.2, 10.3, 10.4, 10.5, high=20), Drift.RISING, False),  # 5 %, far from its limit
        (points(10, 10.1, 10.2, 10.3, 10.4, 10.5, high=10.6), Drift.RISING, True),  # reaches its limit in a year
        (points(10, 10.4, 10.8, 11.2, 11.6, high=20), Drift.RISING, True),  # a sixth of where it began
        (points(41, 42, 43, 44), Drift.STEADY, False),  # four in order: chance 0.083
        (points(5, 9, 4, 8, 3, 9), Drift.STEADY, False),
        (points(5, 6), Drift.TOO_FEW, False),
        (points(2000, 1500, 900, 400, math.inf), Drift.STEADY, False),
    ],
)
def test_when_a_change_matters(series: list[TrendPoint], drift: Drift, matters: bool) -> None:
    """Thresholds of the practice table: chance 5 %, a tenth of where it began, two years to the limit."""
    (run,) = runs(series, (), Followed("Amps", "A", practice_table()))
    assert (run.drift, run.matters) == (drift, matters)


def test_every_position_has_quantities_of_the_program() -> None:
    from seasonlog.domain.limits import QUANTITIES
    from seasonlog.domain.register_records import POSITIONS as PLACES

    assert set(POSITIONS) <= set(PLACES)
    assert {q for quantities in POSITIONS.values() for q in quantities} <= set(QUANTITIES)


def test_the_lowest_line_of_an_insulation_and_the_mean_of_amps() -> None:
    assert followed("insulation_mohm", (50.0, 20.0, math.inf)) == 20.0
    assert followed("line_amps", (20.0, 21.0, 22.0)) == 21.0


def test_devices_in_order_of_their_day(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        fit(book, "H-LATER", installed="2025-01-01")
        from seasonlog.services import registry

        marks = marks_of(registry.of_tower(book.db, TOWER).devices_at("heater", HEATER))
        assert [m.device for m in marks] == ["HOS-1-H-1", "H-LATER"]
        assert marks[1].failed_in_warranty == ""


DRIFTING_DEGF = (41.0, 42.25, 43.5, 44.75, 46.0)


def creeping(folder: Path) -> Logbook:
    """ORR-1 reads degC: its heater comes on 1.25 degF later each year. Every other thing as it was."""
    fall = visit_told(folder / "fall", "fall-enable", datetime(2021, 3, 10, 13, tzinfo=UTC), "ORR-1")
    clock = FixedClock(datetime(2021, 3, 10, 13, tzinfo=UTC))
    book = a_book(folder / "log", surroundings=Surroundings(clock, FixedBytes("metric")))
    for year, degf in enumerate(DRIFTING_DEGF, 2021):
        clock.now = datetime(year, 3, 10, 13, tzinfo=UTC)
        again(book, fall, f"V-{year}", {"season": year, "ordinal": 1}, {"cut_in_degf": str(degf)})
    return book


@pytest.fixture(scope="module")
def metric(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Logbook]:
    with creeping(tmp_path_factory.mktemp("metric")) as book:
        yield book


def test_a_change_of_temperature_is_told_without_the_32_between_the_zeros(metric: Logbook) -> None:
    """1.25 degF a year are 0.694 degC a year (NIST SP 811, B.8: an interval of 1 degF is 1/1.8 K), not -17.2."""
    found = trends.trend(metric, "ORR-1", "cut_in_degf")
    (run,) = found.runs
    assert run.per_year == pytest.approx(1.25, abs=0.003)
    assert "+0.694 degC a year" in run.says
    assert "degF" not in run.says
    assert run.matters
    assert "it has moved 2.78 degC, 2.22 degC are looked into" in run.says
    read = found.as_read()
    assert read.unit == "degC"
    assert read.runs[0].per_year == pytest.approx(1.25 / 1.8, abs=0.002)


def test_readings_and_limits_are_told_with_the_32(metric: Logbook) -> None:
    """NIST SP 811, B.8: degC = (degF - 32) / 1.8."""
    found = trends.trend(metric, "ORR-1", "cut_in_degf")
    for recorded, read in zip(found.points, found.as_read().points, strict=True):
        assert read.values[0] == pytest.approx((recorded.values[0] - 32) / 1.8)
        assert recorded.high is not None
        assert read.high == pytest.approx((recorded.high - 32) / 1.8, abs=0.005)
    lines = trends.lines(found, whole=True)
    assert any("2021-03-10  5 degC, limit" in line for line in lines)
    assert not any("degf" in line.casefold().replace("cut_in_degf", "") for line in lines)


def test_a_script_gets_the_numbers_of_the_record(metric: Logbook) -> None:
    document = trends.document(trends.trend(metric, "ORR-1", "cut_in_degf"))
    assert (document["unit"], document["site_units"]) == ("degf", "si")
    assert [p["value"] for p in document["points"]] == list(DRIFTING_DEGF)


def test_a_report_draws_and_tells_the_same_degrees(metric: Logbook) -> None:
    document = reports.tower_report(metric, "ORR-1", reports.Made("", date(2025, 4, 1)))
    blocks = next(s.blocks for s in document.sections if s.title == "Trends")
    told = " ".join(line for b in blocks if isinstance(b, Notice) for line in b.lines)
    assert "+0.694 °C a year" in told
    alt = " ".join(b.alt for b in blocks if isinstance(b, Figure))
    assert "in °C: 2021-03-10 5 PASS; 2022-03-10 5.6944" in alt
    assert "°F" not in told + alt
    page = to_html(document)
    assert "degF" not in page


def test_us_sites_stay_in_degf() -> None:
    asked = Followed("Cut-in", "degf", practice_table())
    (run,) = runs(points(*DRIFTING_DEGF, high=60), (), asked)
    assert "+1.25 degF a year" in run.says
    assert run.matters
    (still,) = runs(points(41, 41.5, 42, 42.5, 43, high=60), (), asked)  # 2 degF are half of what is looked into
    assert (still.drift, still.matters) == (Drift.RISING, False)


def test_readings_of_a_recalled_instrument_are_shown_and_not_counted(tmp_path: Path) -> None:
    """Nonconforming work does not serve as a result (ISO/IEC 17025 7.10, from memory)."""
    with a_book(tmp_path) as book:
        for mohm in ("90", "80"):
            answered(book, a_visit(book, TOWER), {MOHM_READ: mohm})
        before = trends.trend(book, TOWER, MOHM_READ)
        read_with = before.points[0].instrument
        recall.recall(book, read_with, date(2026, 9, 1), "as found 30 % high")
        doubted = trends.trend(book, TOWER, MOHM_READ)
        assert [(p.value, p.doubted_since) for p in doubted.points] == [(90.0, "2026-09-01"), (80.0, "2026-09-01")]
        assert (len(before.runs), doubted.runs, doubted.concerns) == (1, (), ())
        assert f"not counted: {read_with} is recalled since 2026-09-01" in "\n".join(trends.lines(doubted, whole=True))
        recall.review(as_supervisor(book), recall.unreviewed(book)[0].id, recall.STANDS, "compared with another meter")
        assert trends.trend(book, TOWER, MOHM_READ).runs == before.runs
