"""`seasonlog calendar -o FILE`: the season's reminders."""

from pathlib import Path

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows
from seasonlog.domain.plain_words import counted


@click.command()
@click.option("-o", "--output", required=True, metavar="FILE", help="The calendar file to write, such as season.ics.")
@click.option("--technician", default="", metavar="NAME", help="Only what the published plan gives this person.")
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@log_option
@shows
@click.pass_obj
def calendar(
    obj: Frame, output: str, technician: str, site: str, log: str | None, as_json: bool, today: str | None
) -> int:
    """Write the season's reminders as an iCalendar file; importing it again updates, never doubles."""
    from seasonlog.services import plan, registry, season

    with frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, site=site)
        person = plan.planned_person(book, technician) if technician else ""
        data = season.calendar(book, frame.day_or(today, book), site=site, technician=person)
    frame.write_file(Path(output), data)
    events = data.count(b"BEGIN:VEVENT")
    if as_json:
        frame.out_json({"file": output, "events": events, "bytes": len(data)})
    else:
        frame.say(f"{counted(events, 'event')}.")
    return 0
