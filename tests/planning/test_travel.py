"""Ways: the great circle against a second formula and known lengths, rounding, and what is given."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seasonlog.planning.model import Instance, Place, Roads
from seasonlog.planning.travel import EARTH_KM, Travel, great_circle_km

PLACES = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))


@pytest.mark.parametrize(
    ("start", "end", "km"),
    [
        (Place(0, 0), Place(1, 0), EARTH_KM * math.pi / 180),
        (Place(0, 0), Place(0, 90), EARTH_KM * math.pi / 2),
        (Place(90, 0), Place(-90, 77), EARTH_KM * math.pi),
        (Place(0, -179.5), Place(0, 179.5), EARTH_KM * math.pi / 180),
        (Place(60, 0), Place(60, 180), EARTH_KM * math.pi / 3),
    ],
    ids=["a degree of meridian", "quarter of the equator", "pole to pole", "over the date line", "over the pole"],
)
def test_arcs_known_by_geometry(start: Place, end: Place, km: float) -> None:
    """Arc = radius x angle; agreement 1e-12."""
    assert great_circle_km(start, end) == pytest.approx(km, rel=1e-12)


@given(PLACES, PLACES)
def test_the_angle_between_two_vectors_gives_the_same(start: Place, end: Place) -> None:
    """Second method: atan2 of cross and dot product; agreement 1 m where the haversine is weakest (antipodes)."""
    a, b = (
        (math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat))
        for lat, lon in ((math.radians(p.lat_deg), math.radians(p.lon_deg)) for p in (start, end))
    )
    cross = (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    angle = math.atan2(math.hypot(*cross), sum(x * y for x, y in zip(a, b, strict=True)))
    assert great_circle_km(start, end) == pytest.approx(angle * EARTH_KM, rel=1e-9, abs=1e-3)


@given(PLACES, PLACES, PLACES)
def test_no_way_is_longer_than_with_a_stop(a: Place, b: Place, c: Place) -> None:
    assert great_circle_km(a, c) <= great_circle_km(a, b) + great_circle_km(b, c) + 1e-3


def between(roads: Roads) -> Travel:
    return Travel(Instance((), (), (), {"a": Place(42, -88), "b": Place(42.5, -88)}, roads))


def test_a_way_is_road_over_speed_rounded_up() -> None:
    """0.5 degree of meridian is 55.60 km; x 1.3 at 65 km/h = 66.72 minutes."""
    assert between(Roads()).minutes("a", "b") == 67
    assert between(Roads(factor=1, speed_kmh=120)).minutes("a", "b") == 28


def test_given_ways_go_first_in_their_direction_only() -> None:
    travel = between(Roads(given_minutes={("a", "b"): 20.0}))
    assert (travel.minutes("a", "b"), travel.minutes("b", "a")) == (20, 67)


def test_a_given_part_of_a_minute_is_a_minute() -> None:
    assert between(Roads(given_minutes={("a", "b"): 20.01})).minutes("a", "b") == 21


def test_there_is_no_way_within_one_place() -> None:
    assert between(Roads(given_minutes={("a", "a"): 20.0})).minutes("a", "a") == 0
