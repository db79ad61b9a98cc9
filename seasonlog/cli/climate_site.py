"""`seasonlog climate import`, `show` and `forecast`: a site's own climate in the log."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from seasonlog.calc.freeze_chances import Side
from seasonlog.calc.season_days import MonthDay
from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.climate_record import Basis, chance_words, chances_words, month_day
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from datetime import date

    from seasonlog.domain.season import Window
    from seasonlog.services.climate import HandedIn, Looked, SiteBasis
    from seasonlog.services.cold_snap import Snap
    from seasonlog.services.logbook import Logbook

CAUTION = (
    "CAUTION: dates of past winters at a station's screen, which reads warmer than a roof under a clear sky. The "
    "forecast decides, and a heater is proven before it is needed."
)
_UNITS = click.Choice(["degf", "degc", "tenths"])


@click.command("import")
@click.argument("file", metavar="[FILE]", required=False)
@click.option("--site", required=True, metavar="SITE", help="Whose climate it is.")
@click.option("--normals", multiple=True, metavar="FILE", help="NCEI normals; their dates count before the record's.")
@click.option(
    "--threshold-degf", type=click.Choice(["32", "36"]), default="32", help="The freeze that counts; 32 else."
)
@click.option("--unit", type=_UNITS, help="Unit of a daily file that does not tell it.")
@click.option("--station", metavar="ID", default="", help="The station wanted, where a file holds several.")
@click.option("--rounding", type=click.Choice(["whole-degf", "none"]), help="Round to whole degF first or not.")
@click.option("--since", type=int, metavar="YEAR", help="First season; the last 30 whole ones when not given.")
@click.option("--seed", type=click.IntRange(0, 2**31), default=1, metavar="N", help="Start of the random draw; 1 else.")
@click.option("--preview", is_flag=True, help="Show what would follow; write nothing.")
@by_option
@log_option
@shows
@click.pass_obj
def import_(
    obj: Frame, /, file: str | None, site: str, normals: Sequence[str], threshold_degf: str, preview: bool,
    by: str | None, log: str | None, as_json: bool, today: str | None, **how: Any,
) -> int:  # fmt: skip
    """Take a site's dates from a weather record, or from published normals.

    seasonlog climate import albany.csv --site HOS --by "Halden Pruskett"
    """
    from seasonlog.services import climate
    from seasonlog.services.climate_study import HowToRead

    record = None if file is None else _handed_in(file)
    given = [_handed_in(each) for each in normals]
    asked = climate.Import(site, record, given, int(threshold_degf), HowToRead(**how))
    with frame.reading(obj, log) if preview else frame.writing(obj, log, by) as book:
        looked = climate.look(book, asked)
        day = frame.day_or(today, book)
        found = climate.basis_of(looked.site, looked.climate, day)
        written = not preview and climate.keep(book, looked)
        before = climate.basis_of(looked.site, looked.before, day)
    frame.out_json(_document(found) | {"written": written}) if as_json else _imported(found, before)
    frame.say(_what_became(looked, preview))
    return 0


@click.command("show")
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@log_option
@shows
@click.pass_obj
def show_(obj: Frame, site: str, log: str | None, as_json: bool, today: str | None) -> int:
    """Whose dates each site's windows rest on, how likely they are and how far they may be off."""
    from seasonlog.services import climate

    with frame.reading(obj, log) as book:
        found = climate.bases(book, frame.day_or(today, book), site)
    if as_json:
        frame.out_json([_document(each) for each in found])
        return 0
    for each in found:
        for line in _words(each):
            frame.out(line)
    frame.out(CAUTION)
    return 0


@click.command("forecast")
@click.argument("file", metavar="[FILE]", required=False)
@click.option("--site", required=True, metavar="SITE", help="The site it is for.")
@click.option("--low", multiple=True, metavar="DATE=T", help="Typed instead: 2026-12-05=8, or =-13C; may be repeated.")
@click.option("--unit", type=_UNITS, help="Unit of a file that does not tell it.")
@click.option("--preview", is_flag=True, help="Show what would follow; write nothing.")
@by_option
@log_option
@shows
@click.pass_obj
def forecast(
    obj: Frame, file: str | None, site: str, low: Sequence[str], unit: str | None, preview: bool,
    by: str | None, log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Raise a cold-snap check on a site's wet towers before the first night of hard frost that is forecast.

    A typed low without a unit is read in the site's own: degF, or degC where the register has the site in si. Write 8F
    or -13C to be sure; the nights are told in both units as they were read.

    seasonlog climate forecast week.csv --site HOS --by "Halden Pruskett"
    """
    if (file is None) == (not low):
        raise UsageError("Give a forecast FILE, or each night as --low DATE=T.")
    told = Told(site, file, tuple(low), unit)
    with frame.reading(obj, log) if preview else frame.writing(obj, log, by) as book:
        raise_check(book, told, frame.day_or(today, book), writes=not preview, as_json=as_json)
    return 0


class Told(NamedTuple):
    """A forecast as it was handed in: a file, or nights typed."""

    site: str
    file: str | None
    low: tuple[str, ...] = ()
    unit: str | None = None


def raise_check(book: "Logbook", told: Told, day: "date", *, writes: bool, as_json: bool) -> None:
    """What follows from a forecast, written where it is to be, and told.

    Args:
        book: The log, opened for writing where `writes`.
        told: The forecast.
        day: Nights before it are over.
        writes: Raise it; else only say what would follow.
        as_json: One document instead of words.
    """
    from seasonlog.services import cold_snap, registry
    from seasonlog.services.climate_study import HowToRead

    registry.refuse_unknown(book.db, site=told.site)
    if told.file is None:
        where = registry.site(book.db, told.site)
        lows = cold_snap.typed(told.low, "us" if where is None else where.units)
    else:
        lows = cold_snap.from_file(frame.file_bytes(told.file), told.file, HowToRead(told.unit))
    snap = cold_snap.look(book, told.site, lows, day)
    if writes:
        cold_snap.keep(book, snap)
    frame.out_json(_snap_document(snap, written=writes)) if as_json else _snap_words(snap)


def _handed_in(path: str) -> "HandedIn":
    from seasonlog.services.climate import HandedIn

    return HandedIn(path, frame.file_bytes(path))


def _imported(found: "SiteBasis", before: "SiteBasis") -> None:
    for line in _words(found):
        frame.out(line)
    for new, old in ((found.windows[0], before.windows[0]), (found.windows[-1], before.windows[-1])):
        frame.out(f"  {new.checklist}: {old.opens} to {old.due} before, {new.opens} to {new.due} with this")
    climate = found.climate
    for note in climate.body["notes"] if climate is not None else ():
        frame.out(f"  {note}")
    frame.out(CAUTION)


def _what_became(looked: "Looked", preview: bool) -> str:
    if preview:
        return "Preview: nothing was written."
    if not looked.is_new:
        return f"The log holds exactly this for site {looked.site.id} already; nothing was written."
    replaced = "" if looked.before is None else f", in place of the one of {looked.before.on}"
    return f"The climate of site {looked.site.id} is in the log{replaced}."


def _words(found: "SiteBasis") -> Iterator[str]:
    site, climate = found.site, found.climate
    typed = f"typed: first freeze usually {_day(site.first_freeze)}, last {_day(site.last_freeze)}"
    if climate is None:
        yield f"{site.id}  {typed}; no record, chances not known"
    elif climate.basis is Basis.TYPED:
        yield f"{site.id}  {typed}; the record of {climate.on} does not serve: {climate.because}"
    else:
        entered = f"; entered {climate.on} by {climate.who}" if climate.who else ""
        yield f"{site.id}  {climate.source}, at {climate.threshold_degf} degF{entered}"
        for side in Side:
            told = climate.side(side)
            yield f"  {chances_words(side, told, climate.basis)}; {chance_words(told, climate.basis)}"
        yield f"  error: {_error(found)}"
    if climate is not None and (coldest := climate.body.get("coldest")):
        begins, ends = (_day(coldest[each]) for each in ("begins", "ends"))
        yield f"  coldest: {begins} to {ends}, lowest temperatures of {coldest['mean_degf']} degF on average"
    for window in (found.windows[0], found.windows[-1]):
        yield f"  {window.checklist} {window.opens} to {window.due}: {window.reason}"


def _error(found: "SiteBasis") -> str:
    """How far the dates may be off, in words."""
    climate = found.climate
    if climate is None:
        return "not known"
    words = str(climate.body["used"]["error"])
    if climate.basis is not Basis.RAW:
        return words
    days = [f"{side} " + " / ".join(climate.side(side)["raw_error_days"].values()) for side in Side]
    return f"{', '.join(days)} days at 10 / 50 / 90 %: {words}"


def _day(text: str) -> str:
    found: MonthDay = month_day(text)
    return found.words


def _document(found: "SiteBasis") -> dict[str, Any]:
    site, climate = found.site, found.climate
    return {
        "site": site.id,
        "basis": str(Basis.TYPED if climate is None else climate.basis),
        "typed": {"first": site.first_freeze, "last": site.last_freeze},
        "source": "" if climate is None or climate.basis is Basis.TYPED else climate.source,
        "error": "" if climate is None else _error(found),
        "entered": None if climate is None or not climate.who else {"on": climate.on.isoformat(), "by": climate.who},
        "record": None if climate is None else dict(climate.body),
        "windows": [_window(each) for each in found.windows],
        "caution": CAUTION,
    }


def _window(window: "Window") -> dict[str, Any]:
    return {
        "checklist": window.checklist, "ordinal": window.ordinal, "opens": window.opens.isoformat(),
        "due": window.due.isoformat(), "reason": window.reason,
    }  # fmt: skip


def _snap_words(snap: "Snap") -> None:
    from seasonlog.services.cold_snap import as_read, says

    frame.out(f"{snap.site.id}: {as_read(snap)}")
    if not snap.nights:
        frame.say(f"{snap.site.id}: no night at or below {snap.threshold_degf:g} degF is forecast; nothing is raised.")
        return
    frame.out(f"{snap.site.id}: {says(snap)}")
    if not snap.towers:
        frame.say(f"No tower of {snap.site.id} holds water then; nothing is raised.")
    elif snap.record is None and snap.known is not None:
        nights = _span(snap.known.night, snap.known.last_night)
        frame.say(f"Raised before, on {snap.known.raised}, for {nights}; nothing was written.")
    else:
        frame.out(f"cold-snap check due by {snap.due} on {', '.join(snap.towers)}")


def _span(first: object, last: object) -> str:
    return f"{first}" if first == last else f"{first} to {last}"


def _snap_document(snap: "Snap", *, written: bool) -> dict[str, Any]:
    return {
        "site": snap.site.id,
        "threshold_degf": snap.threshold_degf,
        "lows_degf": {night.isoformat(): low for night, low in snap.lows_degf.items()},
        "nights": [night.isoformat() for night in snap.nights],
        "towers": list(snap.towers),
        "due": None if snap.due is None else snap.due.isoformat(),
        "raised_before": None if snap.known is None else snap.known.raised.isoformat(),
        "written": written and snap.record is not None,
    }
