"""A report as a tagged PDF, drawn by typst from the same values as the page. Part of the extra `pdf`."""

import json
import re
import unicodedata
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
_NO_FONT = re.compile(r'the text `"(.*?)"` could not be displayed', re.DOTALL)
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")
NAMELESS = "–"
"""For a title that says nothing, which the standard does not allow."""
MOST_TRIES = 40
"""Kinds of letters for which no font may be found before it is given up."""
STAND_INS = "Letters for which there is no font here stand as their number, as [U+6F22]; the HTML report holds them."
_CONTROLS = {0x2400 + code: f"[{code:02X}]" for code in range(0x22)}
"""Pictures of control characters are in no font of ours."""
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
    replaced: set[str] = set()
    for _ in range(MOST_TRIES):
        try:
            return _drawn(typst, document, data, bool(replaced))
        except RuntimeError as error:
            letters = _undrawn(str(error), data)
            if not letters:
                raise ReportError(f"The PDF cannot be drawn ({error}); take --html instead.") from None
            replaced |= letters
            data = data.translate({ord(letter): f"[U+{ord(letter):04X}]" for letter in letters})
    raise ReportError("The PDF cannot be drawn: too many letters have no font here; take --html instead.")


def _drawn(typst: Any, document: Document, data: str, has_stand_ins: bool) -> bytes:
    drawn: bytes = typst.compile(
        _template(),
        format="pdf",
        sys_inputs={"report": data, "note": STAND_INS if has_stand_ins else ""},
        ignore_system_fonts=not _needs_other_letters(data),
        timestamp=document.stamp.wall_ms // 1000,
        pdf_standards="ua-1",
    )
    return drawn


def _undrawn(error: str, data: str) -> set[str]:
    """The letters of a text that has no font here, and those of its kind."""
    found = _NO_FONT.search(error)
    if found is None:
        return set()
    told = _ESCAPED.sub(lambda code: chr(int(code[1], 16)), found[1])
    kinds = {_kind(letter) for letter in told if not letter.isascii()}
    return {letter for letter in set(data) if not letter.isascii() and _kind(letter) in kinds}


def _kind(letter: str) -> int:
    """Letters of one script go together, so that few tries are needed; a sign goes alone."""
    if unicodedata.east_asian_width(letter) in "WF":
        return -1
    return 0x200000 + (ord(letter) >> 8) if unicodedata.category(letter) == "Lo" else ord(letter)


@cache
def _template() -> bytes:
    return (files("seasonlog.export") / "report.typ").read_bytes()


def _needs_other_letters(text: str) -> bool:
    return any(ord(char) >= _LATIN and char.isalpha() for char in text)


def _text(text: str) -> str:
    """Shown as typed; a word too long for a column may be broken anywhere."""
    return _LONG.sub(lambda word: "\u200b".join(re.findall(".{1,12}", word[0])), _shown(text))


def _shown(text: str) -> str:
    return shown(text, keep_newlines=True).translate(_CONTROLS)


def _document(document: Document) -> dict[str, Any]:
    return {
        "inks": INKS,
        "kicker": _text(document.kicker),
        "title": _text(document.title) or NAMELESS,
        "subtitle": _text(document.subtitle),
        "author": _shown(document.stamp.made_by),
        "paper": document.paper,
        "short": document.is_short,
        "demonstration": DEMONSTRATION if document.is_demonstration else "",
        "footer": f"{_text(document.title)}  ·  {_text(document.stamp.made_at)}  ·  code {_text(document.stamp.code)}",
        "contents": document.has_contents,
        "head": [_block(block) for block in document.head],
        "sections": [
            {
                "title": _text(section.title) or NAMELESS,
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
            return {"kind": "figure", "svg": svg, "alt": _shown(block.alt) or NAMELESS, "caption": _text(block.caption)}
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
