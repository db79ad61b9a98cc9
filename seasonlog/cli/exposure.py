"""`seasonlog exposure`: which towers are exposed tonight, ranked by what freezes first."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import number, rounded
from seasonlog.cli.frame import Frame, log_option, shows
from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units

if TYPE_CHECKING:
    from seasonlog.domain.exposure import Exposed
    from seasonlog.services.exposure import ExposureBoard, LastRecord, Placed

DESIGN = "each site's design temperature when not given"
NONE_YET = "none"


@click.command()
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@number("--outdoor-degf", "T", f"Forecast or supposed outdoor temperature; {DESIGN}.")
@number("--wind-mph", "V", "Forecast or supposed wind at the site; the customary design wind when not given.")
@log_option
@shows
@click.pass_obj
def exposure(
    obj: Frame, site: str, outdoor_degf: float | None, wind_mph: float | None, log: str | None, as_json: bool,
    today: str | None,
) -> int:  # fmt: skip
    """Which towers are exposed tonight, ranked by what freezes first.

    Exposed is a tower that holds water and is not proven for the season, has an open finding by which it can freeze,
    or whose proven heat does not cover the loss. Hours are low figures, from the water the basin is held at. One that
    nothing freezes at in this weather is named below and not ranked.
    """
    from seasonlog.services import exposure as service

    with frame.reading(obj, log) as book:
        board = service.exposure(book, frame.day_or(today, book), service.Asked(outdoor_degf, wind_mph, site))
        ages = frame.ages_of(book)
    if as_json:
        frame.out_json(rounded(document(board) | {"cautions": list(service.CAUTIONS)}))
    else:
        _words(board, service.CAUTIONS)
    frame.show_ages(ages, as_json=as_json)
    return 0


def document(board: "ExposureBoard") -> dict[str, Any]:
    """The board for a script."""
    return {
        "on": board.on.isoformat(),
        "outdoor_degf": board.asked.outdoor_degf,
        "wind_mph": board.asked.wind_mph,
        "exposed": [placed_document(each) for each in board.exposed],
        "not_now": [placed_document(each) for each in board.not_now],
        "cannot_tell": [asdict(each) for each in board.unjudged],
        "drained": [asdict(each) for each in board.drained],
        "covered": board.covered,
        "provisional": board.provisional,
    }


def placed_document(placed: "Placed") -> dict[str, Any]:
    """One exposed tower for a script."""
    found, first = placed.found, placed.found.first
    return {
        "rank": placed.rank or None,
        "tower": found.tower,
        "name": placed.name,
        "site": found.site,
        "water_degf": found.water_degf,
        "hours": None if first is None else first.hours,
        "freezes_first": None if first is None else str(first.kind),
        "weather": None if found.night is None else asdict(found.night),
        "reasons": list(found.reasons),
        "threats": [asdict(threat) | {"kind": str(threat.kind)} for threat in found.threats],
        "basins": [asdict(basin) | {"adequate": basin.adequate} for basin in found.basins],
        "winter": found.mode,
        "last_record": asdict(placed.last),
    }


def _words(board: "ExposureBoard", cautions: tuple[str, ...]) -> None:
    for placed in board.exposed:
        for line in lines_of(placed):
            frame.out(line)
    for placed in board.not_now:
        frame.out(_not_now(placed))
    for each in board.unjudged:
        frame.out(f"cannot tell  {each.site} {each.tower}: proven, but {each.why}")
    for drained in board.drained:
        frame.out(f"drained      {drained.site} {drained.tower}: {drained.words}")
    not_now = f"{len(board.not_now)} not proven but nothing freezes, " if board.not_now else ""
    if not board.has_towers:
        frame.say("No tower is on record: nothing can be said of tonight.")
    provisional = f", {board.provisional} of them provisionally" if board.provisional else ""
    frame.out(
        f"{len(board.exposed)} exposed, {not_now}{len(board.unjudged)} cannot tell, {len(board.drained)} drained, "
        f"{board.covered} proven with heat enough{provisional}"
    )
    for line in _notes(board):
        frame.out(line)
    for caution in cautions:
        frame.out(f"CAUTION: {caution}")


def _notes(board: "ExposureBoard") -> list[str]:
    """What the figures rest on, once each."""
    from seasonlog.domain.exposure import KIND_WORDS

    said = {t.kind: t.says for placed in board.exposed for t in placed.found.threats if t.says}
    return [_read(f"{KIND_WORDS[kind]}: {said[kind]}", board.units) for kind in sorted(said)]


def _read(text: str, units: str) -> str:
    """A line in the units of its site."""
    return in_units(text, units, IN_PLAIN_LETTERS)


def lines_of(placed: "Placed") -> list[str]:
    """One tower in words: what freezes first, then what, why, and what the record last says."""
    found = placed.found
    lines = [f"{placed.rank:>3}. {_head(placed)}  {found.tower} {placed.name}, {placed.site_name}"]
    lines += [f"       {line}" for line in (*_threats(found), f"why: {'; '.join(found.reasons)}", _last(placed.last))]
    return [_read(line, placed.units) for line in lines]


def short_lines(board: "ExposureBoard") -> list[str]:
    """The board with one line a tower, for the foot of another one."""
    lines = [_read(f"{p.rank:>4}. {_head(p)}  {p.found.tower}: {p.found.reasons[0]}", p.units) for p in board.exposed]
    lines += [f"      {_not_now(placed)}" for placed in board.not_now]
    lines += [f"      cannot tell  {each.tower}: proven, but {each.why}" for each in board.unjudged]
    lines += [f"      drained  {each.tower}: {each.words}" for each in board.drained if not each.proven]
    if not board.has_towers:
        return ["      no tower is on record: nothing can be said of tonight"]
    return lines or ["      no tower: each is proven with heat enough, or proven drained, as far as the record tells"]


def _head(placed: "Placed") -> str:
    from seasonlog.domain.exposure import KIND_WORDS
    from seasonlog.services.exposure import weather_words

    found, first = placed.found, placed.found.first
    if found.night is None:
        return "no weather known: give --outdoor-degf"
    weather = weather_words(found.night, placed.units)
    if first is None or first.hours is None:
        return f"no figure at {weather}"
    return f"{first.when}  {KIND_WORDS[first.kind]} at {weather}"


def _not_now(placed: "Placed") -> str:
    """One that is not ranked, with why it is named at all."""
    from seasonlog.services.exposure import weather_words

    found = placed.found
    weather = weather_words(found.night, placed.units) if found.night is not None else ""
    line = f"not proven, but nothing freezes at {weather}  {found.tower} {placed.name}: {'; '.join(found.reasons)}"
    return _read(line, placed.units)


def _threats(found: "Exposed") -> list[str]:
    figures = [threat for threat in found.threats if threat.hours is not None]
    lines = [f"{'first' if i == 0 else 'then '} {threat.when} {threat.what}" for i, threat in enumerate(figures)]
    return [*lines, *(f"no figure: {threat.what}: {threat.missing}" for threat in found.without_figure)]


def _last(last: "LastRecord") -> str:
    finding = f"{last.finding} {last.finding_words}" if last.finding else NONE_YET
    visit, read = last.visit_words or NONE_YET, last.readings_on or NONE_YET
    return f"record: last visit {visit}; newest finding {finding}; newest reading {read}"
