"""`seasonlog export csv -o DIR`: everything the log holds, one table a file."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.group()
def export() -> None:
    """Hand everything out in open formats."""


@export.command()
@click.option("-o", "--output", required=True, metavar="DIR", help="Folder for the files; made when missing.")
@log_option
@shows
@click.pass_obj
def csv(obj: Frame, output: str, log: str | None, as_json: bool, today: str | None) -> int:
    """One CSV file per table: register, visits, answers, findings, coverage, changes, the entries themselves.

    Numbers stay in the units of the record (degF, ft, in) for every site; the column's name or the one beside it says
    which.
    """
    from seasonlog.export.tables import to_csv
    from seasonlog.services.reports_csv import tables

    folder = Path(output)
    frame.make_folder(folder)
    written: dict[str, int] = {}
    with frame.reading(obj, log) as book:
        for table in tables(book, frame.day_or(today, book)):
            lines = list(to_csv(table))
            frame.write_file(folder / f"{table.name}.csv", b"".join(lines))
            written[f"{table.name}.csv"] = len(lines) - 1
    if as_json:
        frame.out_json({"folder": output, "rows": written})
    else:
        frame.table((name, str(rows)) for name, rows in written.items())
    return 0
