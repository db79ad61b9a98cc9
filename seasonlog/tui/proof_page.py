"""The proof of a log as list rows: the verdict, the devices that wrote it, what other devices bear out."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.journal import held, trust_queries
from seasonlog.services.devices import STATES
from seasonlog.services.logbook import Logbook
from seasonlog.tui import rows
from seasonlog.tui.widgets.row import Row, heading
from seasonlog.tui.wording import Look, counted, say
from seasonlog.tui.words import time_words

if TYPE_CHECKING:
    from seasonlog.services.audit import Verdict

GOOD = Look("✓", "PROVED", "pass")
BAD = Look("✗", "NOT PROVED", "fail")
DEVICE = Look("◆", "", "calm")
DEVICES = {"revoked": Look("✗", "REVOKED", "near-fail"), "joined": Look("!", "NOT ENROLLED", "fail")}
"""States of a device that an auditor must not overlook."""
HELD = Look("»", "CHECKPOINTS", "cold")
BLIND = (
    "No proof shows a wrong reading typed honestly, a device whose entries never arrived, or entries missing at the "
    "very end of a copied log: hold a checkpoint that somebody else kept against it."
)


def proof(book: Logbook, verdict: "Verdict") -> list[Row]:
    """What was proved, and what cannot be."""
    look = GOOD if verdict.ok else BAD
    found = [
        Row("", Content(look.word), say(verdict.says()), look=look),
        Row("", Content("What no proof shows"), say(BLIND)),
    ]
    return [*found, heading("DEVICES"), *_devices(book), heading("CHECKPOINTS"), _checkpoints(book)]


def _devices(book: Logbook) -> Iterator[Row]:
    for device in trust_queries.devices(book.db):
        joined = time_words(device.joined_ms, 0) if device.joined_ms else "not seen yet"
        written, state = counted(device.written, "entry", "entries"), STATES[device.state]
        because = f": {device.because}" if device.because else ""
        look = DEVICES.get(device.state, DEVICE)
        words = f"{written}, since {joined} UTC, {state.lower()}, by {device.who}{because}"
        yield Row("", say(device.name or device.dev), say(words), rows.marks((look.word, look.tone)), look)


def _checkpoints(book: Logbook) -> Row:
    found = held.checkpoints(book.db)
    if not found:
        return Row(
            "", Content("None held"), Content("No other device or person bears out yet how far the log was."), look=HELD
        )
    newest = max(found, key=lambda each: each.issued_ms)
    words = f"the newest of {time_words(newest.issued_ms, 0)} UTC by device {newest.by}, code {newest.code}"
    return Row("", Content(f"{counted(len(found), 'checkpoint')} held"), say(words), look=HELD)
