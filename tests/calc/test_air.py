"""Vapour over ice and water, dew point, and the sky's temperature.

Table: Hyland and Wexler's formulas as an open psychrometric library prints them (ASHRAE 2017/2021), agreement 0.03 %.
Second methods, computed here: psychrolib to 1e-6, CoolProp (IAPWS-95) over water and iapws (IAPWS sublimation 2011)
over ice to 0.04 %. Sky: Clark and Allen 1978 with Walton's cloud terms, one published pair and one weather file.
"""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from seasonlog.calc import air
from seasonlog.calc.units import degc_from_degf, degf_from_degc
from seasonlog.errors import RatingError

PA_PER_INHG = 3386.389
PSI_PER_INHG = 0.491154

TABLE = [
    (-40, 0.001863, 0.00379),
    (-20, 0.006186, 0.01260),
    (-10, 0.010830, 0.02205),
    (0, 0.018502, 0.03767),
    (10, 0.030894, 0.06290),
    (20, 0.050489, 0.10280),
    (30, 0.080859, 0.16463),
    (32, 0.088640, 0.18047),
    (33, 0.092291, 0.18791),
    (35, 0.099976, 0.20355),
    (40, 0.121724, 0.24783),
    (45, 0.147553, 0.30042),
    (50, 0.178106, 0.36263),
    (60, 0.256345, 0.52192),
    (80, 0.507354, 1.03298),
    (110, 1.276436, 2.59885),
]
DEGF = [row[0] for row in TABLE]


@pytest.mark.parametrize(("degf", "psia", "inhg"), TABLE)
def test_saturation_is_that_of_the_table(degf: float, psia: float, inhg: float) -> None:
    """ASHRAE 2017/2021 formulation: within 0.03 % and the last digit printed."""
    found = air.saturation_inhg(degf)
    assert found == pytest.approx(inhg, rel=3e-4, abs=5e-6)
    assert found * PSI_PER_INHG == pytest.approx(psia, rel=3e-4, abs=5e-7)


@pytest.mark.parametrize(
    ("degc", "pascal"), [(0, 611.15), (5, 872.49), (20, 2338.8), (-10, 259.90), (-18, 124.92), (-20, 103.26)], ids=str
)
def test_saturation_in_pascal(degc: float, pascal: float) -> None:
    """The same formulation at whole degC: within 0.01 %."""
    assert air.saturation_inhg(degf_from_degc(degc)) * PA_PER_INHG == pytest.approx(pascal, rel=1e-4)


def test_saturation_at_the_triple_point() -> None:
    """IAPWS: 611.657 Pa at 0.01 degC, the formulation's own 611.66; to the digits printed."""
    found = air.saturation_inhg(32.018) * PA_PER_INHG
    assert found == pytest.approx(611.657, abs=0.006)
    assert found == pytest.approx(611.66, abs=0.006)


def test_over_ice_at_10_below_the_formula_is_a_hair_under_the_old_table() -> None:
    """259.90 Pa by the formulation, 260.0 of a printed hygrometer table (1.950 mmHg): they differ by 0.04 %."""
    found = air.saturation_inhg(degf_from_degc(-10)) * PA_PER_INHG
    assert found == pytest.approx(259.90, abs=0.005)
    assert found == pytest.approx(260.0, rel=5e-4)


@pytest.mark.parametrize(("degc", "mmhg"), [(0, 4.579), (-10, 1.950), (-18, 0.939)], ids=str)
def test_an_old_hygrometer_table_over_ice(degc: float, mmhg: float) -> None:
    """A printed hygrometer table, mmHg: within 0.3 %."""
    assert air.saturation_inhg(degf_from_degc(degc)) * 25.4 == pytest.approx(mmhg, rel=3e-3)


@pytest.mark.parametrize(("degf", "inhg"), [(0, 0.03766), (40, 0.24785), (80, 1.03322)])
def test_saturation_by_iapws(degf: float, inhg: float) -> None:
    """IAPWS-95 and its sublimation line: within 0.03 %."""
    assert air.saturation_inhg(degf) == pytest.approx(inhg, rel=3e-4)


@pytest.mark.parametrize("degf", [*DEGF, -80, -30, 5, 15, 25, 65, 70, 90, 100, 150, 200])
def test_saturation_by_psychrolib(degf: float) -> None:
    """Second method: psychrolib, to 1e-5 (its psi is turned into inHg here)."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.IP)
    inhg = psychrolib.GetSatVapPres(degf) / PSI_PER_INHG
    assert air.saturation_inhg(degf) == pytest.approx(inhg, rel=1e-5)


@pytest.mark.parametrize("degf", [d for d in DEGF if d > 32] + [65, 70, 90, 100, 150, 200])
def test_saturation_over_water_by_iapws_95(degf: float) -> None:
    """Second method: CoolProp's IAPWS-95, within 0.03 %."""
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    pascal = coolprop.PropsSI("P", "T", degc_from_degf(degf) + 273.15, "Q", 0, "Water")
    assert air.saturation_inhg(degf) * PA_PER_INHG == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize("degf", [d for d in DEGF if d <= 32] + [-80, -30, 5, 15, 25])
def test_saturation_over_ice_by_iapws(degf: float) -> None:
    """Second method: the sublimation line of IAPWS 2011, 0.04 % down to -40 degF and 0.1 % at -80."""
    formulas = pytest.importorskip("iapws._iapws")
    megapascal = formulas._Sublimation_Pressure(degc_from_degf(degf) + 273.15)
    assert air.saturation_inhg(degf) * PA_PER_INHG == pytest.approx(megapascal * 1e6, rel=4e-4 if degf > -50 else 1e-3)


def test_water_instead_of_ice_would_overstate_the_vapour_at_0_degf() -> None:
    """Magnus over water overstates it by 19 % at 0 degF (computed): ice is what the formula takes there."""
    degc = degc_from_degf(0)
    magnus_over_water = 611.2 * math.exp(17.62 * degc / (243.12 + degc))
    assert magnus_over_water / (air.saturation_inhg(0) * PA_PER_INHG) == pytest.approx(1.19, abs=0.01)


@given(st.floats(-147, 390), st.floats(0.01, 2))
def test_warmer_air_holds_more_also_across_freezing(degf: float, warmer: float) -> None:
    assert air.saturation_inhg(degf) < air.saturation_inhg(degf + warmer)


@given(st.floats(-147.9, 391.9))
def test_the_dew_point_of_saturated_air_is_its_temperature(degf: float) -> None:
    """Round trip to 1e-6 degF, apart from the hair between ice and water at 32 degF."""
    there_and_back = air.dew_degf(air.saturation_inhg(degf))
    assert there_and_back == pytest.approx(degf, abs=0.02 if 31.99 < degf < 32.03 else 1e-6)


@given(st.floats(-90, 150), st.floats(1, 100))
def test_the_dew_point_is_never_above_the_air(degf: float, humidity: float) -> None:
    assert air.dew_degf(air.vapour_inhg(degf, humidity)) <= degf + 1e-6


@pytest.mark.parametrize(("degf", "humidity"), [(0, 80), (20, 80), (40, 50), (70, 50), (100, 20)])
def test_the_dew_point_by_psychrolib(degf: float, humidity: float) -> None:
    """Second method: psychrolib's own root search, to 0.01 degF."""
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.IP)
    assert air.dew_degf(air.vapour_inhg(degf, humidity)) == pytest.approx(
        psychrolib.GetTDewPointFromRelHum(degf, humidity / 100), abs=0.01
    )


def test_the_published_sky() -> None:
    """Published pair, 293 K air and 283 K dew point, clear: emissivity 0.815, 340.6 W/m2; within 0.1 %."""
    air_degf, dew_degf = degf_from_degc(293 - 273.15), degf_from_degc(283 - 273.15)
    emissivity = air.sky_emissivity(air_degf, dew_degf, 0)
    assert emissivity == pytest.approx(0.815, abs=6e-4)
    assert 5.6697e-8 * emissivity * 293**4 == pytest.approx(340.6, rel=1e-3)


@pytest.mark.parametrize(
    ("air_degf", "cloud", "emissivity", "degf"),
    [(0, 0, 0.7290, -34.9), (0, 10, 0.8412, -19.4), (20, 0, None, -11.6), (20, 10, None, 4.7), (-20, 0, None, -58.2)],
)
def test_the_sky_over_winter_air_of_80_percent(
    air_degf: float, cloud: float, emissivity: float | None, degf: float
) -> None:
    """Worked from the formula beforehand: to the digit printed."""
    dew = air.dew_degf(air.vapour_inhg(air_degf, 80))
    assert air.sky_degf(air_degf, dew, cloud) == pytest.approx(degf, abs=0.05)
    if emissivity:
        assert air.sky_emissivity(air_degf, dew, cloud) == pytest.approx(emissivity, abs=5e-5)


def test_the_sky_of_a_typical_year(shared: Path) -> None:
    """The horizontal infrared column of a TMY3 year of Chicago, 8,760 hours: RMSE under 0.6 W/m2, mean within 0.5."""
    with (shared / "climate" / "chicago-ohare-725300-TMY3.epw").open(newline="") as file:
        rows = list(csv.reader(file))[8:]
    assert len(rows) == 8760
    errors, total = [], 0.0
    for row in rows:
        dry, dew, infrared, opaque = float(row[6]), float(row[7]), float(row[12]), float(row[23])
        emissivity = air.sky_emissivity(degf_from_degc(dry), degf_from_degc(min(dew, dry)), opaque)
        ours = 5.6697e-8 * emissivity * (dry + 273.15) ** 4
        total += ours
        errors.append(ours - infrared)
    assert math.sqrt(math.fsum(e * e for e in errors) / 8760) < 0.6
    assert total / 8760 == pytest.approx(318.4, abs=0.2)
    assert abs(math.fsum(errors) / 8760) < 0.5


@given(st.floats(-60, 100), st.floats(5, 100), st.floats(0, 10))
@example(97.0, 71.0, 10.0)
def test_the_sky_is_never_warmer_than_the_air(degf: float, humidity: float, cloud: float) -> None:
    """Colder below a dew point of 80 degF; in the most sultry air under cloud no warmer, to the rounding of floats."""
    dew = air.dew_degf(air.vapour_inhg(degf, humidity))
    assert air.sky_degf(degf, dew, cloud) <= degf + 1e-9
    assert dew > 80 or air.sky_degf(degf, dew, cloud) < degf


@pytest.mark.parametrize(
    ("function", "values", "what"),
    [
        (air.saturation_inhg, (float("nan"),), "temperature"),
        (air.saturation_inhg, (1e9,), "temperature"),
        (air.saturation_inhg, (-149,), "temperature"),
        (air.vapour_inhg, (20, -1), "humidity"),
        (air.vapour_inhg, (20, 101), "humidity"),
        (air.vapour_inhg, (20, float("inf")), "humidity"),
        (air.dew_degf, (0,), "vapour"),
        (air.dew_degf, (-1,), "vapour"),
        (air.dew_degf, (float("nan"),), "vapour"),
        (air.sky_emissivity, (20, 30, 0), "dew point"),
        (air.sky_emissivity, (20, 10, 11), "cloud"),
        (air.sky_degf, (20, 10, -1), "cloud"),
    ],
)
def test_impossible_air_is_refused(function, values: tuple[float, ...], what: str) -> None:
    with pytest.raises(RatingError, match=f"{what}.*check it"):
        function(*values)
