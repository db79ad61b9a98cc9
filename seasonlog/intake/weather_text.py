"""What every reader of weather files shares: lines, cells, strict numbers and days, and a gathering of problems."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from functools import lru_cache

from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import decoded

MOST_BYTES = 64_000_000
"""Largest file taken; a station's whole record has some 20 million. Common sense, no source."""
MOST_PROBLEMS = 50
"""Problems told of one file; more are counted only."""
MOST_REMEMBERED = 20_000
"""Texts whose number is remembered; a station's life has some thousand different ones."""
_NUMBER = re.compile(r"[+-]?(\d{1,7}(\.\d{0,9})?|\.\d{1,9})", re.ASCII)
_DAY = r"(\d{4})-?(\d\d)-?(\d\d)"
FIRST_YEAR, LAST_YEAR = 1700, 2199
COLDEST_DEGF, WARMEST_DEGF = -130.0, 140.0
"""Outside these no air temperature was ever measured. Source: world records, -128.6 and 134 degF (from memory)."""


FEET_PER_METRE = 1.0 / 0.3048


class Unit(StrEnum):
    """What the numbers of a file are."""

    DEGF = "degf"
    DEGC = "degc"
    TENTHS = "tenths"


@dataclass(frozen=True, slots=True)
class Asked:
    """What the user said about a file that may not say it itself."""

    unit: Unit | None = None
    station: str = ""


@dataclass(slots=True)
class Reading:
    """One file being read: its lines, and everything that is wrong with them."""

    name: str
    lines: Sequence[str]
    notes: list[str] = field(default_factory=list)
    _problems: list[Problem] = field(default_factory=list)
    _untold: int = 0
    _numbers: dict[str, float] = field(default_factory=dict)
    """Texts that were found to be plain numbers; a file holds few different ones."""

    @classmethod
    def of(cls, data: bytes, name: str) -> "Reading":
        """The lines of a file; any mixture of line ends is taken.

        Raises:
            InputRefusedError: it is too large, holds a NUL byte or is not UTF-8.
        """
        if (at := data.find(b"\0", 0, MOST_BYTES)) >= 0 and not data.startswith((b"\xff\xfe", b"\xfe\xff")):
            says = "is a NUL byte; a weather file is plain text, and this one is not"
            raise InputRefusedError([Problem(f"{name}, byte {at}", says)])
        text = decoded(data, name, most_bytes=MOST_BYTES, mark_allowed=True)
        lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
        return cls(name, lines)

    def wrong(self, line: int, says: str) -> None:
        """Keep a problem of a line; the first line is 1."""
        self._keep(Problem(f"{self.name}, line {line}", says))

    def wrong_whole(self, says: str) -> None:
        """Keep a problem of the whole file."""
        self._keep(Problem(self.name, says))

    def problems(self) -> list[Problem]:
        """Every problem kept, then how many more there were."""
        more = Problem(self.name, f"has {self._untold} more problems; correct the ones above and try again")
        return [*self._problems, *([more] if self._untold else [])]

    def rows(self, first: int) -> Iterator[tuple[int, list[str]]]:
        """Line numbers and cells from a line on; empty lines are passed over."""
        for number, line in enumerate(self.lines[first - 1 :], first):
            if line.strip():
                cells = self.cells(number, line)
                if cells is not None:
                    yield number, cells

    def cells(self, number: int, line: str) -> list[str] | None:
        """The cells of a line without the spaces around them; None, and a problem kept, when quotation is broken."""
        if '"' not in line:
            return [cell.strip() for cell in line.split(",")]
        import csv  # only a line with quotation marks needs it

        try:
            return [cell.strip() for cell in next(csv.reader([line], strict=True))]
        except csv.Error:
            self.wrong(number, "has a quotation mark that is not closed, or one inside a cell that is not doubled")
            return None

    def number(self, line: int, what: str, text: str) -> float | None:
        """A plain number; None, and a problem kept, for anything else."""
        known = self._numbers.get(text)
        if known is not None:
            return known
        found = plain_number(text)
        if found is None:
            self.wrong(line, f"{what} {quoted(text)} is not a plain number")
        elif len(self._numbers) < MOST_REMEMBERED:
            self._numbers[text] = found
        return found

    def optional(self, line: int, what: str, text: str) -> float | None:
        """A plain number, or None for an empty cell and the archives' -9999."""
        found = None if text == "" else self.number(line, what, text)
        return None if found is None or found <= -9900 else found

    def day(self, line: int, text: str) -> date | None:
        """A day written YYYY-MM-DD or YYYYMMDD; None, and a problem kept, for anything else."""
        match = pattern(_DAY).fullmatch(text)
        if match is None or text.count("-") == 1:
            self.wrong(line, f"{quoted(text)} is not a day; it must be written 2026-01-31")
            return None
        return self.calendar_day(line, int(match[1]), int(match[2]), int(match[3]))

    def calendar_day(self, line: int, year: int, month: int, day: int) -> date | None:
        """A day from its three numbers; None, and a problem kept, when the calendar has no such day."""
        try:
            if not FIRST_YEAR <= year <= LAST_YEAR:
                raise ValueError
            return date(year, month, day)
        except ValueError:
            self.wrong(line, f"there is no day {year:04d}-{month:02d}-{day:02d}")
            return None

    def air_degf(self, line: int, degf: float) -> float | None:
        """An air temperature; None, and a problem kept, when none like it was ever measured."""
        if COLDEST_DEGF <= degf <= WARMEST_DEGF:
            return degf
        self.wrong(line, f"{degf:.1f} degF ({(degf - 32) / 1.8:.1f} degC) is no air temperature; check the unit")
        return None

    def _keep(self, problem: Problem) -> None:
        if len(self._problems) < MOST_PROBLEMS:
            self._problems.append(problem)
        else:
            self._untold += 1


def plain_number(text: str) -> float | None:
    """What a plain number says; None for anything else: `nan`, `1e9`, a decimal comma, digits of another script."""
    return float(text) if _NUMBER.fullmatch(text) else None


@lru_cache
def pattern(text: str) -> re.Pattern[str]:
    """A pattern made ready when it is first needed: most files need few of them."""
    return re.compile(text, re.ASCII)


def quoted(text: str) -> str:
    """A refused text as it may stand in a sentence."""
    from seasonlog.domain.register_values import shown  # only a file that is refused needs it

    return shown(text)


def columns(header: Sequence[str]) -> dict[str, int]:
    """Names of columns in lower case and where they stand; the first of two of the same name counts."""
    found: dict[str, int] = {}
    for number, name in enumerate(header):
        found.setdefault(name.lower(), number)
    return found


def cell(cells: Sequence[str], at: int | None) -> str:
    """A cell by its column; empty where the row has none."""
    return cells[at] if at is not None and at < len(cells) else ""
