"""A report as the bytes of a file, and a name for it that every file system takes."""

import re

from seasonlog.export.report_html import to_html
from seasonlog.export.report_json import to_json
from seasonlog.export.report_model import Document

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+", re.ASCII)
MOST_NAME = 60
"""Characters of a file's name before its ending."""


def written(document: Document, form: str) -> bytes:
    """The report as a file.

    Args:
        document: What it says.
        form: `html`, `pdf` or `json`.

    Raises:
        ReportError: PDF, and the extra is not installed.
    """
    if form == "pdf":
        from seasonlog.export.report_pdf import to_pdf

        return to_pdf(document)
    return (to_json(document) if form == "json" else to_html(document)).encode()


def file_name(name: str, form: str) -> str:
    """`tower-HOS-1.html`: ids are people's words, and no path is made of them."""
    return f"{_UNSAFE.sub('-', name)[:MOST_NAME].strip('.-') or 'report'}.{form}"
