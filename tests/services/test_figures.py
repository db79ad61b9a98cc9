"""The figures of a tower from a log: last readings count, a failed heat trace comes first, all towers at once."""

import time
from pathlib import Path

import pytest

from seasonlog.errors import InputRefusedError, RatingError
from seasonlog.services import figures, register, rounds
from tests.builders import TODAY, a_book, a_visit, answered


def test_power_follows_the_last_amps_of_a_visit(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        before = figures.figures(book, "HOS-1", TODAY).basins[0]
        answered(book, a_visit(book), {"line_amps": ("0", "18.7", "18.7")})
        after = figures.figures(book, "HOS-1", TODAY).basins[0]
    assert before.kw == pytest.approx(18.0)
    assert after.kw == pytest.approx(9.0, abs=0.1)
    assert (before.adequate, after.adequate) == ("yes", "no")
    assert TODAY.isoformat() in after.delivered[0].says


def test_a_heat_trace_with_a_finding_freezes_first(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        at = answered(book, a_visit(book), until="trace_insulation_mohm")
        trace = next(iter(at.register.traces_of("HOS-1")))
        rounds.answer(book, at, "trace_insulation_mohm", "0.1")
        found = figures.figures(book, "HOS-1", TODAY).basins[0]
    assert trace.protects in found.first_to_freeze
    assert "open finding" in found.first_to_freeze


def test_a_drained_tower_needs_no_heat(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        register.set_winter_mode(book, "HOS-1", "drained", TODAY, "out of use")
        assert figures.figures(book, "HOS-1", TODAY).basins == ()


def test_every_tower_of_the_samples_has_figures_or_a_reason(tmp_path: Path) -> None:
    with a_book(tmp_path) as book:
        start = time.perf_counter()
        found = list(figures.sweep(book, TODAY))
        took = time.perf_counter() - start
    assert len(found) == 22
    assert all(heat.at or heat.missing for each in found for heat in each.basins)
    assert all(each.expected for tower in found for each in tower.circuits)
    assert took < 2.0


@pytest.mark.parametrize("degf", [float("nan"), 1e9, -200.0])
def test_an_impossible_temperature_is_refused(tmp_path: Path, degf: float) -> None:
    with a_book(tmp_path) as book, pytest.raises(RatingError, match="outdoor air"):
        figures.figures(book, "HOS-1", TODAY, degf)


@pytest.mark.parametrize(
    ("text", "units", "degf"),
    [("-5", "us", -5.0), (" 10 ", "us", 10.0), ("-20 C", "us", -4.0), ("-20", "si", -4.0), ("14F", "si", 14.0),
     ("\N{MINUS SIGN}40", "us", -40.0), ("-40°c", "us", -40.0)],
)  # fmt: skip
def test_a_temperature_is_read_as_people_type_it(text: str, units: str, degf: float) -> None:
    assert figures.typed_degf(text, units) == pytest.approx(degf)


@pytest.mark.parametrize("text", ["", "cold", "1e9", "-5 K", "٣", "-300", "90", "nan", "1,5"])
def test_what_is_no_temperature_is_refused(text: str) -> None:
    with pytest.raises(InputRefusedError, match="outdoor"):
        figures.typed_degf(text, "us")
