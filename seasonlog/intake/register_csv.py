"""A supervisor's spreadsheet as CSV: one row a record, its type in the column `record`, read row by row.

Strict: a sentence for every bad cell with row and column; whether anything is stored when there is one is for the
caller to decide, and the answer is no. Rows are counted as a spreadsheet program counts them, the heading being row 1.
"""

import csv
import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TypeAlias

from seasonlog.domain.fields import Kind
from seasonlog.domain.register import TYPES, Record
from seasonlog.domain.register_cells import as_typed
from seasonlog.domain.register_items import Place, known_keys, nearest
from seasonlog.domain.register_records import SPECS
from seasonlog.domain.register_values import shown
from seasonlog.domain.text import visible
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.intake.bytes_text import not_utf8, refuse_other_encodings
from seasonlog.intake.register_gathering import Gathering

COLUMNS = tuple(dict.fromkeys(["record", *(key for what in TYPES for key in known_keys(what))]))
"""Every column a file may have."""
MOST_RECORDS = 200_000
"""Records taken from one file; together they stay under 200 MB of memory."""
_TEXT = {Kind.LINE, Kind.NOTE}
_KEYS = {what: frozenset(known_keys(what)) for what in TYPES}
_TELL_EVERY = 1000

Progress: TypeAlias = Callable[[int, float], None]
"""Called now and then with the rows read and the part of the file behind them, 0 to 1. May raise to stop."""


def read_register_csv(data: bytes, name: str, progress: Progress | None = None) -> tuple[list[Record], list[Problem]]:
    """The records of a spreadsheet, and everything that is wrong with it.

    Args:
        data: The file's bytes, UTF-8, with or without a byte order mark.
        name: What to call the file in sentences.
        progress: Called every thousand rows.

    Returns:
        The records that could be read, in the order of the rows, and the problems. With a problem nothing should be
        stored.
    """
    gathering = Gathering(name)
    records = list(islice(records_of_csv(data, gathering, progress), MOST_RECORDS + 1))
    if len(records) > MOST_RECORDS:
        says = f"holds more than {MOST_RECORDS} records; hand it in as several files"
        return [], [Problem(name, says), *gathering.problems()]
    return records, gathering.problems()


def records_of_csv(data: bytes, gathering: Gathering, progress: Progress | None = None) -> Iterator[Record]:
    """The records one by one, for files too large to be held as records; problems go to the gathering."""
    try:
        for row in _rows(data, gathering, progress):
            record = _record(row, gathering)
            if record is not None:
                yield record
    except InputRefusedError as refused:
        gathering.wrong(*refused.problems)


@dataclass(frozen=True, slots=True)
class _Row:
    number: int
    line: int
    columns: Sequence[str]
    cells: Sequence[str]

    def at(self, name: str) -> str:
        line = "" if self.line == self.number else f" (line {self.line})"
        return f"{name}, row {self.number}{line}"

    def given(self) -> dict[str, str]:
        pairs = zip(self.columns, self.cells, strict=False)
        return {column: cell for column, cell in pairs if cell.strip(" ")}


def _rows(data: bytes, gathering: Gathering, progress: Progress | None) -> Iterator[_Row]:
    refuse_other_encodings(data, gathering.name)
    source = io.BytesIO(data)
    reader = csv.reader(io.TextIOWrapper(source, encoding="utf-8-sig", newline=""), strict=True)
    columns: tuple[str, ...] = ()
    for row in _numbered(reader, data, gathering.name):
        if row.number == 1:
            columns = _heading(row.cells, gathering.name)
        elif any(cell.strip(" ") for cell in row.cells):
            yield _Row(row.number, row.line, columns, row.cells)
        if progress and row.number % _TELL_EVERY == 0:
            progress(row.number, source.tell() / len(data))
    if not columns:
        raise InputRefusedError([Problem(gathering.name, "is empty; its first row must name the columns")])


def _numbered(reader: Iterator[list[str]], data: bytes, name: str) -> Iterator[_Row]:
    row = _Row(0, 0, (), ())
    try:
        for cells in reader:
            row = _Row(row.number + 1, row.line + 1, (), cells)
            yield row
            row = _Row(row.number, row.line + sum(_breaks(cell) for cell in cells), (), ())
    except csv.Error as error:
        place = _Row(row.number + 1, row.line + 1, (), ()).at(name)
        raise InputRefusedError([Problem(place, f"{_csv_says(str(error))}; nothing after it was read")]) from None
    except UnicodeDecodeError:
        if refusal := not_utf8(data, name):
            raise refusal from None
        raise


def _breaks(cell: str) -> int:
    return cell.count("\n") + cell.count("\r") - cell.count("\r\n")


def _csv_says(error: str) -> str:
    if "unexpected end of data" in error:
        return "a quotation mark is opened and never closed"
    if "field limit" in error:
        return f"a cell has more than {csv.field_size_limit()} characters, or a quotation mark is not closed"
    if "expected after" in error:
        return 'a quotation mark inside a quoted cell is not doubled ("")'
    return f"is not CSV: {error}"


def _heading(cells: Sequence[str], name: str) -> tuple[str, ...]:
    columns = tuple(cell.strip(" ") for cell in cells)
    problems = [*_unknown_columns(columns, name), *_repeated_columns(columns, name)]
    problems += [
        Problem(f"{name}, row 1", f"has no column {must}; every row needs one")
        for must in ("record", "id")
        if must not in columns
    ]
    if problems:
        raise InputRefusedError(problems)
    return columns


def _unknown_columns(columns: Sequence[str], name: str) -> Iterator[Problem]:
    if len(columns) == 1 and ";" in columns[0]:
        yield Problem(f"{name}, row 1", "has its columns parted by semicolons; save the file with commas")
        return
    for number, column in enumerate(columns, 1):
        if column and column not in COLUMNS:
            place = f"{name}, row 1, column {number}"
            yield Problem(place, f"{shown(column)} is no column of a register; {nearest(column, COLUMNS)}")


def _repeated_columns(columns: Sequence[str], name: str) -> Iterator[Problem]:
    for number, column in enumerate(columns, 1):
        if column and column in columns[: number - 1]:
            yield Problem(f"{name}, row 1, column {number}", f"{shown(column)} names two columns; keep one of them")


def _record(row: _Row, gathering: Gathering) -> Record | None:
    if problem := _wrong_length(row, gathering.name):
        gathering.wrong(problem)
        return None
    given = row.given()
    what = given.pop("record", "").strip(" ")
    place = _place(row, gathering.name)
    if what not in TYPES:
        gathering.wrong(Problem(place("record"), f"{shown(what)} is no kind of record; allowed is {', '.join(TYPES)}"))
        return None
    own = [column for column in given if column in _KEYS[what]]
    for column in (column for column in given if column not in own):
        says = f"is {shown(given[column])}, but a {what} has no such column; leave the cell empty"
        gathering.wrong(Problem(place(column), says))
    record = gathering.read(what, {column: _value(what, column, given[column]) for column in own}, place, row.number)
    return record if len(own) == len(given) else None


def _place(row: _Row, name: str) -> Place:
    at = row.at(name)
    return lambda column: f"{at}, column {visible(column)}" if column else at


def _wrong_length(row: _Row, name: str) -> Problem | None:
    cells, columns = len(row.cells), len(row.columns)
    if cells < columns:
        says = f"has {cells} cells where row 1 names {columns}; the first without one is {row.columns[cells]}"
        return Problem(row.at(name), says)
    extra = [cell for column, cell in _beyond(row) if not column and cell.strip(" ")]
    return Problem(row.at(name), f"has {shown(extra[0])} in a column without a name") if extra else None


def _beyond(row: _Row) -> Iterator[tuple[str, str]]:
    names = [*row.columns, *[""] * len(row.cells)]
    return zip(names, row.cells, strict=False)


def _value(what: str, column: str, cell: str) -> object:
    spec = SPECS[what].get(column)
    if spec is None:
        return cell
    if spec.kind in _TEXT:
        return as_typed(cell)
    if spec.kind is Kind.SEVERAL:
        return [part.strip(" ") for part in cell.split(";")]
    if spec.kind is Kind.NUMBERS:
        return _named_numbers(cell)
    return cell.strip(" ")


def _named_numbers(cell: str) -> Mapping[str, str]:
    parts = (part.partition("=") for part in cell.split(";"))
    return {name.strip(" "): value.strip(" ") for name, _, value in parts}
