"""`seasonlog audit`: the auditor's screen. Writes nothing."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows

if TYPE_CHECKING:
    from seasonlog.services.logbook import Logbook


@click.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--bundle", "target", metavar="FILE", help="Write the evidence as a bundle to this file, and end.")
@log_option
@shows
@click.pass_obj
def audit(obj: Frame, site: str, target: str | None, log: str | None, as_json: bool, today: str | None) -> int:
    """Open the auditor's screen: what is missing first, the evidence behind it, and the proof of the log.

    Nothing is written: no entry, no table, no step to a newer version. A log on a read-only medium opens as it lies;
    one of an older version is brought up to date in memory. Without a terminal the gaps are listed.
    """
    from seasonlog.services.logbook import Logbook

    book = Logbook.open_untouched(frame.places_of(obj, log), frame.surroundings())
    with book:
        if target is not None:
            return _bundle(book, target)
        if frame.is_terminal() and not as_json:
            from seasonlog.tui.auditor import run_audit

            run_audit(book, site, frame.day_from(today, "--today") if today else None)
            return 0
        from seasonlog.cli.coverage import show_table
        from seasonlog.services.coverage import SEASONS

        return show_table(book, site, SEASONS, frame.day_or(today, book), as_json=as_json)


def _bundle(book: "Logbook", target: str) -> int:
    from pathlib import Path

    from seasonlog.services.audit_export import evidence

    frame.write_file(Path(target), evidence(book))
    return 0
