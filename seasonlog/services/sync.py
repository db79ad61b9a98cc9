"""The log here and the shared one: pulled, proved and taken in; pushed; kept files both ways. Works on without a hub.

Nothing that is pulled is used before it is proved. What is wrong with one device's entries stops only that device's.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from seasonlog.errors import InputRefusedError, LogError
from seasonlog.hub import link, notes, rows
from seasonlog.hub.link import HubError, Invitation
from seasonlog.journal import attachment_queries, undo
from seasonlog.journal.absorb import adopt, take_in
from seasonlog.journal.blobs import Blobs
from seasonlog.journal.bundle import Bundle, Head, SignedLine
from seasonlog.journal.bundle_check import Proved, proved
from seasonlog.journal.continued import Continued, Stated, continued, signed_note
from seasonlog.journal.encoding import EncodingError, entry_from_line
from seasonlog.journal.keys import write_private
from seasonlog.journal.pen import Tools
from seasonlog.journal.tables import views_version
from seasonlog.journal.views import LogViews
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places

if TYPE_CHECKING:
    from psycopg import Connection

Progress = Callable[[str, int], None]
"""Told what is being done (`pulled`, `pushed`) and how many more entries went through."""
THE_HUB = "what the hub sent"
LATER = (
    "older entries of others wait on the hub: to put them in order takes some seconds in which nothing can be saved; "
    "it begins once a board is on the screen"
)


@dataclass(frozen=True, slots=True)
class Folding:
    """What is asked and told where entries came so late that the whole log is put in order anew."""

    may_begin: Callable[[], bool]
    """Asked before: while it lasts nobody else can save. Else the entries wait on the hub until the next sync."""
    progress: Callable[[int, int], None]
    """Told how many of how many entries are in order, first with none."""
    ended: Callable[[], object] = lambda: None
    """Told when saving may go on, whether it went well or not; the exchange itself may last as long as its link."""


@dataclass(frozen=True, slots=True)
class Synced:
    """What one sync did."""

    pulled: int
    """Entries of other devices that were taken in."""
    pushed: int
    """Entries that were new to the hub."""
    files_pulled: int
    files_pushed: int
    waiting: Mapping[str, int]
    """Device that nobody enrolled yet, to how many of its entries wait on the hub."""
    complaints: tuple[str, ...]
    """What was not taken, and why."""
    whose: tuple[str, ...] = ()
    """Who wrote what was pulled, whose newest entry is the latest first."""


def sync(
    book: Logbook, invitation: Invitation, progress: Progress | None = None, folding: Folding | None = None
) -> Synced:
    """Exchange with the hub what either lacks.

    Args:
        book: The log here, open for writing.
        invitation: The way to the hub; its log must be this one.
        progress: Told how far it is.
        folding: Asked before, and told while, the whole log is put in order anew; else `progress` is told.

    Raises:
        HubError: the hub cannot be used just now; what was committed before stays, the rest goes next time.
        LogError: an entry cannot be saved here.
    """
    same_log(book, invitation)
    tell = progress or _silent
    with link.connected(invitation) as hub:
        taken, files_in = _pull(book, hub, tell, folding or Folding(lambda: True, _in_order(tell)))
        pushed, files_out = (0, 0) if invitation.role == "auditor" else _push(book, hub, invitation, tell)
        _remember(book, rows.heads(hub, invitation.log))
    came = taken.proved.entries
    whose = tuple(dict.fromkeys(stored.entry.who for stored in reversed(came) if stored.entry.who))
    return Synced(len(came), pushed, files_in, files_out, taken.waiting, taken.complaints, whose)


def _silent(_what: str, _count: int) -> None:
    return None


def _in_order(tell: Progress) -> Callable[[int, int], None]:
    """How far the fold is, in the words of a sync."""
    told = 0

    def progress(done: int, _total: int) -> None:
        nonlocal told
        tell("put in order", done - told)
        told = done

    return progress


def same_log(book: Logbook, invitation: Invitation) -> None:
    """Refuse an invitation for another log.

    Raises:
        HubError: it is.
    """
    if invitation.log != book.journal.log_id:
        raise HubError("the invitation is for another log; two logs are never mixed")


def _pull(book: Logbook, hub: "Connection[Any]", tell: Progress, folding: Folding) -> tuple[Continued, int]:
    mine = heads(book)
    there = rows.pull(hub, book.journal.log_id, {dev: seq for dev, (seq, _) in mine.items()})
    handed = ((row.dev, row.seq, row.line, row.sig) for row in _counted(there, tell))
    found = continued(book.journal, handed, _new_checkpoints(book, hub))
    return _take(book, found, folding), _pull_files(book, hub)


def _counted(there: Iterator[rows.Row], tell: Progress) -> Iterator[rows.Row]:
    for row in there:
        tell("pulled", 1)
        yield row


def _take(book: Logbook, found: Continued, folding: Folding) -> Continued:
    """Take proved entries in.

    Without any, checkpoints are kept and nothing is stated: two devices that only answered each other would else state
    checkpoints for ever.
    """
    if not found.proved.entries:
        _keep_only(book, found.proved)
        return found
    if total := _whole_fold(book, found.proved):
        if not folding.may_begin():
            none = replace(found.proved, entries=(), checkpoints=())
            return replace(found, proved=none, complaints=(*found.complaints, LATER))
        folding.progress(0, total)
    try:
        return _taken(book, found, folding)
    finally:
        folding.ended()


def _taken(book: Logbook, found: Continued, folding: Folding) -> Continued:
    try:
        take_in(book.journal, found.proved, THE_HUB, book.who, progress=folding.progress)
    except InputRefusedError as refused:
        complaint = str(refused)
        bare = replace(found.proved, checkpoints=())
        take_in(book.journal, bare, THE_HUB, book.who, progress=folding.progress)
        return replace(found, proved=bare, complaints=(*found.complaints, complaint))
    return found


def _whole_fold(book: Logbook, found: Proved) -> int:
    """How many entries are folded again where the first new one lies too far back to be slipped in; else 0."""
    first, total = found.entries[0].entry, book.journal.count()
    key = (first.hlc, first.dev, first.seq)
    ((after,),) = book.journal.query("SELECT count(*) FROM entry WHERE (hlc, dev, seq) > (?, ?, ?)", key)
    is_quick = views_version(book.db) is not None and undo.can_go_back(book.db, total - after + 1)
    return 0 if is_quick else total + len(found.entries)


def _keep_only(book: Logbook, found: Proved) -> None:
    if found.checkpoints:
        take_in(book.journal, found, THE_HUB, book.who, attest=False)


def heads(book: Logbook) -> dict[str, tuple[int, bytes]]:
    """The last entry here of every device: number and hash."""
    found = book.journal.query(
        "SELECT dev, seq, hash FROM entry WHERE (dev, seq) IN (SELECT dev, max(seq) FROM entry GROUP BY dev)"
    )
    return {dev: (seq, digest) for dev, seq, digest in found}


def _new_checkpoints(book: Logbook, hub: "Connection[Any]") -> list[Stated]:
    """Checkpoints on the hub that are not held here."""
    known = [digest for (digest,) in book.journal.query("SELECT hash FROM checkpoint")]
    return list(notes.checkpoints(hub, book.journal.log_id, known).values())


def _signatures(book: Logbook) -> dict[bytes, tuple[str, dict[str, bytes]]]:
    found: dict[bytes, tuple[str, dict[str, bytes]]] = {
        digest: (text, {}) for digest, text in book.journal.query("SELECT hash, text FROM checkpoint ORDER BY pos")
    }
    for digest, name, sig in book.journal.query("SELECT hash, name, sig FROM checkpoint_signature"):
        found[digest][1][name] = sig
    return found


def _push(book: Logbook, hub: "Connection[Any]", invitation: Invitation, tell: Progress) -> tuple[int, int]:
    own = book.journal.device_id
    claimed = own and hub.execute("SELECT claim(%s, %s)", [invitation.log, own]).fetchone() == (True,)
    if own and not claimed:
        raise HubError("this login belongs to another device; ask the supervisor for an invitation of its own")
    there = rows.heads(hub, invitation.log)
    sent = _missing(book, there, own if invitation.role == "technician" else "")
    pushed = rows.push(hub, invitation.log, sent, lambda count: tell("pushed", count))
    notes.push_checkpoints(hub, invitation.log, _signatures(book))
    return pushed, _push_files(book, hub, invitation)


def _remember(book: Logbook, there: rows.Heads) -> None:
    """Keep what the hub held, as far as it is here too: a later look must find at least that much."""
    path = link.seen_at(book.places.hub, book.journal.log_id)
    path.parent.mkdir(parents=True, exist_ok=True)
    mine = heads(book)
    seen = {dev: seq for dev, (seq, _) in there.items() if seq <= mine.get(dev, (0, b""))[0]}
    write_private(path, json.dumps(seen, sort_keys=True).encode())


def seen_at_last_sync(book: Logbook) -> dict[str, int]:
    """Number of the last entry of each device that the hub was seen to hold."""
    path = link.seen_at(book.places.hub, book.journal.log_id)
    try:
        found = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return {}
    return {str(dev): seq for dev, seq in found.items() if isinstance(seq, int)} if isinstance(found, dict) else {}


def to_send(book: Logbook, invitation: Invitation) -> int:
    """How many entries this device would send that the hub was not seen to hold at the last sync."""
    seen, own = seen_at_last_sync(book), book.journal.device_id
    if invitation.role == "auditor":
        return 0
    only = own if invitation.role == "technician" else ""
    ends = book.journal.query("SELECT dev, max(seq) FROM entry WHERE ? IN ('', dev) GROUP BY dev", [only])
    return sum(max(seq - seen.get(dev, 0), 0) for dev, seq in ends)


def _missing(book: Logbook, there: rows.Heads, only: str) -> Iterator[rows.Row]:
    """Entries here that go on after what the hub holds, of one device or of all."""
    for dev in sorted(dev for dev in heads(book) if only in ("", dev)):
        seq, digest = there.get(dev, (0, b""))
        for number, own, line, sig in book.journal.query(
            "SELECT seq, hash, line, sig FROM entry WHERE dev = ? AND seq > ? ORDER BY seq", (dev, seq)
        ):
            yield rows.Row(dev, number, digest, own, line, sig)
            digest = own


def _pull_files(book: Logbook, hub: "Connection[Any]") -> int:
    blobs = Blobs(book.places.attachments)
    wanted = attachment_queries.kept_names(book.db) - blobs.names()
    there = notes.file_names(hub, book.journal.log_id) if wanted else set()
    count = 0
    for name, data in notes.pull_files(hub, book.journal.log_id, sorted(wanted & there)):
        blobs.take(data, name)
        count += 1
    return count


def _push_files(book: Logbook, hub: "Connection[Any]", invitation: Invitation) -> int:
    blobs = Blobs(book.places.attachments)
    there = notes.file_names(hub, invitation.log)
    if invitation.role == "supervisor" and there & attachment_queries.erased_names(book.db):
        notes.let_go(hub, invitation.log, there & attachment_queries.erased_names(book.db))
    count = 0
    for name in sorted((attachment_queries.kept_names(book.db) & blobs.names()) - there):
        data = blobs.kept(name)
        if data is not None:
            notes.push_file(hub, invitation.log, name, data)
            count += 1
    return count


def join(at: Places, around: Surroundings, who: str, invitation: Invitation, progress: Progress | None = None) -> str:
    """Make the log here from the hub's, with a key of this device's own; the device's name.

    A supervisor then enrols the device; until then others leave its entries waiting.

    Raises:
        HubError: the hub cannot be used, or holds nothing yet.
        InputRefusedError: what it sent is not good; nothing was written.
        LogError: there is a log here already.
    """
    if at.log.exists():
        raise LogError(f"{at.log} is there already; `hub join` keeps the invitation for it, `hub sync` exchanges")
    tell = progress or _silent
    with link.connected(invitation) as hub:
        lines = [SignedLine(r.line, r.sig) for r in _counted(rows.pull(hub, invitation.log, {}), tell)]
        stated = notes.checkpoints(hub, invitation.log, ())
    if not lines:
        raise HubError("the hub holds nothing of this log yet; the supervisor's device syncs first")
    keys = _keys_in(lines)
    bundle = Bundle(
        Head(invitation.log, "", around.clock.wall_ms(), "", contacts=False),
        tuple(lines),
        tuple(signed_note(text, signatures, keys) for text, signatures in stated.values()),
        {},
        {},
    )
    tools = Tools(at.keys, around.clock, around.random_bytes, LogViews())
    adopt(at.log, proved(bundle, THE_HUB), who, tools)
    with Logbook.open(at, around, who, writing=True) as book:
        return book.journal.device_id


def _keys_in(lines: list[SignedLine]) -> dict[str, bytes]:
    """Keys as first entries state them; proving them comes later."""
    found = {}
    for one in lines:
        if b'"seq":1,' in one.line:
            try:
                entry = entry_from_line(one.line)
                found[entry.dev] = bytes.fromhex(str(entry.body.get("key", "")))
            except (EncodingError, ValueError):
                continue
    return found
