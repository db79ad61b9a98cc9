"""`seasonlog rebuild`: make the tables again from the entries."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import counted


@click.command()
@by_option
@log_option
@shows
@click.pass_obj
def rebuild(obj: Frame, by: str | None, log: str | None, as_json: bool, today: str | None) -> int:
    """Make the log's tables again from its entries; no entry changes."""
    from seasonlog.services.audit import rebuild_tables

    entries = rebuild_tables(frame.places_of(obj, log), frame.surroundings(), frame.bar())
    words = f"Rebuilt from {counted(entries, 'entry', 'entries')}."
    frame.out_json({"entries": entries}) if as_json else frame.say(words)
    return 0
