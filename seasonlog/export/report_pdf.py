"""A report as a tagged PDF, drawn by typst from the same values as the page. Part of the extra `pdf`."""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from typing import Any

from seasonlog.errors import SeasonlogError
from seasonlog.export.plots_svg import to_svg
from seasonlog.export.report_look import INKS
from seasonlog.export.report_model import (
    DEMONSTRATION,
    Badge,
    Block,
    Cell,
    Document,
    Facts,
    Figure,
    Notice,
    Table,
    shown,
)

MISSING = "PDF needs the extra `pdf`: pip install 'seasonlog[pdf]'; the HTML report prints as well."
_FONT = "Libertinus Serif"
_LONG = re.compile(r"\S{25,}")
_NAMES = {"Para": "para", "Bullets": "bullets", "Facts": "facts", "Notice": "notice", "Table": "table"}
_LATIN = 0x0500
"""From here on the fonts that come with typst may have no letter, and those of the machine are asked."""


class ReportError(SeasonlogError):
    """A report cannot be drawn."""


def to_pdf(document: Document) -> bytes:
    """The report as PDF/UA-1: tagged, titled, with alternative words for each picture.

    Args:
        document: What it says.

    Raises:
        ReportError: typst is not installed, or cannot draw it.
    """
    try:
        import typst
    except ImportError:
        raise ReportError(MISSING) from None
    data = json.dumps(_document(document), ensure_ascii=False)
    try:
        drawn = typst.compile(
            _template(),
            format="pdf",
            sys_inputs={"report": data},
            ignore_system_fonts=not _needs_other_letters(data),
            timestamp=document.stamp.wall_ms // 1000,
            pdf_standards="ua-1",
        )
    except RuntimeError as error:
        raise ReportError(f"The PDF cannot be drawn ({error}); take --html instead.") from None
    if not isinstance(drawn, bytes):
        raise ReportError("The PDF cannot be drawn; take --html instead.")
    return drawn


@cache
def _template() -> bytes:
    return (files("seasonlog.export") / "report.typ").read_bytes()


def _needs_other_letters(text: str) -> bool:
    return any(ord(char) >= _LATIN and char.isalpha() for char in text)


def _text(text: str) -> str:
    """Shown as typed; a word too long for a column may be broken anywhere."""
    return _LONG.sub(lambda word: "\u200b".join(re.findall(".{1,12}", word[0])), shown(text, keep_newlines=True))


def _document(document: Document) -> dict[str, Any]:
    return {
        "inks": INKS,
        "kicker": _text(document.kicker),
        "title": _text(document.title),
        "subtitle": _text(document.subtitle),
        "author": shown(document.stamp.made_by),
        "paper": document.paper,
        "demonstration": DEMONSTRATION if document.is_demonstration else "",
        "footer": f"{_text(document.title)}  ·  {_text(document.stamp.made_at)}  ·  code {_text(document.stamp.code)}",
        "contents": document.has_contents,
        "head": [_block(block) for block in document.head],
        "sections": [
            {
                "title": _text(section.title),
                "level": section.level,
                "new_page": section.new_page,
                "blocks": [_block(block) for block in section.blocks],
            }
            for section in document.sections
        ],
        "stamp": [(name, _text(words)) for name, words in document.stamp.facts],
    }


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Figure():
            svg = to_svg(block, _FONT)
            return {"kind": "figure", "svg": svg, "alt": shown(block.alt), "caption": _text(block.caption)}
        case Table():
            columns = [asdict(column) for column in block.columns]
            rows = [_text(row) if isinstance(row, str) else [_cell(cell) for cell in row] for row in block.rows]
            return {"kind": "table", "caption": _text(block.caption), "columns": columns, "rows": rows}
        case Facts():
            return {"kind": "facts", "items": [(_text(name), _cell(cell)) for name, cell in block.items]}
        case Notice():
            return {"kind": "notice", "badge": _cell(block.badge), "lines": [_text(line) for line in block.lines]}
        case _:
            return {"kind": _NAMES[type(block).__name__], **_plain(asdict(block))}


def _plain(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {
        name: _text(value) if isinstance(value, str) else [_text(item) for item in value]
        for name, value in fields.items()
    }


def _cell(cell: Cell) -> Any:
    if isinstance(cell, Badge):
        return {"symbol": cell.symbol, "word": _text(cell.word), "tone": str(cell.tone), "more": _text(cell.more)}
    return _text(cell)
