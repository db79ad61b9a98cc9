"""Heat an idle basin loses.

Check tables worked beforehand with general libraries from the published forms (ASHRAE pool equation, Bowen 1926,
Stefan and Boltzmann, ASHRAE surface conductances): agreement to the digits printed. `test_basin_outside` holds
the loss against what others measured and published.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import air, basin
from seasonlog.calc.basin import Basin, Draught, Loss, Weather, adequate, draught_high, draught_low, loss, loss_range
from seasonlog.calc.units import BTUH_PER_KW, GALLONS_PER_FT3
from seasonlog.errors import RatingError

OPEN = Basin(1.0, 1.0, 0.0, sky_view=1.0)
CASED = Basin(1.0, 1.0, 0.0)
PSI_PER_INHG = 0.491154


def b1(wall: str = "steel") -> Basin:
    """100 ft2, 1 ft deep, 140 ft2 of walls and floor."""
    return Basin(100, 1, 140, wall)


def flux(air_degf: float, mph: float, activity: float, sky_view: float = 0.0, water: float = 40.0) -> float:
    """Btu/h of one square foot of water."""
    return loss(Basin(1, 1, 0, sky_view=sky_view), water, Weather(air_degf), Draught(mph, 15, activity)).total_btuh


# The surface, square foot by square foot

MPH = (0, 5, 10, 15)
FLUX = {  # air: still .74, still 1, 5 .74, 5 1, 10 .74, 10 1, 15 .74, 15 1; clear sky adds
    -20: ((99.8, 120.6, 216.2, 277.9, 332.7, 435.2, 449.1, 592.6), 18.5),
    0: ((72.4, 87.7, 158.2, 203.7, 244.0, 319.6, 329.8, 435.6), 19.7),
    10: ((57.4, 69.7, 126.5, 163.1, 195.6, 256.4, 264.7, 349.8), 20.2),
    30: ((23.1, 28.5, 53.1, 69.0, 83.1, 109.5, 113.1, 150.1), 20.9),
}
FLUX_CELLS = [
    (degf, MPH[place // 2], (0.74, 1.0)[place % 2], wanted)
    for degf, (row, _) in FLUX.items()
    for place, wanted in enumerate(row)
]


@pytest.mark.parametrize(("air_degf", "mph", "activity", "wanted"), FLUX_CELLS)
def test_flux_of_water_held_at_40_degf(air_degf: float, mph: float, activity: float, wanted: float) -> None:
    """Table worked beforehand, 80 % humidity, under a casing: to the digit printed, 0.06 Btu/h ft2."""
    assert flux(air_degf, mph, activity) == pytest.approx(wanted, abs=0.06)


@pytest.mark.parametrize(("air_degf", "wanted"), [(degf, added) for degf, (_, added) in FLUX.items()])
def test_what_a_clear_sky_adds(air_degf: float, wanted: float) -> None:
    """Same table: to 0.06 Btu/h ft2."""
    assert flux(air_degf, 5, 1, sky_view=1) - flux(air_degf, 5, 1) == pytest.approx(wanted, abs=0.06)


@pytest.mark.parametrize("air_degf", [-40, -30, -10, 15, 20, 25])
@pytest.mark.parametrize("mph", MPH)
@pytest.mark.parametrize("activity", [0.74, 1.0])
def test_flux_off_the_table_by_a_second_method(air_degf: float, mph: float, activity: float) -> None:
    """Not in the table: worked in SI from psychrolib's pressures, to 1 % (the SI pool equation is rounded)."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    water, cold = 40 / 1.8 - 32 / 1.8, (air_degf - 32) / 1.8
    pw, pa = psychrolib.GetSatVapPres(water) / 1000, 0.8 * psychrolib.GetSatVapPres(cold) / 1000
    evaporation = activity * (pw - pa) * (0.089 + 0.0782 * 0.44704 * mph) * 1000  # Y cancels
    bowen = 0.46 * (water - cold) / ((pw - pa) / 0.133322)
    radiation = 0.95 * 5.670374e-8 * ((water + 273.15) ** 4 - (cold + 273.15) ** 4)
    assert flux(air_degf, mph, activity) * 3.1546 == pytest.approx(evaporation * (1 + bowen) + radiation, rel=0.01)


def test_the_parts_at_0_degf_5_mph() -> None:
    """Worked beforehand: evaporation 61.4, convection 113.5, radiation 28.8 cased and 48.5 under a clear sky."""
    parts = loss(CASED, 40, Weather(0), Draught(5, 15, 1))
    assert parts.evaporation_btuh == pytest.approx(61.4, abs=0.05)
    assert parts.convection_btuh == pytest.approx(113.5, abs=0.05)
    assert parts.radiation_btuh == pytest.approx(28.8, abs=0.05)
    assert loss(OPEN, 40, Weather(0), Draught(5, 15, 1)).radiation_btuh == pytest.approx(48.5, abs=0.05)
    assert parts.walls_btuh == 0


def test_evaporation_in_si() -> None:
    """The pool equation in SI at 40/0 degF, 5 mph: 193.7 W/m2 and 194.5 in IP, within 0.5 % of each other."""
    ip = loss(CASED, 40, Weather(0), Draught(5, 15, 1)).evaporation_btuh * 3.1546
    difference_kpa = (air.saturation_inhg(40) - air.vapour_inhg(0, 80)) * 3.38639
    si = difference_kpa * (0.089 + 0.0782 * 5 * 0.44704) * 1000
    assert sorted((ip, si)) == pytest.approx([193.7, 194.5], abs=0.1)
    assert ip == pytest.approx(si, rel=5e-3)


def test_make_up_for_evaporation_is_little() -> None:
    """0.057 lb/h ft2 at 40/0 degF, 5 mph; 0.69 gal/h from 100 ft2 (heat of evaporation 1070.7 Btu/lb)."""
    pounds = loss(CASED, 40, Weather(0), Draught(5, 15, 1)).evaporation_btuh / 1070.7
    assert pounds == pytest.approx(0.057, abs=5e-4)
    assert 100 * pounds / 8.345 == pytest.approx(0.69, abs=5e-3)


@pytest.mark.parametrize(("degf", "wanted"), [(40, 1070.7), (35, 1073.5)])
def test_the_heat_of_evaporation(degf: float, wanted: float) -> None:
    """CoolProp's IAPWS-95, Btu/lb: to 0.1."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    kelvin = (degf - 32) / 1.8 + 273.15
    joules = coolprop.PropsSI("H", "T", kelvin, "Q", 1, "Water") - coolprop.PropsSI("H", "T", kelvin, "Q", 0, "Water")
    assert joules / 2326 == pytest.approx(wanted, abs=0.1)


def test_convection_is_a_straight_line_of_the_wind() -> None:
    """0.956 + 0.376 mph, from Bowen and the pool equation: to 0.1 %; 1.85 times evaporation at 40/0 degF."""
    for mph in (0, 5, 20):
        parts = loss(CASED, 40, Weather(0), Draught(mph, 15, 1))
        assert parts.convection_btuh / 40 == pytest.approx(0.956 + 0.376 * mph, rel=1e-3)
        assert parts.convection_btuh / parts.evaporation_btuh == pytest.approx(1.85, abs=0.005)


# Walls


@pytest.mark.parametrize(
    ("wall", "mph", "u", "off"),
    [
        ("steel", 0, 1.39, 0.005),
        ("steel", 7.5, 3.53, 0.005),
        ("steel", 15, 5.00, 0.005),
        ("frp", 0, 1.19, 0.005),
        ("frp", 7.5, 2.45, 0.005),
        ("frp", 15, 3.08, 0.005),
        pytest.param("r4", 15, 0.24, 0.005, id="r4 at 15 mph"),
        pytest.param("r4", 7.5, 0.24, 0.01, id="r4 at 7.5 mph: the table rounds 0.233 to any wind's 0.24"),
        pytest.param("r4", 0, 0.24, 0.03, id="r4 in still air: the table's 0.24 is for any wind, films give 0.212"),
    ],
)
def test_heat_through_walls(wall: str, mph: float, u: float, off: float) -> None:
    """ASHRAE surface conductances (from memory) and the wall in a row; a trade table gives 5.1 for steel at 15 mph."""
    assert basin.wall_u(wall, mph) == pytest.approx(u, abs=off)


@pytest.mark.parametrize(("mph", "film"), [(0, 1.46), (7.5, 4.0), (15, 6.0), (3.75, 2.73), (11.25, 5.0), (22.5, 8.0)])
def test_the_outside_film_is_straight_between_the_published_winds(mph: float, film: float) -> None:
    assert basin.outside_film(mph) == pytest.approx(film)


@pytest.mark.parametrize("wall", basin.WALLS)
@given(mph=st.floats(0, 100), more=st.floats(0.01, 50))
def test_more_wind_takes_more_through_any_wall(wall: str, mph: float, more: float) -> None:
    assert basin.wall_u(wall, mph) < basin.wall_u(wall, mph + more)


# The whole basin

B1_KW = {
    "steel": (20.45, 17.34, 14.17, 10.93, 7.58, 4.07),
    "frp": (15.72, 13.40, 11.02, 8.57, 6.00, 3.28),
    "r4": (8.73, 7.57, 6.36, 5.07, 3.68, 2.12),
}
B1_CELLS = [
    (wall, degf, kw)
    for wall, row in B1_KW.items()
    for degf, kw in zip((-20, -10, 0, 10, 20, 30), row, strict=True)
]  # fmt: skip


@pytest.mark.parametrize(("wall", "air_degf", "kw"), B1_CELLS)
def test_kw_of_the_reference_basin(wall: str, air_degf: float, kw: float) -> None:
    """Table worked beforehand: 100 ft2, 1 ft, 140 ft2 of walls, 5 mph at the water, 15 at the walls; within 0.01 kW."""
    assert loss(b1(wall), 40, Weather(air_degf), Draught(5, 15, 1)).kw == pytest.approx(kw, abs=0.01)


def test_the_reference_basin_at_0_degf_in_btu() -> None:
    """Surface 20,367 + walls 28,000 = 48,367 Btu/h, to 1 Btu/h; its water 6,243 lb, 748 gal."""
    parts = loss(b1(), 40, Weather(0), Draught(5, 15, 1))
    assert parts.surface_btuh == pytest.approx(20367, abs=0.5)
    assert parts.walls_btuh == pytest.approx(28000, abs=0.5)
    assert parts.total_btuh == pytest.approx(48367, abs=0.5)
    assert b1().mass_lb == pytest.approx(6243)
    assert b1().capacity_btu_per_degf == b1().mass_lb
    assert pytest.approx(748, abs=0.5) == 100 * GALLONS_PER_FT3


def test_the_range_is_low_and_high_draught() -> None:
    """15 mph free wind: low is still water of undisturbed pools, high is 5 mph at the water; both walls in 15 mph."""
    found = loss_range(b1(), 40, Weather(0))
    assert found.low == loss(b1(), 40, Weather(0), Draught(0, 15, 0.74))
    assert found.high == loss(b1(), 40, Weather(0), Draught(5, 15, 1.0))
    assert found.high_kw == pytest.approx(14.17, abs=0.01)
    assert found.low_kw == pytest.approx((72.4 * 100 + 28000) / BTUH_PER_KW, abs=0.01)


@pytest.mark.parametrize(
    ("wind", "shelter", "low", "high"),
    [
        (15, 1 / 3, (0, 15), (5, 15)),
        (30, 1 / 3, (0, 15), (10, 30)),
        (6, 1 / 3, (0, 6), (5, 15)),
        (0, 1 / 3, (0, 0), (5, 15)),
        (30, 1.0, (0, 15), (30, 30)),
        (30, 0.0, (0, 15), (5, 30)),
    ],
)
def test_the_draughts(wind: float, shelter: float, low: tuple[float, float], high: tuple[float, float]) -> None:
    calm, windy = draught_low(wind), draught_high(wind, shelter)
    assert (calm.water_mph, calm.wall_mph, calm.activity) == (*low, 0.74)
    assert (windy.water_mph, windy.wall_mph, windy.activity) == (*high, 1.0)


@pytest.mark.parametrize(
    ("kw", "word"),
    [(15, "yes"), (14, "yes"), (13.99, "cannot_tell"), (10, "cannot_tell"), (9.99, "no"), (0, "no")],
)
def test_adequate_says_yes_only_above_the_whole_range(kw: float, word: str) -> None:
    assert adequate(kw, 10, 14) == word


def test_a_leak_costs_its_water_warmed() -> None:
    """500.4 lb/h in 1 gal/min: 2 gal/min from 34 to 40 degF take 6,004.8 Btu/h."""
    assert basin.bleed_btuh(2, 40, 34) == pytest.approx(6004.8)
    assert basin.bleed_btuh(2, 40, 50) == pytest.approx(-10008)


# Laws

AIR = st.floats(-60, 39)
WIND = st.floats(0, 60)


@given(AIR, WIND, st.floats(33, 80), st.floats(0, 1), st.sampled_from(sorted(basin.WALLS)))
def test_low_is_never_above_high(degf: float, wind: float, water: float, sky: float, wall: str) -> None:
    found = loss_range(Basin(100, 1, 140, wall, sky), water, Weather(degf, wind))
    assert found.low_kw <= found.high_kw


@given(st.floats(45, 120), WIND)
def test_low_is_never_above_high_when_the_air_warms_the_basin(degf: float, wind: float) -> None:
    found = loss_range(b1(), 40, Weather(degf, wind))
    assert found.low_kw <= found.high_kw


def test_warm_air_gives_heat_back() -> None:
    assert loss(b1(), 40, Weather(70), Draught(5, 15, 1)).kw < 0


@given(AIR, st.floats(0.1, 20), WIND)
def test_colder_air_takes_more(degf: float, colder: float, wind: float) -> None:
    draught = draught_high(wind)
    here = loss(b1(), 40, Weather(degf), draught).total_btuh
    assert loss(b1(), 40, Weather(degf - colder), draught).total_btuh > here


@given(AIR, st.floats(33, 80), st.floats(0.1, 20))
def test_warmer_water_loses_more(degf: float, water: float, warmer: float) -> None:
    draught = draught_low(15)
    here = loss(b1(), water, Weather(degf), draught).total_btuh
    assert loss(b1(), water + warmer, Weather(degf), draught).total_btuh > here


@given(AIR, st.floats(0.5, 50))
def test_twice_the_basin_loses_twice(degf: float, times: float) -> None:
    draught = Draught(5, 15, 1)
    one, many = Basin(100, 1, 140), Basin(100 * times, 1, 140 * times)
    ratio = loss(many, 40, Weather(degf), draught).kw / loss(one, 40, Weather(degf), draught).kw
    assert ratio == pytest.approx(times)


def test_depth_changes_no_loss() -> None:
    shallow, deep = Basin(100, 0.5, 140), Basin(100, 4, 140)
    assert loss(shallow, 40, Weather(0), Draught(5, 15, 1)) == loss(deep, 40, Weather(0), Draught(5, 15, 1))


def test_thin_air_carries_less_by_convection_alone() -> None:
    """Bowen's ratio goes with the air's pressure: 24.9 inHg, some 5,000 ft, takes 24.9/29.92 of it."""
    high = loss(CASED, 40, Weather(0, pressure_inhg=24.9), Draught(5, 15, 1))
    sea = loss(CASED, 40, Weather(0), Draught(5, 15, 1))
    assert high.convection_btuh / sea.convection_btuh == pytest.approx(24.9 / 29.92)
    assert (high.evaporation_btuh, high.radiation_btuh) == (sea.evaporation_btuh, sea.radiation_btuh)


def test_clouds_warm_and_bone_dry_air_still_has_a_sky() -> None:
    clear, overcast = (
        loss(OPEN, 40, Weather(0, cloud_tenths=cloud), Draught(5, 15, 1)).radiation_btuh for cloud in (0, 10)
    )
    assert clear == loss(OPEN, 40, Weather(0), Draught(5, 15, 1)).radiation_btuh
    assert overcast < clear < loss(OPEN, 40, Weather(0, humidity_percent=0), Draught(5, 15, 1)).radiation_btuh


def test_kw_and_btu_are_one_loss() -> None:
    """1 kW is 3412.14 Btu/h."""
    parts = Loss(1000, 2000, 300, 112.141633)
    assert parts.total_btuh == pytest.approx(3412.14, abs=0.01)
    assert parts.kw == pytest.approx(1)


BAD = [0, -1, float("nan"), float("inf"), 1e9]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("place", [0, 1])
def test_an_impossible_basin_is_refused(bad: float, place: int) -> None:
    sizes = [100, 1]
    sizes[place] = bad
    with pytest.raises(RatingError, match=r"basin (area|depth).*check it"):
        Basin(*sizes, 140)


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: Basin(100, 1, -1), "wall"),
        (lambda: Basin(100, 1, float("nan")), "wall and floor"),
        (lambda: Basin(100, 1, 140, "straw"), "straw"),
        (lambda: Basin(100, 1, 140, sky_view=1.1), "sky"),
        (lambda: Weather(1e9), "outdoor air"),
        (lambda: Weather(float("nan")), "air is nan"),
        (lambda: Weather(0, -1), "wind"),
        (lambda: Weather(0, 1000), "wind is 1000"),
        (lambda: Weather(0, humidity_percent=120), "humidity"),
        (lambda: Weather(0, cloud_tenths=11), "cloud"),
        (lambda: Weather(0, pressure_inhg=0), "pressure"),
        (lambda: Draught(-1, 15, 1), "at the water"),
        (lambda: Draught(0, float("inf"), 1), "at the walls"),
        (lambda: Draught(0, 15, 0), "activity"),
        (lambda: draught_high(15, 1.5), "share of the wind"),
        (lambda: loss(b1(), 31, Weather(0), Draught(0, 15, 1)), "water is 31"),
        (lambda: loss(b1(), float("nan"), Weather(0), Draught(0, 15, 1)), "water"),
        (lambda: adequate(-1, 1, 2), "heater power"),
        (lambda: adequate(float("nan"), 1, 2), "power is nan"),
        (lambda: basin.bleed_btuh(-1, 40, 34), "bleed"),
    ],
)
def test_the_impossible_is_refused(make, what: str) -> None:
    with pytest.raises(RatingError, match=what):
        make()
