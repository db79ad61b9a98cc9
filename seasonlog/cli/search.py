"""`seasonlog search`: words looked for in everything that was written down."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option
from seasonlog.domain.text import as_stored
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.journal.search_queries import Hit

MOST_SHOWN = 120
"""Characters of a text shown in a line."""


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="WORDS...")
@click.option("--tower", default="", metavar="T", help="Only about this tower.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
@log_option
@click.pass_obj
def search(obj: Frame, words: tuple[str, ...], tower: str, as_json: bool, log: str | None) -> int:
    """Find words, as they stand, in notes, answers, reasons, findings, temporary changes and photos; newest first."""
    from dataclasses import asdict

    from seasonlog.journal.search_queries import search_log
    from seasonlog.services import registry
    from seasonlog.services.days import moment

    wanted = as_stored(" ".join(words)).strip()
    if not wanted:
        raise UsageError("Say what to look for.")
    with frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, tower=tower)
        found = search_log(book.db, wanted, tower=tower)
        units = {each: registry.units_of(book.db, each) for each in {hit.tower for hit in found}}
    if as_json:
        frame.out_json([asdict(hit) for hit in found])
        return 0
    for hit in found:
        about = "  ".join(each for each in (hit.tower, hit.ident, hit.visit, hit.step) if each)
        frame.out(f"{moment(hit.wall_ms):%Y-%m-%d}  {hit.what}  {about}  {hit.who}: {_told(hit, units[hit.tower])}")
    if not found:
        frame.say("Nothing contains that.")
    return 0


def _told(hit: "Hit", units: str) -> str:
    """As it stands, since that is what was looked for; a verdict also as people of the site read it."""
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, as_recorded, in_units

    text = hit.text if len(hit.text) <= MOST_SHOWN else f"{hit.text[:MOST_SHOWN]} ..."
    if hit.what not in ("answer", "finding"):
        return text
    read = in_units(text, units, IN_PLAIN_LETTERS)
    return text if read == as_recorded(text, IN_PLAIN_LETTERS) else f"{text} (read there as {read})"
