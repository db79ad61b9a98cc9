"""`seasonlog checklist`: list, show or check checklists."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows
from seasonlog.domain.plain_words import counted
from seasonlog.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from seasonlog.domain.checklist import Step, StepInstance


@click.group()
@log_option
@click.pass_obj
def checklist(obj: Frame, log: str | None) -> None:
    """What is asked on site: the shipped checklists, and your own beside them."""
    obj.log = log if log is not None else obj.log


@checklist.command("list")
@log_option
@shows
@click.pass_obj
def list_(obj: Frame, log: str | None, as_json: bool, today: str | None) -> int:
    """List the checklists at hand."""
    from seasonlog.services import checklists

    found = checklists.available(frame.places_of(obj, log).checklists).values()
    if as_json:
        frame.out_json([{"id": c.id, "title": c.title, "version": c.version, "steps": len(c.steps)} for c in found])
    else:
        frame.table((c.id, c.title, counted(len(c.steps), "step"), c.purpose) for c in found)
    return 0


@checklist.command()
@click.argument("name", metavar="CHECKLIST")
@click.option("--tower", metavar="T", help="Only the steps that apply to this tower.")
@click.option("--answers", is_flag=True, help="Print an answers file to fill in, with every step of --tower.")
@log_option
@shows
@click.pass_obj
def show(
    obj: Frame, name: str, tower: str | None, answers: bool, log: str | None, as_json: bool, today: str | None
) -> int:
    """Show a checklist's steps, or an answers file for one tower."""
    from seasonlog.services import checklists

    if answers and tower is None:
        raise UsageError("An answers file is for one tower: give --tower T too.")
    chosen = checklists.named(name, frame.places_of(obj, log).checklists)
    if tower is None:
        steps = [(step.id, step) for step in chosen.steps]
    else:
        steps = [(i.key, i.step) for i in _applicable(obj, log, name, tower, today)]
    if answers:
        _answers_file(name, tower or "", steps)
    elif as_json:
        frame.out_json([_document(key, step) for key, step in steps])
    else:
        _words(steps)
    return 0


def _applicable(obj: Frame, log: str | None, name: str, tower: str, today: str | None) -> "tuple[StepInstance, ...]":
    from seasonlog.domain.checklist import applicable
    from seasonlog.services import checklists, registry

    with frame.reading(obj, log) as book:
        register = registry.of_known_tower(book.db, tower, frame.day_or(today, book))
        return applicable(checklists.named(name, book.places.checklists), register, tower)


def _words(steps: "Iterable[tuple[str, Step]]") -> None:
    section = ""
    for key, step in steps:
        if step.section != section:
            section = step.section
            frame.out(f"\n{section}".lstrip("\n"))
        frame.out(f"  {key} ({step.kind}{', required' if step.required else ''}): {step.title}")
        frame.out(f"      {step.do}")
        if step.caution:
            frame.out(f"      CAUTION: {step.caution}")


def _document(key: str, step: "Step") -> dict[str, object]:
    return {
        "step": key,
        "kind": str(step.kind),
        "section": step.section,
        "title": step.title,
        "do": step.do,
        "why": step.why,
        "caution": step.caution,
        "quantity": step.quantity,
        "unit": step.unit,
        "instrument": step.instrument,
        "expect": step.expect,
        "choices": [c.value for c in step.choices],
        "required": step.required,
        "after": list(step.after),
        "after_pass": list(step.after_pass),
        "severity": str(step.severity) if step.severity else "",
    }


def _answers_file(name: str, tower: str, steps: "list[tuple[str, Step]]") -> None:
    kinds = sorted({step.instrument for _, step in steps if step.instrument})
    lines = [
        f"# Answers of {name} on {tower}. Fill in what you saw; a line left as it is counts as not answered.",
        '# A step left out needs a reason:  STEP = {skip = "reason"}',
        '# An answer with words beside it:  STEP = {value = "2", note = "..."}',
        "",
        "[instruments]",
        *(f'{kind} = ""' for kind in kinds),
        "",
        "[answers]",
    ]
    section = ""
    for key, step in steps:
        if step.section != section:
            section = step.section
            lines += ["", f"# {section}"]
        lines.append(_answer_line(key, step))
    lines += ["", "# To sign the visit off, take away the # below.", "# [sign_off]", '# received_by = "not available"']
    for line in lines:
        frame.out(line)


def _answer_line(key: str, step: "Step") -> str:
    quoted = key if key.replace("_", "").replace("-", "").isalnum() else f'"{key}"'
    blank = '["", "", ""]' if step.kind == "three_lines" else '""'
    return f"{quoted} = {blank}  # {step.title}: {_allowed(step)}"


def _allowed(step: "Step") -> str:
    words = {
        "caution": "yes, once read",
        "yes_no": f"yes or no; {step.expect} is wanted",
        "choice": " | ".join(c.value for c in step.choices),
        "reading": _unit(step),
        "three_lines": f"{step.unit}, one per line",
        "timed": _unit(step),
        "text": "words",
    }
    return words[step.kind] + ("" if step.required else " (may be left out)")


def _unit(step: "Step") -> str:
    """What digits alone are taken in."""
    return 'degF; degC as "4.5 C"' if step.unit == "degf" else step.unit


@checklist.command()
@click.argument("file", metavar="FILE")
@log_option
@shows
@click.pass_obj
def check(obj: Frame, file: str, log: str | None, as_json: bool, today: str | None) -> int:
    """Check a checklist file and name every problem at once."""
    from seasonlog.errors import InputRefusedError
    from seasonlog.intake.checklist_file import read_checklist

    data = frame.file_bytes(file)
    try:
        found = read_checklist(data, Path(file).name)
    except InputRefusedError as refused:
        if not as_json:
            raise
        frame.out_json({"ok": False, "problems": [{"where": p.where, "says": p.says} for p in refused.problems]})
        return 3
    if as_json:
        frame.out_json({"ok": True, "id": found.id, "steps": len(found.steps), "sha256": found.sha256})
    else:
        frame.out(f"{file}: {found.id}, {counted(len(found.steps), 'step')}, no problems")
    return 0
