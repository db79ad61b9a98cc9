"""Temperature sensors.

IEC 60751 tolerances and coefficients from memory, Callendar-Van Dusen; thermistor points of makers' tables from memory.
Second methods: bisection of the curve, a cubic root by scipy, the slope of the curve.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.calc import sensors
from seasonlog.errors import RatingError


@pytest.mark.parametrize(
    ("sensor_class", "degc", "degf"), [("AA", 0.108, 0.19), ("A", 0.159, 0.29), ("B", 0.322, 0.58), ("C", 0.644, 1.16)]
)
def test_tolerance_at_40_degf(sensor_class: str, degc: float, degf: float) -> None:
    """IEC 60751 (from memory) at 4.44 degC; to the last digit shown."""
    assert sensors.pt_tolerance_degc(40 / 9, sensor_class) == pytest.approx(degc, abs=5.1e-4)
    assert sensors.pt_tolerance_degf(40, sensor_class) == pytest.approx(degf, abs=5.1e-3)


@pytest.mark.parametrize(("sensor_class", "at_ice"), [("AA", 0.10), ("A", 0.15), ("B", 0.30), ("C", 0.60)])
def test_tolerance_at_the_ice_point(sensor_class: str, at_ice: float) -> None:
    """IEC 60751 (from memory), exactly."""
    assert sensors.pt_tolerance_degc(0, sensor_class) == at_ice
    assert sensors.pt_tolerance_degf(32, sensor_class) == pytest.approx(1.8 * at_ice)


@pytest.mark.parametrize(("degc", "ohms"), [(0, 100.00), (40 / 9, 101.74), (7.22, 102.82), (100, 138.51), (-50, 80.31)])
def test_ohms_of_a_pt100(degc: float, ohms: float) -> None:
    """Callendar-Van Dusen, IEC 60751 (from memory); to 0.005 ohm."""
    assert sensors.pt100_ohms(degc) == pytest.approx(ohms, abs=0.0051)


@pytest.mark.parametrize("degc", [-99, -40, -5, 0, 4.44, 25, 150])
def test_temperature_of_a_pt100_by_bisection(degc: float) -> None:
    """Second method: halve the range until the curve gives the ohms; to a millionth of a degree."""
    ohms, low, high = sensors.pt100_ohms(degc), -100.0, 200.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if sensors.pt100_ohms(middle) < ohms else (low, middle)
    assert sensors.degc_from_pt100_ohms(ohms) == pytest.approx(low, abs=1e-6)


def test_temperature_of_a_pt100_by_a_root_finder() -> None:
    """Second method: scipy's Brent on the printed coefficients, written out again; to a millionth of a degree."""
    optimize = pytest.importorskip("scipy.optimize")
    for ohms in (85.0, 95.0, 100.0, 101.74, 120.0):

        def off(t: float, wanted: float = ohms) -> float:
            cold = -4.183e-12 * (t - 100) * t**3 if t < 0 else 0
            return 100 * (1 + 3.9083e-3 * t - 5.775e-7 * t * t + cold) - wanted

        assert sensors.degc_from_pt100_ohms(ohms) == pytest.approx(optimize.brentq(off, -100, 200), abs=1e-6)


@given(st.floats(-100, 200))
def test_ohms_and_temperature_of_a_pt100_are_a_round_trip(degc: float) -> None:
    assert sensors.degc_from_pt100_ohms(sensors.pt100_ohms(degc)) == pytest.approx(degc, abs=1e-6)


@given(st.floats(-100, 190), st.floats(0.001, 10))
def test_platinum_rises_with_temperature(degc: float, more: float) -> None:
    assert sensors.pt100_ohms(degc + more) > sensors.pt100_ohms(degc)


@given(st.floats(-100, 200))
def test_a_better_class_is_never_farther_off(degc: float) -> None:
    found = [sensors.pt_tolerance_degc(degc, each) for each in sensors.CLASSES]
    assert found == sorted(found)
    assert sensors.pt_tolerance_degc(-degc if degc < 100 else 100, "B") == sensors.pt_tolerance_degc(
        min(degc, 100), "B"
    )


@pytest.mark.parametrize(("kind", "kohm"), [("II", 32.65), ("III", 29.49)])
def test_a_thermistor_in_ice(kind: str, kohm: float) -> None:
    """Makers' tables from memory: to 0.01 kohm; 10 kohm at 25 degC exactly."""
    assert sensors.thermistor_kohm(0, kind) == pytest.approx(kohm, abs=0.01)
    assert sensors.thermistor_kohm(25, kind) == 10


def test_a_thermistor_between_its_points() -> None:
    """Makers' table of type II from memory, 10 degC: 19.90 kohm; the exponential law is within 0.1 degC."""
    assert sensors.degc_from_thermistor_kohm(19.90, "II") == pytest.approx(10, abs=0.1)


@pytest.mark.parametrize("kind", sensors.THERMISTOR_TYPES)
def test_the_class_of_a_thermistor_is_a_fifth_of_a_degree(kind: str) -> None:
    """Common practice, no source. Second method: the slope of the curve, within 1 % of the band's width."""
    low, high = sensors.thermistor_band_kohm(0, kind)
    slope = (sensors.thermistor_kohm(-0.01, kind) - sensors.thermistor_kohm(0.01, kind)) / 0.02
    assert high - low == pytest.approx(0.4 * slope, rel=0.01)
    assert low < sensors.thermistor_kohm(0, kind) < high


@given(st.floats(-9.9, 39.9), st.sampled_from(sensors.THERMISTOR_TYPES))
def test_kohm_and_temperature_of_a_thermistor_are_a_round_trip(degc: float, kind: str) -> None:
    assert sensors.degc_from_thermistor_kohm(sensors.thermistor_kohm(degc, kind), kind) == pytest.approx(degc, abs=1e-6)


@pytest.mark.parametrize("bad", [-274, 1e9, math.nan, math.inf, -math.inf])
def test_impossible_temperatures_are_refused_in_words(bad: float) -> None:
    calls = (
        lambda: sensors.pt100_ohms(bad),
        lambda: sensors.pt_tolerance_degc(bad, "A"),
        lambda: sensors.pt_tolerance_degf(bad, "A"),
        lambda: sensors.thermistor_kohm(bad, "II"),
        lambda: sensors.degc_from_pt100_ohms(bad),
        lambda: sensors.degc_from_thermistor_kohm(bad, "II"),
    )
    for call in calls:
        with pytest.raises(RatingError, match="wanted"):
            call()


def test_unknown_kinds_are_not_guessed() -> None:
    with pytest.raises(RatingError, match="is not one of AA, A, B, C"):
        sensors.pt_tolerance_degc(0, "D")
    with pytest.raises(RatingError, match="is not one of II, III"):
        sensors.thermistor_kohm(0, "IV")
    with pytest.raises(RatingError, match="check the type"):
        sensors.degc_from_thermistor_kohm(200, "II")
