"""`seasonlog amend`: a correction, beside what it corrects."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Answer


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
    """Correct an answer, also after sign-off; the first observation stays. Three lines: three values."""
    from seasonlog.services import corrections, rounds

    if history:
        with frame.reading(obj, log) as book:
            rounds.progress(book, visit)
            _history(corrections.chain(book, visit, step))
        return 0
    if not value or because is None:
        raise UsageError("A correction wants the right value and --because TEXT.")
    with frame.writing(obj, log, by) as book:
        at = corrections.amend(book, visit, step, value if len(value) > 1 else value[0], because)
        _history(corrections.chain(book, visit, step))
    return 0 if at.answers[step].is_good else 1


def _history(answers: "Iterable[Answer]") -> None:
    for each in answers:
        frame.out(words_of(each))


def words_of(answer: "Answer") -> str:
    """One answer in a line: when, who, what, its verdict, why it was given."""
    from seasonlog.services.days import moment

    body = answer.body
    why = f"; because: {body['because']}" if "because" in body else ""
    read = f"; read {body['observed_at']} by {body['from_paper']}, from paper" if "observed_at" in body else ""
    verdict = str(body["verdict"]).replace("_", " ")
    when = f"{moment(answer.wall_ms):%Y-%m-%d %H:%MZ}"
    return f"{when}  {answer.who}  {_shown(body['value'])} {body['unit']}  {verdict}{why}{read}"


def _shown(value: object) -> str:
    return " / ".join(map(str, value)) if isinstance(value, list) else str(value)
