"""`seasonlog round`: a round on paper."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option


@click.group()
def round() -> None:
    """Sheets of a round, with every tower's own limits, to fill in by hand."""


@round.command("print")
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--tower", default="", metavar="TOWER", help="Only this tower.")
@click.option("--date", "on", metavar="DATE", help="What is to be done on this day; today when not given.")
@click.option("--checklist", default="", metavar="C", help="This checklist, due or not.")
@click.option("--text", "as_text", is_flag=True, help="Plain text instead of HTML; also where FILE ends in .txt.")
@click.option("-o", "--output", required=True, metavar="FILE", help="Where to write them; - for standard output.")
@log_option
@click.pass_obj
def print_(
    obj: Frame, site: str, tower: str, on: str | None, checklist: str, as_text: bool, output: str, log: str | None
) -> int:
    """Write a sheet per tower with its computed limits, register data and gates, as HTML that prints or as text."""
    from seasonlog.domain.plain_words import counted
    from seasonlog.services import paper

    with frame.reading(obj, log) as book:
        day = frame.day_or(on, book)
        sheets = paper.sheets(book, paper.Wish(site, tower, checklist), day)
    as_text = as_text or output.casefold().endswith(".txt")
    if as_text:
        from seasonlog.export.paper_text import to_text

        page = to_text(sheets)
    else:
        from seasonlog.export.paper_html import to_html

        page = to_html(sheets)
    if output == "-":
        for line in page.split("\n"):
            frame.out(line.replace("\f", ""))
    else:
        frame.write_file(Path(output), page.encode())
    frame.say(f"{counted(len(sheets), 'sheet')}: {', '.join(f'{s.tower} {s.checklist}' for s in sheets[:12])}")
    return 0
