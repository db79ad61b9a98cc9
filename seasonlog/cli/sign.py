"""`seasonlog sign`: the three signatures of a visit, each with its meaning."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.visit import Progress
    from seasonlog.services.logbook import Logbook


@click.command()
@click.argument("visit", metavar="VISIT")
@click.option("--as", "meaning", type=click.Choice(["done", "reviewed", "received"]), help="What you state by it.")
@click.option("--received-by", metavar="NAME", help='The customer\'s name, "not available", or "declined".')
@click.option("--words", default="", metavar="TEXT", help="Words beside the signature; declined needs the customer's.")
@by_option
@log_option
@click.pass_obj
def sign(
    obj: Frame, visit: str, meaning: str | None, received_by: str | None, words: str, by: str | None, log: str | None
) -> int:
    """Show a visit's signatures, or sign: done closes it, received and reviewed come after."""
    from seasonlog.services import rounds

    with frame.reading(obj, log) if meaning is None else frame.writing(obj, log, by) as book:
        at = rounds.progress(book, visit)
        if meaning is not None:
            at = _sign(book, at, meaning, received_by, words)
        return _show(at)


def _sign(book: "Logbook", at: "Progress", meaning: str, received_by: str | None, words: str) -> "Progress":
    from seasonlog.services import closing

    if meaning == "reviewed":
        return closing.review(book, at, words)
    if meaning == "done":
        closing.may_sign_off(book, at)
    else:
        closing.may_receive(at)
    if received_by is None:
        raise UsageError('Who received it? Give --received-by NAME, "not available", or "declined" with --words.')
    end = closing.sign_off if meaning == "done" else closing.receive
    return end(book, at, received_by, words)


def _show(at: "Progress") -> int:
    from seasonlog.services import signing
    from seasonlog.services.days import moment

    frame.out(f"visit {at.visit.id} of {at.visit.tower}, {at.checklist.title}: {at.visit.state.replace('_', ' ')}")
    doubts = [signing.doubts(at, signature) for signature in at.visit.signatures]
    for signature, doubt in zip(at.visit.signatures, doubts, strict=True):
        said = f": {signature.words}" if signature.words else ""
        what = f"signs {signature.signs[:16]}" if signature.signs else "of an older version: names nothing"
        when = f"{moment(signature.wall_ms):%Y-%m-%d %H:%MZ}"
        meaning = signature.meaning.replace("_", " ")
        frame.out(f"  {meaning} {signature.name}{said}, {when}, {what}{'  NOTE: ' + doubt if doubt else ''}")
    if not doubts:
        frame.out("  not signed")
    return 1 if any(doubts) else 0
