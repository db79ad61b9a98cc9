"""The row that opens the fault finder for a heater circuit; apart, so that a list of them needs no fault model."""

from textual.content import Content

from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import Look, say

FIND = Look("?", "FIND OUT", "hot")


def offer(circuit: str) -> Row:
    """The row of one circuit."""
    title = Content("It does not heat: find out why")
    return Row(f"fault:{circuit}", title, say(f"{circuit}, one question at a time"), look=FIND)
