"""`seasonlog plan`: who does which tower on which day; a draft, the published plan, a repaired one."""

import re
import sys
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.domain.plain_words import counted
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from datetime import date

    from seasonlog.planning.vrp import Progress
    from seasonlog.services.logbook import Logbook
    from seasonlog.services.plan import Absence, Addition, Request, Workplan

_F = Any
_CELLS = 30
_AWAY = re.compile(
    r"(?P<name>[^:]+):(?P<first>\d{4}-\d\d-\d\d)(?:@(?P<hour>[01]\d|2[0-3]):(?P<minute>[0-5]\d))?(?P<last>\.\..*)?",
    re.ASCII,
)


def _what(function: _F) -> _F:
    """What is to be planned: the options that a draft takes."""
    for option in (
        click.option("--seconds", type=click.FloatRange(0, 3600), default=0.0, metavar="S",
                     help="Let PyVRP look for less driving for so long; needs the extra `plan`."),
        click.option("--file", "file", metavar="FILE", help="The plan file; else the one of the published plan."),
        click.option("--days", type=click.IntRange(1, 400), metavar="N", help="Days the plan covers; usually 28."),
        click.option("--from", "first", metavar="DATE", help="First day to plan; else today."),
    ):  # fmt: skip
        function = option(function)
    return function


@click.group(invoke_without_command=True)
@_what
@log_option
@shows
@click.pass_context
def plan(
    ctx: click.Context, first: str | None, days: int | None, file: str | None, seconds: float, log: str | None,
    as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Draft who does which tower on which day; the sub-commands publish, show and repair it."""
    obj: Frame = ctx.obj
    obj.log = log if log is not None else obj.log
    if ctx.invoked_subcommand is not None:
        return 0
    from seasonlog.services import plan_draft

    with frame.reading(obj, None) as book:
        work = _draft(book, _request(book, today, first, days, file, seconds))
        plan_draft.keep(book, work)
        _told(work, as_json)
    frame.say("This is a draft, kept beside the log; `seasonlog plan publish` writes it into the log.")
    return _code(work)


def _request(
    book: "Logbook", today: str | None, first: str | None, days: int | None, file: str | None, seconds: float = 0
) -> "Request":
    from seasonlog.services import plan as service

    day = frame.day_or(today, book)
    text = service.read_file(frame.file_bytes(file), file) if file is not None else None
    begins = frame.day_from(first, "--from") if first else day
    return service.Request(day, begins, days or service.USUAL_DAYS, text, seconds)


def _draft(book: "Logbook", wanted: "Request") -> "Workplan":
    from seasonlog.services import plan as service

    bar = _Bar(wanted.seconds) if wanted.seconds and frame.shows_progress() else None
    work = service.draft(book, wanted, bar)
    if bar is not None:
        frame.say("")
    return work


class _Bar:
    """A line that fills while the search goes on; only where it can be drawn over."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds

    def __call__(self, progress: "Progress") -> None:
        """Drawn over the last one."""
        filled = round(_CELLS * min(progress.seconds / self._seconds, 1.0))
        words = f"{progress.travel_minutes / 60:.0f} h on the road, {progress.left_out} left out"
        print(f"\r[{'#' * filled}{'.' * (_CELLS - filled)}] {words} ", end="", file=sys.stderr, flush=True)


def _code(work: "Workplan") -> int:
    """1 when a visit that cannot wait has nobody."""
    from seasonlog.services.plan_rows import unplaced

    return 1 if any(not each.can_wait for each in unplaced(work)) else 0


def _told(work: "Workplan", as_json: bool) -> None:
    from seasonlog.services import plan_rows

    if as_json:
        frame.out_json(plan_rows.document(work))
        return
    from seasonlog.cli.plan_words import tell

    tell(work)


@plan.command()
@_what
@click.option("--because", default="", metavar="TEXT", help="Why it was changed, for the record.")
@by_option
@log_option
@shows
@click.pass_obj
def publish(
    obj: Frame, first: str | None, days: int | None, file: str | None, seconds: float, because: str, by: str | None,
    log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Write the draft into the log; with --file, --from, --days or --seconds a new draft is made first."""
    from seasonlog.services import plan_draft

    with frame.writing(obj, log, by) as book:
        if first or days or file or seconds:
            work = _draft(book, _request(book, today, first, days, file, seconds))
        else:
            kept = plan_draft.kept(book, frame.day_or(today, book))
            if kept is None:
                raise UsageError("There is no draft to publish; `seasonlog plan --file plan.toml` makes one.")
            work = kept
        if not as_json:
            from seasonlog.cli.plan_words import tell_moves

            tell_moves(work)
        _publish(book, work, because, as_json)
    return _code(work)


def _publish(book: "Logbook", work: "Workplan", because: str, as_json: bool) -> None:
    from seasonlog.services import plan as service
    from seasonlog.services import plan_draft

    wrote = service.publish(book, work, because)
    plan_draft.forget(book.places)
    if as_json:
        frame.out_json({"planned": wrote.planned, "taken_out": wrote.taken_out, "entries": wrote.entries})
    visits = counted(wrote.planned, "visit")
    words = f"Published: {visits} with a new person, day or time, {wrote.taken_out} with nobody."
    frame.say(words if wrote.entries else "Nothing is new; nothing was written.")


@plan.command()
@click.option("--person", default="", metavar="NAME", help="Only this person.")
@click.option("--draft", is_flag=True, help="The draft instead of the published plan.")
@log_option
@shows
@click.pass_obj
def show(obj: Frame, person: str, draft: bool, log: str | None, as_json: bool, today: str | None) -> int:
    """The published plan: who goes where when, what has nobody, how the windows are covered."""
    from seasonlog.services import plan as service
    from seasonlog.services import plan_draft

    with frame.reading(obj, log) as book:
        day = frame.day_or(today, book)
        work = plan_draft.kept(book, day) if draft else service.published(book, day)
        if work is None:
            none = "There is no draft." if draft else "No plan is published; `seasonlog plan` drafts one."
            raise UsageError(none)
        _told(service.of_person(work, person) if person else work, as_json)
    return 1 if work.broken else _code(work)


@plan.command()
@click.option("--away", multiple=True, metavar="NAME:DATE[@HH:MM][..DATE]",
              help="Somebody cannot work on these days, the first from a time on if given.")  # fmt: skip
@click.option("--add", "added", multiple=True, metavar="TOWER:CHECKLIST:DATE[..DATE]",
              help="One more visit, to be made on one of these days.")  # fmt: skip
@click.option("--findings", is_flag=True, help="Take in what open findings and new heaters ask for.")
@click.option("--from", "first", metavar="DATE", help="First day that may be changed; else today.")
@click.option("--days", type=click.IntRange(1, 400), metavar="N", help="Days that are looked at; usually 28.")
@click.option("--file", "file", metavar="FILE", help="A new plan file.")
@click.option("--because", default="", metavar="TEXT", help="Why, for the record.")
@click.option("--publish", "publishes", is_flag=True, help="Write the repaired plan into the log at once.")
@by_option
@log_option
@shows
@click.pass_obj
def replan(
    obj: Frame, away: tuple[str, ...], added: tuple[str, ...], findings: bool, first: str | None, days: int | None,
    file: str | None, because: str, publishes: bool, by: str | None, log: str | None, as_json: bool, today: str | None,
) -> int:  # fmt: skip
    """Repair the published plan: what is done stays, what can stay stays; says what moved."""
    from seasonlog.services import plan as service
    from seasonlog.services import plan_draft

    absences, additions = [_away(each) for each in away], [_add(each, because) for each in added]
    with frame.writing(obj, log, by) if publishes else frame.reading(obj, log) as book:
        wanted = replace(_request(book, today, first, days, file), findings=findings)
        work = service.replanned(book, wanted, absences, additions)
        if not as_json or not publishes:
            _told(work, as_json)
        if publishes:
            _publish(book, work, because, as_json)
        else:
            plan_draft.keep(book, work)
            frame.say("This is a draft; with --publish, or by `seasonlog plan publish`, it is written into the log.")
    return _code(work)


@plan.command()
@click.argument("tower", metavar="TOWER")
@click.argument("checklist", metavar="CHECKLIST")
@click.option("--give-up", is_flag=True, help="You do not make it after all.")
@by_option
@log_option
@click.option("--today", metavar="DATE", help="As if it were this day (YYYY-MM-DD).")
@click.pass_obj
def claim(
    obj: Frame, tower: str, checklist: str, give_up: bool, by: str | None, log: str | None, today: str | None
) -> int:
    """Tell the others that you make a due visit. No lock: who begins it elsewhere is told, both results are kept."""
    from seasonlog.services import claims

    with frame.writing(obj, log, by) as book:
        day = frame.day_or(today, book)
        key = claims.give_up(book, tower, checklist) if give_up else claims.claim(book, tower, checklist, day)
        said = "is given up" if give_up else f"is claimed by {book.who}"
        frame.out(f"{key.tower} {key.checklist} {key.season}, number {key.ordinal}, {said}.")
        for words in claims.warnings(book, tower, checklist, day):
            frame.say(f"TAKEN ALREADY: {words}")
    return 0


def _away(text: str) -> "Absence":
    from seasonlog.services.plan import Absence

    found = _AWAY.fullmatch(text)
    if found is None or not found["name"].strip():
        raise UsageError(f'--away "{text}" is not NAME:DATE, NAME:DATE@HH:MM or NAME:DATE..DATE.')
    begins, ends = _days(found["first"] + (found["last"] or ""), "--away")
    return Absence(found["name"].strip(), begins, ends, int(found["hour"] or 0) * 60 + int(found["minute"] or 0))


def _add(text: str, why: str) -> "Addition":
    from seasonlog.services.plan import Addition

    parts = text.split(":")
    if len(parts) != len(("tower", "checklist", "days")):
        raise UsageError(f'--add "{text}" is not TOWER:CHECKLIST:DATE or TOWER:CHECKLIST:DATE..DATE.')
    return Addition(parts[0], parts[1], *_days(parts[2], "--add"), why)


def _days(text: str, where: str) -> "tuple[date, date]":
    first, dots, last = text.partition("..")
    begins = frame.day_from(first, where)
    ends = frame.day_from(last, where) if dots else begins
    if not 0 <= (ends - begins).days <= 400:
        raise UsageError(f'{where} "{text}" must go forward, by 400 days at most.')
    return begins, ends
