"""`seasonlog restore`: a copy of the log brought back."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option
from seasonlog.domain.plain_words import entries


@click.command()
@click.argument("file", metavar="FILE")
@click.option("--over", is_flag=True, help="There is a log here: move it aside. It is never written over.")
@log_option
@click.pass_obj
def restore(obj: Frame, file: str, over: bool, log: str | None) -> int:
    """Prove the copy FILE and make it the log; this device goes on in it as a new one."""
    from seasonlog.services.copies import restore as restored

    made = restored(frame.places_of(obj, log), Path(file), over=over, progress=frame.bar())
    frame.out(f"Restored: {entries(made.found.entries)}, proved.")
    if made.aside:
        frame.say(f"The log that was here lies at {made.aside}.")
    frame.say(
        "This device goes on in it as a new one. What was written after the copy comes back from another laptop's"
    )
    frame.say("bundle; a supervisor enrols this device for theirs.")
    return 0
