"""`seasonlog due`: what is due on a day."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from datetime import date

    from seasonlog.domain.season_due import DueItem, DueKey
    from seasonlog.services.logbook import Logbook


@click.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--tower", default="", metavar="TOWER", help="Only this tower.")
@click.option("--all", "everything", is_flag=True, help="Upcoming, done and dropped visits too.")
@click.option("--move", metavar="CHECKLIST", help="Move this visit of --tower to the day --to.")
@click.option("--drop", metavar="CHECKLIST", help="Drop this visit of --tower.")
@click.option(
    "--ordinal", type=click.IntRange(1, 99), help="Which visit of its kind, from 1; else the one due now or next."
)
@click.option("--to", metavar="DATE", help="The day it moves to.")
@click.option("--because", default="", metavar="TEXT", help="Why, for the record.")
@click.option("--forecast", metavar="FILE", help="Raise the cold-snap check of --site from a forecast, then list.")
@click.option("--unit", type=click.Choice(["degf", "degc", "tenths"]), help="Unit of a forecast that does not tell it.")
@by_option
@log_option
@shows
@click.pass_obj
def due(
    obj: Frame, site: str, tower: str, everything: bool, move: str | None, drop: str | None, ordinal: int | None,
    to: str | None, because: str, forecast: str | None, unit: str | None, by: str | None, log: str | None,
    as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """What is due on a day, the most pressing first."""
    if forecast is not None:
        if not site or any((tower, move, drop, to, because, ordinal)):
            raise UsageError("A forecast is for one site and goes alone: due --site SITE --forecast FILE.")
        _raise(obj, (site, forecast, unit), (by, log, today), as_json=as_json)
        if as_json:
            return 0
    elif unit:
        raise UsageError("--unit goes with --forecast FILE.")
    if move or drop:
        with frame.writing(obj, log, by) as book:
            _change(book, (tower, move, drop, ordinal), to, because, frame.day_or(today, book))
        return 0
    if to or because or ordinal:
        raise UsageError("--to, --because and --ordinal go with --move CHECKLIST or --drop CHECKLIST.")
    from seasonlog.domain.season_due import to_do
    from seasonlog.services import claims, registry, season

    with frame.reading(obj, log) as book:
        registry.refuse_unknown(book.db, site=site, tower=tower)
        day = frame.day_or(today, book)
        items = season.items(book, day, site=site, tower=tower)
        ages, claimed = frame.ages_of(book), claims.told(book)
    shown = items if everything else to_do(items)
    frame.out_json([_document(i, claimed) for i in shown]) if as_json else _words(
        shown, day, claimed, reasons=bool(tower)
    )
    frame.show_ages(ages, as_json=as_json)
    return 0


def _raise(
    obj: Frame, told: tuple[str, str, str | None], where: tuple[str | None, str | None, str | None], *, as_json: bool
) -> None:
    """The same as `seasonlog climate forecast`, which also takes nights typed and a preview."""
    from seasonlog.cli.climate_site import Told, raise_check

    (site, file, unit), (by, log, today) = told, where
    with frame.writing(obj, log, by) as book:
        raise_check(book, Told(site, file, unit=unit), frame.day_or(today, book), writes=True, as_json=as_json)


def _change(
    book: "Logbook", named: tuple[str, str | None, str | None, int | None], to: str | None, because: str, day: "date"
) -> None:
    from seasonlog.services import season

    tower, move, drop, ordinal = named
    if not tower or (move and drop) or (move and not to):
        raise UsageError(
            "Moving needs --tower T --move CHECKLIST --to DATE; dropping --tower T --drop CHECKLIST --because TEXT."
        )
    wanted = season.DueRequest(tower, move or drop or "", ordinal)
    if move:
        item = season.move(book, wanted, frame.day_from(to or "", "--to"), because, day)
        frame.say(
            f"{tower} {item.checklist} is planned for {item.planned.isoformat()};"
            f" last sensible day {item.due.isoformat()}."
        )
    else:
        item = season.drop(book, wanted, because, day)
        frame.say(f"{tower} {drop}, last sensible day {item.due.isoformat()}, is dropped: {because}")


def _document(item: "DueItem", claimed: "dict[DueKey, str]") -> dict[str, object]:
    return {
        "site": item.site,
        "tower": item.tower,
        "checklist": item.checklist,
        "season": item.season,
        "ordinal": item.ordinal,
        "opens": item.opens.isoformat(),
        "due": item.due.isoformat(),
        "planned": item.planned.isoformat(),
        "state": str(item.state),
        "why": item.why,
        "reason": item.reason,
        "claimed": claimed.get(item.key, ""),
    }


def _words(items: "tuple[DueItem, ...]", day: "date", claimed: "dict[DueKey, str]", *, reasons: bool) -> None:
    from seasonlog.domain.season_due import due_words

    if not items:
        frame.say(f"Nothing is due on {day.isoformat()}.")
        return
    frame.table((i.site, i.tower, i.checklist, due_words(i, day), claimed.get(i.key, "")) for i in items)
    for item in items if reasons else ():
        if item.reason:
            frame.out(f"{item.checklist} {item.ordinal}: {item.reason}")
