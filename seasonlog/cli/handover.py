"""`seasonlog handover`: what changed at a site since this person last looked."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option

if TYPE_CHECKING:
    from seasonlog.services.board import Handover
    from seasonlog.services.logbook import Logbook


@click.command()
@click.argument("site", metavar="SITE")
@click.option("--read", "is_read", is_flag=True, help="I have read it: next time only what is newer is shown.")
@by_option
@log_option
@click.pass_obj
def handover(obj: Frame, site: str, is_read: bool, by: str | None, log: str | None) -> int:
    """What is still in place, then what is new since you last read it: findings, visits, notes."""
    from seasonlog.services import board, registry

    with frame.writing(obj, log, by) as book:
        registry.refuse_unknown(book.db, site=site)
        found = board.handover(book, site)
        _words(book, found)
        if is_read:
            board.handover_read(book, site)
            frame.say(f"{book.who} has read the handover of {site}.")
    return 1 if found.open_changes else 0


def _words(book: "Logbook", found: "Handover") -> None:
    from seasonlog.services import notes

    parts = [
        ("STILL IN PLACE", [f"{tower}: {words}" for tower, words in found.open_changes]),
        ("FINDINGS", [f"{f.id}  {f.tower}  {f.severity.replace('_', ' ')}, {f.state}: {f.title}"
                      for f in found.new_findings]),
        ("VISITS", [f"{v.day}  {v.tower}  {v.checklist}, {v.state.replace('_', ' ')}, {v.who}" for v in found.visits]),
        ("NOTES", [f"{n.tower}  {notes.words_of(book, n)}" for n in found.notes]),
    ]  # fmt: skip
    for title, lines in parts:
        if lines:
            frame.out(title)
        for line in lines:
            frame.out(f"  {line}")
    if not any(lines for _, lines in parts):
        frame.say("Nothing new since you last read it.")
