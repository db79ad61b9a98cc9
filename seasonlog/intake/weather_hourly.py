"""Readers of hourly files: EPW, TMY3 and our own.

Sources: EPW from the EnergyPlus weather data dictionary (second hand), checked on a published file; TMY3 columns from
memory, checked on a public copy of one file.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TypeVar

from seasonlog.calc.climate import Climate, Hourly, Station
from seasonlog.calc.units import degf_from_degc
from seasonlog.domain.text import visible
from seasonlog.intake.weather_text import (
    COLDEST_DEGF,
    FEET_PER_METRE,
    MOST_REMEMBERED,
    WARMEST_DEGF,
    Asked,
    Reading,
    cell,
    columns,
    pattern,
    plain_number,
    quoted,
)

MPH_PER_M_PER_S = 1.0 / 0.44704
YEAR_HOURS = (8760, 8784)
LEAP_YEAR = 2000
"""Stands in for the years of a typical year, which mean nothing."""
MOST_WIND_MPH = 150.0
EPW_HEADING_LINES = 8
EPW_LEAST_FIELDS = 32
"""A whole row has 35 fields; some older files leave the last ones out."""
_EPW = {"month": 1, "day": 2, "hour": 3, "air": 6, "humidity": 8, "wind": 21, "cloud": 23}
_EPW_CELLS = 1 + max(_EPW.values())
_EPW_MISSING = {"air": 99.0, "humidity": 111.0, "wind": 900.0, "cloud": 99.0}
"""From here on the number says "missing": 99.9, 999, 999 and 99 are what files write."""
_TMY3 = {
    "date": "date (mm/dd/yyyy)", "time": "time (hh:mm)", "air": "dry-bulb (c)", "humidity": "rhum (%)",
    "wind": "wspd (m/s)", "cloud": "opqcld (tenths)",
}  # fmt: skip
_US_DAY = r"(\d\d?)/(\d\d?)/(\d{4})"
_CLOCK = r"(\d\d?):00"
_TIME = r"(\d{4})-(\d\d)-(\d\d)[T ](\d\d):00(:00)?"


@dataclass(slots=True)
class _Hours:
    """Hours gathered out of a file."""

    reading: Reading
    found: dict[datetime, Hourly] = field(default_factory=dict)
    lines: dict[datetime, int] = field(default_factory=dict)
    without_air: int = 0

    def put(self, line: int, at: datetime, degf: float | None, others: Sequence[float | None]) -> None:
        """Keep an hour; one without a temperature is only counted."""
        if at in self.lines:
            self.reading.wrong(line, f"has an hour that line {self.lines[at]} has too; one row an hour is wanted")
            return
        self.lines[at] = line
        if degf is None:
            self.without_air += 1
        elif self.reading.air_degf(line, degf) is not None:
            self.found[at] = Hourly(at, degf, *self._believable(line, *others))

    def keep(self, line: int, hour: Hourly) -> None:
        """Keep an hour that was checked already and is not there yet."""
        self.lines[hour.at] = line
        self.found[hour.at] = hour

    def _believable(
        self, line: int, wind: float | None, humidity: float | None, cloud: float | None
    ) -> tuple[float | None, float | None, float | None]:
        bounds = (("wind", wind, MOST_WIND_MPH), ("humidity", humidity, 110.0), ("cloud cover", cloud, 10.0))
        for what, value, most in bounds:
            if value is not None and not 0.0 <= value <= most:
                self.reading.wrong(line, f"{what} {value:g} is not from 0 to {most:g}")
        return wind, None if humidity is None else min(humidity, 100.0), cloud

    def climate(self, station: Station, *, typical: bool) -> Climate | None:
        """All hours in order; None when something is wrong."""
        if typical and len(self.lines) not in YEAR_HOURS:
            says = f"holds {len(self.lines)} hours; a typical year has {YEAR_HOURS[0]}; it is cut off, or not whole"
            self.reading.wrong_whole(says)
        elif not self.found:
            self.reading.wrong_whole("holds no hour with a temperature")
        if self.reading.problems():
            return None
        ordered = tuple(self.found[at] for at in sorted(self.found))
        notes = (*self.reading.notes, *self._told(ordered, typical))
        return Climate(station, hours=ordered, is_typical=typical, notes=notes)

    def _told(self, hours: Sequence[Hourly], typical: bool) -> Iterable[str]:
        if typical:
            yield f"{len(hours)} hours of one typical year; its months come from different years"
        else:
            span = (hours[-1].at - hours[0].at) // timedelta(hours=1) + 1
            missing = span - len(hours)
            gone = "1 hour of these is" if missing == 1 else f"{missing} hours of these are"
            yield f"{hours[0].at:%Y-%m-%d} to {hours[-1].at:%Y-%m-%d}; {gone} missing"
        if self.without_air:
            yield f"{self.without_air} hours without an air temperature were left out"


def read_epw(reading: Reading, asked: Asked) -> Climate | None:
    """EnergyPlus weather: eight heading lines, then one row an hour."""
    del asked  # an EPW file tells its unit and has one station
    hours = _Hours(reading)
    for number, line, hour in _at_once(reading.lines):
        if hour is None or hour.at in hours.lines:
            _epw_row(hours, number, line)
        else:
            hours.keep(number, hour)
    reading.notes.append("unit: degC and m/s, as this form always has")
    return hours.climate(_epw_station(reading), typical=True)


def _epw_row(hours: _Hours, number: int, line: str) -> None:
    """One row, cell by cell, with a sentence for whatever is wrong with it."""
    reading = hours.reading
    cells = reading.cells(number, line) if line.strip() else None
    if cells is None:
        return
    if len(cells) < EPW_LEAST_FIELDS:
        reading.wrong(number, f"has {len(cells)} fields where 35 are wanted; the line is cut off")
        return
    parts = [reading.number(number, name, cells[_EPW[name]]) for name in ("month", "day", "hour")]
    at = _typical_hour(reading, number, parts)
    if at is not None:
        air, *others = (_epw_value(reading, number, name, cells) for name in ("air", "wind", "humidity", "cloud"))
        hours.put(number, at, None if air is None else degf_from_degc(air), [_mph(others[0]), *others[1:]])


_V = TypeVar("_V", int, float)


class _Known(dict[str, _V]):
    """Texts of one column with what they mean; a text is checked when it is first met, and again if it was refused."""

    def __init__(self, meaning: Callable[[float], _V], most: float, least: float = 0.0) -> None:
        self._bounds = (least, most)
        self._meaning: Callable[[float], _V] = meaning

    def __missing__(self, text: str) -> _V:
        value = plain_number(text.strip())
        if value is None:
            raise ValueError(text)
        found, (least, most) = self._meaning(value), self._bounds
        if not least <= found <= most:
            raise ValueError(text)
        if len(self) < MOST_REMEMBERED:
            self[text] = found
        return found


def _at_once(lines: Sequence[str]) -> Iterator[tuple[int, str, Hourly | None]]:
    """Each row of an EPW file with its hour; None for a row with anything odd or missing, to be read cell by cell."""
    months, days, ends = (_Known(int, most, 1.0) for most in (12.0, 31.0, 24.0))
    air, wind = _Known(degf_from_degc, WARMEST_DEGF, COLDEST_DEGF), _Known(_mph_of, MOST_WIND_MPH)
    humidity, cloud = _Known(float, 100.0), _Known(float, 10.0)
    for number, line in enumerate(lines[EPW_HEADING_LINES:], EPW_HEADING_LINES + 1):
        hour = None
        if line.count(",") >= EPW_LEAST_FIELDS - 1 and '"' not in line:
            c = line.split(",", _EPW_CELLS)
            try:
                at = datetime(LEAP_YEAR, months[c[1]], days[c[2]], ends[c[3]] - 1)  # noqa: DTZ001  (local standard time)
                hour = Hourly(at, air[c[6]], wind[c[21]], humidity[c[8]], cloud[c[23]])
            except ValueError:
                hour = None
        yield number, line, hour


def _epw_value(reading: Reading, line: int, name: str, cells: Sequence[str]) -> float | None:
    value = reading.number(line, name, cells[_EPW[name]])
    return None if value is None or value >= _EPW_MISSING[name] else value


def _epw_station(reading: Reading) -> Station:
    cells = reading.cells(1, reading.lines[0]) or []
    city, state, country = (cell(cells, n) for n in (1, 2, 3))
    latitude, longitude, metres = (_finite(cell(cells, n)) for n in (6, 7, 9))
    name = ", ".join(each for each in (city, state, country) if each and each != "-")
    return Station(cell(cells, 5), name, latitude, longitude, None if metres is None else metres * FEET_PER_METRE)


def read_tmy3(reading: Reading, asked: Asked) -> Climate | None:
    """TMY3: a line about the site, a heading, then one row an hour."""
    del asked
    hours = _Hours(reading)
    at = columns(reading.cells(2, reading.lines[1]) or [])
    where = {name: at.get(title) for name, title in _TMY3.items()}
    for number, cells in reading.rows(3):
        if len(cells) <= max(column for column in where.values() if column is not None):
            reading.wrong(number, f"has {len(cells)} cells where the heading has more; the line is cut off")
            continue
        hour = _tmy3_hour(reading, number, cell(cells, where["date"]), cell(cells, where["time"]))
        if hour is not None:
            names = ("air", "wind", "humidity", "cloud")
            air, *others = (reading.optional(number, name, cell(cells, where[name])) for name in names)
            hours.put(number, hour, None if air is None else degf_from_degc(air), [_mph(others[0]), *others[1:]])
    reading.notes.append("unit: degC and m/s, as this form always has")
    return hours.climate(_tmy3_station(reading), typical=True)


def _tmy3_hour(reading: Reading, line: int, day: str, clock: str) -> datetime | None:
    on, at = pattern(_US_DAY).fullmatch(day), pattern(_CLOCK).fullmatch(clock)
    if on is None or at is None:
        reading.wrong(line, f"{quoted(day)} {quoted(clock)} is not a day and hour such as 01/31/1988 05:00")
        return None
    return _typical_hour(reading, line, [float(on[1]), float(on[2]), float(at[1])])


def _tmy3_station(reading: Reading) -> Station:
    cells = reading.cells(1, reading.lines[0]) or []
    latitude, longitude, metres = (_finite(cell(cells, n)) for n in (4, 5, 6))
    name = ", ".join(each for each in (cell(cells, 1), cell(cells, 2)) if each)
    return Station(cell(cells, 0), name, latitude, longitude, None if metres is None else metres * FEET_PER_METRE)


def _typical_hour(reading: Reading, line: int, parts: Sequence[float | None]) -> datetime | None:
    """The hour that ends at the hour told, 1 to 24, of a typical year."""
    if None in parts:
        return None
    month, day, hour = (int(part or 0) for part in parts)
    if not 1 <= hour <= 24:
        reading.wrong(line, f"hour {hour} is not from 1 to 24")
        return None
    on = reading.calendar_day(line, LEAP_YEAR, month, day)
    return None if on is None else datetime(on.year, on.month, on.day, hour - 1)  # noqa: DTZ001  (local standard time)


_OWN = ("wind_mph", "humidity_percent", "cloud_tenths")


def read_own_hours(reading: Reading, asked: Asked) -> Climate | None:
    """Our own: time, degf or degc, and, where known, wind_mph, humidity_percent, cloud_tenths."""
    del asked
    at = columns(reading.cells(1, reading.lines[0]) or [])
    air = "degf" if "degf" in at else "degc"
    unknown = sorted(set(at) - {"time", air, *_OWN})
    if air not in at or unknown:
        extra = f"; not {', '.join(visible(each) for each in unknown)}" if unknown else ""
        reading.wrong(1, f"must name the columns time and degf or degc, and may name {', '.join(_OWN)}{extra}")
        return None
    hours = _Hours(reading)
    for number, cells in reading.rows(2):
        when = _own_hour(reading, number, cell(cells, at["time"]))
        if when is not None:
            degrees, *others = (reading.optional(number, n, cell(cells, at.get(n))) for n in (air, *_OWN))
            degf = degf_from_degc(degrees) if degrees is not None and air == "degc" else degrees
            hours.put(number, when, degf, others)
    reading.notes.append(f"unit: {'degF' if air == 'degf' else 'degC'}, by the names of the columns")
    return hours.climate(Station(), typical=False)


def _own_hour(reading: Reading, line: int, text: str) -> datetime | None:
    match = pattern(_TIME).fullmatch(text)
    if match is None or not int(match[4]) < 24:
        reading.wrong(line, f"{quoted(text)} is not a whole hour; it must be written 2026-01-31T05:00")
        return None
    on = reading.calendar_day(line, int(match[1]), int(match[2]), int(match[3]))
    return None if on is None else datetime(on.year, on.month, on.day, int(match[4]))  # noqa: DTZ001


def _mph(metres_per_second: float | None) -> float | None:
    return None if metres_per_second is None else _mph_of(metres_per_second)


def _mph_of(metres_per_second: float) -> float:
    return metres_per_second * MPH_PER_M_PER_S


def _finite(text: str) -> float | None:
    try:
        found = float(text)
    except ValueError:
        return None
    return found if math.isfinite(found) else None
