"""`seasonlog search`: words looked for in everything that was written down."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option
from seasonlog.domain.text import as_stored
from seasonlog.errors import UsageError

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
    if as_json:
        frame.out_json([asdict(hit) for hit in found])
        return 0
    for hit in found:
        about = "  ".join(each for each in (hit.tower, hit.ident, hit.visit, hit.step) if each)
        text = hit.text if len(hit.text) <= MOST_SHOWN else f"{hit.text[:MOST_SHOWN]} ..."
        frame.out(f"{moment(hit.wall_ms):%Y-%m-%d}  {hit.what}  {about}  {hit.who}: {text}")
    if not found:
        frame.say("Nothing contains that.")
    return 0
