"""The appending side of the log: under one lock, in one transaction, with one durable commit."""

import sqlite3
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from seasonlog.journal.database import plain_errors, transaction
from seasonlog.journal.keys import DeviceKey, KeyFiles, Tail
from seasonlog.journal.lock import exclusive
from seasonlog.journal.pen import DEVICE_JOINED, LOG_STARTED, Pen, Tools, holds
from seasonlog.journal.stored import SELECT, Draft, Stored, Views, from_row
from seasonlog.journal.tables import Progress, forget_views, rebuild_views

CHECKPOINT_BYTES = 4_000_000
"""Size of the WAL file above which its pages are moved into the log's file after a commit."""


class Writer:
    """Appends through one connection."""

    def __init__(self, connection: sqlite3.Connection, path: Path, log_id: str, tools: Tools) -> None:
        self.connection = connection
        self.keys = KeyFiles(tools.keys_dir, log_id)
        self._path = path
        self._log_id = log_id
        self.tools = tools
        """What the writer needs from outside."""
        self._key: DeviceKey | None = None
        self._checkpoint_above = CHECKPOINT_BYTES

    def append(self, drafts: Sequence[Draft]) -> tuple[Stored, ...]:
        """Write the drafts whose uid is not there yet; see `Journal.append`."""
        for draft in drafts:
            if draft.kind in (LOG_STARTED, DEVICE_JOINED):
                raise ValueError(f"{draft.kind} is written by the store itself")
        with alone(self._path, saving=True):
            return self.commit(drafts)

    def commit(self, drafts: Sequence[Draft]) -> tuple[Stored, ...]:
        """Write the drafts; the caller holds the lock."""
        with transaction(self.connection):
            stored, tail = self._write(drafts)
        if tail is not None:
            self.after_commit(tail)
        return stored

    def rebuild(self, views: Views, progress: Progress | None = None) -> None:
        """Make the view tables again from the log; the caller holds the lock."""
        with transaction(self.connection):
            rebuild_views(self.connection, views, progress)
        self._checkpoint_if_large()

    def _write(self, drafts: Sequence[Draft]) -> tuple[tuple[Stored, ...], Tail | None]:
        """The drafts as stored, and the device's new last entry if anything was written."""
        found = [self._found(draft) for draft in drafts]
        if None not in found:
            return tuple(stored for stored in found if stored is not None), None
        if self.tools.views is None:
            forget_views(self.connection)
        pen = Pen(self.connection, self._log_id, self.key_in_charge(), self.tools)
        return tuple(self._found(draft) or pen.write(draft) for draft in drafts), pen.last

    def _found(self, draft: Draft) -> Stored | None:
        if draft.uid is None:
            return None
        row = self.connection.execute(SELECT + "WHERE uid = ?", (draft.uid,)).fetchone()
        return None if row is None else from_row(row)

    def key_in_charge(self) -> DeviceKey:
        """The device's key, or a new one when there is none or the log is older than the device remembers."""
        tail = self.keys.tail()
        if self._key is None or tail is None or tail.dev != self._key.dev:
            self._key = self.keys.load()
        if self._key is None or tail is None or tail.dev != self._key.dev or not holds(self.connection, tail):
            self._key = self.keys.make(self.tools.random_bytes)
        return self._key

    def retire_key_of(self, forked: Collection[str]) -> None:
        """Put the device's key aside when it is one of these devices: its key was copied."""
        tail = self.keys.tail()
        if tail is not None and tail.dev in forked:
            self.keys.retire()
            self._key = None

    def after_commit(self, tail: Tail) -> None:
        """Nothing here may fail loudly: the entries are saved."""
        with suppress(OSError):
            self.keys.remember(tail)
        self._checkpoint_if_large()

    def _checkpoint_if_large(self) -> None:
        """Move the WAL's pages into the log's file when there are many; whatever fails is tried again later."""
        with suppress(sqlite3.Error, OSError):
            size = self._path.with_name(self._path.name + "-wal").stat().st_size
            if size <= CHECKPOINT_BYTES:
                self._checkpoint_above = CHECKPOINT_BYTES
            elif size > self._checkpoint_above:
                self.connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
                self._checkpoint_above = size + CHECKPOINT_BYTES  # a reader may keep pages back: not at every entry


@contextmanager
def alone(path: Path, *, saving: bool = False) -> Iterator[None]:
    """Hold the lock of a log, with errors in plain words."""
    with plain_errors(path, saving=saving), exclusive(path.with_name(path.name + ".lock"), log=path):
        yield
