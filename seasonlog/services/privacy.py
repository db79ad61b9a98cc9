"""What concerns people: contact details kept outside the signed lines, and whether a site allows recording.

A site's way in (gate codes) and its number for the night stand in files beside the log; the entry names each by a
salted hash. Giving one up is an entry that says who and why; every other proof still verifies. Entries of older
versions hold such texts in the line itself, and there they stay: an append-only log cannot take them back.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from seasonlog.domain.records import Kind, Record
from seasonlog.journal import attachment_queries as asked
from seasonlog.services import registry
from seasonlog.services.logbook import Logbook
from seasonlog.services.reasons import reason_in, refuse


@dataclass(frozen=True, slots=True)
class Recording:
    """Whether sounds may be recorded at a site on a day."""

    allowed: bool
    says: str
    """By whom, until when, or why not."""


def recording(book: Logbook, site: str, on: date | None = None) -> Recording:
    """Recording is off until the site allows it, and off again after its last day."""
    said = asked.recording(book.db, site)
    today = (on or book.today()).isoformat()
    if said is None:
        return Recording(allowed=False, says="recording is off: the site has not allowed it")
    words = f"{said.because} ({said.said_by}, {said.day})" if said.because else f"{said.said_by}, {said.day}"
    if not said.allowed:
        return Recording(allowed=False, says=f"recording is off: {words}")
    if said.until and said.until < today:
        return Recording(allowed=False, says=f"recording is off: it was allowed until {said.until}")
    until = f" until {said.until}" if said.until else ""
    return Recording(allowed=True, says=f"RECORDING ALLOWED{until}: {words}")


def allow_recording(book: Logbook, site: str, by: str, because: str, until: date | None = None) -> Recording:
    """Somebody of the site allows recording."""
    return _say(book, site, by, because, allowed=True, until=until)


def stop_recording(book: Logbook, site: str, by: str, because: str) -> Recording:
    """Somebody of the site takes it back."""
    return _say(book, site, by, because, allowed=False, until=None)


def _say(book: Logbook, site: str, by: str, because: str, *, allowed: bool, until: date | None) -> Recording:
    registry.refuse_unknown(book.db, site=site)
    if until is not None and until < book.today():
        raise refuse("until", f"{until.isoformat()} is past; name a day still to come")
    body: Mapping[str, Any] = {
        "site": site,
        "allowed": allowed,
        "by": reason_in("by", by),
        "until": until.isoformat() if until else "",
        "because": reason_in("recording", because),
    }
    book.write(Record(Kind.RECORDING_ALLOWED, body))
    return recording(book, site)
