"""Daily temperatures as they are gathered out of a file, and the unit they are in."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from seasonlog.calc.climate import Climate, Daily, Station
from seasonlog.calc.units import degf_from_degc
from seasonlog.intake.weather_text import Reading, Unit

TMIN, TMAX = "TMIN", "TMAX"


TO_DEGF: Mapping[Unit, Callable[[float], float]] = {
    Unit.DEGF: float,
    Unit.DEGC: degf_from_degc,
    Unit.TENTHS: lambda tenths: (18.0 * tenths + 3200.0) / 100.0,
}
WORDS = {Unit.DEGF: "degF", Unit.DEGC: "degC", Unit.TENTHS: "tenths of a degC"}
MOST_DEGC = 55.0
"""No day was ever warmer than this in degC."""
LEAST_SUMMER_DEGF = 60.0
"""Whole numbers above this can only be degF."""
MOST_WHOLE = 140.0
"""Above this, or below its negative, only tenths of a degC go."""


def inferred_unit(values: Sequence[float]) -> tuple[Unit | None, str]:
    """The unit of temperatures in a file that does not tell it, and why; None when they could be either.

    Args:
        values: Lowest and highest temperatures as they stand in the file.

    Source:
        Common sense on what air temperatures can be; no published rule.
    """
    if not values:
        return None, "it holds no temperature"
    top, bottom = max(values), min(values)
    if top > MOST_WHOLE or bottom < -MOST_WHOLE:
        return Unit.TENTHS, f"{top if top > MOST_WHOLE else bottom:g} can only be tenths of a degC"
    has_decimals = any(value != int(value) for value in values)
    if has_decimals and top < MOST_DEGC:
        return Unit.DEGC, f"there are decimals and none is above {top:g}: degC"
    if not has_decimals and top > LEAST_SUMMER_DEGF:
        return Unit.DEGF, f"all are whole numbers and the warmest is {top:g}: degF"
    what = "decimals" if has_decimals else "whole numbers only"
    return None, f"{what} from {bottom:g} to {top:g} could be degF or degC"


_UNTOLD: tuple[float | None, int] = (None, 0)


@dataclass(slots=True)
class Days:
    """Lowest and highest temperatures by day, as they stand in the file, and on which line."""

    reading: Reading
    found: dict[str, dict[date, tuple[float | None, int]]] = field(default_factory=lambda: {TMIN: {}, TMAX: {}})
    flagged: int = 0
    _degf: dict[float, float] = field(default_factory=dict)
    """Temperatures of the file that air can have, and what they are in degF."""

    def put(self, line: int, day: date, element: str, value: float | None, *, flag: str = "") -> None:
        """Keep one temperature; one that failed the keeper's quality check is left out and counted."""
        kept = self.found[element]
        if day in kept:
            self.reading.wrong(line, f"{day} has {element} twice; the first is on line {kept[day][1]}")
            return
        if flag and value is not None:
            self.flagged += 1
            value = None
        kept[day] = (value, line)

    def values(self) -> list[float]:
        """Every temperature there is."""
        return [value for kept in self.found.values() for value, _ in kept.values() if value is not None]

    def all_days(self) -> list[date]:
        """The days told of, in order."""
        return sorted({*self.found[TMIN], *self.found[TMAX]})

    def climate(self, station: Station, unit: Unit) -> Climate | None:
        """All days in degF, in order; None when something is wrong."""
        days = tuple(self._daily(day, unit) for day in self.all_days())
        if not self.reading.problems() and not any(day.tmin_degf is not None for day in days):
            self.reading.wrong_whole("holds no daily lowest temperature (TMIN)")
        if self.reading.problems():
            return None
        climate = Climate(station, days=days, notes=tuple(self.reading.notes))
        return Climate(station, days=days, notes=(*climate.notes, *self._told(climate)))

    def _daily(self, day: date, unit: Unit) -> Daily:
        low, high = self._known(TMIN, day, unit), self._known(TMAX, day, unit)
        if low is not None and high is not None and low > high:
            line = self.found[TMIN][day][1]
            self.reading.wrong(line, f"on {day} the lowest {low:.1f} degF is above the highest {high:.1f} degF")
        return Daily(day, low, high)

    def _known(self, element: str, day: date, unit: Unit) -> float | None:
        value, line = self.found[element].get(day, _UNTOLD)
        if value is None:
            return None
        degf = self._degf.get(value)
        if degf is None:
            degf = self.reading.air_degf(line, TO_DEGF[unit](value))
            if degf is not None:
                self._degf[value] = degf
        return degf

    def _told(self, climate: Climate) -> Iterable[str]:
        first, last = climate.days[0].day, climate.days[-1].day
        missing = climate.missing_days
        days = "1 day" if missing == 1 else f"{missing} days"
        yield f"{first} to {last}; {days} of these without a lowest temperature"
        if self.flagged:
            yield f"{self.flagged} temperatures that failed the archive's quality check were left out"
