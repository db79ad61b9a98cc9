"""`seasonlog checkpoint`: a signed statement of how far the log is, to be kept by somebody else."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option


@click.command()
@click.option("-o", "--output", metavar="FILE", help="Write the signed note to this file.")
@by_option
@log_option
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
@click.pass_obj
def checkpoint(obj: Frame, output: str | None, by: str | None, log: str | None, as_json: bool) -> int:
    """Sign how far the log is. Kept by another person, it shows later that nothing was taken away or changed."""
    from seasonlog.services import devices

    with frame.writing(obj, log, by) as book:
        note, code = devices.checkpoint(book)
    if output:
        frame.write_file(Path(output), note.encode())
    if as_json:
        frame.out_json({"code": code, "note": note})
        return 0
    if not output:
        for line in note.splitlines():
            frame.out(line)
    frame.out(f"Code: {code}")
    return 0
