"""The sheets of the visit screen: skip, note, correct, retest, temporary changes, instruments, stop, end.

Each asks, calls one service, and shows the visit as it then stands. A refusal keeps the words on the sheet.
"""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.answers import Raw
from seasonlog.domain.desk import Again
from seasonlog.domain.visit import VisitState
from seasonlog.services import closing, corrections, rounds
from seasonlog.services.instrument_doubts import doubts
from seasonlog.services.reasons import reason_in
from seasonlog.tui import step_page as page
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, say, say_lines
from seasonlog.voice.session import NOT_SAFE

if TYPE_CHECKING:
    from seasonlog.tui.screens.visit import VisitScreen

UNDO = Look("✓", "RESTORED", "pass")
MAKE = Look("+", "NEW", "hot")
SIGN = Look("✓", "SIGN OFF", "pass")
CLOSE = Look("–", "CLOSE", "near-fail")


def keys_of_closed(state: VisitState) -> tuple[str, ...]:
    """What the key bar tells once a visit is over: what can be done there still. Nothing while it is open."""
    if state is VisitState.OPEN:
        return ()
    return ("back", "steps", "correct", "copy", *(("review",) if state is VisitState.COMPLETE else ()), "help")


def steps(screen: "VisitScreen") -> None:
    """All steps; the one chosen is shown."""
    sheet = ChooseSheet(Content("All steps"), page.step_rows(screen.at_desk, short=False), start=screen.at_desk.key)

    def chosen(key: str | None) -> None:
        if key:
            screen.call_later(screen.go_to, key)

    screen.app.push_screen(sheet, chosen)


def _form(screen: "VisitScreen", asked: Asked, lines: list[Line], save: Callable[[Typed], object]) -> None:
    """A form after which the visit is read again."""
    screen.app.push_screen(FormSheet(asked, lines, save), screen.when_done(screen.refresh_visit))


def skip(screen: "VisitScreen") -> None:
    """Leave the step out, with a reason."""
    desk = screen.at_desk
    words = "It stays visible, and the tower is not proven by this visit where the step is required."
    asked = Asked(f"Skip: {desk.instance.step.title}", words, "SKIP THE STEP")

    def save(typed: Typed) -> None:
        desk.saw(rounds.skip(screen.book, desk.at, desk.key, typed["because"]))

    sheet = FormSheet(asked, [Line("because", "Reason")], save)
    screen.app.push_screen(sheet, screen.when_done(screen.after_save))


def note(screen: "VisitScreen") -> None:
    """A note beside the step."""
    desk = screen.at_desk
    asked = Asked(f"Note: {desk.instance.step.title}", "It stays in the record under your name.")

    def save(typed: Typed) -> None:
        rounds.add_note(screen.book, desk.at.visit.tower, typed["text"], desk.at.visit.id, desk.key)

    def told() -> None:
        screen.notify("The note stands in the record, beside this step.", markup=False)

    screen.app.push_screen(FormSheet(asked, [Line("text", "Note")], save), screen.when_done(told))


def correct(screen: "VisitScreen") -> None:
    """Ask the step again, with the reason why the saved answer is wrong."""
    desk = screen.at_desk
    if desk.saved is None or desk.saved.is_skipped:
        screen.tell("This step has no answer yet; there is nothing to correct.")
        return
    if not _amendable(screen):
        return
    words = f"Saved: {page.answer_words(desk.at, desk.saved)}. The old answer stays in the record beside the new one."

    def save(typed: Typed) -> None:
        because = reason_in("correct", typed["because"])
        screen.call_later(screen.ask_again, Again(because=because))

    asked = Asked(f"Correct: {desk.instance.step.title}", words, "GO ON")
    sheet = FormSheet(asked, [Line("because", "Why was it wrong?")], save)
    screen.app.push_screen(sheet)


def _amendable(screen: "VisitScreen") -> bool:
    desk = screen.at_desk
    with screen.sentences():
        corrections.amendable(screen.book, desk.at, desk.key)
        return True
    return False


def answer(screen: "VisitScreen", raw: Raw) -> bool:
    """Save an answer; after sign-off ask first whether it is to be corrected. Returns whether it is saved.

    Raises:
        SeasonlogError: it was not taken; nothing was written.
    """
    desk = screen.at_desk
    if desk.at.visit.state is not VisitState.OPEN:
        _amend(screen, raw)
        return False
    again = desk.again or Again()
    options = rounds.AnswerOptions(because=again.because, retest=again.retest)
    desk.saw(rounds.answer(screen.book, desk.at, desk.key, raw, options))
    return True


def _amend(screen: "VisitScreen", raw: Raw) -> None:
    """After sign-off: both answers with both verdicts, and only then saved.

    Raises:
        InputRefusedError: it is no answer of this kind, or this person may not.
    """
    from seasonlog.tui.screens.amend import AmendSheet

    desk = screen.at_desk
    because = desk.again.because if desk.again else ""
    found = corrections.preview(screen.book, desk.at, desk.key, raw, because)

    def agreed(yes: bool | None) -> None:
        if yes:
            with screen.sentences():
                desk.saw(corrections.amend(screen.book, desk.at.visit.id, desk.key, raw, because))
                screen.show_soon()

    screen.app.push_screen(AmendSheet(f"Correct: {desk.instance.step.title}", found), agreed)


async def retest(screen: "VisitScreen") -> None:
    """Ask the step again after a repair."""
    saved = screen.at_desk.saved
    if saved is None or saved.is_skipped:
        screen.tell("This step has no answer yet; there is nothing to test again.")
    elif _still_open(screen):
        await screen.ask_again(Again(retest=True))


def _still_open(screen: "VisitScreen") -> bool:
    with screen.sentences():
        rounds.still_open(screen.at_desk.at)
        return True
    return False


def changes(screen: "VisitScreen", then: Callable[[], object] | None = None) -> None:
    """Record a temporary change, or that one is undone; `then` is called once it is."""
    at = screen.at_desk.at
    found = [heading("STILL IN PLACE: TAP WHEN RESTORED")] if at.open_changes else []
    found += [
        Row(f"restore:{c.id}", say(f"{c.what}, {c.where}"), say(f"made by {c.who}"), look=UNDO) for c in at.open_changes
    ]
    found += [heading("MAKE ONE NOW")]
    found += [Row(f"make:{what}", say(what.capitalize()), look=MAKE) for what in closing.CHANGES]
    words = "Anything put in, lifted or locked for the work. It must be restored before sign-off."
    screen.app.push_screen(
        ChooseSheet(Content("Temporary changes"), found, words),
        lambda key: _change(screen, key, then or screen.show_soon),
    )


def _change(screen: "VisitScreen", key: str | None, then: Callable[[], object]) -> None:
    desk = screen.at_desk
    what, _, rest = (key or "").partition(":")
    if what == "restore":
        with screen.sentences():
            desk.saw(closing.restore_change(screen.book, desk.at, rest))
            then()
    elif what == "make":
        asked = Asked(f"Temporary change: {rest}", "Say where, so that another person finds it.", "RECORD IT")

        def save(typed: Typed) -> None:
            desk.saw(closing.make_change(screen.book, desk.at, rest, typed["where"]))

        screen.app.push_screen(FormSheet(asked, [Line("where", "Where")], save), screen.when_done(then))


def instruments(screen: "VisitScreen") -> None:
    """Choose what is measured with from here on."""
    from seasonlog.tui.screens.instruments import InstrumentsSheet

    at = screen.at_desk.at
    kinds = list(dict.fromkeys(i.step.instrument for i in at.instances if i.step.instrument))
    if not kinds:
        screen.tell("No step of this checklist is read with an instrument.")
        return
    known = list(at.register.instruments.values())
    found = doubts(screen.book.db, known, screen.book.today(), at.visit.id)
    sheet = InstrumentsSheet(kinds, known, at.visit.instruments, found, "USE THESE", at.visit.told)
    screen.app.push_screen(sheet, lambda used: _use(screen, used))


def _use(screen: "VisitScreen", used: Mapping[str, str] | None) -> None:
    at = screen.at_desk.at
    with screen.sentences():
        for kind, ident in (used or {}).items():
            if at.visit.instruments.get(kind) != ident or at.is_untold(ident):
                rounds.choose_instrument(screen.book, at, kind, ident)
    if used is not None:
        screen.call_later(screen.refresh_visit)


def stop(screen: "VisitScreen") -> None:
    """Not safe: the visit ends here, as not possible."""
    if not _still_open(screen):
        return
    words = "The visit closes as not possible and is due again. It is never counted against anyone."
    asked = Asked("STOP: not safe", words, "STOP THE VISIT", stop=True)
    _end(screen, asked, VisitState.NOT_POSSIBLE, NOT_SAFE)


def _end(screen: "VisitScreen", asked: Asked, outcome: VisitState, reason: str) -> None:
    def save(typed: Typed) -> None:
        closing.close_unfinished(screen.book, screen.at_desk.at, outcome, typed["because"])

    _form(screen, asked, [Line("because", "Reason", reason)], save)


def customer_page(screen: "VisitScreen") -> None:
    """What was proven, what was not, what must be done tonight, in plain words."""
    from seasonlog.services.customer_copy import customer_copy
    from seasonlog.tui.screens.text import TextSheet

    with screen.sentences():
        words = customer_copy(screen.book, screen.at_desk.at)
        screen.app.push_screen(TextSheet(Content("Customer's copy"), say_lines(words)))


def review(screen: "VisitScreen") -> None:
    """A signature after the end: reviewed by another person, or received by the customer who was not there."""
    at = screen.at_desk.at
    if at.visit.state is not VisitState.COMPLETE or not closing.awaits_receipt(at):
        _review(screen)
        return
    shown = [
        Row("reviewed", Content("Reviewed by me"), Content("another person than the one who did it"), look=SIGN),
        Row("received", Content("Received by the customer"), Content("who was not available before"), look=SIGN),
    ]
    sheets = {"reviewed": _review, "received": _receive}

    def chosen(key: str | None) -> None:
        if key:
            sheets[key](screen)

    screen.app.push_screen(ChooseSheet(Content("Sign: what do you state?"), shown), chosen)


def _review(screen: "VisitScreen") -> None:
    desk = screen.at_desk

    def save(typed: Typed) -> None:
        desk.saw(closing.review(screen.book, desk.at, typed["words"]))

    asked = Asked("Review", "Signed under your name: reviewed by.", "I HAVE REVIEWED IT")
    screen.app.push_screen(
        FormSheet(asked, [Line("words", "Words, may be empty")], save), screen.when_done(screen.show_step)
    )


def _receive(screen: "VisitScreen") -> None:
    desk = screen.at_desk

    def save(typed: Typed) -> None:
        name = closing.DECLINED if typed["declined"].strip() else typed["name"]
        desk.saw(closing.receive(screen.book, desk.at, name, typed["declined"]))

    asked = Asked("Received by", "The customer was handed the result; no statement that it is right.", "SIGN")
    lines = [Line("name", "The customer's name"), Line("declined", "or declined, in their words")]
    screen.app.push_screen(FormSheet(asked, lines, save), screen.when_done(screen.show_step))


def finish(screen: "VisitScreen") -> None:
    """Sign off, or close unfinished."""
    if not _still_open(screen):
        return
    found = [
        Row("sign", Content("Sign off"), Content("every required step is dealt with"), look=SIGN),
        Row(VisitState.INCOMPLETE, Content("Close as incomplete"), Content("proves nothing; due again"), look=CLOSE),
        Row(
            VisitState.NOT_POSSIBLE,
            Content("Close as not possible"),
            Content("no access, no shutdown, refused, unsafe"),
            look=CLOSE,
        ),
    ]
    screen.app.push_screen(ChooseSheet(Content("End the visit"), found), lambda key: _finish(screen, key))


def _finish(screen: "VisitScreen", key: str | None) -> None:
    if key == "sign":
        sign(screen)
    elif key:
        outcome = VisitState(key)
        asked = Asked(f"Close as {outcome.replace('_', ' ')}", "Say why; it goes into the record.", "CLOSE THE VISIT")
        _end(screen, asked, outcome, "")


def sign(screen: "VisitScreen") -> None:
    """The sign-off screen."""
    from seasonlog.tui.screens.sign_off import SignOffScreen

    if _still_open(screen):
        screen.app.push_screen(SignOffScreen(screen))
