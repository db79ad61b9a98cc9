"""Sheets as plain text: for a printer without a browser, 96 columns."""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from seasonlog.export.paper_model import Part, Row, Sheet
from seasonlog.export.report_model import shown

WIDTH = 96
_BLANK = "________"


def to_text(sheets: Sequence[Sheet]) -> str:
    """The sheets one after the other, each beginning a page of its printer (form feed between them)."""
    return "\f".join("\n".join(_sheet(sheet)) + "\n" for sheet in sheets)


def _sheet(sheet: Sheet) -> Iterator[str]:
    if sheet.is_demonstration:
        yield "DEMONSTRATION: invented site"
    yield from _wrapped(f"{sheet.tower}  {sheet.name}, {sheet.site}")
    yield from _wrapped(f"{sheet.title} (version {sheet.version}); {sheet.why}")
    yield f"printed {shown(sheet.printed)}"
    yield ""
    yield "Date ____________  begun ______  ended ______  by ______________________________"
    yield from _wrapped(f"Instruments: {'   '.join(f'{kind} no. {_BLANK}' for kind in sheet.instruments)}", "  ")
    for doubt in sheet.doubted:
        yield from _wrapped(f"? Not this one if there is another: {doubt}", "  ")
    yield ""
    for caution in sheet.cautions:
        yield from _wrapped(f"! {caution}", "  ")
    yield from _list("REGISTER", [f"{name}: {words}" for name, words in sheet.facts])
    yield from _list("LOCK OUT: EVERY SOURCE", [f"[ ] {source}" for source in sheet.sources])
    yield from _list("OPEN FINDINGS", sheet.findings)
    for part in sheet.parts:
        yield from _part(part)
    yield from _end()


def _list(title: str, lines: Sequence[str]) -> Iterator[str]:
    if lines:
        yield ""
        yield title
        for line in lines:
            yield from _wrapped(line, "    ", "  ")


def _part(part: Part) -> Iterator[str]:
    yield ""
    yield f"== {shown(part.title).upper()} "
    if part.caution:
        yield from _wrapped(f"! {part.caution}", "  ")
    for row in part.rows:
        yield from _row(row)


def _row(row: Row) -> Iterator[str]:
    marked = ((" LIVE", row.live), (" PHOTO", row.photo), (" (may be left out)", not row.required))
    marks = "".join(mark for mark, on in marked if on)
    waits = f"  [{row.waits}]" if row.waits else ""
    yield from _wrapped(f"{row.number:>3}. {row.title}{marks}{waits}", "     ")
    if row.caution:
        yield from _wrapped(f"! {row.caution}", "       ", "     ")
    yield from _wrapped(row.do, "     ", "     ")
    if row.limit:
        yield from _wrapped(f"-> {row.limit}", "        ", "     ")
    yield from _wrapped(places(row), "     ", "     ")
    yield f"     {shown(row.key)}"


def places(row: Row) -> str:
    """Where to tick or write."""
    if row.boxes:
        return "   ".join(f"[ ] {box}" for box in row.boxes)
    if row.blanks:
        return f"{'   '.join([_BLANK] * row.blanks)} {row.unit}   at ____:____"
    return "_" * 70


def _end() -> Iterator[str]:
    yield from ("", "LEFT OUT, AND WHY", *["  no. ____ because " + "_" * 60] * 3)
    yield from ("", "TEMPORARY CHANGES: what, where, made at, restored at", *["  " + "_" * 80] * 4)
    yield from ("", "NOTES", *["  " + "_" * 80] * 3)
    yield from (
        "",
        f"Done by {'_' * 34}   Received by {'_' * 34}",
        "  [ ] customer not available   [ ] declined, in their words: " + "_" * 34,
        "",
        "A verdict is the program's, not the paper's: enter it the same day with",
        "  seasonlog visit --answers FILE --from-paper, which keeps the time it was read.",
    )


def _wrapped(text: str, rest: str = "", first: str = "") -> list[str]:
    lines = [line for part in shown(text, keep_newlines=True).split("\n") for line in wrap(part, WIDTH - len(rest))]
    return [f"{first if n == 0 else rest}{line}" for n, line in enumerate(lines)] or [""]
