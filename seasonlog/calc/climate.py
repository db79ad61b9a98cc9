"""Weather of a place as a file tells it: days with their lowest and highest temperature, or single hours."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class Station:
    """Where it was measured; what the file does not tell is empty or None."""

    id: str = ""
    name: str = ""
    latitude: float | None = None
    """Degrees north."""
    longitude: float | None = None
    """Degrees east; negative in the Americas."""
    elevation_ft: float | None = None


@dataclass(frozen=True, slots=True)
class Daily:
    """One day. None: missing, or left out because it failed the keeper's quality check."""

    day: date
    tmin_degf: float | None
    tmax_degf: float | None

    @property
    def is_whole(self) -> bool:
        """Both temperatures are there."""
        return self.tmin_degf is not None and self.tmax_degf is not None


class Hourly(NamedTuple):
    """One hour. None: missing, or not in the file."""

    at: datetime
    """Its beginning, local standard time; the year means nothing in a typical year."""
    air_degf: float
    wind_mph: float | None = None
    """Free wind at the station [mph]."""
    humidity_percent: float | None = None
    cloud_tenths: float | None = None
    """Opaque sky cover, 0 to 10."""


@dataclass(frozen=True, slots=True)
class Climate:
    """What one weather file holds: days or hours, in the order of time."""

    station: Station = Station()
    days: tuple[Daily, ...] = ()
    hours: tuple[Hourly, ...] = ()
    is_typical: bool = False
    """The hours are one typical year put together from months of different years."""
    notes: tuple[str, ...] = ()
    """How the file was understood: its form, its unit, what was left out."""

    @property
    def missing_days(self) -> int:
        """Days from the first to the last without a lowest temperature."""
        told = sum(each.tmin_degf is not None for each in self.days)
        return (self.days[-1].day - self.days[0].day).days + 1 - told if self.days else 0

    def gaps(self) -> Iterator[date]:
        """The days from the first to the last without a lowest temperature, in order."""
        told = {each.day for each in self.days if each.tmin_degf is not None}
        span = (self.days[-1].day - self.days[0].day).days + 1 if self.days else 0
        days = (self.days[0].day + timedelta(days=n) for n in range(span))
        return (day for day in days if day not in told)


def whole_degf(degf: float) -> float:
    """A US temperature as it was read: rounded to the nearest whole degF, halves up.

    US stations read whole degF; the archive keeps tenths of degC, so that 28 degF comes back as 28.04 and would not
    count as "28 or colder".

    Args:
        degf: As converted from the archive [degF].

    Source:
        Custom of US observers (common practice); tested on the day counts of a published long record.
    """
    return float(math.floor(degf + 0.5))


def season_of(day: date) -> int:
    """The year a winter season begins in: seasons run from August to July.

    Source:
        NCEI Normals Calculation Methodology 2020: freeze seasons begin on August 1.
    """
    return day.year if day.month >= 8 else day.year - 1
