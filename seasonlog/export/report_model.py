"""A report as frozen values: what it says, built once; a page for the browser and one for paper only draw it.

A document is a flat row of sections, each with a heading and blocks. Every text may hold what people typed: writers
pass it through `shown` and put it down as plain text, never as markup. No colour carries a meaning alone: a badge has
a symbol and a word, a picture its words beside it.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from seasonlog.domain.text import visible

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Source: Char of XML 1.0; neither a page nor a picture may hold these."""


def shown(text: str, *, keep_newlines: bool = False) -> str:
    """A text as a report prints it: what cannot be seen has a stand-in, what no file may hold a replacement."""
    return _FORBIDDEN.sub("\ufffd", visible(text, keep_newlines=keep_newlines))


class Tone(StrEnum):
    """How a state is felt; drawn as a colour beside its symbol and word."""

    PASS = "pass"  # noqa: S105
    NEAR = "near"
    UNSURE = "unsure"
    BAD = "bad"
    CALM = "calm"


@dataclass(frozen=True, slots=True)
class Badge:
    """A state: symbol, word and tone, with more words after it where they are needed."""

    symbol: str
    word: str
    tone: Tone
    more: str = ""

    @property
    def words(self) -> str:
        """As plain text."""
        return " ".join(part for part in (self.symbol, self.word, self.more) if part)


Cell: TypeAlias = str | Badge


def words_of(cell: Cell) -> str:
    """A cell as plain text."""
    return cell if isinstance(cell, str) else cell.words


class Voice(StrEnum):
    """How a paragraph speaks."""

    PLAIN = "plain"
    SMALL = "small"
    """Sources, ways of reading: needed, but not first."""
    CAUTION = "caution"
    """What can hurt."""


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph; its line breaks are kept."""

    text: str
    voice: Voice = Voice.PLAIN


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of sentences."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what they are: the head of a record."""

    items: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Notice:
    """A boxed statement that is read first."""

    badge: Badge
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table."""

    name: str
    share: float = 1.0
    """Of the width, relative to the other columns."""
    is_number: bool = False
    """Set to the right, in figures of one width."""


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under repeated heads. The first column names the row."""

    caption: str
    columns: tuple[Column, ...]
    rows: "tuple[tuple[Cell, ...] | str, ...]"
    """A text instead of cells heads the rows below it."""

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows if not isinstance(row, str)):
            raise ValueError(f"a row of table {self.caption} has not {len(self.columns)} cells")

    def filled(self) -> "Table":
        """The table without the columns in which no row says anything."""
        rows = [row for row in self.rows if not isinstance(row, str)]
        kept = [i for i in range(len(self.columns)) if i == 0 or any(words_of(row[i]) for row in rows)]
        shorter = (row if isinstance(row, str) else tuple(row[i] for i in kept) for row in self.rows)
        return Table(self.caption, tuple(self.columns[i] for i in kept), tuple(shorter))


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line [units of the picture]."""

    x1: float
    y1: float
    x2: float
    y2: float
    ink: str
    """Name of a colour of `report_look`."""
    width: float = 1.0
    dashes: str = ""


@dataclass(frozen=True, slots=True)
class Area:
    """A filled rectangle."""

    x: float
    y: float
    width: float
    height: float
    ink: str
    opacity: float = 1.0
    round: float = 0.0


@dataclass(frozen=True, slots=True)
class Sign:
    """A mark at a point, told by its form as well as its colour."""

    x: float
    y: float
    form: str
    """`dot`, `ring`, `cross`, `square`, `diamond`, `triangle` or `bar`."""
    ink: str
    size: float = 4.0


@dataclass(frozen=True, slots=True)
class Label:
    """Words in a picture."""

    x: float
    y: float
    text: str
    anchor: str = "start"
    """`start`, `middle` or `end`."""
    ink: str = "ink"
    size: float = 11.0
    is_bold: bool = False


Shape: TypeAlias = Line | Area | Sign | Label


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its caption, and all it shows said in words for whoever cannot see it."""

    caption: str
    alt: str
    width: float
    height: float
    shapes: tuple[Shape, ...]


Block: TypeAlias = Para | Bullets | Facts | Notice | Table | Figure


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]
    level: int = 2
    """2, or 3 for a part of the section before."""
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Stamp:
    """Who made the report, when, and of which log."""

    made_by: str
    made_at: str
    log: str
    code: str
    """Integrity code: 16 characters that whoever keeps the paper can later hold the log against."""
    covers: str
    """What the code states."""
    software: str
    wall_ms: int

    @property
    def facts(self) -> tuple[tuple[str, str], ...]:
        """The same as names and what they are."""
        return (
            ("Made by", self.made_by), ("Made at", self.made_at), ("Log", self.log), ("Integrity code", self.code),
            ("What the code covers", self.covers), ("Made with", self.software),
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Document:
    """A whole report."""

    kicker: str
    """What kind of record this is."""
    title: str
    subtitle: str
    head: tuple[Block, ...]
    """What is read first, above every section."""
    sections: tuple[Section, ...]
    stamp: Stamp
    is_demonstration: bool = False
    paper: str = "us-letter"
    """`us-letter` or `a4`."""
    is_short: bool = False
    """Is to fit one page: set closer, without a list of contents."""

    @property
    def has_contents(self) -> bool:
        """Long enough for a list of its sections."""
        return len(self.chapters) > MOST_WITHOUT_CONTENTS and not self.is_short

    @property
    def chapters(self) -> Sequence[Section]:
        """The sections that a list of contents names."""
        return [section for section in self.sections if section.level == 2]


MOST_WITHOUT_CONTENTS = 4
DEMONSTRATION = "DEMONSTRATION: the history in this report is invented"
"""Stands on every page of a report on a demonstration log."""
