"""Readers of daily files: GHCN-Daily in its four forms, an export by year, month and day, and our own.

Sources: NCEI's readme of GHCN-Daily version 3.26 for the fixed-width form and the flags; its readme-by_station for the
form without a heading (second hand); the forms with a heading as seen in public copies of such files.
"""

from calendar import monthrange
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache

from seasonlog.calc.climate import Climate, Station
from seasonlog.domain.text import visible
from seasonlog.intake.weather_days import TMAX, TMIN, WORDS, Days, inferred_unit
from seasonlog.intake.weather_text import FEET_PER_METRE, FIRST_YEAR, LAST_YEAR, Asked, Reading, Unit, cell, columns

_MISSING = -9999
_ELEMENTS = (TMIN, TMAX)
_VALUES_AT = range(21, 21 + 31 * 8, 8)


@dataclass(slots=True)
class _Stations:
    """The stations seen in a file of which only one is wanted."""

    asked: str
    seen: dict[str, None] = field(default_factory=dict)

    def wants(self, station: str) -> bool:
        """Whether this is the one asked for, or, when none was, the first of the file."""
        self.seen.setdefault(station)
        return station == (self.asked or next(iter(self.seen)))

    def settle(self, reading: Reading) -> str:
        """The one station; a problem is kept when there are more or the one asked for is not there."""
        if self.asked and self.asked not in self.seen:
            reading.wrong_whole(f"holds no station {visible(self.asked)}; it holds {self._shown()}")
        elif not self.asked and len(self.seen) > 1:
            reading.wrong_whole(f"holds {len(self.seen)} stations ({self._shown()}); say which one is wanted")
        return self.asked or next(iter(self.seen), "")

    def _shown(self) -> str:
        first = ", ".join(visible(each) for each in list(self.seen)[:5])
        return first + (" ..." if len(self.seen) > 5 else "")


def read_dly(reading: Reading, asked: Asked) -> Climate | None:
    """GHCN-Daily, fixed width: one line a month and element."""
    days, stations = Days(reading), _Stations(asked.station)
    for number, line in enumerate(reading.lines, 1):
        if line.strip() and not (line[11:17].isascii() and line[11:17].isdigit()):
            reading.wrong(number, "has no year and month in columns 12 to 17")
        elif line[17:21] in _ELEMENTS and stations.wants(line[:11]):
            _month(days, number, line)
    station = Station(stations.settle(reading))
    reading.notes.append("unit: tenths of a degC, as this form always has")
    return days.climate(station, Unit.TENTHS)


def _month(days: Days, number: int, line: str) -> None:
    reading, element, length = days.reading, line[17:21], len(line.rstrip())
    year, month = int(line[11:15]), int(line[15:17])
    dates = _dates(year, month)
    for day, at in enumerate(_VALUES_AT, 1):
        if length < at + 5:
            reading.wrong(number, f"ends before the value of day {day}; the line is cut off")
            return
        value = reading.number(number, f"the value of day {day}", line[at : at + 5].strip())
        if value is not None and value != _MISSING:
            on = dates[day - 1] if day <= len(dates) else reading.calendar_day(number, year, month, day)
            if on is not None:
                days.put(number, on, element, value, flag=line[at + 6 : at + 7].strip())


@lru_cache(24)
def _dates(year: int, month: int) -> Sequence[date]:
    """The days of a month; none of one that `Reading.calendar_day` refuses."""
    if not (1 <= month <= 12 and FIRST_YEAR <= year <= LAST_YEAR):
        return ()
    return [date(year, month, day) for day in range(1, monthrange(year, month)[1] + 1)]


def read_by_station(reading: Reading, asked: Asked) -> Climate | None:
    """GHCN-Daily by station or by year, no heading: station, day, element, value, three flags, time."""
    days, stations = Days(reading), _Stations(asked.station)
    for number, cells in reading.rows(1):
        if len(cells) < 7:
            reading.wrong(number, f"has {len(cells)} cells; 7 or 8 are wanted; the line is cut off")
        elif cells[2] in _ELEMENTS and stations.wants(cells[0]):
            on = reading.day(number, cells[1])
            value = reading.optional(number, cells[2], cells[3])
            if on is not None and value is not None:
                days.put(number, on, cells[2], value, flag=cells[5])
    station = Station(stations.settle(reading))
    reading.notes.append("unit: tenths of a degC, as this form always has")
    return days.climate(station, Unit.TENTHS)


def read_with_heading(reading: Reading, asked: Asked) -> Climate | None:
    """The archive's "access" file, or an order of Climate Data Online: columns STATION, DATE, TMIN, TMAX and others."""
    days, stations = Days(reading), _Stations(asked.station)
    at = columns(_heading(reading))
    if "tmin" not in at:
        reading.wrong(1, "names no column TMIN; order the file with daily lowest temperatures")
        return None
    described: Sequence[str] = ()
    for number, cells in _whole_rows(reading, at):
        if stations.wants(cell(cells, at["station"])):
            described = described or cells
            on = reading.day(number, cell(cells, at["date"]))
            if on is not None:
                _both(days, number, on, cells, at)
    station = _station(stations.settle(reading), described, at)
    is_access = [*at][:3] == ["station", "date", "latitude"] and "tmin_attributes" in at
    return _with_unit(days, station, asked.unit or (Unit.TENTHS if is_access else None), told=asked.unit is not None)


def read_by_parts(reading: Reading, asked: Asked) -> Climate | None:
    """An export with columns YYYY, MM, DD, TMAX, TMIN."""
    days, at = Days(reading), columns(_heading(reading))
    for number, cells in _whole_rows(reading, at):
        parts = [reading.number(number, name, cell(cells, at[name.lower()])) for name in ("YYYY", "MM", "DD")]
        whole = [int(part) for part in parts if part is not None and part == int(part)]
        if len(whole) == 3:
            on = reading.calendar_day(number, whole[0], whole[1], whole[2])
            if on is not None:
                _both(days, number, on, cells, at)
        elif None not in parts:
            reading.wrong(number, "year, month and day must be whole numbers")
    return _with_unit(days, Station(), asked.unit, told=asked.unit is not None)


def read_own_days(reading: Reading, asked: Asked) -> Climate | None:
    """Our own: date, then tmin_degf and tmax_degf, or tmin_degc and tmax_degc."""
    days, at = Days(reading), columns(_heading(reading))
    unit = Unit.DEGF if "tmin_degf" in at else Unit.DEGC
    own = {"tmin": at.get(f"tmin_{unit}"), "tmax": at.get(f"tmax_{unit}")}
    unknown = sorted(set(at) - {"date", f"tmin_{unit}", f"tmax_{unit}"})
    if own["tmin"] is None or unknown:
        extra = f"; not {', '.join(visible(each) for each in unknown)}" if unknown else ""
        reading.wrong(1, f"must name the columns date, tmin_degf, tmax_degf, or date, tmin_degc, tmax_degc{extra}")
        return None
    for number, cells in _whole_rows(reading, at):
        on = reading.day(number, cells[at["date"]])
        if on is not None:
            _both(days, number, on, cells, {name: where for name, where in own.items() if where is not None})
    reading.notes.append(f"unit: {WORDS[unit]}, by the names of the columns")
    return days.climate(Station(), unit)


def _heading(reading: Reading) -> list[str]:
    return reading.cells(1, reading.lines[0]) or []


def _whole_rows(reading: Reading, at: dict[str, int]) -> Iterator[tuple[int, list[str]]]:
    """The rows that reach the last column needed; a problem is kept of each that does not."""
    wanted = [at[name] for name in ("date", "tmin", "tmax", "yyyy", "mm", "dd", "tmin_degf", "tmin_degc") if name in at]
    for number, cells in reading.rows(2):
        if len(cells) > max(wanted):
            yield number, cells
        else:
            reading.wrong(number, f"has {len(cells)} cells where the heading has more; the line is cut off")


def _both(days: Days, number: int, on: date, cells: Sequence[str], at: dict[str, int]) -> None:
    for element in _ELEMENTS:
        name = element.lower()
        if name in at:
            value = days.reading.optional(number, element, cell(cells, at[name]))
            days.put(number, on, element, value, flag=_quality(cell(cells, at.get(f"{name}_attributes"))))


def _quality(attributes: str) -> str:
    """The second of the attributes "measurement,quality,source": empty when the value passed every check."""
    parts = attributes.split(",")
    return parts[1].strip() if len(parts) > 1 else ""


def _with_unit(days: Days, station: Station, unit: Unit | None, *, told: bool) -> Climate | None:
    values = days.values()
    if unit is None and values:
        unit, why = inferred_unit(values)
        if unit is None:
            says = f"does not tell its unit, and {why}; say which it is with --unit"
            days.reading.wrong_whole(says)
            return None
        days.reading.notes.append(f"unit: {WORDS[unit]}, inferred: {why}")
    elif unit is not None:
        by = "as you said" if told else "as this form always has"
        days.reading.notes.append(f"unit: {WORDS[unit]}, {by}")
    return days.climate(station, unit or Unit.DEGF)


def _station(name: str, cells: Sequence[str], at: dict[str, int]) -> Station:
    latitude, longitude, metres = (_place(cell(cells, at.get(each))) for each in ("latitude", "longitude", "elevation"))
    feet = None if metres is None else metres * FEET_PER_METRE
    return Station(name, cell(cells, at.get("name")), latitude, longitude, feet)


def _place(text: str) -> float | None:
    try:
        found = float(text)
    except ValueError:
        return None
    return found if -1000.0 < found < 10_000.0 else None
