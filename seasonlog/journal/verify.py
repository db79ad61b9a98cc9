"""Proves a log, or names its first bad entry.

Two depths. Quick: every hash and every link, and the last signature of each device, which the chain carries back to all
its entries. Full: every signature and every line's form as well, and the structure of the file. Both hold the log
against its checkpoints. What this cannot see: entries missing at the very end, unless this device or a checkpoint knows
of them; a device whose entries never arrived; and what the holder of a key signed untruthfully.
"""

import sqlite3
from contextlib import closing
from dataclasses import dataclass, replace
from pathlib import Path

from seasonlog.journal import schema
from seasonlog.journal.chain import ROWS, UNSIGNED, Chains, Depth, log_of
from seasonlog.journal.database import DamagedLogError, is_damage, open_reader, plain_errors
from seasonlog.journal.held_check import complaint
from seasonlog.journal.keys import KeyFiles, Tail
from seasonlog.journal.pen import holds
from seasonlog.journal.store import Journal, must_exist
from seasonlog.journal.tables import PROGRESS_EVERY, Progress


@dataclass(frozen=True, slots=True)
class BadEntry:
    """The first entry that cannot be trusted."""

    pos: int
    """Its place in the file, from 1."""
    dev: str
    """The device it claims, empty when that cannot be read."""
    seq: int
    """Its number within the device, 0 when that cannot be read."""
    why: str
    """One sentence."""

    def __str__(self) -> str:
        device = f" (device {self.dev}, number {self.seq})" if self.dev else ""
        return f"entry {self.pos}{device}: {self.why}"


@dataclass(frozen=True, slots=True)
class Verification:
    """What a look at a log has shown."""

    ok: bool
    """Nothing wrong was found at this depth."""
    depth: Depth
    """`quick` or `full`."""
    entries: int
    """How many entries, from the first on, were found good."""
    devices: int
    """How many devices wrote them."""
    demonstration: bool
    """Whether the log says that its entries are invented."""
    first_bad: BadEntry | None
    """The first bad entry."""
    problem: str
    """What is wrong with the file as a whole, or empty."""
    clock_set_back: int
    """Entries with an earlier clock time than the same device's entry before: a hint, not a fault."""
    checkpoints: int = 0
    """How many checkpoints it was held against."""


def verify(
    log: Journal | Path,
    *,
    depth: Depth = "full",
    keys_dir: Path | None = None,
    progress: Progress | None = None,
    kept: str = "",
) -> Verification:
    """Check a log from its first entry to its last.

    Args:
        log: An open log, or the file of one.
        depth: `quick` or `full`.
        keys_dir: Where this device keeps its keys, to see whether the log is shorter than the device remembers; taken
            from an open log.
        progress: Told now and then how far the check is.
        kept: A checkpoint that somebody else kept, a signed note: the log must still hold all that it covers.

    Raises:
        LogError: there is no log, it is of another version, or the disk cannot be read at all.
    """
    path, keys_dir = (log.path, log.keys_dir or keys_dir) if isinstance(log, Journal) else (log, keys_dir)
    look = _Look(must_exist(path), keys_dir, progress, kept)
    found = look.through("quick") if depth == "quick" else look.through("full")
    if depth == "quick" and found.first_bad is not None:
        # The chain shows that something is wrong from here on back; only the signatures tell where it begins.
        thorough = look.through("full").first_bad
        if thorough is not None and thorough.pos < found.first_bad.pos:
            return replace(found, first_bad=thorough, entries=thorough.pos - 1)
    return found


class _Look:
    """One reading of the file, from one snapshot."""

    def __init__(self, path: Path, keys_dir: Path | None, progress: Progress | None, kept: str) -> None:
        self._kept = kept
        self._checkpoints = 0
        self._path = path
        self._keys_dir = keys_dir
        self._progress = progress

    def through(self, depth: Depth) -> Verification:
        chains = Chains(depth)
        bad: BadEntry | None = None
        problem = ""
        try:
            with plain_errors(self._path), closing(open_reader(self._path)) as reader:
                schema.check(reader, self._path)
                reader.text_factory = bytearray
                bad = self._first_bad(reader, chains)
                problem = "" if bad else self._around(reader, chains, depth)
        except DamagedLogError as error:
            problem = str(error).replace("run verify, then go back", "go back")
        return Verification(
            ok=bad is None and not problem,
            depth=depth,
            entries=chains.entries,
            devices=chains.devices,
            demonstration=chains.demonstration,
            first_bad=bad,
            problem=problem,
            clock_set_back=chains.clock_set_back,
            checkpoints=self._checkpoints,
        )

    def _around(self, reader: sqlite3.Connection, chains: Chains, depth: Depth) -> str:
        """What is wrong beyond the entries: the file's structure, and what checkpoints say was there."""
        words = "" if depth == "quick" else _structure(reader)
        reader.text_factory = str
        if not words and depth == "full" and schema.check(reader, self._path):
            odd = schema.odd_definition(reader)
            words = odd and _ODD.format(odd)
        if not words:
            words, self._checkpoints = complaint(reader, chains.log, depth, self._kept)
        return words

    def _first_bad(self, reader: sqlite3.Connection, chains: Chains) -> BadEntry | None:
        remembered = self._remembered(reader)  # before the rows are read, since a writer may be at work
        try:
            bad = self._walk(reader, chains)
        except sqlite3.Error as error:
            if not is_damage(error):
                raise
            return BadEntry(chains.entries + 1, "", 0, f"the file cannot be read from here on: {error}")
        if bad is not None or remembered is None or holds(reader, remembered):
            return bad
        words = "it is not there, though this device wrote it: the log is shorter than this device remembers"
        return BadEntry(chains.entries + 1, remembered.dev, remembered.seq, words)

    def _walk(self, reader: sqlite3.Connection, chains: Chains) -> BadEntry | None:
        total = reader.execute("SELECT max(pos) FROM entry").fetchone()[0] or 0
        for row in reader.execute(ROWS):
            why = chains.complaint(row)
            if why:
                return BadEntry(chains.entries + 1, _text(row[1]), row[2] if isinstance(row[2], int) else 0, why)
            if self._progress is not None and chains.entries % PROGRESS_EVERY == 0:
                self._progress(chains.entries, total)
        if chains.entries == 0:
            return BadEntry(1, "", 0, "the log has no entries; its first one is missing")
        unsigned = chains.unsigned()
        return None if unsigned is None else BadEntry(*unsigned, UNSIGNED)

    def _remembered(self, reader: sqlite3.Connection) -> Tail | None:
        """The entry this device remembers as its last in this log."""
        row = reader.execute("SELECT line FROM entry WHERE pos = 1").fetchone()
        log_id = log_of(row[0]) if row is not None else ""
        return KeyFiles(self._keys_dir, log_id).tail() if self._keys_dir is not None and log_id else None


_ODD = (
    "every entry is good, but {} in the file is not as seasonlog defines it: it was changed or added; export a bundle"
    " and import it as a new log, or go back to a copy"
)


def _text(value: object) -> str:
    return value.decode("ascii", "replace") if isinstance(value, bytearray) else ""


def _structure(reader: sqlite3.Connection) -> str:
    """What SQLite itself finds wrong with the file, beyond the entries."""
    (answer,) = reader.execute("PRAGMA integrity_check(1)").fetchone()
    words = _text(answer)
    return "" if words == "ok" else f"every entry is good, but the file around them is damaged: {words}"
