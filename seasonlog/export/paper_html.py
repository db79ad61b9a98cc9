"""Sheets as one HTML file that prints: no script, nothing fetched, black on white, one tower per page set."""

from collections.abc import Iterator, Sequence
from html import escape

from seasonlog.export.paper_model import Part, Row, Sheet
from seasonlog.export.report_model import shown

_STYLE = """
*{box-sizing:border-box}
body{margin:0 auto;padding:1rem;max-width:52rem;color:#000;background:#fff;
 font:10.5pt/1.35 system-ui,"Segoe UI","Helvetica Neue",Arial,sans-serif;overflow-wrap:anywhere}
.sheet+.sheet{break-before:page;margin-top:3rem}
h1{font-size:17pt;margin:0}h2{font-size:12pt;margin:1.1rem 0 .3rem;padding:.15rem .4rem;background:#e4e4e4}
p{margin:.25rem 0}.soft{color:#333;font-size:9pt}
.caution{border-left:4px solid #000;padding:.2rem .6rem;font-weight:600;break-after:avoid}
.facts{display:grid;grid-template-columns:repeat(2,1fr);gap:.1rem 1.2rem;margin:.5rem 0;font-size:9.5pt}
.facts div{display:grid;grid-template-columns:8.5rem 1fr;border-bottom:1px solid #ccc}
.facts dt{color:#333}.facts dd{margin:0;font-weight:600}
table{width:100%;border-collapse:collapse;table-layout:fixed}
th,td{border:1px solid #555;padding:.25rem .4rem;text-align:left;vertical-align:top}
th{font-size:9pt}col.n{width:2.6rem}col.w{width:40%}
.b{font-weight:700}.key{color:#333;font:8pt ui-monospace,"DejaVu Sans Mono",monospace}
.mark{border:1px solid #000;padding:0 .25rem;font-size:8pt;font-weight:700;white-space:nowrap}
.limit{font-weight:700}
.box{display:inline-block;margin:.1rem .8rem .1rem 0}
.box::before{content:"";display:inline-block;width:.95rem;height:.95rem;border:1.5px solid #000;margin-right:.35rem;
 vertical-align:-.15rem}
.blank{display:inline-block;border-bottom:1.5px solid #000;min-width:4.2rem;height:1.5rem;margin-right:.5rem}
.wide{display:block;border-bottom:1.5px solid #000;height:1.6rem}
.demonstration{border:2px solid #000;text-align:center;font-weight:700;padding:.2rem}
@page{margin:12mm 12mm 14mm;@bottom-right{content:"Page " counter(page) " of " counter(pages);font:8pt Arial}}
@media print{body{max-width:none;padding:0;font-size:9.2pt}.sheet+.sheet{margin-top:0}
 tr,.facts div,.caution{break-inside:avoid}h1,h2{break-after:avoid}thead{display:table-header-group}}
@media (max-width:40rem){.facts{grid-template-columns:1fr}col.w{width:50%}}
"""


def to_html(sheets: Sequence[Sheet]) -> str:
    """The sheets as a page; each tower begins a new one on paper."""
    title = f"Sheets of {', '.join(sheet.tower for sheet in sheets)}"
    head = (
        "<!DOCTYPE html>", '<html lang="en">', "<head>", '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        f"<title>{_text(title)}</title>", f"<style>{_STYLE}</style>", "</head>", "<body>",
    )  # fmt: skip
    body = (line for sheet in sheets for line in _sheet(sheet))
    return "\n".join([*head, *body, "</body>", "</html>", ""])


def _text(text: str) -> str:
    """The only door for words: shown as typed, able to do nothing."""
    return escape(shown(text, keep_newlines=True), quote=True).replace("\n", "<br>")


def _sheet(sheet: Sheet) -> Iterator[str]:
    yield '<article class="sheet">'
    if sheet.is_demonstration:
        yield '<p class="demonstration">DEMONSTRATION: the site is invented</p>'
    yield f"<h1>{_text(sheet.tower)}  {_text(sheet.name)}</h1>"
    yield f'<p class="b">{_text(sheet.site)}: {_text(sheet.title)}, {_text(sheet.why)}</p>'
    made = f"Checklist {sheet.checklist}, version {sheet.version}; printed {sheet.printed}"
    yield f'<p class="soft">{_text(made)}</p>'
    named = "".join(_filled(label) for label in ("Date", "Begun", "Ended", "By"))
    yield f"<p>{named}</p>"
    if sheet.instruments:
        yield f"<p>Instruments: {''.join(_filled(kind) for kind in sheet.instruments)}</p>"
    yield from (f"<p>? Not this one if there is another: {_text(doubt)}</p>" for doubt in sheet.doubted)
    yield from (f'<p class="caution">⚠ {_text(caution)}</p>' for caution in sheet.cautions)
    yield from _facts(sheet)
    yield from _list("Lock out: every source", sheet.sources, boxed=True)
    yield from _list("Open findings", sheet.findings, boxed=False)
    for part in sheet.parts:
        yield from _part(part)
    yield from _end()
    yield "</article>"


def _filled(label: str) -> str:
    return f'{_text(label)} <span class="blank"></span> '


def _facts(sheet: Sheet) -> Iterator[str]:
    rows = "".join(f"<div><dt>{_text(name)}</dt><dd>{_text(words)}</dd></div>" for name, words in sheet.facts)
    yield f'<dl class="facts">{rows}</dl>'


def _list(title: str, lines: Sequence[str], *, boxed: bool) -> Iterator[str]:
    if lines:
        kind = "box" if boxed else ""
        yield f"<h2>{_text(title)}</h2>"
        yield from (f'<p><span class="{kind}">{_text(line)}</span></p>' for line in lines)


def _part(part: Part) -> Iterator[str]:
    yield f"<h2>{_text(part.title)}</h2>"
    if part.caution:
        yield f'<p class="caution">⚠ {_text(part.caution)}</p>'
    yield '<table><colgroup><col class="n"><col><col class="w"></colgroup>'
    yield "<thead><tr><th>No.</th><th>Do</th><th>Read</th></tr></thead><tbody>"
    yield from (_row(row) for row in part.rows)
    yield "</tbody></table>"


def _row(row: Row) -> str:
    marks = (("LIVE", row.live), ("PHOTO", row.photo), ("MAY BE LEFT OUT", not row.required))
    shown_marks = " ".join(f'<span class="mark">{word}</span>' for word, on in marks if on)
    waits = f' <span class="soft">{_text(row.waits)}</span>' if row.waits else ""
    limit = f'<br><span class="limit">→ {_text(row.limit)}</span>' if row.limit else ""
    caution = f'<br><span class="b">⚠ {_text(row.caution)}</span>' if row.caution else ""
    what = f'<span class="b">{_text(row.title)}</span> {shown_marks}{waits}{caution}<br>{_text(row.do)}{limit}'
    return f"<tr><td>{row.number}</td><td>{what}</td><td>{_places(row)}</td></tr>"


def _places(row: Row) -> str:
    key = f'<br><span class="key">{_text(row.key)}</span>'
    if row.boxes:
        return "".join(f'<span class="box">{_text(box)}</span>' for box in row.boxes) + key
    if row.blanks:
        return f"{''.join(['<span class=blank></span>'] * row.blanks)}{_text(row.unit)}, at {_filled('')}{key}"
    return f'<span class="wide"></span>{key}'


def _end() -> Iterator[str]:
    lines = '<span class="wide"></span>'
    yield f"<h2>Left out, and why (number, reason)</h2>{lines * 3}"
    yield f"<h2>Temporary changes (what, where, made, restored)</h2>{lines * 4}"
    yield f"<h2>Notes</h2>{lines * 3}"
    yield "<h2>Signatures</h2>"
    wide = '<span class="blank" style="min-width:14rem"></span>'
    yield f"<p>Done by {wide} Received by {wide}</p>"
    yield '<p><span class="box">customer not available</span><span class="box">declined, in their words:</span></p>'
    yield lines
    yield "<p class=\"soft\">A verdict is the program's, not the paper's: enter it the same day with "
    yield "<code>seasonlog visit --answers FILE --from-paper</code>, which keeps the time it was read.</p>"
