"""Growth and weight of ice.

Tables worked beforehand from Ashton's thin-ice form and the published constants (k 2.24 W/mK, 916 kg/m3, 3.34e5 J/kg):
to the digit printed. Second method: scipy's solve_ivp on the heat balance of the ice, to 1e-6.
"""

import csv
import math
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import ice
from seasonlog.calc.units import degf_from_degc
from seasonlog.errors import RatingError

AFDD = (5, 10, 15, 30, 50, 70, 100, 200, 500)
THIN = {
    10: (0.30, 0.60, 0.88, 1.69, 2.68, 3.59, 4.85, 8.38, 16.13),
    20: (0.58, 1.10, 1.57, 2.81, 4.19, 5.37, 6.92, 11.00, 19.34),
    30: (0.81, 1.48, 2.06, 3.49, 5.00, 6.27, 7.90, 12.11, 20.58),
}
CELLS = [(film, afdd, inches) for film, row in THIN.items() for afdd, inches in zip(AFDD, row, strict=True)]


@pytest.mark.parametrize(("film", "afdd", "inches"), CELLS)
def test_thin_ice(film: float, afdd: float, inches: float) -> None:
    """Table worked beforehand: to 0.006 in."""
    assert ice.thickness_in(afdd, film) == pytest.approx(inches, abs=0.006)


@pytest.mark.parametrize(("start", "grown"), [(0.5, 1.45), (1, 1.34), (2, 1.17), (3, 1.03)])
def test_about_an_inch_in_15_degree_days(start: float, grown: float) -> None:
    """A lake-ice page after Ashton 1989: about 1 in per 15 F days from 1/2 to 3 in. Ours beforehand, to 0.006 in."""
    found = ice.thickness_in(15, start_in=start) - start
    assert found == pytest.approx(grown, abs=0.006)
    assert 0.9 < found < 1.5


def test_half_of_that_in_calm_cloud() -> None:
    """The same page says half; ours with the calm film from bare water 0.88 in, worked beforehand, against 1.57."""
    assert ice.thickness_in(15, ice.FILM_CALM) == pytest.approx(0.88, abs=0.006)
    assert ice.thickness_in(15, ice.FILM_CALM) / ice.thickness_in(15) == pytest.approx(0.5, abs=0.07)


@pytest.mark.parametrize("film", [8, 10, 17, 20, 30])
@pytest.mark.parametrize("start", [0, 1.3])
def test_thin_ice_by_solve_ivp(film: float, start: float) -> None:
    """Second method: rho L dh/dt = T / (h/k + 1/H) integrated for ten days of 20 degF, to 1e-6; films off the table."""
    integrate = pytest.importorskip("scipy.integrate")
    kelvin = 12 / 1.8

    def growth(_t: float, metres: list[float]) -> list[float]:
        return [kelvin / (metres[0] / 2.24 + 1 / film) / (916 * 3.34e5)]

    found = integrate.solve_ivp(growth, (0, 10 * 86400), [start * 0.0254], rtol=1e-10, atol=1e-14)
    assert ice.thickness_in(120, film, start) == pytest.approx(found.y[0][-1] / 0.0254, rel=1e-6)


def test_what_no_still_water_can_pass() -> None:
    """sqrt(2k/(rho L)): 1.044 in per root of a degF day; 0.986 with k 2.0, and 0.983 quoted in a text, to 0.4 %."""
    assert ice.conduction_limit_in(1) == pytest.approx(1.044, abs=5e-4)
    assert ice.conduction_limit_in(1) * math.sqrt(2.0 / ice.ICE_W_PER_M_K) == pytest.approx(0.986, abs=5e-4)
    assert ice.conduction_limit_in(1) * math.sqrt(2.0 / ice.ICE_W_PER_M_K) == pytest.approx(0.983, rel=4e-3)


def test_the_lake_rule() -> None:
    """A page reading the Corps' site: 70 F days at 0.6 give 5.0 in (5.02)."""
    assert ice.degree_day_in(70, 0.6) == pytest.approx(5.02, abs=5e-3)


def test_the_lake_rule_in_centimetres() -> None:
    """EM 1110-2-1612 (from memory): 0.8 in is 2.7 cm per root of a degC day, the factor 3.408."""
    centimetres = ice.degree_day_in(1.8, 0.8) * 2.54
    assert centimetres == pytest.approx(0.8 * 3.408, rel=1e-3)
    assert centimetres == pytest.approx(2.7, abs=0.05)


def test_the_lake_rule_overstates_the_first_inch() -> None:
    """At 5 F days 1.79 in by 0.8, against 0.3 to 0.8 with the air's own resistance."""
    assert ice.degree_day_in(5, 0.8) == pytest.approx(1.79, abs=5e-3)
    assert ice.thickness_in(5, ice.FILM_WINDY) < ice.degree_day_in(5, 0.8) / 2


def test_the_lake_coefficients() -> None:
    """US Army Cold Regions laboratory, technical note 04-3: 0.8 windy, 0.5 to 0.7 with snow; river rows left out."""
    assert sorted(ice.LAKE_COEFFICIENTS.values()) == [0.5, 0.7, 0.8]


@pytest.mark.parametrize(("flux", "inches"), [(50, 0.073), (100, 0.146), (150, 0.219), (200, 0.292), (300, 0.438)])
def test_how_fast_ice_can_grow(flux: float, inches: float) -> None:
    """12 q / (57.25 x 143.6), worked beforehand: to the digit printed."""
    assert ice.growth_in_per_h(flux) == pytest.approx(inches, abs=5e-4)


@pytest.mark.parametrize("flux", [75, 120, 250])
def test_how_fast_ice_can_grow_in_si(flux: float) -> None:
    """Second method: W/m2 over 917 kg/m3 and 333.6 kJ/kg (IAPWS at 0 degC), to 0.2 %."""
    metres_per_h = flux * 3.1546 / (917 * 333.6e3) * 3600
    assert ice.growth_in_per_h(flux) == pytest.approx(metres_per_h / 0.0254, rel=2e-3)


@pytest.mark.parametrize(
    ("inches", "psf"), [(1, 4.77), (2, 9.54), (3, 14.3), (4.19, 20.0), (6, 28.6), (12, 57.2), (20.96, 100)]
)
def test_weight_of_ice(inches: float, psf: float) -> None:
    """Density 917 kg/m3: to the digit printed."""
    assert ice.ice_psf(inches) == pytest.approx(psf, abs=0.055)


def test_weights_by_density() -> None:
    """4.771 psf in an inch of ice, 5.203 of water at 62.43 lb/ft3; ASCE 7 says 5.2; 4.2 in of ice or 3.8 in: 20 psf."""
    assert ice.ice_psf(1) == pytest.approx(4.771, abs=5e-4)
    assert ice.ice_psf(1) == pytest.approx(917 * 0.0254 * 0.2048161, rel=1e-4)
    assert ice.water_psf(1) == pytest.approx(62.43 / 12, rel=1e-3)
    assert ice.ice_psf(4.2) == pytest.approx(20, abs=0.05)
    assert ice.water_psf(3.85) == pytest.approx(20, abs=0.05)
    assert pytest.approx(ice.ice_psf(20.96), rel=2e-3) == 19.2 * 62.43 / 12


@pytest.mark.parametrize(
    ("means", "peak"),
    [([], 0), ([40, 50], 0), ([22, 22], 20), ([22, 50, 22], 10), ([22, 35, 22], 17), ([22, 22, 40], 20)],
)
def test_the_running_sum_of_frost_never_falls_below_zero(means: list[float], peak: float) -> None:
    assert ice.afdd_peak(means) == pytest.approx(peak)


def albany_means(file: Path) -> dict[int, list[float]]:
    """Daily means in degF by winter, July to June, named by its first year; days without both readings left out."""
    winters: dict[int, list[float]] = {}
    with file.open(newline="") as lines:
        for row in csv.DictReader(lines):
            day = {key.strip(): value.strip() for key, value in row.items()}
            if day["TMAX"] and day["TMIN"]:
                winter = int(day["YYYY"]) - (int(day["MM"]) < 7)
                mean = (float(day["TMAX"]) + float(day["TMIN"])) / 2
                winters.setdefault(winter, []).append(degf_from_degc(mean))
    return winters


def test_the_frost_of_albany(shared: Path) -> None:
    """GHCN-Daily, winters from 1991 to 2016: mean 618, most 1,179, mean of the three coldest 1,100 F days; to 1 %."""
    winters = albany_means(shared / "climate" / "albany-USW00014735-daily-degC.csv")
    peaks = sorted(ice.afdd_peak(winters[year]) for year in range(1991, 2017))
    assert math.fsum(peaks) / len(peaks) == pytest.approx(618, rel=0.01)
    assert peaks[-1] == pytest.approx(1179, rel=0.01)
    assert math.fsum(peaks[-3:]) / 3 == pytest.approx(1100, rel=0.01)


# Laws

FROST = st.floats(0, 5000)
FILM = st.floats(5, 50)


@given(st.floats(0.01, 60), FILM, st.floats(0, 10))
def test_frost_and_thickness_there_and_back(grown: float, film: float, start: float) -> None:
    """Round trip: to 1e-9."""
    afdd = ice.afdd_for(start + grown, film, start)
    assert ice.thickness_in(afdd, film, start) == pytest.approx(start + grown, rel=1e-9)


@given(FROST, FROST, FILM)
def test_frost_adds_up(first: float, second: float, film: float) -> None:
    """Growing on from what the first days left gives what all days give: to 1e-9."""
    after_first = ice.thickness_in(first, film)
    assert ice.thickness_in(second, film, after_first) == pytest.approx(
        ice.thickness_in(first + second, film), rel=1e-9, abs=1e-9
    )


@given(FROST, FILM)
def test_ice_stays_below_the_limit_of_its_own_conduction(afdd: float, film: float) -> None:
    assert 0 <= ice.thickness_in(afdd, film) <= ice.conduction_limit_in(afdd) + 1e-9


@given(st.floats(0.1, 5000))
def test_more_wind_makes_more_ice(afdd: float) -> None:
    grown = [ice.thickness_in(afdd, film) for film in (ice.FILM_CALM, ice.FILM, ice.FILM_WINDY)]
    assert all(less < more for less, more in pairwise(grown))


@given(st.lists(st.floats(-40, 80), max_size=40), st.floats(-40, 80))
def test_another_day_never_lowers_the_peak(means: list[float], day: float) -> None:
    assert ice.afdd_peak([*means, day]) >= ice.afdd_peak(means)


@given(st.floats(0.1, 100), st.floats(0.1, 2))
def test_weight_is_straight(inches: float, times: float) -> None:
    assert ice.ice_psf(inches * times) == pytest.approx(times * ice.ice_psf(inches))
    assert ice.ice_psf(inches) < ice.water_psf(inches)


BAD = [-1, float("nan"), float("inf"), 1e9]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    "function",
    [
        ice.thickness_in,
        ice.afdd_for,
        ice.conduction_limit_in,
        ice.growth_in_per_h,
        ice.ice_psf,
        ice.water_psf,
        lambda bad: ice.thickness_in(10, bad),
        lambda bad: ice.thickness_in(10, 20, bad),
        lambda bad: ice.degree_day_in(bad, 0.6),
        lambda bad: ice.degree_day_in(10, bad),
        lambda bad: ice.afdd_peak([20, bad if bad > 0 or bad != bad else -1e9]),
    ],
    ids=["afdd", "wanted", "limit", "flux", "ice", "water", "film", "start", "lake afdd", "lake c", "day"],
)
def test_the_impossible_is_refused(function, bad: float) -> None:
    with pytest.raises(RatingError, match="check it"):
        function(bad)


def test_ice_does_not_shrink_in_frost() -> None:
    with pytest.raises(RatingError, match="thickness"):
        ice.afdd_for(1, 20, 2)
