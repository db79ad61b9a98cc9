"""Reports: a site's season on fifty pages, from the log to the file, and everything as tables."""

import io
import time
from collections.abc import Iterator
from pathlib import Path

from pypdf import PdfReader

from seasonlog.services import closing, registry
from tests.builders import TODAY, a_book, a_visit, answered

PAGES = 50


def measure(folder: Path) -> Iterator[tuple[str, float, float, str]]:
    from seasonlog.export.report_html import to_html
    from seasonlog.export.report_pdf import to_pdf
    from seasonlog.export.tables import to_csv
    from seasonlog.services import reports, reports_csv

    with a_book(folder) as book:
        for tower in registry.of_site(book.db, "HOS").towers:
            for checklist in ("fall-enable", "mid-winter"):
                closing.sign_off(book, answered(book, a_visit(book, tower, checklist)), "Oren Tallis")
        start = time.perf_counter()
        document = reports.site_report(book, "HOS", reports.Made("Mirel Oduvane", TODAY))
        built = time.perf_counter() - start
        data = to_pdf(document)
        whole = time.perf_counter() - start
        start = time.perf_counter()
        to_html(document)
        page = time.perf_counter() - start
        start = time.perf_counter()
        rows = sum(len(list(to_csv(table))) for table in reports_csv.tables(book, TODAY))
        tables = time.perf_counter() - start
    pages = len(PdfReader(io.BytesIO(data)).pages)
    if pages < PAGES:
        raise ValueError(f"only {pages} pages: too short to be measured")
    yield f"a site's report of {pages} pages as PDF, from the log", whole, 5, "s"
    yield "the same as one HTML file", built + page, 2, "s"
    yield f"everything as CSV, {rows} rows", tables, 2, "s"
