"""`seasonlog report`: a tower, a site's season, the firm, the open findings or a visit, as HTML, PDF or JSON."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.export.report_model import Document
    from seasonlog.services.logbook import Logbook
    from seasonlog.services.reports import Made


def _shared(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options of every report."""
    for option in (
        click.option(
            "-o", "--output", metavar="FILE", help="Write it here; .pdf, .html or .json tells which; - is the output."
        ),
        click.option("--pdf", "form", flag_value="pdf", help="A tagged PDF (extra `pdf`)."),
        click.option("--html", "form", flag_value="html", help="One HTML file, which prints as well (the usual)."),
        click.option("--json", "form", flag_value="json", help="The same facts for a program; no FILE: to stdout."),
        click.option(
            "--by", metavar="NAME", help="Who makes it; else SEASONLOG_NAME, or the name kept on this device."
        ),
        click.option("--today", metavar="DATE", help="As if it were this day (YYYY-MM-DD)."),
        log_option,
    ):
        function = option(function)
    return function


FORMS = ("html", "pdf", "json")
_season = click.option("--season", type=click.IntRange(1970, 2200), metavar="YEAR", help="First year of the season.")


@click.group()
def report() -> None:
    """Write a report: what is not proven first, then the record with its limits, instruments and signatures.

    Under a name (--by) a checkpoint of the log is stated, whose code is printed: whoever keeps the report can later
    hold the log against it. No entry is written.
    """


@report.command()
@click.argument("tower", metavar="TOWER")
@_season
@_shared
@click.pass_obj
def tower(obj: Frame, /, tower: str, season: int | None, **given: Any) -> int:
    """One tower in one season."""
    from seasonlog.services import reports

    return _write(obj, given, f"tower-{tower}", lambda book, made: reports.tower_report(book, tower, made, season))


@report.command()
@click.argument("site", metavar="SITE")
@_season
@_shared
@click.pass_obj
def site(obj: Frame, /, site: str, season: int | None, **given: Any) -> int:
    """One site's season: every tower in full."""
    from seasonlog.services import reports

    return _write(obj, given, f"site-{site}", lambda book, made: reports.site_report(book, site, made, season))


@report.command()
@_season
@_shared
@click.pass_obj
def firm(obj: Frame, /, season: int | None, **given: Any) -> int:
    """Every site: what is not proven, open findings, the seasons."""
    from seasonlog.services import reports

    return _write(obj, given, "all-sites", lambda book, made: reports.firm_report(book, made, season))


@report.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--tower", default="", metavar="TOWER", help="Only this tower.")
@_shared
@click.pass_obj
def findings(obj: Frame, /, site: str, tower: str, **given: Any) -> int:
    """The open findings, worst first."""
    from seasonlog.services import reports

    return _write(
        obj, given, "findings", lambda book, made: reports.findings_report(book, made, site=site, tower=tower)
    )


@report.command()
@click.argument("visit", metavar="VISIT")
@_shared
@click.pass_obj
def visit(obj: Frame, /, visit: str, **given: Any) -> int:
    """The record of one visit."""
    from seasonlog.services import reports

    return _write(obj, given, f"visit-{visit}", lambda book, made: reports.visit_report(book, visit, made))


@report.command()
@click.argument("visit", metavar="VISIT")
@_shared
@click.pass_obj
def copy(obj: Frame, /, visit: str, **given: Any) -> int:
    """The customer's page of a visit, to hand over."""
    from seasonlog.services import reports

    return _write(obj, given, f"copy-{visit}", lambda book, made: reports.copy_report(book, visit, made))


def _write(obj: Frame, given: dict[str, Any], name: str, build: "Callable[[Logbook, Made], Document]") -> int:
    from seasonlog.services.reports import Made
    from seasonlog.services.reports_file import file_name, written

    form, by = _form(given["output"], given["form"]), _maker(obj, given)
    with _opened(obj, given["log"], by) as book:
        made = Made(by, frame.day_or(given["today"], book), _told)
        document = build(book, made)
    if form == "json" and given["output"] is None:
        from seasonlog.export.report_json import of_document

        frame.out_json(of_document(document))
        return 0
    path = Path(given["output"] or file_name(name, form))
    frame.write_file(path, written(document, form))
    return 0


def _opened(obj: Frame, log: str | None, by: str) -> "Logbook":
    """Under a name, so that a checkpoint can be stated for its code; for reading where nothing may be written."""
    from seasonlog.errors import LogError

    if by and frame.places_of(obj, log).log.exists():
        try:
            return frame.writing(obj, log, by)
        except LogError:
            pass
    return frame.reading(obj, log)


def _form(output: str | None, form: str | None) -> str:
    """HTML, PDF or JSON: by the option, else by the file's ending."""
    ending = Path(output or "").suffix.casefold().lstrip(".")
    by_name = {"htm": "html"}.get(ending, ending)
    if form is None and by_name and by_name not in FORMS:
        name = Path(output or "").name
        raise UsageError(f'"{name}" ends neither in .html, .pdf nor .json; add --html, --pdf or --json.')
    return form or by_name or "html"


def _maker(obj: Frame, given: dict[str, Any]) -> str:
    """Who makes it, as far as somebody said so; a report is read, not written into the log."""
    import os

    from seasonlog.services.settings import kept_name

    return given["by"] or os.environ.get("SEASONLOG_NAME", "") or kept_name(frame.places_of(obj, given["log"])) or ""


def _told(done: int, whole: int) -> None:
    if frame.shows_progress() and whole > 1:
        frame.part_done(done, done / whole)
