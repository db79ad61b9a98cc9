"""Bundles: what is here handed on as one text file, and such a file looked at and taken in."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from seasonlog import __version__
from seasonlog.domain.plain_words import counted, entries, photos
from seasonlog.domain.records import Kind
from seasonlog.errors import InputRefusedError, LogError, Problem
from seasonlog.journal import attachment_queries, held, trust_queries
from seasonlog.journal import details as details_apart
from seasonlog.journal.absorb import adopt, ours, state_checkpoint, take_in, would_take
from seasonlog.journal.blobs import Blobs
from seasonlog.journal.bundle import MOST_BYTES, PROGRESS_EVERY, Bundle, Head, SignedLine, taken_apart, written
from seasonlog.journal.bundle_check import Proved, bears_out, proved
from seasonlog.journal.checkpoint import code_of, hash_of, instant
from seasonlog.journal.devices import standing
from seasonlog.journal.merge import Merge, Ours, is_nothing, merge
from seasonlog.journal.pen import Tools
from seasonlog.journal.stored import Draft
from seasonlog.journal.views import LogViews
from seasonlog.services import attachments, privacy
from seasonlog.services.devices import enrolment
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places

__all__ = ["MOST_BYTES", "export", "look", "shown", "take"]

Progress = Callable[[int, int], None]
"""Told how many of how many entries are done."""


@dataclass(frozen=True, slots=True)
class Exported:
    """A bundle as it was written."""

    data: bytes
    entries: int
    files: int
    details: int
    missing: tuple[str, ...]
    """Names of kept files that entries name and that are not here."""
    code: str
    """Code of the checkpoint made for it, to be written down beside it."""
    strangers: tuple[str, ...]
    """Devices that are not enrolled: others take their entries only after a supervisor enrols them."""


def export(
    book: Logbook, *, with_files: bool = True, with_contacts: bool = False, progress: Progress | None = None
) -> Exported:
    """Everything that is here as one bundle, with a fresh checkpoint over it.

    Args:
        book: The log, open for writing: the checkpoint is kept before it is handed out.
        with_files: Photos and sound clips go with it.
        with_contacts: Contact details kept beside the log go with it. What older entries hold in their signed lines
            always goes: a signed line cannot be changed.
        progress: Told how many entries are read.
    """
    note = state_checkpoint(book.journal, book.who)
    entries = tuple(_all_lines(book, progress))
    notes = tuple(held.notes(book.db, held.device_keys(book.db)))
    named = attachment_queries.kept_names(book.db)
    files = _kept(Blobs(book.places.attachments), named) if with_files else {}
    details = _kept(Blobs(book.places.details), None) if with_contacts else {}
    made, by = book.around.clock.wall_ms(), book.journal.device_id
    head = Head(book.journal.log_id, by, made, f"seasonlog {__version__}", with_contacts)
    return Exported(
        data=b"".join(written(Bundle(head, entries, notes, files, details))),
        entries=len(entries),
        files=len(files.keys() & attachment_queries.photo_names(book.db)),
        details=len(details),
        missing=tuple(sorted(named - files.keys())) if with_files else (),
        code=code_of(hash_of(note.text)),
        strangers=tuple(trust_queries.strangers(book.db)),
    )


def _all_lines(book: Logbook, progress: Progress | None) -> Iterator[SignedLine]:
    total = book.journal.count()
    for count, stored in enumerate(book.journal.entries(order="causal"), 1):
        if progress is not None and (count % PROGRESS_EVERY == 0 or count == total):
            progress(count, total)
        yield SignedLine(stored.line, stored.sig)


def _kept(blobs: Blobs, names: Iterable[str] | None) -> dict[str, bytes]:
    wanted = sorted(blobs.names() if names is None else names)
    return {name: kept for name in wanted if (kept := blobs.kept(name)) is not None}


def photos_in(found: Proved) -> int:
    """How many photos and clips a bundle brings; what is said of each is a file too, and not counted."""
    named = {stored.entry.body.get("sha256") for stored in found.entries if stored.entry.kind == Kind.ATTACHED}
    return len(named & found.files.keys())


@dataclass(frozen=True, slots=True)
class Looked:
    """A bundle that was proved and held against the log here."""

    name: str
    """Of its file."""
    found: Proved
    news: Merge
    is_new_log: bool
    """There is no log here yet: this one would become it."""
    is_nothing: bool
    """Everything in it is here already."""

    def document(self) -> dict[str, object]:
        """For a script."""
        return {
            "log": self.found.head.log,
            "by": self.found.head.by,
            "made": self.found.head.made,
            "demonstration": self.found.demonstration,
            "entries": len(self.found.entries),
            "devices": sorted(self.found.keys),
            "checkpoints": len(self.found.checkpoints),
            "files": photos_in(self.found),
            "details": len(self.found.details),
            "new": len(self.news.new),
            "known": self.news.known,
            "aside": [{"hash": a.stored.hash.hex(), "why": a.why} for a in self.news.aside],
            "forks": [str(fork) for fork in self.news.forks],
            "joining": list(self.news.joining),
            "new_log": self.is_new_log,
        }


def look(at: Places, around: Surroundings, data: bytes, name: str, *, enrol: str = "",
         progress: Progress | None = None) -> Looked:  # fmt: skip
    """Prove a bundle and hold it against the log here; nothing is written.

    Args:
        at: The paths; the log need not exist.
        around: Clock and randomness.
        data: The file's bytes.
        name: What to call the file in sentences.
        enrol: A device that would be enrolled with it, or empty.
        progress: Told how many entries are checked.

    Raises:
        InputRefusedError: it is not whole, not good, of another log, or of a device that may not add.
    """
    found = proved(taken_apart(data, name), name, progress)
    if not at.log.exists():
        empty = Ours(found.head.log, {}, (), ())
        return Looked(name, found, merge(found, empty, name, found.keys), is_new_log=True, is_nothing=False)
    with Logbook.open(at, around, "", writing=False) as book:
        news = would_take(book.journal, found, name, [enrol] if enrol else [])
        nothing = is_nothing(news, ours(book.db, book.journal.log_id)) and not enrol
    return Looked(name, found, news, is_new_log=False, is_nothing=nothing)


@dataclass(frozen=True, slots=True)
class Taken:
    """What came of taking a bundle in."""

    entries: int
    """How many were added."""
    files: int
    """How many photos, clips and contact details were added."""
    forks: tuple[str, ...]
    aside: int
    passed_over: tuple[str, ...]


def take(at: Places, around: Surroundings, who: str, looked: Looked, *, enrol: str = "", enrol_as: str = "",
         progress: Progress | None = None) -> Taken:  # fmt: skip
    """Take a bundle in: entries in one transaction, then the files they name.

    Args:
        at: The paths; without a log the bundle becomes it, and this device joins with a key of its own.
        around: Clock and randomness.
        who: The person who does this.
        looked: The bundle, looked at.
        enrol: A device to enrol with it, or empty.
        enrol_as: What people call that device.
        progress: Told how far the tables are folded.

    Raises:
        InputRefusedError: it may not be taken in; nothing was written.
        LogError: nothing was written, and the sentence says why.
    """
    if looked.is_new_log:
        adopt(at.log, looked.found, who, Tools(at.keys, around.clock, around.random_bytes, LogViews()), progress)
    with Logbook.open(at, around, who, writing=True) as book:
        news = looked.news if looked.is_new_log else _taken(book, looked, enrol, enrol_as, progress)
        files = _take_files(book, looked.found)
        attachments.sweep(book)  # what another device gave up goes here too
        privacy.sweep(book)
    return Taken(len(news.new), files, tuple(str(f) for f in news.forks), len(news.aside), news.passed_over)


def _taken(book: Logbook, looked: Looked, enrol: str, enrol_as: str, progress: Progress | None) -> Merge:
    also: list[Draft] = []
    if enrol:
        record = enrolment(enrol, enrol_as, "")
        also.append(Draft(record.kind, record.body, book.who))
    return take_in(
        book.journal, looked.found, looked.name, book.who, also=also, enrol=[enrol] if enrol else [], progress=progress
    )


def _take_files(book: Logbook, found: Proved) -> int:
    """Keep the files that an entry here names and that nobody gave up; their names come from their own hashes."""
    named = attachment_queries.kept_names(book.db) - attachment_queries.erased_names(book.db)
    contacts = _details_named(book) - attachment_queries.discarded(book.db).keys()
    pictures = {name: data for name, data in found.files.items() if name in named}
    details = {name: data for name, data in found.details.items() if name in contacts}
    return _put(Blobs(book.places.attachments), pictures) + _put(Blobs(book.places.details), details)


def _details_named(book: Logbook) -> set[str]:
    """Names of the contact details that a record of the register ever had."""
    recorded = book.journal.entries(kind=Kind.REGISTER_RECORDED)
    items = (s.entry.body["item"].get(details_apart.KEY) for s in recorded)
    return {str(kept.get("sha256")) for kept in items if isinstance(kept, dict)}


def _put(blobs: Blobs, files: Mapping[str, bytes]) -> int:
    new = files.keys() - blobs.names()
    try:
        for name in sorted(new):
            blobs.take(files[name], name)
    except LogError as error:
        raise LogError(f"the entries are saved, but a file beside them is not: {error}; import again") from error
    return len(new)


@dataclass(frozen=True, slots=True)
class Shown:
    """A bundle by itself: proved, and told."""

    name: str
    found: Proved

    def document(self) -> dict[str, object]:
        """For a script."""
        found = self.found
        devices = {dev: len(own) for dev, own in sorted(found.hashes.items())}
        stated = [{"by": c.stated.by, "issued": c.stated.issued_ms, "code": c.stated.code, "signed": list(c.names)}
                  for c in found.checkpoints]  # fmt: skip
        return {
            "log": found.head.log,
            "by": found.head.by,
            "made": found.head.made,
            "software": found.head.software,
            "contacts": found.head.contacts,
            "demonstration": found.demonstration,
            "entries": len(found.entries),
            "devices": devices,
            "checkpoints": stated,
            "files": photos_in(found),
            "details": len(found.details),
        }

    def _state(self, dev: str) -> str:
        first = self.found.entries[0].entry.dev
        known = standing((stored.entry for stored in self.found.entries), [first])
        forked = {str(s.entry.body.get("device")) for s in self.found.entries if s.entry.kind == Kind.FORK_FOUND}
        fork = ", FORKED" if dev in forked else ""
        if dev in known.revoked:
            return f"REVOKED{fork}, the first {known.revoked[dev]} count"
        enrolled = "enrolled" if dev in known.may else "NOT ENROLLED"
        return ("began the log" if dev == first else enrolled) + fork

    def lines(self) -> list[str]:
        """For a person."""
        found = self.found
        kind = "DEMONSTRATION log, " if found.demonstration else ""
        sums = f"{entries(len(found.entries))}, {counted(len(found.checkpoints), 'checkpoint')}"
        words = [f"OK: {kind}{sums}; every hash, link, signature and checkpoint in it is good"]
        words += [f"device {dev}: {entries(len(own))}, {self._state(dev)}" for dev, own in sorted(found.hashes.items())]
        newest = {c.stated.by: c for c in sorted(found.checkpoints, key=lambda c: c.stated.issued_ms)}
        words += [
            f"newest checkpoint {c.stated.code} of {instant(c.stated.issued_ms)} by device {c.stated.by}, "
            f"signed by {', '.join(c.names)}"
            for c in newest.values()
        ]
        return [*words, f"{photos(photos_in(found))}, {counted(len(found.details), 'contact detail')}"]


def shown(data: bytes, name: str, progress: Progress | None = None, *, kept: str = "", code: str = "") -> Shown:
    """Prove a bundle by itself; no log is needed.

    Args:
        data: The file's bytes.
        name: What to call the file in sentences.
        progress: Told how many entries are checked.
        kept: A checkpoint that somebody kept, a signed note: all that it covers must still be there.
        code: The 16 characters printed on a report: a checkpoint of the bundle must have it.

    Raises:
        InputRefusedError: the first thing that is wrong, and where.
    """
    found = proved(taken_apart(data, name), name, progress)
    codes = {c.stated.code for c in found.checkpoints}
    if kept:
        codes.add(bears_out(found, kept, name).code)
    if code and code.upper() not in codes:
        raise InputRefusedError([Problem(name, f"holds no checkpoint with the code {code}")])
    return Shown(name, found)
