"""How many minutes it is from one place to another: great circle times a factor at a speed, or as given."""

import math

from seasonlog.planning.model import Instance, Place

EARTH_KM = 6371.0088
"""Mean radius of the earth (IUGG)."""
_ROUNDING = 1e-9
"""A given whole minute stays that minute."""


def great_circle_km(start: Place, end: Place) -> float:
    """Shortest way over the sphere, by the haversine formula [km].

    Source: R. W. Sinnott, Virtues of the Haversine, Sky and Telescope 68 (1984) 159; from memory.
    """
    lat_1, lat_2 = math.radians(start.lat_deg), math.radians(end.lat_deg)
    half_lon = math.radians(end.lon_deg - start.lon_deg) / 2
    root = math.sin((lat_2 - lat_1) / 2) ** 2 + math.cos(lat_1) * math.cos(lat_2) * math.sin(half_lon) ** 2
    return 2 * EARTH_KM * math.asin(min(1.0, math.sqrt(root)))


class Travel:
    """Whole minutes between the places of an instance, rounded up, each way worked out once."""

    def __init__(self, instance: Instance) -> None:
        self._places = instance.places
        self._roads = instance.roads
        self._known: dict[tuple[str, str], int] = {}

    def minutes(self, start: str, end: str) -> int:
        """Minutes from one named place to another; none within one place."""
        if start == end:
            return 0
        found = self._known.get((start, end))
        if found is None:
            found = self._known[start, end] = math.ceil(self._exact(start, end) - _ROUNDING)
        return found

    def _exact(self, start: str, end: str) -> float:
        given = self._roads.given_minutes.get((start, end))
        if given is not None:
            return given
        km = great_circle_km(self._places[start], self._places[end]) * self._roads.factor
        return km / self._roads.speed_kmh * 60
