"""What concerns people: contact details kept outside the signed lines, and whether a site allows recording.

A site's way in (gate codes) and its number for the night stand in files beside the log; the entry names each by a
salted hash. Giving one up is an entry that says who and why; every other proof still verifies. Entries of older
versions hold such texts in the line itself, and there they stay: an append-only log cannot take them back.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any

from seasonlog.domain.records import Kind, Record
from seasonlog.journal import attachment_queries as asked
from seasonlog.journal import details
from seasonlog.journal.blobs import SALT_BYTES, Blobs
from seasonlog.services import registry
from seasonlog.services.days import day_of
from seasonlog.services.findings import is_supervisor
from seasonlog.services.logbook import Logbook
from seasonlog.services.places import Places
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


def store(at: Places) -> Blobs:
    """The folder of contact details of a log."""
    return Blobs(at.details)


def apart(
    book: Logbook, what: str, ident: str, item: Mapping[str, Any], until: str = ""
) -> tuple[dict[str, Any], bytes]:
    """A record's item as its entry holds it: what concerns people in a file beside the log, named by a salted hash.

    The same words as before keep their file, so that a site recorded again for another reason changes nothing here.

    Args:
        book: The log.
        what: Record type.
        ident: The record's id.
        item: The record, whole.
        until: Last day the details are to be kept; empty: as long as the register names them.

    Returns:
        The item, and the file to keep before its entry is written; empty when there is nothing new to keep.
    """
    names = details.PRIVATE.get(what, ())
    fields = {name: str(item[name]) for name in names if item.get(name)}
    open_ones = {key: value for key, value in item.items() if key not in names}
    if not fields:
        return open_ones, b""
    before = details.named_by(book.db, what, ident)
    if before and not until and details.read(book.places.details, before["sha256"]) == fields:
        return open_ones | {details.KEY: dict(before)}, b""
    kept = details.written(fields) + book.around.salts(SALT_BYTES)
    return open_ones | {details.KEY: {"sha256": sha256(kept).hexdigest(), "keep_until": until}}, kept


@dataclass(frozen=True, slots=True)
class Kept:
    """Contact details that an entry of the register names."""

    what: str
    id: str
    sha256: str
    keep_until: str
    day: str
    """Day of the entry."""
    is_current: bool
    """The newest entry of the record names it."""
    is_here: bool
    discarded: str
    """Day, who and why they were given up; empty while they are kept."""

    def says(self, today: date) -> str:
        """One line: how long they are kept, or why they may go or are gone."""
        if self.discarded:
            return f"given up {self.discarded}"
        if not self.is_here:
            return "not on this device; they come with a bundle that was asked for contacts"
        if self.keep_until and self.keep_until < today.isoformat():
            return f"kept until {self.keep_until}: past its day, may be given up"
        if not self.is_current:
            return "replaced by a newer entry: may be given up"
        return f"kept until {self.keep_until}" if self.keep_until else "kept while the register names them"


def kept_details(book: Logbook, ident: str = "") -> list[Kept]:
    """All contact details that entries name, given up or not, oldest entry first."""
    here, gone = store(book.places).names(), asked.discarded(book.db)
    found: dict[str, Kept] = {}
    for stored in book.journal.entries(kind=Kind.REGISTER_RECORDED, order="causal"):
        body, entry = stored.entry.body, stored.entry
        named = body["item"].get(details.KEY)
        if isinstance(named, dict) and ident in ("", body["id"]):
            name, now = str(named["sha256"]), details.named_by(book.db, body["what"], body["id"])
            current = now is not None and now["sha256"] == name
            on = day_of(entry.wall, entry.offset).isoformat()
            found[name] = Kept(
                body["what"], body["id"], name, named["keep_until"], on, current, name in here, gone.get(name, "")
            )
    return list(found.values())


def in_lines(book: Logbook) -> list[str]:
    """Records of older versions with contact details, or words of a photo, in the signed line, where they stay."""
    found = {
        f"{s.entry.body['kind']} {s.entry.body['attachment']}"
        for s in book.journal.entries(kind=Kind.ATTACHED)
        if s.entry.body["name"] or s.entry.body["words"]
    }
    for stored in book.journal.entries(kind=Kind.REGISTER_RECORDED):
        body = stored.entry.body
        if any(body["item"].get(name) for name in details.PRIVATE.get(body["what"], ())):
            found.add(f"{body['what']} {body['id']}")
    return sorted(found)


def discard(book: Logbook, ident: str, because: str, *, replaced_only: bool = False) -> int:
    """Give up a record's contact details: an entry per file that says who and why, then the files go.

    Args:
        book: The log.
        ident: The site.
        because: Why.
        replaced_only: Only those that a newer entry replaced.

    Returns:
        How many files were given up.

    Raises:
        InputRefusedError: no reason, nothing to give up, or the person is no supervisor.
    """
    said = reason_in(f"site {ident}", because)
    if not is_supervisor(book):
        raise refuse("discard", f"{book.who} is not on record as a supervisor; only a supervisor gives details up")
    kept = [k for k in kept_details(book, ident) if not k.discarded and not (replaced_only and k.is_current)]
    if not kept:
        raise refuse(f"site {ident}", "has no contact details kept apart; `seasonlog privacy list` names all")
    fields = ", ".join(details.PRIVATE[kept[0].what])
    bodies = [{"sha256": k.sha256, "what": k.what, "id": k.id, "field": fields, "because": said} for k in kept]
    book.write(*(Record(Kind.DETAIL_DISCARDED, body, f"discard:{body['sha256'][:32]}") for body in bodies))
    sweep(book)
    return len(bodies)


def sweep(book: Logbook) -> int:
    """Remove files that were given up: after an entry here, or one that came from elsewhere."""
    kept = store(book.places)
    return sum(kept.discard(name) for name in sorted(asked.discarded(book.db).keys() & kept.names()))


@dataclass(frozen=True, slots=True)
class Privacy:
    """What a site's page says about people."""

    recording: Recording
    missing: str
    """Why the way in and the number for the night are not shown; empty when nothing is missing."""


def of_site(book: Logbook, ident: str) -> Privacy:
    """What a site's page says about people."""
    return Privacy(recording(book, ident), _missing(book, ident))


def _missing(book: Logbook, ident: str) -> str:
    now = details.named_by(book.db, "site", ident)
    if now is None or details.read(book.places.details, now["sha256"]) is not None:
        return ""
    gone = asked.discarded(book.db).get(now["sha256"], "")
    return f"given up {gone}" if gone else "kept apart, not on this device"
