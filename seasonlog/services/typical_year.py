"""Freeze dates of a typical year: put together from months of different years, so no chance follows from it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seasonlog.calc.climate import Climate
from seasonlog.calc.season_days import MonthDay, SeasonCalendar, calendar_at
from seasonlog.errors import UsageError

NO_CHANCE = (
    "a typical year is put together from months of different years: half of all winters freeze earlier than its first "
    "date or later than its last, and no chance follows from it; windows need a daily record of many years, published "
    "normals, or dates typed for the site"
)


@dataclass(frozen=True, slots=True)
class TypicalDates:
    """First and last day at or below a threshold; None where the year has none."""

    degf: float
    first: MonthDay | None
    last: MonthDay | None


def typical_dates(
    told: Climate, thresholds_degf: Sequence[float], latitude_deg: float | None = None
) -> tuple[SeasonCalendar, list[TypicalDates]]:
    """The dates of a typical year, in the order of a freeze season.

    Args:
        told: A typical year of hours, as an EPW or TMY3 file holds.
        thresholds_degf: At or below these it counts as a freeze [degF].
        latitude_deg: South negative; the file's own when None.

    Raises:
        UsageError: nobody tells on which half of the earth the place lies.
    """
    latitude = told.station.latitude if latitude_deg is None else latitude_deg
    if latitude is None:
        raise UsageError("The file does not tell its latitude: give --latitude-deg, south negative.")
    calendar = calendar_at(latitude)
    lowest: dict[MonthDay, float] = {}
    for hour in told.hours:
        day = MonthDay(hour.at.month, hour.at.day)
        lowest[day] = min(hour.air_degf, lowest.get(day, hour.air_degf))
    ordered = sorted(lowest, key=lambda day: (calendar.months.index(day.month), day.day))
    return calendar, [_dates(ordered, lowest, degf) for degf in thresholds_degf]


def _dates(ordered: Sequence[MonthDay], lowest: dict[MonthDay, float], degf: float) -> TypicalDates:
    frozen = [day for day in ordered if lowest[day] <= degf]
    return TypicalDates(degf, frozen[0] if frozen else None, frozen[-1] if frozen else None)


def lines(found: Sequence[TypicalDates]) -> Iterator[str]:
    """A line for each threshold."""
    for each in found:
        if each.first is None or each.last is None:
            yield f"{each.degf:g} degF: no freeze in the typical year"
        else:
            yield f"{each.degf:g} degF: first {each.first.words}, last {each.last.words}"
