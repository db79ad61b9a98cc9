"""A report as one HTML file: no script, nothing fetched, prints as well as it reads, on a phone too."""

import re
from collections.abc import Iterator
from functools import cache
from html import escape
from importlib.resources import files

from seasonlog.export.plots_svg import to_svg
from seasonlog.export.report_look import INKS
from seasonlog.export.report_model import (
    DEMONSTRATION,
    Badge,
    Block,
    Bullets,
    Cell,
    Column,
    Document,
    Facts,
    Figure,
    Notice,
    Para,
    Section,
    Stamp,
    Table,
    Voice,
    shown,
    words_of,
)

_NOT_PLAIN = re.compile(r"[^A-Za-z0-9 ,:+-]", re.ASCII)
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_MARGIN = f"font:9pt system-ui,Arial,sans-serif;color:{INKS['soft']}"


def to_html(document: Document) -> str:
    """The report as a page.

    Args:
        document: What it says.
    """
    return "\n".join([*_head(document), *_body(document), "</body>", "</html>", ""])


def _text(text: str, *, keep_newlines: bool = False) -> str:
    """The only door for words: shown as typed, able to do nothing."""
    return escape(shown(text, keep_newlines=keep_newlines), quote=True)


@cache
def _style() -> str:
    inks = "".join(f"--{name.replace('_', '-')}:{value};" for name, value in INKS.items())
    return f":root{{{inks}}}\n" + (files("seasonlog.export") / "report.css").read_text("utf-8")


def _margins(document: Document) -> str:
    """What stands in the margins of every printed page; of our own words alone, since a style sheet knows no escape."""
    foot = _NOT_PLAIN.sub("", f"{document.stamp.made_at}, code {document.stamp.code}")
    top = f'@top-center{{content:"{DEMONSTRATION}";{_MARGIN}}}' if document.is_demonstration else ""
    room = "margin:11mm 14mm 12mm;" if document.is_short else ""
    return f'@page{{{room}@bottom-left{{content:"{foot}";{_MARGIN}}}{top}}}\n'


def _head(document: Document) -> Iterator[str]:
    title = _text(f"{document.title}: {document.kicker}")
    yield from (
        "<!DOCTYPE html>",
        '<html lang="en">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="referrer" content="no-referrer">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{title}</title>",
        f"<style>{_style()}{_margins(document)}</style>",
        "</head>",
    )


def _body(document: Document) -> Iterator[str]:
    yield '<body class="short">' if document.is_short else "<body>"
    yield '<a class="skip" href="#content">To the content</a>'
    if document.is_demonstration:
        yield f'<p class="demonstration" role="note"><strong>{DEMONSTRATION}</strong></p>'
    yield '<header class="title">'
    yield f'<p class="kicker">{_text(document.kicker)}</p><h1>{_text(document.title)}</h1>'
    yield f'<p class="subtitle">{_text(document.subtitle)}</p>'
    yield "</header>"
    yield '<main id="content">'
    yield from (part for block in document.head for part in _block(block))
    if document.has_contents:
        yield from _contents(document)
    for number, section in enumerate(document.sections):
        yield from _section(number, section)
    yield "</main>"
    yield from _foot(document.stamp)


def _contents(document: Document) -> Iterator[str]:
    yield '<nav aria-label="Contents" class="contents"><h2>Contents</h2><ol>'
    for number, section in enumerate(document.sections):
        if section.level == 2:
            yield f'<li><a href="#s{number}">{_text(section.title)}</a></li>'
    yield "</ol></nav>"


def _section(number: int, section: Section) -> Iterator[str]:
    page = " new-page" if section.new_page else ""
    yield f'<section class="l{section.level}{page}" aria-labelledby="s{number}">'
    yield f'<h{section.level} id="s{number}">{_text(section.title)}</h{section.level}>'
    yield from (part for block in section.blocks for part in _block(block))
    yield "</section>"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Para():
            yield from _para(block)
        case Bullets():
            yield f"<ul>{''.join(f'<li>{_text(item)}</li>' for item in block.items)}</ul>"
        case Facts():
            yield from _facts(block)
        case Notice():
            yield from _notice(block)
        case Table():
            yield from _table(block)
        case Figure():
            yield f'<figure><div class="picture">{to_svg(block)}</div><figcaption>{_text(block.caption)}</figcaption>'
            yield "</figure>"


def _para(para: Para) -> Iterator[str]:
    words = _text(para.text, keep_newlines=True).replace("\n", "<br>")
    if para.voice is Voice.CAUTION:
        yield f'<p class="caution"><strong>⚠ Caution</strong> {words}</p>'
    else:
        yield f'<p class="{para.voice}">{words}</p>'


def _facts(facts: Facts) -> Iterator[str]:
    rows = (f"<div><dt>{_text(name)}</dt><dd>{_cell(cell)}</dd></div>" for name, cell in facts.items)
    yield f'<dl class="facts">{"".join(rows)}</dl>'


def _cell(cell: Cell) -> str:
    return _badge(cell) if isinstance(cell, Badge) else _text(cell, keep_newlines=True).replace("\n", "<br>")


def _badge(badge: Badge) -> str:
    more = f" {_text(badge.more)}" if badge.more else ""
    symbol = f'<span aria-hidden="true">{_text(badge.symbol)}</span> ' if badge.symbol else ""
    return f'<span class="badge {badge.tone}">{symbol}{_text(badge.word)}</span>{more}'


def _notice(notice: Notice) -> Iterator[str]:
    badge = notice.badge
    lines = f"<ul>{''.join(f'<li>{_text(line)}</li>' for line in notice.lines)}</ul>" if notice.lines else ""
    symbol = f'<span aria-hidden="true">{_text(badge.symbol)}</span> ' if badge.symbol else ""
    more = f" <span>{_text(badge.more)}</span>" if badge.more else ""
    yield f'<div class="notice {badge.tone}"><p><strong>{symbol}{_text(badge.word)}</strong>{more}</p>{lines}</div>'


def _table(table: Table) -> Iterator[str]:
    whole = sum(column.share for column in table.columns)
    yield f'<table role="table"><caption>{_text(table.caption)}</caption><colgroup>'
    yield "".join(f'<col style="width:{100 * column.share / whole:.1f}%">' for column in table.columns)
    yield '</colgroup><thead role="rowgroup"><tr role="row">'
    yield "".join(f'<th role="columnheader" scope="col"{_side(c)}>{_text(c.name)}</th>' for c in table.columns)
    yield '</tr></thead><tbody role="rowgroup">'
    for row in table.rows:
        yield f'<tr role="row">{_over(table, row) if isinstance(row, str) else "".join(_cells(table, row))}</tr>'
    yield "</tbody></table>"


def _over(table: Table, words: str) -> str:
    return f'<th role="rowheader" class="over" colspan="{len(table.columns)}" scope="rowgroup">{_text(words)}</th>'


def _side(column: Column) -> str:
    return ' class="number"' if column.is_number else ""


def _cells(table: Table, row: tuple[Cell, ...]) -> Iterator[str]:
    for number, (column, cell) in enumerate(zip(table.columns, row, strict=True)):
        kind = "number" if column.is_number else ""
        kind += "" if words_of(cell) else " none"
        kind += " day" if _DAY.fullmatch(words_of(cell)) else ""
        named = f' class="{kind.strip()}"' if kind.strip() else ""
        if number == 0:
            yield f'<th role="rowheader" scope="row"{named}>{_cell(cell)}</th>'
        else:
            yield f'<td role="cell" data-name="{_text(column.name)}"{named}><span>{_cell(cell)}</span></td>'


def _foot(stamp: Stamp) -> Iterator[str]:
    yield '<footer><h2>This report</h2><dl class="facts">'
    yield from (f"<div><dt>{name}</dt><dd>{_text(words)}</dd></div>" for name, words in stamp.facts)
    yield "</dl></footer>"
