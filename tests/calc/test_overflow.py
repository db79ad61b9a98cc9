"""What a stuck make-up valve puts on a roof.

Flow of ports: two worked pages and a table worked beforehand; flow at the end of pipes by Hazen and Williams, second
method Darcy and Colebrook. Depths, weights and times by geometry, to the digit printed.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import overflow
from seasonlog.calc.ice import growth_in_per_h, ice_psf
from seasonlog.errors import RatingError

# Flow


@pytest.mark.parametrize(
    ("port_in", "discharge", "psi", "printed", "off"),
    [(2, 0.9, 40, 679.35, 2e-4), pytest.param(1, 0.9, 50, 189.8, 6e-4, id="worked with 29.83: 0.06 % off")],
)
def test_an_open_port_of_two_worked_pages(
    port_in: float, discharge: float, psi: float, printed: float, off: float
) -> None:
    """Published examples of 29.84 Cd d2 sqrt(p), gal/min."""
    assert overflow.orifice_gpm(port_in, psi, discharge) == pytest.approx(printed, rel=off)


PORTS = {
    0.25: (6.3, 8.2, 9.0),
    0.375: (14.2, 18.4, 20.2),
    0.5: (25.3, 32.7, 35.8),
    0.75: (57, 74, 81),
    1.0: (101, 131, 143),
}
PORT_CELLS = [(port, psi, gpm) for port, row in PORTS.items() for psi, gpm in zip((30, 50, 60), row, strict=True)]


@pytest.mark.parametrize(("port_in", "psi", "gpm"), PORT_CELLS)
def test_an_open_sharp_port(port_in: float, psi: float, gpm: float) -> None:
    """Table worked beforehand, Cd 0.62: to the digit printed."""
    assert overflow.orifice_gpm(port_in, psi) == pytest.approx(gpm, abs=0.051 if port_in < 0.75 else 0.51)


@pytest.mark.parametrize(("port_in", "psi"), [(0.3, 45), (0.625, 80), (1.5, 20)])
def test_an_open_port_in_si(port_in: float, psi: float) -> None:
    """Second method: Cd A sqrt(2 p / rho), to 0.1 %."""
    area = math.pi / 4 * (port_in * 0.0254) ** 2
    cubic_metres_s = 0.62 * area * math.sqrt(2 * psi * 6894.757 / 999)
    assert overflow.orifice_gpm(port_in, psi) == pytest.approx(cubic_metres_s / 6.30902e-5, rel=1e-3)


PIPES = [
    ("1/2", 0.622, 14.5, 15.0),
    ("3/4", 0.824, 29.9, 31.0),
    ("1", 1.049, 55, 58),
    ("1 1/4", 1.380, 110, 115),
    ("1 1/2", 1.610, 162, 169),
    ("2", 2.067, 299, 312),
]


def darcy_gpm(bore_in: float, length_ft: float, psi: float) -> float:
    """Flow by Darcy with Colebrook's friction (roughness 0.00015 ft, 40 degF water) and the port's loss, Cd 0.62."""
    bore_ft = bore_in / 12
    area = math.pi / 4 * bore_ft**2

    def used_psi(gpm: float) -> float:
        feet_s = gpm / 448.831 / area
        reynolds = feet_s * bore_ft / 1.66e-5
        root = 8.0
        for _ in range(50):
            root = -2 * math.log10(0.00015 / bore_ft / 3.7 + 2.51 * root / reynolds)
        head_ft = length_ft / bore_ft / root**2 * feet_s**2 / 64.348
        return head_ft * 62.43 / 144 + (gpm / (29.84 * 0.62 * bore_in**2)) ** 2

    low, high = 0.0, 2000.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (middle, high) if used_psi(middle) < psi else (low, middle)
    return high


@pytest.mark.parametrize(("size", "bore_in", "hazen", "darcy"), PIPES)
def test_a_full_port_at_the_end_of_50_ft_of_pipe(size: str, bore_in: float, hazen: float, darcy: float) -> None:
    """50 psi, schedule 40: Hazen and Williams and Darcy, worked beforehand, to 1 and 2 %; apart by under 6 %."""
    found = overflow.pipe_gpm(bore_in, 50, 50, bore_in)
    assert found == pytest.approx(hazen, rel=0.01), size
    assert darcy_gpm(bore_in, 50, 50) == pytest.approx(darcy, rel=0.02), size
    assert found == pytest.approx(darcy_gpm(bore_in, 50, 50), rel=0.06)


@given(st.floats(0.3, 4), st.floats(1, 500), st.floats(5, 150))
def test_a_pipe_only_takes_away(bore_in: float, length_ft: float, psi: float) -> None:
    found = overflow.pipe_gpm(bore_in, length_ft, psi, bore_in)
    assert 0 < found < overflow.orifice_gpm(bore_in, psi)
    assert overflow.pipe_gpm(bore_in, length_ft * 2, psi, bore_in) < found


@given(st.floats(0.1, 4), st.floats(1, 100))
def test_flow_goes_with_the_root_of_the_pressure_and_the_square_of_the_port(port_in: float, psi: float) -> None:
    here = overflow.orifice_gpm(port_in, psi)
    assert overflow.orifice_gpm(port_in, 4 * psi) == pytest.approx(2 * here)
    assert overflow.orifice_gpm(2 * port_in, psi) == pytest.approx(4 * here)


# The roof


@pytest.mark.parametrize(("gpm", "roof_ft2"), [(2, 200), (5, 500), (10, 1000)])
def test_three_ways_to_say_one_case(gpm: float, roof_ft2: float) -> None:
    """0.963 in/h of water, 1.05 in/h of ice, 5.0 psf/h, 20 psf after 4.0 h; to the digit printed."""
    found = overflow.overflow(gpm, roof_ft2)
    assert found.depth_in_per_h == pytest.approx(0.963, abs=6e-4)
    assert found.ice_all_in_per_h == pytest.approx(1.05, abs=5e-3)
    assert found.load_psf_per_h == pytest.approx(5.0, abs=0.005)
    assert found.hours_to() == pytest.approx(4.0, abs=0.005)


def test_20_gpm_on_1000_ft2() -> None:
    """10 psf/h and 20 psf after 2.0 h."""
    found = overflow.overflow(20, 1000)
    assert found.load_psf_per_h == pytest.approx(10, abs=0.01)
    assert found.hours_to(20) == pytest.approx(2.0, abs=0.005)


def test_one_gallon_a_minute() -> None:
    """96.25 in/h on a square foot, 8.0208 ft3/h, 500.4 lb/h; ice 1.0905 times as deep."""
    found = overflow.overflow(1, 1)
    assert found.depth_in_per_h == pytest.approx(96.25, abs=5e-3)
    assert found.depth_in_per_h / 12 == pytest.approx(8.0208, abs=5e-5)
    assert found.load_psf_per_h == 500.4
    assert found.ice_all_in_per_h / found.depth_in_per_h == pytest.approx(1.0905, abs=5e-5)


@pytest.mark.parametrize(("flux", "area"), [(100, 759), (200, 379)])
def test_what_it_takes_to_freeze_a_gallon_a_minute(flux: float, area: float) -> None:
    """151.6 Btu/lb from 40 degF: 759 and 379 ft2, to the digit printed; on that roof all of it freezes, on less not."""
    found = overflow.area_that_freezes_ft2(1, flux)
    assert overflow.heat_to_freeze_btu_per_lb() == pytest.approx(151.6)
    assert found == pytest.approx(area, abs=0.5)
    at_edge, smaller = (overflow.overflow(1, found * share, flux, flux) for share in (1, 0.5))
    assert at_edge.ice_low_in_per_h == pytest.approx(at_edge.ice_all_in_per_h, rel=1e-3)
    assert smaller.ice_low_in_per_h == pytest.approx(smaller.ice_all_in_per_h / 2, rel=1e-3)


def test_ice_of_water_at_32_degf_is_the_growth_of_ice() -> None:
    found = overflow.overflow(50, 100, 100, 200, 32)
    assert found.ice_low_in_per_h == pytest.approx(growth_in_per_h(100))
    assert found.ice_high_in_per_h == pytest.approx(growth_in_per_h(200))


FLOW, ROOF = st.floats(0.1, 500), st.floats(10, 50_000)


@given(FLOW, ROOF, st.floats(1, 20))
def test_the_same_flow_on_each_foot_is_the_same_case(gpm: float, roof: float, times: float) -> None:
    one, many = overflow.overflow(gpm, roof), overflow.overflow(gpm * times, roof * times)
    assert many.load_psf_per_h == pytest.approx(one.load_psf_per_h)
    assert many.ice_high_in_per_h == pytest.approx(one.ice_high_in_per_h)


@given(FLOW, ROOF)
def test_no_more_freezes_than_runs(gpm: float, roof: float) -> None:
    found = overflow.overflow(gpm, roof)
    assert found.ice_low_in_per_h <= found.ice_high_in_per_h <= found.ice_all_in_per_h
    assert found.ice_low_in_per_h > 0


@given(st.floats(0.1, 20), st.floats(100, 1000))
def test_frozen_or_not_it_weighs_the_same(gpm: float, roof: float) -> None:
    """57.25 lb/ft3 of ice 1.0905 times as deep: to 0.1 % of 500.4 lb/h."""
    found = overflow.overflow(gpm, roof)
    assert ice_psf(found.ice_all_in_per_h) == pytest.approx(found.load_psf_per_h, rel=1e-3)


BAD = [0, -1, float("nan"), float("inf"), 1e9]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    "call",
    [
        lambda bad: overflow.overflow(bad, 100),
        lambda bad: overflow.overflow(10, bad),
        lambda bad: overflow.overflow(10, 100, -1 if bad == 0 else bad),
        lambda bad: overflow.overflow(10, 100, supply_degf=bad),
        lambda bad: overflow.overflow(10, 100).hours_to(bad),
        lambda bad: overflow.orifice_gpm(bad, 50),
        lambda bad: overflow.orifice_gpm(1, bad),
        lambda bad: overflow.orifice_gpm(1, 50, bad),
        lambda bad: overflow.pipe_gpm(bad, 50, 50, 1),
        lambda bad: overflow.pipe_gpm(1, bad, 50, 1),
        lambda bad: overflow.area_that_freezes_ft2(bad, 100),
        lambda bad: overflow.area_that_freezes_ft2(1, bad),
    ],
    ids=["flow", "roof", "heat", "supply", "load", "port", "psi", "cd", "pipe", "length", "gpm", "flux"],
)
def test_the_impossible_is_refused(call, bad: float) -> None:
    with pytest.raises(RatingError, match="check it"):
        call(bad)


def test_the_least_heat_is_not_above_the_most() -> None:
    with pytest.raises(RatingError, match="least heat"):
        overflow.overflow(10, 100, 200, 100)
