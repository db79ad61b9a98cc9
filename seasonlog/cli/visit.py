"""`seasonlog visit`: a whole visit without a screen."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option, shows
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from seasonlog.domain.finding import Finding
    from seasonlog.domain.visit import Progress, Saved
    from seasonlog.services.answered_file import Outcome
    from seasonlog.services.logbook import Logbook


@click.command()
@click.option("--tower", required=True, metavar="T", help="The tower.")
@click.option("--checklist", required=True, metavar="C", help="The checklist, such as fall-enable.")
@click.option("--answers", metavar="FILE", help="The answers file, or - for standard input.")
@click.option("--voice-dir", metavar="DIR", help="Numbered WAV files, one phrase each; --answers may add to them.")
@click.option("--from-paper", metavar="TIME", help='Entered late from paper: when it was read, "2026-10-03 14:30".')
@click.option("--paper-by", metavar="NAME", help="Who filled in the paper; whoever enters it when not given.")
@by_option
@log_option
@shows
@click.pass_obj
def visit(
    obj: Frame,
    tower: str,
    checklist: str,
    answers: str | None,
    voice_dir: str | None,
    from_paper: str | None,
    paper_by: str | None,
    by: str | None,
    log: str | None,
    as_json: bool,
    today: str | None,
) -> int:
    """Carry out a whole visit from a file of answers; the same file again resumes and writes nothing twice.

    With --voice-dir the answers are spoken: what is asked back is answered by the next sound file, as on the screen.
    """
    from dataclasses import replace

    from seasonlog.cli.visit_voice import carry_on, spoken, words
    from seasonlog.services import claims
    from seasonlog.services.answered_file import Work, carry_out, in_doubt
    from seasonlog.services.paper import late_from

    if paper_by is not None and from_paper is None:
        raise UsageError("--paper-by says who filled in a paper; say when it was read, too: --from-paper TIME.")
    if answers is None and voice_dir is None:
        raise UsageError("A visit is carried out from --answers FILE or from --voice-dir DIR; give one or both.")
    data = frame.file_bytes(answers, dash=True) if answers is not None else b""
    work = Work(tower, checklist, data, answers if answers not in (None, "-") else "standard input")
    with frame.writing(obj, log, by) as book:
        if from_paper is not None:
            work = replace(work, late=late_from(book, tower, from_paper, paper_by or book.who))
        for taken in claims.warnings(book, tower, checklist, frame.day_or(today, book)):
            frame.say(f"TAKEN ALREADY: {taken}. {claims.BOTH_STAY}")
        if not _told_of_doubts(in_doubt(book, work), ask=work.late is None and answers != "-"):
            return 1
        heard = spoken(book, voice_dir) if voice_dir is not None else None
        told = _quiet if as_json else _saved
        outcome = carry_out(book, work, frame.day_or(today, book), told)
        if heard is not None and carry_on(book, outcome, heard, words):
            outcome = carry_out(book, work, frame.day_or(today, book), _quiet)
        if as_json:
            frame.out_json(_document(book, outcome))
        else:
            _words(book, outcome)
    return 0 if outcome.is_well else 1


def _told_of_doubts(words: "Sequence[str]", *, ask: bool) -> bool:
    """Before the first reading: instruments that prove nothing. What is on paper was read already: it is only told."""
    for each in words:
        frame.say(f"INSTRUMENT IN DOUBT: {each}.")
    if not words or not (ask and frame.is_terminal()) or click.confirm("Use it anyway?", default=False):
        return True
    frame.say("Nothing was written. Name another one under [instruments].")
    return False


def _quiet(saved: "Saved") -> None:
    pass


def _saved(saved: "Saved") -> None:
    late = f", entered late from paper, read {saved.observed_at} by {saved.from_paper}" if saved.observed_at else ""
    frame.out(f"saved {saved.seq} {saved.step} {saved.verdict or 'skipped'}{late}")


def _words(book: "Logbook", outcome: "Outcome") -> None:
    from seasonlog.domain.units_shown import IN_PLAIN_LETTERS, in_units

    at = outcome.at
    for line in (*outcome.held, *outcome.left_out):
        frame.say(line)
    for saved in at.answers.values():
        if saved.verdict is not None and not saved.is_good:
            says = in_units(saved.says, at.units, IN_PLAIN_LETTERS)
            frame.say(f"{saved.step}: {saved.verdict.replace('_', ' ')}. {says}")
    for finding in _findings(book, at):
        frame.say(f"finding {finding.id}, {finding.severity.replace('_', ' ')}: {finding.title}")
    frame.say(f"visit {at.visit.id} is {at.visit.state.replace('_', ' ')}.")
    if at.visit.state == "open":
        for line in at.hindrances:
            frame.say(line)


def _findings(book: "Logbook", at: "Progress") -> "list[Finding]":
    from seasonlog.services import findings

    steps = set(at.answers)
    return [f for f in findings.open_findings(book, tower=at.visit.tower) if f.step in steps]


def _document(book: "Logbook", outcome: "Outcome") -> dict[str, object]:
    from seasonlog.cli.findings import document

    at = outcome.at
    return {
        "visit": at.visit.id,
        "tower": at.visit.tower,
        "checklist": at.visit.checklist,
        "state": str(at.visit.state),
        "steps": [_step(saved) for saved in at.answers.values()],
        "findings": [document(f) for f in _findings(book, at)],
        "held": list(outcome.held),
        "left_out": list(outcome.left_out),
        "unanswered": [i.key for i in at.remaining],
    }


def _step(saved: "Saved") -> dict[str, object]:
    limit = saved.limits[0] if saved.limits else {}
    return {
        "seq": saved.seq,
        "step": saved.step,
        "value": list(saved.value) if isinstance(saved.value, tuple) else saved.value,
        "unit": saved.unit,
        "verdict": str(saved.verdict) if saved.verdict else "skipped",
        "says": saved.says,
        "low": _number(limit.get("low")),
        "high": _number(limit.get("high")),
        "basis": limit.get("missing") or limit.get("basis", ""),
    }


def _number(text: object) -> float | None:
    return None if text is None else float(str(text))
