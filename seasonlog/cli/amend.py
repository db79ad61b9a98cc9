"""`seasonlog amend`: a correction, beside what it corrects."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Answer
    from seasonlog.domain.visit import Progress


@click.command()
@click.argument("visit", metavar="VISIT")
@click.argument("step", metavar="STEP")
@click.argument("value", nargs=-1, metavar="VALUE...")
@click.option("--because", metavar="TEXT", help="Why the saved answer is wrong.")
@click.option("--history", is_flag=True, help="Only show every answer the step was given, first observation first.")
@by_option
@log_option
@click.pass_obj
def amend(
    obj: Frame, visit: str, step: str, value: tuple[str, ...], because: str | None, history: bool, by: str | None,
    log: str | None,
) -> int:  # fmt: skip
    """Correct an answer, also after sign-off; the first observation stays. Three lines: three values.

    On a metric site a temperature is given with its unit: "6.2 C", or "43.1 F".
    """
    from seasonlog.services import corrections, rounds

    if history:
        with frame.reading(obj, log) as book:
            units = rounds.progress(book, visit).units
            _history(corrections.chain(book, visit, step), units)
        return 0
    if not value or because is None:
        raise UsageError("A correction wants the right value and --because TEXT.")
    with frame.writing(obj, log, by) as book:
        _refuse_unnamed(rounds.progress(book, visit), step, value)
        at = corrections.amend(book, visit, step, value if len(value) > 1 else value[0], because)
        _history(corrections.chain(book, visit, step), at.units)
    return 0 if at.answers[step].is_good else 1


def _refuse_unnamed(at: "Progress", step: str, value: tuple[str, ...]) -> None:
    """Where answers are shown in another unit than the step's key names, digits alone could be either."""
    from seasonlog.domain.units_shown import with_unit_shown

    instance = at.instance(step)
    for text in value if instance else ():
        if instance and with_unit_shown(text, instance.step.unit, at.units) != text:
            raise UsageError(f'{at.visit.tower} is read in degC, {step} is kept in degF: say "{text} C" or "{text} F".')


def _history(answers: "Iterable[Answer]", units: str) -> None:
    for each in answers:
        frame.out(words_of(each, units))


def words_of(answer: "Answer", units: str) -> str:
    """One answer in a line, in the units of its site: when, who, what, its verdict, why it was given."""
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS
    from seasonlog.services.days import moment

    body = answer.body
    why = f"; because: {body['because']}" if "because" in body else ""
    read = f"; read {body['observed_at']} by {body['from_paper']}, from paper" if "observed_at" in body else ""
    verdict = str(body["verdict"]).replace("_", " ")
    when = f"{moment(answer.wall_ms):%Y-%m-%d %H:%MZ}"
    return f"{when}  {answer.who}  {answer.value_in(units, IN_PLAIN_LETTERS)}  {verdict}{why}{read}"
