"""Weather files of eight forms, told apart by what is in them: bytes in, one climate or a list of problems out.

Opens no file. A file is taken whole or refused with the line of every problem.
"""

import re
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import NamedTuple

from seasonlog.calc.climate import Climate
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem, UsageError
from seasonlog.intake.weather_text import Asked, Reading, columns

NO_WISH = Asked()
_DLY = r"[A-Z]{2}[A-Z0-9_-]{9}\d{6}[A-Z0-9]{4}[ \d-]{5}"
_GHCN_ID = r"[A-Z]{2}[A-Z0-9_-]{9}"
_COMPACT_DAY = r"\d{8}"
_SHOWN_LINE = 60


class Form(NamedTuple):
    """One form of weather file."""

    title: str
    known_by: str
    fits: Callable[[str, str], bool]
    """Its first and second line."""
    reader: str
    """Module and function that reads it, loaded only for a file that needs it."""
    takes: frozenset[str] = frozenset()
    """Wishes that change how it is read."""

    def read(self, reading: Reading, asked: Asked) -> Climate | None:
        """The climate it holds; None, and problems kept, when something is wrong."""
        module, _, function = self.reader.partition(".")
        found: Climate | None = getattr(import_module(f"seasonlog.intake.weather_{module}"), function)(reading, asked)
        return found

    def check(self, asked: Asked, name: str) -> None:
        """Refuse wishes that a file of this form has no use for.

        Raises:
            UsageError: there is one.
        """
        for option, value, why in (
            ("--unit", asked.unit, "that form tells its unit"),
            ("--station", asked.station, "that form holds one station"),
        ):
            if value and option not in self.takes:
                raise UsageError(f"{name} is {self.title}: {why}; leave out {option} {visible(str(value))}.")


def read_weather(data: bytes, name: str, asked: Asked = NO_WISH) -> tuple[Climate | None, list[Problem]]:
    """The weather a file holds, or everything that is wrong with it.

    Args:
        data: The file's bytes.
        name: What to call the file in sentences.
        asked: Unit and station, where the user says what the file does not.

    Returns:
        The climate and no problem, or None and the problems.

    Raises:
        UsageError: a unit or station is asked for that a file of this form has no use for.
    """
    try:
        reading = Reading.of(data, name)
    except InputRefusedError as refused:
        return None, list(refused.problems)
    first, second = (*reading.lines, "", "")[:2]
    form = next((form for form in FORMS if form.fits(first, second)), None)
    if form is None:
        return None, [Problem(f"{name}, line 1", _unknown(first))]
    form.check(asked, visible(name))
    reading.notes.append(f"form: {form.title}, known by {form.known_by}")
    climate = form.read(reading, asked)
    problems = reading.problems()
    return (None, problems) if problems else (climate, [])


def _unknown(first: str) -> str:
    begins = f'begins with "{visible(first[:_SHOWN_LINE])}"' if first.strip() else "is empty"
    known = ", ".join(form.title for form in FORMS)
    own = "a file of your own begins with date,tmin_degf,tmax_degf or with time,degf"
    return f"{begins} and is none of the weather files known ({known}); {own}"


def _titles(line: str) -> Mapping[str, int]:
    return columns([each.strip().strip('"').strip() for each in line.split(",")])


def _is_by_station(first: str, second: str) -> bool:
    del second
    cells = [each.strip().strip('"') for each in first.split(",")]
    return (
        len(cells) >= 4
        and bool(re.fullmatch(_GHCN_ID, cells[0], re.ASCII) and re.fullmatch(_COMPACT_DAY, cells[1], re.ASCII))
        and len(cells[2]) == 4
    )


def _heads(*names: str) -> Callable[[str, str], bool]:
    return lambda first, second: set(names) <= set(_titles(first))


FORMS = (
    Form("EPW", "the word LOCATION on its first line",
         lambda first, _: first.startswith("LOCATION,"), "hourly.read_epw"),
    Form("GHCN-Daily, fixed width (.dly)", "station, year, month and element at the start of a line",
         lambda first, _: re.match(_DLY, first, re.ASCII) is not None, "daily.read_dly", frozenset({"--station"})),
    Form("GHCN-Daily by station", "station, day and element in its first cells",
         _is_by_station, "daily.read_by_station", frozenset({"--station"})),
    Form("TMY3", "a column Dry-bulb (C) on its second line",
         lambda _, second: {"dry-bulb (c)", "date (mm/dd/yyyy)", "time (hh:mm)"} <= set(_titles(second)),
         "hourly.read_tmy3"),
    Form("daily summaries with a heading (archive file or order)", "the columns STATION and DATE",
         _heads("station", "date"), "daily.read_with_heading", frozenset({"--unit", "--station"})),
    Form("days by year, month and day", "the columns YYYY, MM, DD and TMIN",
         _heads("yyyy", "mm", "dd", "tmin"), "daily.read_by_parts", frozenset({"--unit"})),
    Form("seasonlog's own days", "a column date beside tmin_degf or tmin_degc",
         lambda first, _: "date" in _titles(first), "daily.read_own_days"),
    Form("seasonlog's own hours", "a column time beside degf or degc",
         lambda first, _: "time" in _titles(first), "hourly.read_own_hours"),
)  # fmt: skip
"""Every form, the most particular first."""
