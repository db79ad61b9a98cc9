"""`seasonlog copy VISIT`: the customer's page."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows


@click.command()
@click.argument("visit", metavar="VISIT")
@click.option("-o", "--output", metavar="FILE", help="Write it to this text file.")
@log_option
@shows
@click.pass_obj
def copy(obj: Frame, visit: str, output: str | None, log: str | None, as_json: bool, today: str | None) -> int:
    """The customer's copy of a visit, one page of plain words."""
    from seasonlog.services import rounds
    from seasonlog.services.customer_copy import customer_copy

    with frame.reading(obj, log) as book:
        text = customer_copy(book, rounds.progress(book, visit))
    if output:
        frame.write_file(Path(output), text.encode())
    elif as_json:
        frame.out_json({"visit": visit, "text": text})
    else:
        for line in text.splitlines():
            frame.out(line)
    return 0
