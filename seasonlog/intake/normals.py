"""Published climate normals of NCEI: freeze dates and mean lowest temperatures, taken as they stand.

Reads the annual, seasonal and monthly files of 1991-2020 and 2006-2020, by station or by variable, and the older ones
of 1981-2010. Opens no file. A file is taken whole or refused with the line of every problem.

Sources: NCEI's readmes of the by-station and by-variable files 1991-2020 (read); codes of the older files second hand
(-6666, -4444) and from memory (-5555, -7777, -8888).
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from seasonlog.calc.climate import Station
from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.season_days import MONTH_DAYS, NORTH, MonthDay
from seasonlog.domain.register_values import shown
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.weather_text import Reading, cell, columns

_DATED = re.compile(r"ann-tmin-prb(fst|lst)-t(\d\d)fp(\d\d)", re.ASCII)
_OCCURRENCE = re.compile(r"ann-tmin-prbocc-lsth0(\d\d)", re.ASCII)
_MONTHLY = "mly-tmin-normal"
_DATE = re.compile(r"(\d\d)/(\d\d)", re.ASCII)
_MONTH = re.compile(r"(?:\d{4}-)?(\d\d)", re.ASCII)
_PADDED_QUOTE = re.compile(r'" +(?=,|$)|(?<=,) +"')
"""NCEI pads outside the quotation marks too: `"FT COLLINS, CO US"      ,`."""
_SIDES = {"fst": Side.FIRST, "lst": Side.LAST}
_MISSING = "the file holds no value"
FLAGS = {
    "M": "missing", "V": "frost the year round", "Y": "too few values", "Z": "disagrees with other values",
    "X": "rounds to zero",
}  # fmt: skip
"""Measurement flags with which there is no value, but for X, which is one."""
CODES = {
    -4444: FLAGS["V"], -5555: FLAGS["Z"], -6666: "comes in too few seasons", -7777: FLAGS["X"],
    -8888: "no such day", -9999: FLAGS["M"],
}  # fmt: skip
"""What numbers in place of a value mean."""
MOST_MONTHLY_DEGF = 110.0
"""No month is warmer at night in degF; larger numbers are tenths of a degF. Common sense, no source."""


class Key(NamedTuple):
    """Which date: the first or last, at or below a threshold, for so many percent."""

    side: Side
    threshold_degf: int
    percent: int


@dataclass(frozen=True, slots=True)
class Normals:
    """What one file of normals holds of one station."""

    station: Station
    dates: Mapping[Key, MonthDay] = field(default_factory=dict)
    absent: Mapping[Key, str] = field(default_factory=dict)
    """Why a date that has a column is not there."""
    occurrence_percent: Mapping[int, float] = field(default_factory=dict)
    """Share of seasons that reach a threshold [degF] at all."""
    monthly_tmin_degf: tuple[float, ...] = ()
    """Mean lowest temperature of each month, January first; empty where the file has none."""
    notes: tuple[str, ...] = ()
    """How the file was understood."""


class _Row(NamedTuple):
    line: int
    cells: Sequence[str]


@dataclass(slots=True)
class _File:
    """A file of normals being read."""

    reading: Reading
    at: Mapping[str, int]
    is_old: bool

    def value(self, row: _Row, column: str) -> str:
        return cell(row.cells, self.at[column])

    def flag(self, row: _Row, column: str) -> str:
        return cell(row.cells, self.at.get(f"meas_flag_{column}")).upper()


def read_normals(data: bytes, name: str, station: str = "") -> tuple[Normals | None, list[Problem]]:
    """The normals a file holds, or everything that is wrong with it.

    Args:
        data: The file's bytes.
        name: What to call the file in sentences.
        station: The station wanted, where a file holds several.

    Returns:
        The normals and no problem, or None and the problems.
    """
    try:
        reading = Reading.of(data, name)
    except InputRefusedError as refused:
        return None, list(refused.problems)
    reading.lines = [_PADDED_QUOTE.sub(lambda found: found[0].strip(" "), line) for line in reading.lines]
    found = _read(reading, station)
    problems = reading.problems()
    return (None, problems) if problems or found is None else (found, [])


def _read(reading: Reading, station: str) -> Normals | None:
    at = columns(reading.cells(1, reading.lines[0]) or [])
    wanted = [name for name in at if _DATED.fullmatch(name) or _OCCURRENCE.fullmatch(name) or name == _MONTHLY]
    ids = next((name for name in ("station", "ghcn_id") if name in at), None)
    if ids is None or not wanted:
        reading.wrong(1, _unknown(reading.lines[0]))
        return None
    file = _File(reading, at, any(name.endswith("_attributes") for name in at))
    rows = _rows_of(file, ids, station)
    if rows:
        return _normals(file, rows, ids, wanted)
    if not reading.problems():
        reading.wrong_whole("holds a heading and no row; it is cut off")
    return None


def _unknown(first: str) -> str:
    begins = f"begins with {shown(first)}" if first.strip() else "is empty"
    return (
        f"{begins} and is no file of NCEI normals: columns STATION and ANN-TMIN-PRBFST-T32FP10 or others like it, or "
        "MLY-TMIN-NORMAL, are wanted"
    )


def _rows_of(file: _File, ids: str, station: str) -> list[_Row]:
    """The rows of the station wanted; a problem is kept when it is not there, or several are and none is named."""
    found: dict[str, list[_Row]] = {}
    for number, cells in file.reading.rows(2):
        if len(cells) < len(file.at):
            file.reading.wrong(number, f"has {len(cells)} cells where the heading has {len(file.at)}; it is cut off")
        else:
            found.setdefault(cell(cells, file.at[ids]), []).append(_Row(number, cells))
    few = ", ".join(visible(each) for each in list(found)[:5]) + (" ..." if len(found) > 5 else "")
    if station and found and station not in found:
        file.reading.wrong_whole(f"holds no station {visible(station)}; it holds {few}")
    elif not station and len(found) > 1:
        file.reading.wrong_whole(f"holds {len(found)} stations ({few}); say which one is wanted")
    return found.get(station or next(iter(found), ""), [])


def _normals(file: _File, rows: Sequence[_Row], ids: str, wanted: Sequence[str]) -> Normals:
    dates, absent = _dates(file, rows, wanted)
    first = rows[0]
    place = [_degrees(cell(first.cells, file.at.get(each))) for each in ("latitude", "longitude")]
    station = Station(file.value(first, ids), cell(first.cells, file.at.get("name")), *place)
    layout = "1981-2010, with attributes" if file.is_old else "1991-2020, with flags"
    monthly = tuple(_monthly(file, rows)) if _MONTHLY in wanted else ()
    return Normals(station, dates, absent, _occurrence(file, rows, wanted), monthly,
                   (f"form: NCEI normals, layout of {layout}", *file.reading.notes))  # fmt: skip


def _dates(file: _File, rows: Sequence[_Row], wanted: Sequence[str]) -> tuple[dict[Key, MonthDay], dict[Key, str]]:
    dates: dict[Key, MonthDay] = {}
    absent: dict[Key, str] = {}
    for name in wanted:
        if (match := _DATED.fullmatch(name)) and (row := _only(file, rows, name)):
            key = Key(_SIDES[match[1]], int(match[2]), int(match[3]))
            found = _date(file, row, name)
            if isinstance(found, MonthDay):
                dates[key] = found
            else:
                absent[key] = found
    _in_order(file.reading, dates)
    return dates, absent


def _only(file: _File, rows: Sequence[_Row], name: str) -> _Row | None:
    """The one row of an annual value; in a file of months the first that has it."""
    told = [row for row in rows if file.value(row, name)]
    if len({file.value(row, name) for row in told}) > 1:
        file.reading.wrong(told[1].line, f"{name.upper()} differs from the row before; one value a station is wanted")
    return told[0] if told else rows[0]


def _date(file: _File, row: _Row, name: str) -> MonthDay | str:
    """The date, or why there is none."""
    text, flag = file.value(row, name), file.flag(row, name)
    if flag in FLAGS and flag != "X":
        return FLAGS[flag]
    if match := _DATE.fullmatch(text):
        month, day = int(match[1]), int(match[2])
        if 1 <= month <= 12 and 1 <= day <= MONTH_DAYS[month - 1] + (month == 2):
            return MonthDay(month, min(day, MONTH_DAYS[month - 1]))
    elif (reason := _why_none(text)) is not None:
        return reason
    file.reading.wrong(
        row.line, f"{name.upper()} {shown(text)} is not a date such as 10/15, nor a code for a missing one"
    )
    return _MISSING


def _why_none(text: str) -> str | None:
    """What stands in place of a date; None for something unknown."""
    number = _degrees(text) if text else 0.0
    return None if number is None else _MISSING if number == 0 else CODES.get(round(number)) if number < 0 else None


def _in_order(reading: Reading, dates: Mapping[Key, MonthDay]) -> None:
    """First freezes grow later with the percent, last ones earlier; a shuffled file does not."""
    for side in Side:
        for degf in sorted({key.threshold_degf for key in dates}):
            ranked = sorted((key.percent, day) for key, day in dates.items() if key[:2] == (side, degf))
            days = [NORTH.number(day) for _, day in ranked]
            if days != sorted(days, reverse=side is Side.LAST):
                told = ", ".join(f"{percent} % {day}" for percent, day in ranked)
                reading.wrong_whole(f"{side} freezes at {degf} degF are out of order ({told}); the file is damaged")


def _occurrence(file: _File, rows: Sequence[_Row], wanted: Sequence[str]) -> dict[int, float]:
    found: dict[int, float] = {}
    for name in wanted:
        if (match := _OCCURRENCE.fullmatch(name)) and (row := _only(file, rows, name)):
            number = _number(file, row, name)
            if number is not None:
                percent = number / 10.0 if file.is_old else number
                found[int(match[1])] = percent
                if not 0.0 <= percent <= 100.0:
                    file.reading.wrong(row.line, f"{name.upper()} is {percent:g} %; 0 to 100 is wanted")
    return found


def _number(file: _File, row: _Row, name: str) -> float | None:
    """A value; None where a flag or a code says there is none."""
    text, flag = file.value(row, name), file.flag(row, name)
    if not text or (flag in FLAGS and flag != "X"):
        return None
    number = file.reading.number(row.line, name.upper(), text)
    return None if number is None or round(number) in CODES else number


def _monthly(file: _File, rows: Sequence[_Row]) -> Iterator[float]:
    """Twelve mean lowest temperatures [degF], or none and a problem."""
    found: dict[int, float] = {}
    for row in rows:
        month, number = _month(file, row), _number(file, row, _MONTHLY)
        if month in found:
            file.reading.wrong(row.line, f"month {month} stands twice")
        elif month is not None and number is not None:
            found[month] = number
    if missing := [month for month in range(1, 13) if month not in found]:
        months = ", ".join(str(each) for each in missing)
        file.reading.notes.append(f"mean lowest temperatures not used: month {months} is missing")
        return
    tenths = file.is_old and max(found.values()) > MOST_MONTHLY_DEGF
    file.reading.notes.append(f"mean lowest temperatures: {'tenths of a degF' if tenths else 'degF'}, as NCEI has them")
    for month in range(1, 13):
        degf = found[month] / 10.0 if tenths else found[month]
        if not -MOST_MONTHLY_DEGF <= degf <= MOST_MONTHLY_DEGF:
            file.reading.wrong_whole(f"month {month}: {degf:g} degF is no mean lowest temperature; check the unit")
        yield degf


def _month(file: _File, row: _Row) -> int | None:
    column = next((name for name in ("month", "date") if name in file.at), None)
    text = "" if column is None else file.value(row, column)
    match = _MONTH.fullmatch(text)
    if match is None or not 1 <= int(match[1]) <= 12:
        file.reading.wrong(row.line, f"month {shown(text)} is not 01 to 12")
        return None
    return int(match[1])


def _degrees(text: str) -> float | None:
    return float(text) if re.fullmatch(r"-?\d{1,5}(\.\d{1,6})?", text, re.ASCII) else None
