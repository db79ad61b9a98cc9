"""`seasonlog backup`: a copy of the log, proved."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option
from seasonlog.domain.plain_words import counted, entries


@click.command()
@click.argument("file", metavar="FILE")
@log_option
@click.pass_obj
def backup(obj: Frame, file: str, log: str | None) -> int:
    """Copy the log into the new FILE, also while it is written to, and prove the copy."""
    from seasonlog.services.copies import backup as copied

    made = copied(frame.places_of(obj, log), Path(file), frame.bar())
    frame.out(f"{file}: {entries(made.found.entries)}, proved.")
    frame.say("The device's key is not in it: whoever restores it goes on as a new device.")
    if made.beside:
        files = counted(made.beside, "photo, clip or contact detail", "photos, clips and contact details")
        frame.say(f"Not in it, but beside the log: {files}; `seasonlog bundle export --with-contacts` takes all.")
    return 0
