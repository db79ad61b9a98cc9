"""Is the heat of a basin enough: yes, no or cannot tell, from what was last measured.

The basin is 100 ft2 x 1 ft with 140 ft2 of bare steel: at 0 degF, 5 mph at the water and 15 at the walls it loses
14.17 kW at 40 degF and cools to 32 degF in 1.16 h (worked from ASHRAE's pool equation and surface conductances, see
`tests/calc/test_basin.py`, `test_freeze.py`); agreement to the digits printed.
"""

from typing import Any

import pytest

from seasonlog.domain.heat_budget import At, BasinHeat, Measured, basin_heat, delivered
from seasonlog.domain.register import Register
from seasonlog.services.limits import practice_table
from tests.domain.register_samples import made

SHAPE = {"area_ft2": "100", "depth_ft": "1", "wall_ft2": "140", "material": "steel", "insulation": "none"}
PLATE = {"kw": "18", "volts": "480", "phases": "3", "connection": "wye"}
SITE = {"design_degf": "0", "record_low_degf": "-20", "wind_shelter": "partial"}


def register(site: dict[str, Any] | None = None, basin: dict[str, Any] | None = None, **circuit: Any) -> Register:
    parts = (
        made("site", **(SITE | (site or {}))),
        made("tower"),
        made("basin", **(SHAPE | (basin or {}))),
        made("circuit", **(PLATE | circuit)),
    )
    return Register.of(parts)


def heat(of: Register, read: Measured | None = None, **more: Any) -> BasinHeat:
    measured = {"N-1-H": read} if read else {}
    return basin_heat(of, of.basins["N-1-B"], practice_table(), measured, **more)


def at(found: BasinHeat, label: str) -> At:
    return next(each for each in found.at if each.label == label)


def test_the_loss_is_a_range_whose_high_side_is_the_worked_one() -> None:
    found = at(heat(register()), "design")
    assert found.loss_high_kw == pytest.approx(14.17, abs=0.01)
    assert 0.5 * found.loss_high_kw < found.loss_low_kw < found.loss_high_kw
    assert found.off_hours[0] == pytest.approx(1.16, abs=0.01)


@pytest.mark.parametrize(("kw", "adequate"), [("15", "yes"), ("12", "cannot_tell"), ("9", "no")])
def test_adequate_is_yes_no_or_cannot_tell(kw: str, adequate: str) -> None:
    """Loss at 0 degF from 10.3 to 14.2 kW: 15 covers it, 9 does not, 12 nobody knows."""
    found = heat(register(kw=kw))
    assert at(found, "design").adequate == adequate
    assert found.adequate == adequate


def test_enough_at_the_design_temperature_may_be_too_little_at_the_record_low() -> None:
    found = heat(register(kw="15"))
    assert at(found, "record low").loss_high_kw == pytest.approx(20.45, abs=0.01)
    assert at(found, "record low").adequate != "yes"


def test_what_counts_is_what_was_measured_not_the_plate() -> None:
    """16 kW at 440 V give 16 x (440/480)^2 = 13.4 kW: no longer enough."""
    assert at(heat(register(kw="16")), "design").adequate == "yes"
    found = heat(register(kw="16"), Measured(volts=(440.0,), words="on 2026-09-15"))
    assert found.kw == pytest.approx(13.44, abs=0.01)
    assert at(found, "design").adequate == "cannot_tell"
    assert "440 V on 2026-09-15" in found.delivered[0].says


@pytest.mark.parametrize(
    ("amps", "volts", "kw"),
    [
        ((21.65, 21.65, 21.65), (480.0,), 18.0),
        ((20.75, 20.75, 20.75), (460.0, 460.0, 460.0), 16.53),
        ((0.0, 18.75, 18.75), (480.0,), 9.0),
        ((0.0, 18.75, 18.75), (240.0, 480.0, 240.0), 9.0),
        ((0.0, 0.0, 0.0), (480.0,), 0.0),
    ],
)
def test_power_from_amps_and_volts(amps: tuple[float, ...], volts: tuple[float, ...], kw: float) -> None:
    """Circuit theory: sqrt 3 V I; a lost line halves it (0.500 of the power, not 0.577). Agreement 1 %."""
    circuit = register().circuits["N-1-H"]
    assert delivered(circuit, Measured(volts, amps)).kw == pytest.approx(kw, rel=0.01, abs=1e-9)


def test_power_of_a_single_phase_heater() -> None:
    circuit = register(phases="1").circuits["N-1-H"]
    assert delivered(circuit, Measured((480.0,), (37.5,))).kw == pytest.approx(18.0)


@pytest.mark.parametrize(
    ("site", "basin", "says"),
    [
        ({}, {"area_ft2": None}, "not on record: area_ft2 of N-1-B"),
        ({}, {"depth_ft": None, "wall_ft2": None}, "not on record: depth_ft, wall_ft2"),
        ({}, {"material": "concrete"}, "walls of concrete"),
        ({}, {"insulation": "other"}, "insulation other"),
        ({"design_degf": None, "record_low_degf": None}, {}, "neither design_degf nor record_low_degf"),
    ],
)
def test_what_is_not_known_is_told_and_never_guessed(site: dict[str, Any], basin: dict[str, Any], says: str) -> None:
    found = heat(register(site, basin))
    assert found.adequate == "cannot_tell"
    assert says in found.missing
    assert found.at == ()


@pytest.mark.parametrize("source", ["steam", "hot_water"])
def test_heat_that_is_not_electric_cannot_be_told_in_kw(source: str) -> None:
    found = heat(register(basin={"heat": source}))
    assert found.kw is None
    assert {each.adequate for each in found.at} == {"cannot_tell"}


def test_a_temperature_asked_for_stands_beside_the_others() -> None:
    found = heat(register(), asked_degf=30.0)
    assert [each.label for each in found.at] == ["design", "record low", "asked for"]
    assert at(found, "asked for").adequate == "yes"


def test_in_warm_air_nothing_freezes() -> None:
    assert at(heat(register(), asked_degf=45.0), "asked for").off_hours == (None, None)


@pytest.mark.parametrize(
    ("basin", "broken", "first"),
    [
        ({"makeup_valve": "float", "makeup_heat_trace": False}, (), "make-up valve and its line"),
        ({"makeup_valve": "float", "makeup_heat_trace": True}, (), "skin of the still water"),
        ({"makeup_valve": "none", "makeup_heat_trace": False}, (), "skin of the still water"),
        ({"makeup_valve": "float", "makeup_heat_trace": True}, ("the pump suction",), "the pump suction"),
    ],
)
def test_what_freezes_first_is_told_with_the_basin(basin: dict[str, Any], broken: tuple[str, ...], first: str) -> None:
    found = heat(register(basin=basin), broken=broken)
    assert first in found.first_to_freeze
    assert "earlier than the whole basin" in found.skin_ice


@pytest.mark.parametrize(("shelter", "least"), [("sheltered", 0), ("partial", 0), ("open", 1)])
def test_an_open_site_loses_more(shelter: str, least: int) -> None:
    plain = at(heat(register()), "design").loss_high_kw
    found = at(heat(register({"wind_shelter": shelter})), "design").loss_high_kw
    assert found >= plain + least
