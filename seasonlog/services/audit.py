"""Proof that the log is what was written, and the tables that are folded from it made again."""

import sqlite3
from collections.abc import Callable
from dataclasses import dataclass

from seasonlog.domain.plain_words import counted, entries, photos
from seasonlog.errors import LogError, OlderLogError
from seasonlog.journal import attachment_queries, trust_queries, two_pasts
from seasonlog.journal.blobs import Blobs
from seasonlog.journal.bracket import Bracket, Brackets
from seasonlog.journal.compare import first_difference
from seasonlog.journal.held import checkpoints
from seasonlog.journal.note import NoteError, parse
from seasonlog.journal.readonly import is_shared, open_untouched
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Stored
from seasonlog.journal.tables import UnreadableEntryError
from seasonlog.journal.verify import Verification, verify
from seasonlog.journal.views import LogViews
from seasonlog.services.logbook import Logbook, Surroundings
from seasonlog.services.places import Places
from seasonlog.services.reasons import refuse

Progress = Callable[[int, int], None]
"""Told how many of how many entries are done."""


_LOOKED = {
    "full": "every hash, link and signature",
    "quick": "every hash and link, last signatures; tables not looked at",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a look at the log has shown."""

    log: Verification
    """Entries, hashes, links and signatures."""
    tables: str
    """What is wrong with the tables folded from the entries; empty when they agree or were not looked at."""
    noted: tuple[str, ...] = ()
    """What a person should know of devices though nothing was changed: forks, entries put aside, not enrolled."""
    files: str = ""
    """What is wrong with the photos, clips and contact details kept beside the log; empty when not looked at."""

    @property
    def ok(self) -> bool:
        """Nothing wrong was found at this depth."""
        return self.log.ok and not self.tables and not self.files

    def document(self) -> dict[str, object]:
        """For a script."""
        bad = self.log.first_bad
        named = None if bad is None else {"pos": bad.pos, "device": bad.dev, "seq": bad.seq, "why": bad.why}
        return {
            "ok": self.ok,
            "depth": str(self.log.depth),
            "entries": self.log.entries,
            "first_bad": named,
            "devices": self.log.devices,
            "demonstration": self.log.demonstration,
            "problem": self.log.problem or self.tables or self.files,
            "clock_set_back": self.log.clock_set_back,
            "checkpoints": self.log.checkpoints,
            "noted": list(self.noted),
        }

    def says(self) -> str:
        """For a person."""
        log = self.log
        looked = _LOOKED.get(log.depth, log.depth)
        kind = "DEMONSTRATION log, " if log.demonstration else ""
        if self.ok:
            back = f"; clock set back {counted(log.clock_set_back, 'time')}" if log.clock_set_back else ""
            held = f"; held against {counted(log.checkpoints, 'checkpoint')}" if log.checkpoints else ""
            noted = "".join(f"; {words}" for words in self.noted)
            sums = f"{entries(log.entries)} of {counted(log.devices, 'device')}"
            return f"OK: {kind}{sums}, {log.depth} ({looked}){held}{back}{noted}"
        what = str(log.first_bad) if log.first_bad else log.problem or self.tables or self.files
        good = counted(log.entries, "good entry", "good entries")
        return f"NOT OK: {kind}{log.depth} ({looked}); {good}, then {what}"


def verify_log(at: Places, *, quick: bool, progress: Progress | None = None, kept: str = "") -> Verdict:
    """Check the log from its first entry to its last; in full also its tables, and the files that lie beside it.

    Args:
        at: The paths.
        quick: Every hash and link, and last signatures only.
        progress: Told how far it is.
        kept: A checkpoint that somebody else kept, a signed note; empty for none.

    Raises:
        LogError: there is no log, or it cannot be read at all.
        InputRefusedError: what was kept is no checkpoint; that says nothing about the log.
    """
    if kept:
        _must_be_note(kept)
    found = verify(at.log, depth="quick" if quick else "full", keys_dir=at.keys, progress=progress, kept=kept)
    if not found.ok:
        return Verdict(found, "")
    try:
        opened = Journal.open_read_only(at.log, views=LogViews())
    except OlderLogError:
        if quick:
            return Verdict(found, "")
        try:
            opened = open_untouched(at.log, LogViews(), progress=progress)
        except UnreadableEntryError as error:
            return Verdict(found, f"its tables cannot be made: {error}")
    with opened as journal:
        older = is_shared(journal)
        tables = "" if quick or older else first_difference(journal, LogViews())
        try:
            noted = (*_noted(journal.connection), *([_NOT_COMPARED] if older else []))
            missing = () if quick else _files_missing(at, journal.connection)
        except (sqlite3.Error, LookupError, TypeError, ValueError):  # a table that rotted
            return Verdict(found, tables or "a table cannot be read; run `seasonlog rebuild`")
    return Verdict(found, tables, (*noted, *missing), "" if quick else _files_spoilt(at))


_NOT_COMPARED = "its tables are absent or of another version and were not compared: they are made anew before use"


def _files_spoilt(at: Places) -> str:
    """The first kept file that is not what its name says."""
    try:
        for blobs in (Blobs(at.attachments), Blobs(at.details)):
            for name in sorted(blobs.names()):
                blobs.kept(name)
    except LogError as error:
        return str(error)
    return ""


def _files_missing(at: Places, db: sqlite3.Connection) -> tuple[str, ...]:
    named = attachment_queries.photo_names(db) & attachment_queries.kept_names(db)  # not those that were erased
    missing = len(named - Blobs(at.attachments).names())
    return (f"{photos(missing)} that entries name {'is' if missing == 1 else 'are'} not here",) if missing else ()


def _must_be_note(kept: str) -> None:
    try:
        parse(kept)
    except NoteError as error:
        raise refuse("the checkpoint kept", f"is none: {error}") from None


def _noted(db: sqlite3.Connection) -> tuple[str, ...]:
    """What everybody says who holds the same entries, whichever came first; then what is so in this log only."""
    forked, late = two_pasts.branches(db), two_pasts.past_their_end(db)
    strangers = (f"device {dev} is not enrolled" for dev in trust_queries.strangers(db))
    here = (f"tables here follow the entries beginning with {each.here[:16]}" for each in forked if each.here)
    stand = (f"{each.here} of these of device {each.dev} were taken in here before that was known and stand in this log"
             for each in late if each.here)  # fmt: skip
    return (*map(str, forked), *map(str, late), *strangers, *here, *stand)


@dataclass(frozen=True, slots=True)
class Witnessed:
    """One entry, and between which times it was written as far as others can tell."""

    stored: Stored
    when: Bracket

    def lines(self) -> list[str]:
        """For a person."""
        e = self.stored.entry
        return [
            f"entry {e.uid}: {e.kind} by {e.who}, device {e.dev}, number {e.seq}",
            f"hash {self.stored.hash.hex()}",
            str(self.when),
        ]

    def document(self) -> dict[str, object]:
        """For a script."""
        e, when = self.stored.entry, self.when
        return {
            "uid": e.uid, "kind": e.kind, "who": e.who, "device": e.dev, "seq": e.seq, "hash": self.stored.hash.hex(),
            "claimed_ms": when.wall_ms, "not_before_ms": when.not_before_ms, "not_after_ms": when.not_after_ms,
            "fits": when.fits,
        }  # fmt: skip


def witnessed(book: Logbook, uid: str) -> Witnessed:
    """The time bracket of an entry.

    Raises:
        InputRefusedError: no entry has this uid.
    """
    stored = book.journal.find(uid)
    if stored is None:
        raise refuse(f"entry {uid}", "is not in the log; `seasonlog record` names every entry of a visit or finding")
    return Witnessed(stored, Brackets(checkpoints(book.db)).of(stored.entry))


def rebuild_tables(at: Places, around: Surroundings, progress: Progress | None = None) -> int:
    """Make the tables again from the entries; returns how many entries there are."""
    with Journal.open(at.log, keys_dir=at.keys, clock=around.clock, random_bytes=around.random_bytes) as journal:
        journal.rebuild_views(LogViews(), progress)
        return journal.count()
