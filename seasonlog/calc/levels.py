"""Whether the three levels of a basin stand in the order that keeps a heater under water."""

from dataclasses import dataclass

from seasonlog.calc.units import within

MOST_INCHES = 1200.0


@dataclass(frozen=True, slots=True)
class Levels:
    """Distances between the levels of one basin, inches; negative means the order is wrong."""

    trip_above_heater_in: float
    """Water left over the heater when the level device trips."""
    operating_above_trip_in: float
    """Fall of the water before the level device trips."""


def levels(operating_level_in: float, trip_level_in: float, heater_top_in: float) -> Levels:
    """Distances between operating level, trip level and the heater's top.

    Args:
        operating_level_in: Above the basin floor [in].
        trip_level_in: Above the basin floor [in].
        heater_top_in: Highest hot part above the basin floor [in].

    Raises:
        RatingError: a level is negative or unbelievable.

    Source:
        Geometry: operating level > trip level > heater top, or the heater can run dry.
    """
    for value, what in (
        (operating_level_in, "operating level"),
        (trip_level_in, "trip level"),
        (heater_top_in, "heater top"),
    ):
        within(value, what, "in", 0.0, MOST_INCHES)
    return Levels(trip_level_in - heater_top_in, operating_level_in - trip_level_in)
