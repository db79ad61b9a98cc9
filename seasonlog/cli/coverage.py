"""`seasonlog coverage`: which towers are proven for the season."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows


@click.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--review", metavar="TEXT", help="Write the yearly review: every tower not proven, and these words.")
@by_option
@log_option
@shows
@click.pass_obj
def coverage(
    obj: Frame, site: str, review: str | None, by: str | None, log: str | None, as_json: bool, today: str | None
) -> int:
    """Say of each tower whether it is proven for the season, and if not, why."""
    from seasonlog.services import board, registry

    with frame.writing(obj, log, by) if review else frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, site=site)
        day = frame.day_or(today, book)
        towers = (registry.of_site(book.db, site) if site else registry.towers_and_sites(book.db)).towers
        found = {t: board.covered(book, registry.of_tower(book.db, t), t, day) for t in towers}
        if review:
            board.write_review(book, found, review, day)
    if as_json:
        rows = [{"tower": t, "protection": str(c.protection), "reasons": list(c.reasons)} for t, c in found.items()]
        frame.out_json(rows)
    else:
        frame.table((t, c.protection.replace("_", " "), (c.reasons or ("",))[0]) for t, c in found.items())
    return 0
