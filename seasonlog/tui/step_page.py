"""What a step says, and what its answer meant: the words of the visit screen, as content."""

from collections.abc import Iterator, Sequence

from textual.content import Content

from seasonlog.domain.checklist import MEASURED, StepInstance, StepKind
from seasonlog.domain.desk import Desk
from seasonlog.domain.finding import Finding
from seasonlog.domain.severity import Severity
from seasonlog.domain.visit import Progress, Saved, Visit
from seasonlog.tui.rows import next_tests
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import (
    CALM,
    LOOK_MEANS,
    SEVERITIES,
    SKIPPED,
    VERDICT_MEANS,
    VERDICTS,
    VISIT_STATES,
    Look,
    plain,
    say,
)
from seasonlog.tui.words import in_units, joined

NOW = Look("►", "NOW", "hot")
WAITS = Look("…", "WAITS", "calm")
NOTED = Look("✓", "SAVED", "pass")
_BAR_CELLS = 16
UNJUDGED = (StepKind.TEXT, StepKind.CAUTION)
"""Kept, and nothing more."""


def where(instance: StepInstance) -> str:
    """The part of the tower a step is about, and its section; the part first, since it tells two of a kind apart."""
    section = instance.step.section
    return f"{instance.target} · {section}" if instance.target else section


def progress_line(desk: Desk, width: int) -> Content:
    """Section, a bar, which step, how many are left."""
    at = desk.at
    left, steps = len(at.remaining), len(at.instances)
    count = f" {desk.number} of {steps} · {left} left "
    done = round(_BAR_CELLS * (steps - left) / max(steps, 1))
    bar = Content.assemble(("━" * done, "$tone-hot"), ("─" * (_BAR_CELLS - done), "$soft"), (count, "bold"))
    if width < _BAR_CELLS * 4:
        bar = Content.styled(f" {desk.number}/{steps} ", "bold")
    room = width - bar.cell_length - 2
    title = say(f" {where(desk.instance)}", "$tone-cold").truncate(max(room, 0), ellipsis=True)
    return title.pad_right(max(room - title.cell_length, 0) + 1) + bar


def title(instance: StepInstance) -> Content:
    """The step's title."""
    return say(instance.step.title, "bold")


def words(desk: Desk) -> Content:
    """What to do, and why."""
    step = desk.instance.step
    do, why = (in_units(text, desk.at.units) for text in (step.do, step.why))
    parts = [say(do), Content.assemble(("Why: ", "bold $soft"), say(why, "$soft"))]
    if step.live and not desk.at.visit.qualified:
        parts.append(
            Content.styled(
                "Energised work, and you are not on record as qualified for it: no proof comes of your answer.",
                "bold $tone-near-fail",
            )
        )
    if step.photo and desk.saved is None:
        parts.append(
            Content.styled("◉ Photo wanted: attach the folder later, it finds its step by time.", "$tone-cold")
        )
    return Content("\n").join(parts)


def caution(desk: Desk) -> Content:
    """The caution, and what is known against the instrument; or nothing."""
    doubt = "" if desk.asks_of_doubt else desk.at.doubt_of(desk.instance)  # the answer area says it while it asks
    told = (("! CAUTION  ", desk.instance.step.caution), ("? INSTRUMENT  ", doubt))
    found = [Content.assemble((mark, "bold $tone-near-fail"), say(words, "bold")) for mark, words in told if words]
    return Content("\n").join(found)


def saved_words(desk: Desk, saved: Saved, found: Finding | None) -> Content:
    """The verdict on an answer, what it means, and the finding it opened."""
    if saved.verdict is None:
        return Content("\n").join([SKIPPED.badge(), say(f"Reason: {saved.says}")])
    look = VERDICTS[saved.verdict]
    kind = desk.instance.step.kind
    given = say(joined(saved.value), "bold") if kind is StepKind.TEXT else say(answer_words(desk.at, saved))
    causes = _causes(found) if found is not None else ()
    late = (
        [say(f"Entered late from paper: read {saved.observed_at} by {saved.from_paper}")] if saved.observed_at else []
    )
    told = VERDICT_MEANS if kind in MEASURED else LOOK_MEANS
    means = [] if kind in UNJUDGED else [say(told[saved.verdict], "$soft")]
    badge = NOTED.badge() if kind in UNJUDGED else look.badge(" · saved")
    lines = [badge, *_tonight(found), *causes, given, *late, *means]
    return Content("\n").join([*lines, *_finding(found)])


def _causes(found: Finding) -> Iterator[Content]:
    """What may be wrong, and what to measure next to know."""
    for cause in found.causes:
        yield say(f"• {cause['says']}", "bold")
    yield from next_tests(found.causes)


def _tonight(found: Finding | None) -> Iterator[Content]:
    """What must be done before anybody leaves: it stands first."""
    if found is not None:
        yield SEVERITIES[found.severity].badge()
    if found is not None and found.unprotected:
        yield Content.assemble(("Tonight: ", "bold $tone-fail"), say(found.unprotected, "bold"))


def _finding(found: Finding | None) -> Iterator[Content]:
    if found is None:
        return
    yield say(f"Finding {found.id}. ", "bold") + say(Severity(found.severity).means, "$soft")
    if found.parts:
        yield say(f"Parts a repair usually needs: {', '.join(found.parts)}")


def answer_words(at: Progress, saved: Saved) -> str:
    """What an answer says, in the units of the site."""
    return in_units(saved.says, at.units)


def last_saved(at: Progress, instance: StepInstance, saved: Saved) -> Content:
    """One line about the step before, once the next one is shown."""
    if saved.verdict is not None and instance.step.kind in UNJUDGED:
        return NOTED.badge() + say(f"  {instance.step.title}")
    badge = SKIPPED.badge() if saved.verdict is None else VERDICTS[saved.verdict].badge(" saved")
    return badge + say(f"  {of_step(instance.step.title, answer_words(at, saved))}")


def of_step(name: str, words: str) -> str:
    """`Overflow clear? yes`, `Line amps: 21.5 A`."""
    return f"{name} {words}" if name.endswith("?") else f"{name}: {words}"


def last_of(desk: Desk, key: str) -> Content:
    """The same about a step, once another one is shown; nothing while it has no answer."""
    instance, saved = desk.at.instance(key), desk.at.answers.get(key)
    return last_saved(desk.at, instance, saved) if desk.key != key and instance and saved else Content("")


def closed_words(visit: Visit) -> Content:
    """How a visit ended, and who signed."""
    lines = [VISIT_STATES[visit.state].badge()]
    if visit.closed_words:
        lines.append(say(visit.closed_words))
    lines += [
        say(f"{plain(str(s.meaning))}: {s.name}" + (f" ({s.words})" if s.words else "")) for s in visit.signatures
    ]
    return Content("\n").join(lines)


def gate_words(waits: Sequence[StepInstance], at: Progress) -> Content:
    """What a step waits for."""
    lines = [Content.styled("… WAITS for these steps first:", "bold $tone-near-fail")]
    for instance in waits:
        saved = at.answers.get(instance.key)
        state = "not answered yet" if saved is None else f"{saved.verdict or 'skipped'}".replace("_", " ")
        lines.append(say(f"  {instance.step.title}{_of(instance)}: {state}"))
    return Content("\n").join(lines)


def _of(instance: StepInstance) -> str:
    return f" · {instance.target}" if instance.target else ""


def step_look(at: Progress, key: str, current: str) -> Look:
    """How a step is marked in the list."""
    saved = at.answers.get(key)
    if saved is not None:
        return SKIPPED if saved.verdict is None else VERDICTS[saved.verdict]
    if key == current:
        return NOW
    return WAITS if at.waits_for(key) else CALM


def step_rows(desk: Desk, *, short: bool) -> list[Row]:
    """Every step with its state; `short` leaves out the words."""
    found: list[Row] = []
    section = ""
    for instance in desk.at.instances:
        if where(instance) != section:
            section = where(instance)
            found.append(heading(section))
        found.append(_step_row(desk, instance, short=short))
    return found


def _step_row(desk: Desk, instance: StepInstance, *, short: bool) -> Row:
    look = step_look(desk.at, instance.key, desk.key)
    saved = desk.at.answers.get(instance.key)
    text = Content("") if short else say(answer_words(desk.at, saved) if saved else _waits(desk.at, instance))
    return Row(instance.key, say(instance.step.title), text, look=look)


def _waits(at: Progress, instance: StepInstance) -> str:
    keys = at.waits_for(instance.key)
    titles = [i.step.title for i in at.instances if i.key in keys]
    return f"waits for: {', '.join(titles)}" if titles else ""
