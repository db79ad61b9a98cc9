"""Trends over eight winters: they start at each device, and tell a drift that matters."""

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from seasonlog.domain.trend import Drift, TrendPoint
from seasonlog.domain.trend_rules import POSITIONS, Followed, followed, marks_of, runs
from seasonlog.errors import InputRefusedError
from seasonlog.services import trends
from seasonlog.services.limits import practice_table
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
from tests.audit_story import HEATER, MOHM, NEW_HEATER, TOWER, corrected, fit
from tests.builders import a_book, around

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
    assert trends.concerns(told, TOWER)[0].startswith("Insulation of the heater to its sheath falls")


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
    assert any("LOOK" in line for line in trends.lines(trends.trend(told, TOWER, MOHM_READ), whole=True))


def points(*values: float, low: float | None = None, high: float | None = None) -> list[TrendPoint]:
    from datetime import date

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
