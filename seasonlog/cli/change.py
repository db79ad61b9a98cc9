"""`seasonlog change`: temporary changes, recorded when made and when undone."""

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option

_CHANGES = ("jumper", "lifted wire", "bulb out of its well", "dial moved", "lock on", "valve shut", "other")


@click.group()
def change() -> None:
    """Jumpers in, wires lifted, locks on: list, make, restore."""


@change.command("list")
@click.option("--site", default="", metavar="SITE", help="Only this site.")
@click.option("--tower", default="", metavar="TOWER", help="Only this tower.")
@log_option
@click.pass_obj
def list_(obj: Frame, site: str, tower: str, log: str | None) -> int:
    """Everything still in place; exit 1 while there is any."""
    from seasonlog.services import notes

    with frame.reading(obj, log) as book:
        found = notes.standing_changes(book, site, tower)
    for each in found:
        c, late = each.change, "  THE VISIT IS CLOSED" if each.closed else ""
        frame.out(f"{each.tower}  visit {each.visit}  {c.id}  {c.what}, {c.where}; made by {c.who}{late}")
    if not found:
        frame.say("No temporary change is in place.")
    return 1 if found else 0


@change.command()
@click.argument("visit", metavar="VISIT")
@click.option("--what", required=True, type=click.Choice(_CHANGES), help="What was done.")
@click.option("--where", required=True, metavar="TEXT", help="Where, so that another person finds it.")
@by_option
@log_option
@click.pass_obj
def make(obj: Frame, visit: str, what: str, where: str, by: str | None, log: str | None) -> int:
    """Record a temporary change of an open visit at the moment it is made."""
    from seasonlog.services import notes

    with frame.writing(obj, log, by) as book:
        made = notes.make_change(book, visit, what, where)
        frame.out(f"{made.id}  {made.what}, {made.where}")
        frame.say("Sign-off is refused until it is restored.")
    return 0


@change.command()
@click.argument("visit", metavar="VISIT")
@click.argument("ident", metavar="CHANGE")
@by_option
@log_option
@click.pass_obj
def restore(obj: Frame, visit: str, ident: str, by: str | None, log: str | None) -> int:
    """Record that a temporary change is undone."""
    from seasonlog.services import notes

    with frame.writing(obj, log, by) as book:
        notes.restore_change(book, visit, ident)
        frame.say(f"{ident} of visit {visit} is restored.")
    return 0
