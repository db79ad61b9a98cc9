"""Tables as CSV that a spreadsheet may open, and the way back: text harmless, numbers numbers, texts exact.

RFC 4180: commas, CRLF, quotes doubled; UTF-8 with a byte order mark. A text column is always quoted, and a text that a
spreadsheet would run stands behind an apostrophe (`domain.register_cells`, OWASP CSV injection); a number column is
bare and holds nothing but numbers. A cell that is not known is empty and not quoted, an empty text is `""`.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from seasonlog.domain.register_cells import as_typed, neutralised
from seasonlog.errors import InputRefusedError, Problem

_MARK = "\ufeff"
_NUMBER = re.compile(r"-?\d{1,18}(\.\d{1,18})?", re.ASCII)
_LONGEST = 10_000_000
"""Characters that one cell may have on the way back; a checklist's text is the longest we write."""
Value: TypeAlias = str | int | bool | None


class Holds(StrEnum):
    """What a column holds."""

    TEXT = "text"
    NUMBER = "number"
    """Bare decimal digits and nothing else."""


@dataclass(frozen=True, slots=True)
class Field:
    """One column of a table."""

    name: str
    holds: Holds = Holds.TEXT


@dataclass(frozen=True, slots=True)
class CsvTable:
    """One file."""

    name: str
    """Of the file, without its ending."""
    fields: tuple[Field, ...]
    rows: Iterable[Sequence[Value]]
    """May be read once only."""


def to_csv(table: CsvTable) -> Iterator[bytes]:
    """The file, row by row.

    Raises:
        ValueError: a number column was handed something else.
    """
    yield (_MARK + ",".join(field.name for field in table.fields) + "\r\n").encode()
    for row in table.rows:
        cells = (_cell(field, value) for field, value in zip(table.fields, row, strict=True))
        yield (",".join(cells) + "\r\n").encode()


def _cell(field: Field, value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    if field.holds is Holds.NUMBER:
        if not _NUMBER.fullmatch(text):
            raise ValueError(f"{text!r} in number column {field.name}")
        return text
    return '"' + neutralised(text).replace('"', '""') + '"'


def from_csv(data: bytes, fields: Sequence[Field]) -> Iterator[tuple[str, ...]]:
    """The rows of a file that `to_csv` wrote, every text as it was before it was made harmless.

    Args:
        data: The file.
        fields: Its columns, as they were written.

    Raises:
        InputRefusedError: not UTF-8, other columns, or a row of another length.
    """
    try:
        text = data.decode().removeprefix(_MARK)
    except UnicodeDecodeError as error:
        raise InputRefusedError([Problem("file", f"is not UTF-8 (byte {error.start}); export it again")]) from None
    before = csv.field_size_limit(_LONGEST)
    try:
        yield from _rows(text, fields)
    finally:
        csv.field_size_limit(before)


def _rows(text: str, fields: Sequence[Field]) -> Iterator[tuple[str, ...]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    names = [field.name for field in fields]
    if next(reader, []) != names:
        raise InputRefusedError([Problem("first row", f"the columns are not {', '.join(names)}")])
    for row in reader:
        if len(row) != len(fields):
            raise InputRefusedError([Problem(f"line {reader.line_num}", f"has {len(row)} cells, not {len(fields)}")])
        yield tuple(
            cell if field.holds is Holds.NUMBER else as_typed(cell) for field, cell in zip(fields, row, strict=True)
        )


def is_number(text: str) -> bool:
    """Whether a text may stand in a number column as it is."""
    return _NUMBER.fullmatch(text) is not None
