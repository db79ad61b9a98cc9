"""`seasonlog findings`: what is wrong and needs a person."""

from datetime import date
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.calc_frame import LIVE_CAUTION
from seasonlog.cli.frame import Frame, by_option, log_option, shows

if TYPE_CHECKING:
    from seasonlog.domain.finding import Finding


@click.group(invoke_without_command=True)
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--tower", default="", metavar="TOWER", help="Only this tower.")
@click.option("--all", "everything", is_flag=True, help="Closed ones too.")
@click.option("--tonight", is_flag=True, help="Only those that leave a tower unprotected tonight.")
@log_option
@shows
@click.pass_context
def findings(
    ctx: click.Context, site: str, tower: str, everything: bool, tonight: bool, log: str | None, as_json: bool,
    today: str | None,
) -> int:  # fmt: skip
    """List findings, worst first; the sub-commands change one."""
    obj: Frame = ctx.obj
    obj.log = log if log is not None else obj.log
    if ctx.invoked_subcommand is not None:
        return 0
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS
    from seasonlog.services import findings as service
    from seasonlog.services import registry

    with frame.reading(obj, None) as book:
        registry.refuse_unknown(book.db, site=site, tower=tower)
        day = frame.day_or(today, book)
        list_of = service.all_findings if everything else service.open_findings
        found = list_of(book, site=site, tower=tower)
        found = service.tonight(found, day) if tonight else found
        told = [] if as_json else service.as_read(book, found, IN_PLAIN_LETTERS)
        ages = frame.ages_of(book)
    if as_json:
        frame.out_json([document(f, day) for f in found])
    else:
        _words(told, day)
    frame.show_ages(ages, as_json=as_json)
    return 0


def document(finding: "Finding", day: date | None = None) -> dict[str, object]:
    """A finding for a script."""
    state = finding.state_on(day) if day else finding.state
    return finding.to_doc() | {"severity": str(finding.severity), "state": str(state), "step": finding.step}


def _words(found: "list[Finding]", day: date) -> None:
    if not found:
        frame.say("No findings.")
    for f in found:
        frame.out(f"{f.id}  {f.severity.replace('_', ' ')}  {f.tower}  {f.state_on(day)}  {f.title}")
        frame.out(f"    {f.says}")
        for name, text in _details(f):
            if text:
                frame.out(f"    {name}: {text}")
    if any(f.causes for f in found):
        frame.out(LIVE_CAUTION)  # the next tests above may be live work


def _details(f: "Finding") -> list[tuple[str, str]]:
    from seasonlog.services.findings import retest_words

    return [
        ("reopened", f.doubt),
        ("unprotected tonight", f.unprotected),
        *(("may be", f"{cause['says']}; next: {cause['next_test']}") for cause in f.causes),
        ("parts", ", ".join(f.parts)),
        ("ordered and fitted", "; ".join(f.part_stages)),
        ("retest", retest_words(f)),
        ("repair", "; ".join(f.offers)),
        ("with", f"{f.assigned}, due {f.assigned_due}" if f.assigned_due else f.assigned),
        ("for now", "; ".join(f.measures)),
        ("accepted", f.accepted_words),
        ("closed", f.closed_words),
    ]


def _told(finding: "Finding") -> int:
    frame.say(f"{finding.id} is {finding.state}.")
    return 0


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option("--to", required=True, metavar="NAME", help="Who is to see to it.")
@click.option("--due", metavar="DATE", help="By when.")
@by_option
@log_option
@click.pass_obj
def assign(obj: Frame, ident: str, to: str, due: str | None, by: str | None, log: str | None) -> int:
    """Give a finding to somebody."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        return _told(service.assign(book, ident, to, frame.day_from(due, "--due") if due else None))


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option(
    "--measure", required=True, metavar="TEXT", help="Drained and locked, pump kept running, portable heat ..."
)
@click.option("--told", required=True, metavar="NAME", help="Who was told.")
@click.option("--at", "told_at", required=True, metavar="TIME", help="When, in words.")
@by_option
@log_option
@click.pass_obj
def measure(obj: Frame, ident: str, measure: str, told: str, told_at: str, by: str | None, log: str | None) -> int:
    """Record what gets the tower through the night, and who was told."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        return _told(service.take_measure(book, ident, measure, told, told_at))


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option("--part", required=True, metavar="TEXT", help="What part.")
@click.option("--stage", required=True, type=click.Choice(["ordered", "promised", "fitted"]))
@click.option("--on", "on", required=True, metavar="DATE", help="The day.")
@by_option
@log_option
@click.pass_obj
def part(obj: Frame, ident: str, part: str, stage: str, on: str, by: str | None, log: str | None) -> int:
    """Record a part ordered, promised or fitted."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        found = service.note_part(book, ident, part, stage, frame.day_from(on, "--on"))
    if stage == "fitted":
        frame.say(f"{found.id}: {service.retest_words(found)}")
    return _told(found)


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option("--answer", required=True, type=click.Choice(["offered", "accepted", "declined"]))
@click.option("--customer", default="", metavar="NAME", help="Who of the customer answered.")
@click.option("--words", default="", metavar="TEXT", help="Their words; declined needs them.")
@click.option("--visit", default="", metavar="V", help="The visit it was offered in.")
@by_option
@log_option
@click.pass_obj
def repair(
    obj: Frame, ident: str, answer: str, customer: str, words: str, visit: str, by: str | None, log: str | None
) -> int:
    """Record that a repair was offered, accepted or declined; it shows on the customer's page."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        found = service.answer_offer(book, ident, answer, customer, words, visit)
    frame.say(f"{found.id}: repair {found.offers[-1]}")
    return 0


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option("--customer", required=True, metavar="NAME", help="The customer's decision-maker.")
@click.option("--until", required=True, metavar="DATE", help="End date; it is open again after it.")
@click.option("--because", required=True, metavar="TEXT", help="Why it can wait.")
@by_option
@log_option
@click.pass_obj
def accept(obj: Frame, ident: str, customer: str, until: str, because: str, by: str | None, log: str | None) -> int:
    """A supervisor accepts a finding, with the customer, until a day."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        return _told(service.accept(book, ident, customer, frame.day_from(until, "--until"), because))


@findings.command()
@click.argument("ident", metavar="FINDING")
@click.option("--because", required=True, metavar="TEXT", help="What was done.")
@by_option
@log_option
@click.pass_obj
def close(obj: Frame, ident: str, because: str, by: str | None, log: str | None) -> int:
    """Close a finding in words; one that can freeze, burn or shock closes only by a passed retest."""
    from seasonlog.services import findings as service

    with frame.writing(obj, log, by) as book:
        return _told(service.close(book, ident, because))
