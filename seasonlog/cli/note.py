"""`seasonlog note`: words about a tower, a visit or a step."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option


@click.command()
@click.argument("tower", metavar="TOWER")
@click.argument("text", required=False, metavar="TEXT")
@click.option("--visit", default="", metavar="V", help="It is about this visit.")
@click.option("--step", default="", metavar="KEY", help="It is about this step of the visit.")
@by_option
@log_option
@click.pass_obj
def note(obj: Frame, tower: str, text: str | None, visit: str, step: str, by: str | None, log: str | None) -> int:
    """Leave a note that shows in the handover; without TEXT the newest notes are listed."""
    from seasonlog.services import notes

    if text is None:
        with frame.reading(obj, log) as book:
            for each in notes.of_tower(book, tower):
                frame.out(each)
        return 0
    with frame.writing(obj, log, by) as book:
        notes.leave(book, tower, text, visit, step)
        frame.say(f"noted about {tower}")
    return 0
