"""`seasonlog conflicts`: answers of two devices that contradict each other, and the supervisor's decision."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Conflict


@click.command()
@click.option("--stands", metavar="UID", help="Decide: the answer with this uid stands, the others stay on record.")
@click.option("--because", default="", metavar="TEXT", help="Why that one.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document instead of words.")
@by_option
@log_option
@click.pass_obj
def conflicts(obj: Frame, stands: str | None, because: str, as_json: bool, by: str | None, log: str | None) -> int:
    """List contradicting answers nobody has decided; a supervisor decides with --stands. Exit 1 while there are any."""
    from seasonlog.services import corrections

    with frame.reading(obj, log) if stands is None else frame.writing(obj, log, by) as book:
        if stands is not None:
            at = corrections.decide(book, stands, because)
            frame.say(f"decided in visit {at.visit.id}")
        found = corrections.undecided(book)
    if as_json:
        frame.out_json([_document(each) for each in found])
    else:
        _words(found)
    return 1 if found else 0


def _document(conflict: "Conflict") -> dict[str, object]:
    told = [{"uid": a.uid, "device": a.dev, "who": a.who, "value": a.body["value"], "says": a.says,
             "verdict": a.body["verdict"], "because": a.body.get("because", "")} for a in conflict.answers]  # fmt: skip
    names = ("visit", "tower", "step")
    return {name: getattr(conflict, name) for name in names} | {"answers": told}


def _words(found: "tuple[Conflict, ...]") -> None:
    from seasonlog.cli.amend import words_of

    for each in found:
        frame.out(f"{each.tower}  visit {each.visit}  {each.step}: {len(each.answers)} answers given in parallel")
        for answer in each.answers:
            frame.out(f"    {answer.uid}  device {answer.dev}  {words_of(answer, each.units)}")
    if found:
        frame.say("A supervisor decides: seasonlog conflicts --stands UID --because TEXT")
    else:
        frame.say("No contradicting answers.")
