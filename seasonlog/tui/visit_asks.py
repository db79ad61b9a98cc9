"""What the answer area of a visit asks at each step: buttons, fields, or what was saved and where to go on."""

from textual.content import Content

from seasonlog.domain.checklist import MEASURED, StepKind
from seasonlog.domain.desk import Desk, Mode
from seasonlog.domain.finding import Finding
from seasonlog.domain.visit import Saved
from seasonlog.journal import queries
from seasonlog.services.logbook import Logbook
from seasonlog.tui import step_page as page
from seasonlog.tui.reading import Reading
from seasonlog.tui.widgets.dock import ANSWER, READ, Choice, Dock
from seasonlog.tui.wording import say

GO, SMALL = "-go", "-small"
Drafts = dict[tuple[str, str], tuple[str, ...]]
"""What was typed and not saved, by visit and step."""


async def ask(dock: Dock, book: Logbook, desk: Desk, drafts: Drafts) -> None:
    """Fill the answer area.

    Args:
        dock: The answer area.
        book: The log.
        desk: The visit and the place in it.
        drafts: What was typed before; it stands in the fields again, and is forgotten once the step has an answer.
    """
    mode, place = desk.mode, (desk.at.visit.id, desk.key)
    await _show(dock, book, desk)
    if desk.saved is not None and desk.again is None:
        drafts.pop(place, None)
    elif mode is Mode.ASK and place in drafts:
        dock.fill(drafts[place])
        dock.take_focus()


async def _show(dock: Dock, book: Logbook, desk: Desk) -> None:
    mode = desk.mode
    if mode is Mode.CLOSED:
        await dock.show_buttons(_walks(desk), _closed_words(book, desk))
    elif mode in (Mode.SAVED, Mode.SKIPPED) and desk.saved is not None:
        await dock.show_buttons(_after(desk, desk.saved), page.saved_words(desk, desk.saved, _found(book, desk)))
    elif mode is Mode.WAITS:
        waits = desk.waits_for
        choices = [
            Choice(f"step:{i.key}", say(f"Go to: {i.step.title}"), GO if n == 0 else "")
            for n, i in enumerate(waits[:2])
        ]
        await dock.show_buttons(choices, page.gate_words(waits, desk.at))
    elif desk.asks_of_doubt:
        other = Choice("instruments", Content("CHOOSE ANOTHER"), SMALL)
        await dock.show_buttons([Choice(READ, Content("USE IT ANYWAY"), GO), other], _doubt_words(desk))
    elif mode is Mode.READ_CAUTION:
        await dock.show_buttons([Choice(READ, Content("I HAVE READ THE CAUTION"), GO)])
    else:
        await _ask_step(dock, book, desk)


async def _ask_step(dock: Dock, book: Logbook, desk: Desk) -> None:
    step = desk.instance.step
    if step.kind in MEASURED:
        await dock.show_reading(step, Reading.of(book, desk).unit)
    elif step.kind is StepKind.TEXT:
        await dock.show_text()
    elif step.kind is StepKind.CAUTION:
        await dock.show_buttons([Choice(f"{ANSWER}yes", Content("UNDERSTOOD"), GO)])
    elif step.kind is StepKind.YES_NO:
        words = (("yes", "1   YES"), ("no", "2   NO"))
        await dock.show_buttons([Choice(f"{ANSWER}{value}", Content(text)) for value, text in words])
    else:
        numbered = enumerate(step.choices, 1)
        await dock.show_buttons([Choice(f"{ANSWER}{c.value}", say(f"{n}   {c.says}")) for n, c in numbered])


def _doubt_words(desk: Desk) -> Content:
    words = say(f"{desk.at.doubt_of(desk.instance)}. The reading will say so.")
    return Content("\n").join([Content.styled("? INSTRUMENT IN DOUBT", "bold $tone-unsure"), words])


def _walks(desk: Desk) -> list[Choice]:
    saved = desk.saved
    correct = [] if saved is None or saved.is_skipped else [Choice("correct", Content("Correct"), SMALL)]
    return [
        Choice("walk:1", Content("NEXT STEP ›"), GO),
        Choice("walk:-1", Content("Before"), SMALL),
        *correct,
        Choice("copy", Content("Copy"), SMALL),
    ]


def _closed_words(book: Logbook, desk: Desk) -> Content:
    over = page.closed_words(desk.at.visit)
    saved = desk.saved
    if saved is None:
        return over
    before = _before(book, desk, saved)
    return Content("\n\n").join([page.saved_words(desk, saved, None), *([before] if before else []), over])


def _before(book: Logbook, desk: Desk, saved: Saved) -> Content:
    """What stood before an answer that was corrected, the first observation first."""
    if not saved.corrects:
        return Content("")
    from seasonlog.services.corrections import chain
    from seasonlog.tui.screens.amend import history

    return history(chain(book, desk.at.visit.id, desk.key), book.around.clock.offset_minutes(), desk.at.units)


def _after(desk: Desk, saved: Saved) -> list[Choice]:
    following = desk.at.instance(desk.following)
    go_on = (
        Choice("sign", Content("SIGN OFF"), GO)
        if following is None
        else Choice("next", say(f"NEXT  {following.step.title}"), GO)
    )
    if saved.is_skipped:
        return [go_on, Choice("answer", Content("Answer it now"), SMALL)]
    return [go_on, Choice("correct", Content("Correct"), SMALL), Choice("retest", Content("Retest"), SMALL)]


def _found(book: Logbook, desk: Desk) -> Finding | None:
    step, target = desk.instance.step.id, desk.instance.target or ""
    found = queries.findings(book.db, open_only=True, tower=desk.at.visit.tower)
    return next((f for f in found if (f.step_id, f.target) == (step, target)), None)
