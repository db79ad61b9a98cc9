"""Answers of two devices that contradict each other: shown side by side, decided by a supervisor, none ever lost."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from seasonlog.tui.rows import CONFLICT
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import Look, say
from seasonlog.tui.words import time_words

if TYPE_CHECKING:
    from seasonlog.domain.conflicts import Answer, Conflict
    from seasonlog.tui.screens.today import TodayScreen

TWO = Look("≠", "TWO ANSWERS", "near-fail")
STANDS = Look("?", "STANDS", "cold")


def rows(found: "Iterable[Conflict]") -> Iterator[Row]:
    """One row per step in conflict."""
    for number, each in enumerate(found):
        step = each.step.replace("_", " ")
        values = " or ".join(answer.value_in(each.units) for answer in each.answers)
        yield Row(f"{CONFLICT}{number}", say(f"{each.tower}  {step}"), say(values), look=TWO)


def decide(screen: "TodayScreen", conflict: "Conflict") -> None:
    """Which of the answers stands; then why."""
    offset = screen.book.around.clock.offset_minutes()
    shown = [Row(a.uid, say(a.value_in(conflict.units)), say(_about(a, offset)), look=STANDS) for a in conflict.answers]
    title = say(f"{conflict.tower} · {conflict.step.replace('_', ' ')}")
    words = "Two devices gave these without knowing of each other. All stay in the record. Which one stands?"
    screen.app.push_screen(ChooseSheet(title, shown, words), lambda uid: _because(screen, uid))


def _about(answer: "Answer", offset: int) -> str:
    why = f", because: {answer.body['because']}" if "because" in answer.body else ""
    verdict = str(answer.body["verdict"]).replace("_", " ")
    return f"{verdict} · {answer.who}, {time_words(answer.wall_ms, offset)}{why}"


def _because(screen: "TodayScreen", uid: str | None) -> None:
    from seasonlog.services import corrections

    if uid is None:
        return

    def save(typed: Typed) -> None:
        corrections.decide(screen.book, uid, typed["because"])

    asked = Asked("Why does it stand?", "Signed under your name, as a supervisor.", "IT STANDS")
    sheet = FormSheet(asked, [Line("because", "Reason")], save)
    screen.app.push_screen(sheet, screen.when_done(screen.action_reload))
