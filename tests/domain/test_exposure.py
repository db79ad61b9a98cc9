"""What freezes first and in how many hours: bare lines, dead heat trace, skin of ice, basin, heat that falls short.

The basin is 100 ft2 x 1 ft with 140 ft2 of bare steel: at 0 degF it loses 10.3 to 14.2 kW at 40 degF and cools to
32 degF in 1.16 h (ASHRAE's pool equation and surface conductances, see `tests/calc/test_basin.py`, `test_freeze.py`).
The lines are held against the balance worked by hand and stepped second by second; agreement to 1 %.
"""

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from seasonlog.calc import basin as thermal
from seasonlog.domain.coverage import Coverage
from seasonlog.domain.exposure import (
    KIND_WORDS,
    Exposed,
    FreezeKind,
    Night,
    Standing,
    Threat,
    basin_night,
    exposed,
    hours_words,
    night_of,
    ranked,
    unjudged,
)
from seasonlog.domain.exposure_hours import bare_line_hours, jacketed_line_hours, worked
from seasonlog.domain.finding import Finding, FindingState
from seasonlog.domain.heat_budget import Measured
from seasonlog.domain.protection import Protection
from seasonlog.domain.register import Register
from seasonlog.domain.severity import Severity
from seasonlog.errors import RatingError
from seasonlog.services.limits import practice_table
from tests.domain.register_samples import made

SHAPE = {"area_ft2": "100", "depth_ft": "1", "wall_ft2": "140", "material": "steel", "insulation": "none"}
TRACED = {"makeup_valve": "float", "makeup_heat_trace": "yes"}
BARE = {"makeup_valve": "float", "makeup_heat_trace": "no"}
ZERO = Night("design", 0.0, 15.0)
PROVEN = Coverage(Protection.PROVEN, ("Fall enable on 2026-09-15",))
NOT_PROVEN = Coverage(Protection.NOT_PROVEN, ("no fall enable in this season",))
PROVISIONAL = Coverage(Protection.PROVISIONAL, ("short enable, stands until 2026-09-29",))


def register(kw: str = "18", *more: Any, basin: dict[str, Any] | None = None, **tower: Any) -> Register:
    site = made("site", design_degf="0", record_low_degf="-20", wind_shelter="partial")
    parts = (
        made("basin", **(SHAPE | TRACED | (basin or {}))),
        made("circuit", kw=kw, volts="480", phases="3", connection="wye"),
    )
    return Register.of((site, made("tower", winter="heated_basin", **tower), *parts, *more))


def finding(step: str = "line_amps", target: str = "N-1-H", **more: Any) -> Finding:
    given = {"severity": Severity.FREEZE_RISK, "state": FindingState.OPEN, "unprotected": "Heat is missing."}
    return Finding(
        id="F-00000001", tower="N-1", site="N", step=step, step_id=step, target=target, visit="V-1", entry="e",
        title="Line amps", says="0 A", opened_wall_ms=0, opened_by="Mirel", **(given | more),
    )  # fmt: skip


def judged(
    of: Register, standing: Standing, night: Night | None = ZERO, read: dict[str, Measured] | None = None
) -> Exposed | None:
    practice = practice_table()
    basins = [basin_night(of, basin, practice, read or {}, night) for basin in of.basins_of("N-1")]
    return exposed(of, "N-1", practice.value("hold_water_degf"), standing, night, basins)


def standing(
    coverage: Coverage = NOT_PROVEN, *findings: Finding, mode: str = "heated_basin", good: str = ""
) -> Standing:
    return Standing(mode, coverage, findings, frozenset(good.split()))


def kinds(found: Exposed | None) -> list[str]:
    assert found is not None
    return [str(threat.kind) for threat in found.threats]


def stepped(capacity: float, ua: float, air: float, start: float, step_s: float = 0.1) -> float:
    """Hours to 32 degF, one small step after the other."""
    water, seconds = start, 0.0
    while water > 32.0:
        water -= ua * (water - air) / capacity * step_s / 3600.0
        seconds += step_s
    return seconds / 3600.0


WATER_LB_PER_FT = 62.4 * math.pi * (1.049 / 24.0) ** 2


@pytest.mark.parametrize("air", [-20.0, -8.0, 0.0, 20.0, 30.0])
def test_a_bare_line_cools_as_its_water_and_the_film_around_it_say(air: float) -> None:
    """0.3745 lb/ft in 1 in pipe, film 6 Btu/h ft2 degF at 15 mph (ASHRAE, from memory) on 0.344 ft2/ft: 2.066 Btu/h."""
    ours = bare_line_hours(air, 15.0, 40.0)
    assert ours == pytest.approx(stepped(WATER_LB_PER_FT, 6.0 * math.pi * 1.315 / 12.0, air, 40.0), rel=0.01)


def test_a_bare_line_at_minus_eight_is_down_in_two_minutes() -> None:
    """By hand: 0.3745 / 2.066 x ln(48 / 40) = 0.0331 h."""
    assert bare_line_hours(-8.0, 15.0, 40.0) == pytest.approx(0.0331, abs=0.0002)


def test_a_line_in_half_an_inch_takes_a_quarter_of_an_hour() -> None:
    """By hand: R = 12 ln(2.315 / 1.315) / (2 pi 0.30) = 3.60, 0.3745 x 3.60 x ln(48 / 40) = 0.246 h."""
    ours = jacketed_line_hours(-8.0, 40.0)
    assert ours == pytest.approx(0.246, abs=0.001)
    resistance = 12.0 * math.log(2.315 / 1.315) / (2.0 * math.pi * 0.30)
    assert ours == pytest.approx(stepped(WATER_LB_PER_FT, 1.0 / resistance, -8.0, 40.0), rel=0.01)


@pytest.mark.parametrize("air", [32.0, 39.0, 60.0])
def test_no_line_freezes_in_air_above_freezing(air: float) -> None:
    assert bare_line_hours(air, 15.0, 40.0) is None
    assert jacketed_line_hours(air, 40.0) is None


def test_the_skin_may_form_once_the_mixed_water_is_at_its_densest() -> None:
    """M cp (40 - 39.2) over the loss at 39.6 degF; the loss hardly changes in 0.8 degF; agreement to 1 %."""
    shape = thermal.Basin(100.0, 1.0, 140.0, "steel")
    weather, share = thermal.Weather(0.0), 0.33
    high = thermal.loss(shape, 39.6, weather, thermal.draught_high(15.0, share)).total_btuh
    found = worked(shape, share, weather, 40.0, None)
    assert found.skin_off_hours == pytest.approx(shape.capacity_btu_per_degf * 0.8 / high, rel=0.01)
    assert found.off_hours == pytest.approx(1.16, abs=0.01)


@given(
    st.floats(-60, 31), st.floats(0, 60), st.floats(20, 2000), st.floats(0.3, 6), st.sampled_from(sorted(thermal.WALLS))
)
@settings(max_examples=60, deadline=None)
def test_the_skin_comes_before_the_basin_and_heat_never_hastens_either(
    air: float, wind: float, area: float, depth: float, wall: str
) -> None:
    shape = thermal.Basin(area, depth, 1.4 * area, wall)
    found = worked(shape, 0.33, thermal.Weather(air, wind), 40.0, area / 10.0)
    assert found.off_hours is not None
    assert found.skin_off_hours is not None
    assert found.skin_off_hours < found.off_hours
    assert found.heated_hours is None or found.heated_hours >= found.off_hours
    assert found.skin_heated_hours is None or found.skin_heated_hours >= found.skin_off_hours


@given(st.floats(-60, 30), st.floats(0.5, 20), st.floats(0, 60), st.floats(0, 40))
@settings(max_examples=60, deadline=None)
def test_colder_or_windier_is_never_later(air: float, colder: float, wind: float, more: float) -> None:
    of = register(basin=BARE)

    def hours(night: Night) -> list[float]:
        found = judged(of, standing(), night)
        assert found is not None
        return [threat.hours for threat in found.threats if threat.hours is not None]

    mild = hours(Night("asked for", air, wind))
    assert all(a <= b + 1e-9 for a, b in zip(hours(Night("", air - colder, wind)), mild, strict=True))
    assert all(a <= b + 1e-9 for a, b in zip(hours(Night("", air, wind + more)), mild, strict=True))


def test_a_proven_tower_whose_heat_covers_the_loss_is_not_exposed() -> None:
    assert judged(register("15"), standing(PROVEN)) is None
    assert judged(register("15"), standing(PROVISIONAL)) is None


def test_a_tower_not_proven_is_worked_with_its_heater_off() -> None:
    found = judged(register("15"), standing())
    assert found is not None
    assert found.reasons == ("no fall enable in this season",)
    assert kinds(found) == ["skin_of_ice", "basin"]
    assert "heater off" in found.threats[1].what
    assert found.threats[1].hours == pytest.approx(1.16, abs=0.01)
    assert found.first is found.threats[0]


@pytest.mark.parametrize(("kw", "words"), [("9", "is not enough at 0 degF"), ("12", "may not be enough at 0 degF")])
def test_a_proven_heater_that_falls_short_is_exposed_with_what_it_holds(kw: str, words: str) -> None:
    found = judged(register(kw), standing(PROVEN))
    assert found is not None
    assert words in found.reasons[0]
    assert f"{kw} kW of 10.3 to 14.2 kW lost" in found.reasons[0]
    assert found.reasons[0].endswith("it does not hold 32 degF" if kw == "9" else "it holds 34.3 degF")
    assert f"with {kw} kW" in found.threats[0].what
    off = judged(register(kw), standing())
    assert off is not None
    assert all(
        a.hours is None or (b.hours and a.hours > b.hours) for a, b in zip(found.threats, off.threats, strict=True)
    )


def test_what_was_measured_counts_not_the_plate() -> None:
    read = {"N-1-H": Measured((480.0,), (0.0, 18.75, 18.75), "on 2026-09-15")}
    assert judged(register("18"), standing(PROVEN)) is None
    assert "9 kW of" in getattr(judged(register("18"), standing(PROVEN), read=read), "reasons", ("",))[0]


def test_an_open_freeze_finding_exposes_a_proven_tower() -> None:
    found = judged(register("18"), standing(PROVEN, finding()))
    assert found is not None
    assert found.reasons == ("open finding F-00000001: Line amps",)
    assert "heater off" in found.threats[0].what


def test_a_finding_that_cannot_freeze_exposes_nothing() -> None:
    gap = finding(severity=Severity.RECORD_GAP, unprotected="")
    assert judged(register("18"), standing(PROVEN, gap)) is None


@pytest.mark.parametrize("severity", [Severity.DRY_FIRE_RISK, Severity.WATER_OR_ICE])
def test_any_finding_that_leaves_it_unprotected_tonight_exposes(severity: Severity) -> None:
    assert judged(register("18"), standing(PROVEN, finding(severity=severity))) is not None


@pytest.mark.parametrize(
    ("basin", "good", "first"),
    [
        (BARE, "", "makeup_line"),
        (BARE, "makeup_line_guarded", "skin_of_ice"),
        (BARE, "makeup_line_guarded@N-1-B", "skin_of_ice"),
        (TRACED, "", "skin_of_ice"),
        ({"makeup_valve": "none", "makeup_heat_trace": "no"}, "", "skin_of_ice"),
    ],
    ids=["bare", "guarded", "guarded here", "traced", "no valve"],
)
def test_a_bare_make_up_line_comes_first_unless_it_was_seen_guarded(
    basin: dict[str, Any], good: str, first: str
) -> None:
    assert kinds(judged(register(basin=basin), standing(good=good)))[0] == first


def test_a_guard_that_failed_later_does_not_count() -> None:
    failed = finding("makeup_line_guarded", "N-1-B")
    assert (
        kinds(judged(register(basin=BARE), standing(NOT_PROVEN, failed, good="makeup_line_guarded")))[0]
        == "makeup_line"
    )


@pytest.mark.parametrize(
    ("coverage", "good", "findings", "words"),
    [
        (NOT_PROVEN, "", (), "not proven this season"),
        (NOT_PROVEN, "trace_insulation_mohm", (), ""),
        (NOT_PROVEN, "trace_insulation_mohm@N-1-T", (), ""),
        (NOT_PROVEN, "trace_insulation_mohm", (finding("trace_volts", "N-1-T"),), "failed (line amps)"),
        (PROVEN, "", (finding("trace_volts", "N-1-T"),), "failed (line amps)"),
    ],
    ids=["not proven", "proved", "proved by name", "failed since", "failed on a proven tower"],
)
def test_heat_trace_counts_when_it_failed_or_was_not_proven(
    coverage: Coverage, good: str, findings: tuple[Finding, ...], words: str
) -> None:
    trace = made("trace", protects="make-up line", volts="120", kind="self_regulating")
    found = judged(register("18", trace), standing(coverage, *findings, good=good))
    assert found is not None
    told = [threat.what for threat in found.threats if threat.kind is FreezeKind.TRACE]
    assert [words in each and "make-up line" in each for each in told] == ([True] if words else [])


def test_the_coil_of_a_closed_circuit_is_named_without_a_figure() -> None:
    found = judged(register(kind="closed_circuit"), standing())
    assert found is not None
    (coil,) = found.without_figure
    assert (coil.kind, coil.hours) == (FreezeKind.COIL, None)
    assert found.threats[-1] is coil
    warm = judged(register(kind="closed_circuit"), standing(), Night("asked for", 50.0, 15.0))
    assert warm is not None
    assert warm.nothing_freezes
    cold = Night("asked for", -8.0, 15.0)
    proven_but_coil = judged(register("40", kind="closed_circuit"), standing(PROVEN, finding("coil_flow", "N-1")), cold)
    assert proven_but_coil is not None
    assert not proven_but_coil.nothing_freezes
    proved = judged(register(kind="closed_circuit"), standing(good="coil_protection"))
    assert proved is not None
    assert proved.without_figure == ()


def test_without_any_outdoor_temperature_nothing_is_guessed() -> None:
    found = judged(register(basin=BARE), standing(), None)
    assert found is not None
    assert found.first is None
    assert "neither design_degf nor record_low_degf" in found.without_figure[0].missing


def test_a_basin_without_its_size_leaves_the_line_as_the_only_figure() -> None:
    found = judged(register(basin=BARE | {"area_ft2": None}), standing())
    assert kinds(found) == ["makeup_line", "basin"]
    assert found is not None
    assert "area_ft2" in found.without_figure[0].missing


@pytest.mark.parametrize(("mode", "words"), [("run_wet", "flow and heat stopped"), ("remote_sump", "not drained")])
def test_other_winter_modes_say_what_must_have_failed(mode: str, words: str) -> None:
    found = judged(register(), standing(mode=mode))
    assert found is not None
    assert words in found.threats[0].what
    assert judged(register("1"), standing(PROVEN, mode=mode)) is None  # its own heat is not what protects it


def test_heat_that_is_not_in_kw_is_told_not_judged() -> None:
    of = register(basin={"heat": "steam"})
    assert judged(of, standing(PROVEN)) is None
    basins = [basin_night(of, of.basins["N-1-B"], practice_table(), {}, ZERO)]
    assert unjudged(standing(PROVEN), basins) == "the heat of N-1-B is not in kW on record"
    assert unjudged(standing(PROVEN, mode="run_wet"), basins) == ""
    found = judged(of, standing(PROVEN, finding("coil_supply_at_setback", "N-1-B")))
    assert found is not None
    assert "heater off" in found.threats[0].what


@pytest.mark.parametrize(
    ("given", "site", "label", "degf"),
    [
        (5.0, {"design_degf": "-8", "record_low_degf": "-41"}, "asked for", 5.0),
        (None, {"design_degf": "-8", "record_low_degf": "-41"}, "design", -8.0),
        (None, {"record_low_degf": "-41"}, "record low", -41.0),
    ],
)
def test_the_weather_is_what_is_asked_else_the_design_one(
    given: float | None, site: dict[str, str], label: str, degf: float
) -> None:
    night = night_of(made("site", **site), practice_table(), given, None)
    assert night == Night(label, degf, 15.0)


def test_no_weather_is_made_up() -> None:
    assert night_of(made("site"), practice_table(), None, None) is None


@pytest.mark.parametrize(
    ("degf", "wind"), [(math.nan, 5.0), (1e9, 5.0), (-500.0, 5.0), (0.0, -1.0), (0.0, 1e9), (0.0, math.nan)]
)
def test_impossible_weather_is_refused(degf: float, wind: float) -> None:
    with pytest.raises(RatingError):
        night_of(made("site"), practice_table(), degf, wind)


def test_figures_stand_before_no_figure_and_that_before_nothing_freezes() -> None:
    def one(tower: str, *hours: float | None, missing: str = "") -> Exposed:
        threats = tuple(Threat(FreezeKind.SKIN, "", each, "", missing) for each in hours)
        return Exposed(tower, "S", "heated_basin", ZERO, ("x",), threats, ())

    given = [
        one("never", None),
        one("blind", None, missing="size"),
        one("b", 1.0, 3.0),
        one("c", 1.0, 2.0),
        one("a", 0.5),
    ]
    assert [each.tower for each in ranked(given)] == ["a", "c", "b", "blind", "never"]
    assert [each.tower for each in ranked(reversed(given))] == ["a", "c", "b", "blind", "never"]
    assert replace(given[0], tower="a0").order < given[0].order


@pytest.mark.parametrize(
    ("hours", "words"),
    [(0.0, "1 min"), (0.0331, "2 min"), (0.5, "30 min"), (1.0, "1.0 h"), (9.94, "9.9 h"), (30.4, "30 h")],
)
def test_hours_are_told_as_one_plans_by_them(hours: float, words: str) -> None:
    assert hours_words(hours) == words


def test_every_kind_has_its_words() -> None:
    assert set(KIND_WORDS) == {str(kind) for kind in FreezeKind}
