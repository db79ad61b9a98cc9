"""A report as JSON, for a program: the same parts in the same order as the page, every text as the page shows it.

Format `seasonlog report`, version 1, UTF-8:

    {"format": "seasonlog report", "version": 1,
     "kind": "Record of one visit", "title": ..., "subtitle": ..., "demonstration": false,
     "made": {"by": ..., "at": ..., "at_ms": 1700000000000, "log": ..., "code": ..., "covers": ..., "software": ...},
     "head": [BLOCK, ...],
     "sections": [{"title": ..., "level": 2, "blocks": [BLOCK, ...]}, ...]}

`at_ms` is UTC in milliseconds, `code` the integrity code or "none"; a section of level 3 is a part of the one of level
2 before it. A BLOCK says what it is:

    {"block": "paragraph", "voice": "plain" | "small" | "caution", "text": ...}
    {"block": "list", "items": [TEXT, ...]}
    {"block": "facts", "facts": {NAME: CELL, ...}}
    {"block": "notice", "state": STATE, "lines": [TEXT, ...]}
    {"block": "table", "caption": ..., "columns": [NAME, ...],
     "rows": [{"under": TEXT, "cells": {NAME: CELL, ...}}, ...]}
    {"block": "picture", "caption": ..., "words": all that the picture shows}

A CELL is a text or a STATE, `{"word": "FAIL", "tone": "pass" | "near" | "unsure" | "bad" | "calm", "more": ...}`;
`under` is the heading inside the table that the row stands below, empty where there is none. Values, limits and times
are the page's, in the units of the site and with their unit; numbers for arithmetic are in `export csv`. A later
version may add keys; what a key of version 1 means stays.
"""

import json
from collections.abc import Iterator
from typing import Any

from seasonlog.export.report_model import (
    Badge,
    Block,
    Bullets,
    Cell,
    Document,
    Facts,
    Figure,
    Notice,
    Para,
    Stamp,
    Table,
    shown,
)

FORMAT, VERSION = "seasonlog report", 1


def to_json(document: Document) -> str:
    """The report as a text of JSON.

    Args:
        document: What it says.
    """
    return json.dumps(of_document(document), ensure_ascii=False, indent=1) + "\n"


def of_document(document: Document) -> dict[str, Any]:
    """The same as plain values.

    Args:
        document: What it says.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "kind": _text(document.kicker),
        "title": _text(document.title),
        "subtitle": _text(document.subtitle),
        "demonstration": document.is_demonstration,
        "made": _made(document.stamp),
        "head": [_block(block) for block in document.head],
        "sections": [
            {"title": _text(s.title), "level": s.level, "blocks": [_block(block) for block in s.blocks]}
            for s in document.sections
        ],
    }


def _text(text: str) -> str:
    return shown(text, keep_newlines=True)


def _made(stamp: Stamp) -> dict[str, Any]:
    return {
        "by": _text(stamp.made_by), "at": _text(stamp.made_at), "at_ms": stamp.wall_ms, "log": _text(stamp.log),
        "code": _text(stamp.code), "covers": _text(stamp.covers), "software": _text(stamp.software),
    }  # fmt: skip


def _block(block: Block) -> dict[str, Any]:
    match block:
        case Para():
            return {"block": "paragraph", "voice": str(block.voice), "text": _text(block.text)}
        case Bullets():
            return {"block": "list", "items": [_text(item) for item in block.items]}
        case Facts():
            return {"block": "facts", "facts": {_text(name): _cell(cell) for name, cell in block.items}}
        case Notice():
            return {"block": "notice", "state": _cell(block.badge), "lines": [_text(line) for line in block.lines]}
        case Table():
            columns = [_text(column.name) for column in block.columns]
            return {"block": "table", "caption": _text(block.caption), "columns": columns, "rows": [*_rows(block)]}
        case Figure():
            return {"block": "picture", "caption": _text(block.caption), "words": _text(block.alt)}


def _rows(table: Table) -> Iterator[dict[str, Any]]:
    under = ""
    for row in table.rows:
        if isinstance(row, str):
            under = _text(row)
        else:
            named = zip(table.columns, row, strict=True)
            yield {"under": under, "cells": {_text(column.name): _cell(cell) for column, cell in named}}


def _cell(cell: Cell) -> str | dict[str, str]:
    if isinstance(cell, Badge):
        return {"word": _text(cell.word), "tone": str(cell.tone), "more": _text(cell.more)}
    return _text(cell)
