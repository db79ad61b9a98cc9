"""`seasonlog today`: the morning's sheet, per person, and what is exposed tonight."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import rounded
from seasonlog.cli.exposure import document as exposure_document
from seasonlog.cli.exposure import short_lines
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import counted

if TYPE_CHECKING:
    from seasonlog.services.day_sheet import DaySheets, Sheet, Stop
    from seasonlog.services.today import OpenVisit


@click.command()
@by_option
@log_option
@shows
@click.pass_obj
def today(obj: Frame, by: str | None, log: str | None, as_json: bool, today: str | None) -> int:
    """Who goes where today, with access, permits and missing parts; below it what is exposed tonight.

    With --by only that person, and the sites that nobody has yet.
    """
    from seasonlog.services.corrections import undecided
    from seasonlog.services.day_sheet import day_sheets
    from seasonlog.services.exposure import CAUTIONS

    with frame.reading(obj, log) as book:
        found = day_sheets(book, frame.day_or(today, book), by or "")
        waiting = len(undecided(book))
        ages = frame.ages_of(book)
    if as_json:
        frame.out_json(rounded(_document(found) | {"to_decide": waiting, "cautions": list(CAUTIONS)}))
    else:
        _words(found, CAUTIONS)
        if waiting:
            steps = counted(waiting, "step")
            frame.out(f"TO DECIDE: {steps} with answers that contradict each other (seasonlog conflicts)")
    frame.show_ages(ages, as_json=as_json)
    return 0


def _document(found: "DaySheets") -> dict[str, Any]:
    sheets = [
        {
            "person": sheet.person,
            "open_visits": [_visit(visit) for visit in sheet.open_visits],
            "stops": [_stop(stop) for stop in sheet.stops],
        }
        for sheet in found.sheets
    ]
    tonight = exposure_document(found.exposed)
    return {"on": found.on.isoformat(), "people": sheets, "not_known": found.stranger or None, "tonight": tonight}


def _stop(stop: "Stop") -> dict[str, Any]:
    return asdict(stop) | {"visits": [asdict(each) | {"due": each.due.isoformat()} for each in stop.visits]}


def _visit(visit: "OpenVisit") -> dict[str, Any]:
    of = visit.visit
    done = {"answered": visit.answered, "steps": visit.steps}
    return {"visit": of.id, "tower": of.tower, "checklist": of.checklist, "started": of.day} | done


def _words(found: "DaySheets", cautions: tuple[str, ...]) -> None:
    if found.stranger:
        frame.say(
            f"{found.stranger} is not in the register and has made no visit; `seasonlog register list person` names "
            "everybody."
        )
    for sheet in found.sheets:
        _sheet(sheet)
    if not found.sheets:
        frame.say(f"Nothing is due on {found.on.isoformat()}.")
    frame.out("NOT PROVEN TONIGHT")
    for line in short_lines(found.exposed):
        frame.out(line)
    for caution in cautions:
        frame.out(f"CAUTION: {caution}")


def _sheet(sheet: "Sheet") -> None:
    frame.out(sheet.person or "NOBODY YET (sites without a visit)")
    for visit in sheet.open_visits:
        progress = f"{visit.answered} of {visit.steps} answered"
        frame.out(f"  go on with {visit.visit.tower} {visit.title}, started {visit.visit.day}, {progress}")
    site = ""
    for number, stop in enumerate(sheet.stops, 1):
        frame.out(f"{number:>4}. {stop.tower} {stop.name}, {stop.site_name}: {_due(stop)}")
        for name, text in _needs(stop, told=stop.site == site):
            if text:
                frame.out(f"        {name}: {text}")
        site = stop.site


def _due(stop: "Stop") -> str:
    return "; ".join(f"{each.checklist} {each.words}" for each in stop.visits)


def _claims(stop: "Stop") -> str:
    return "; ".join(f"{each.checklist} {each.claimed}" for each in stop.visits if each.claimed)


def _needs(stop: "Stop", *, told: bool) -> list[tuple[str, str]]:
    """What is wanted to work there; what was told at the tower before is not told again."""
    about = [] if told else [("access", stop.access), ("permits", stop.permits), ("roof", stop.roof_note)]
    findings = ", ".join(stop.findings)
    return [
        ("taken on", _claims(stop)),
        *about,
        ("parts not fitted", "; ".join(stop.parts_missing)),
        ("open findings", findings),
    ]
