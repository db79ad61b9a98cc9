"""Claims on the screen: who makes a visit, told to the others, and given up again."""

from collections.abc import Sequence
from datetime import date

from textual.content import Content

from seasonlog.domain.season_due import due_words
from seasonlog.domain.text import visible
from seasonlog.services import claims
from seasonlog.tui import rows
from seasonlog.tui.screens.base import SeasonScreen
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import Look, plain, say

KEY = "claim:"
"""Beginning of the key of a row that stands for a claimed visit; tower and checklist follow."""
CLAIMED = Look("◆", "CLAIMED", "cold")
YOURS = Look("◆", "YOURS", "hot")


def claimed_rows(found: Sequence[claims.ClaimedVisit], today: date, offset: int) -> list[Row]:
    """The visits that somebody has claimed, with who and since when."""
    return [_row(each, today, offset) for each in found]


def _row(each: claims.ClaimedVisit, today: date, offset: int) -> Row:
    look = YOURS if each.is_mine else CLAIMED
    told = [*(claim.words(offset) for claim in each.claims), due_words(each.item, today)]
    words = Content("\n").join(say(line) for line in told)
    title = say(f"{each.item.tower} · {plain(each.item.checklist)}")
    return Row(f"{KEY}{each.item.tower}:{each.item.checklist}", title, words, rows.marks((look.word, look.tone)), look)


def of_key(key: str) -> tuple[str, str]:
    """Tower and checklist of a row of a claimed visit; empty for any other row."""
    tower, _, checklist = key.removeprefix(KEY).rpartition(":") if key.startswith(KEY) else ("", "", "")
    return tower, checklist


def claim(screen: SeasonScreen, tower: str, checklist: str) -> bool:
    """Tell the others that this person makes a visit; whether it was written."""
    with screen.sentences():
        claims.claim(screen.book, tower, checklist, screen.today)
        told = claims.warnings(screen.book, tower, checklist, screen.today)
        also = f" Others have it too: {'. '.join(told)}." if told else ""
        screen.notify(visible(f"Claimed: whoever begins this visit elsewhere is told.{also}"), markup=False)
        return True
    return False


def give_up(screen: SeasonScreen, tower: str, checklist: str) -> bool:
    """Tell the others that this person does not make it after all; whether it was written."""
    with screen.sentences():
        claims.give_up(screen.book, tower, checklist)
        words = f"Given up: {tower} {plain(checklist)} is not claimed by you any more; the others are told."
        screen.notify(visible(words), markup=False)
        return True
    return False
