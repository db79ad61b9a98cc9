"""The report of what is on the screen: asked for by one key, written beside the log by a worker, its place told."""

from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content
from textual.screen import Screen

from seasonlog.errors import SeasonlogError
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import say

if TYPE_CHECKING:
    from seasonlog.export.report_model import Document
    from seasonlog.services.logbook import Logbook
    from seasonlog.services.reports import Made
    from seasonlog.tui.app import SeasonlogApp

FOLDER = "reports"
"""Beside the log."""
_WORDS = {
    "tower": "Report of {}: proven or not, its visits, readings, trends",
    "site": "Report of site {}: its season, every tower in full",
    "visit": "Record of this visit: every step with its limit",
    "findings": "Report of what is wrong and needs a person",
    "firm": "Report of all sites: which towers are not proven, and why",
}


def subject_of(screen: Screen[object]) -> tuple[str, str]:
    """What a screen is about, and its id: a visit, a tower, a site, the findings, or everything."""
    from seasonlog.tui.screens.findings import FindingsScreen

    for what, name in (("visit", "visit_id"), ("tower", "tower"), ("site", "site")):
        ident = getattr(screen, name, None)
        if isinstance(ident, str) and ident:
            return what, ident
    return ("findings", "") if isinstance(screen, FindingsScreen) else ("firm", "")


def offer(app: "SeasonlogApp", screen: Screen[object]) -> None:
    """Ask for the kind of file, then write it."""
    what, ident = subject_of(screen)
    rows = [Row("html", Content("Page"), Content("one HTML file: reads on any screen, prints well"))]
    if find_spec("typst") is not None:
        rows.insert(0, Row("pdf", Content("PDF"), Content("tagged, with page numbers: to hand over")))

    def chosen(form: str | None) -> None:
        if form:
            _write(app, what, ident, form)

    app.push_screen(ChooseSheet(say(_WORDS[what].format(ident), "bold"), rows), chosen)


def _write(app: "SeasonlogApp", what: str, ident: str, form: str) -> None:
    from seasonlog.services.devices import integrity_code
    from seasonlog.services.reports_file import file_name

    integrity_code(app.book)  # stated here, where the log is open for writing; the worker only reads it
    path = app.book.places.home / FOLDER / file_name("-".join(part for part in (what, ident) if part), form)
    app.notify("Writing the report …", markup=False, timeout=3)
    app.run_worker(lambda: _written(app, what, ident, path), thread=True, group="report", exclusive=True)


def _written(app: "SeasonlogApp", what: str, ident: str, path: Path) -> None:
    """In a thread of its own; what went wrong is told in a sentence."""
    from seasonlog.domain.text import visible
    from seasonlog.services.reports_file import written

    try:
        with app.reading() as book:
            data = written(_document(book, what, ident, app), path.suffix[1:])
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    except SeasonlogError as error:
        app.call_from_thread(app.tell, str(error))
    except OSError as error:
        app.call_from_thread(app.tell, f"{path} cannot be written: {error.strerror or error}.")
    else:
        words = f"Report written: {visible(str(path))}"
        app.call_from_thread(app.notify, words, markup=False, timeout=15)


def _document(book: "Logbook", what: str, ident: str, app: "SeasonlogApp") -> "Document":
    from seasonlog.services import reports

    made: Made = reports.Made(book.who, app.today)
    if what == "tower":
        return reports.tower_report(book, ident, made)
    if what == "site":
        return reports.site_report(book, ident, made)
    if what == "visit":
        return reports.visit_report(book, ident, made)
    return reports.findings_report(book, made) if what == "findings" else reports.firm_report(book, made)
