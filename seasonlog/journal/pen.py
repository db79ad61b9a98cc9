"""Writes the entries of one transaction: number, time, link, signature, row, views."""

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from seasonlog.journal import held
from seasonlog.journal.clock import Clock
from seasonlog.journal.encoding import Entry, entry_hash, next_hlc, signed_bytes
from seasonlog.journal.keys import DeviceKey, RandomBytes, Tail
from seasonlog.journal.note import Note
from seasonlog.journal.stored import Draft, Stored, Views
from seasonlog.journal.tables import fold

LOG_STARTED = "log_started"
"""Kind of the first entry of a log; its body holds the first device's key and whether this is a demonstration."""
DEVICE_JOINED = "device_joined"
"""Kind of the first entry of every other device; its body holds that device's key."""


@dataclass(frozen=True, slots=True)
class Tools:
    """What the writer needs from outside."""

    keys_dir: Path
    """Folder of the device keys."""
    clock: Clock
    """Time of the entries."""
    random_bytes: RandomBytes
    """Source of ids and keys."""
    views: Views | None
    """Tables kept in the same transaction."""


class Pen:
    """Appends on behalf of one device; lives only inside a transaction that the caller opened under the lock."""

    def __init__(self, connection: sqlite3.Connection, log_id: str, key: DeviceKey, tools: Tools) -> None:
        self.connection = connection
        """Inside the caller's transaction."""
        self._log_id = log_id
        self.key = key
        """The device's."""
        self._tools = tools
        self.last = last_of(connection, key.dev)
        """The device's last entry, kept up to date while writing."""
        (latest,) = connection.execute("SELECT max(hlc) FROM entry").fetchone()
        self._hlc: str = latest or ""

    def write(self, draft: Draft) -> Stored:
        """Append one entry; a device's first words are its key."""
        if draft.kind == LOG_STARTED:
            return self._seal(draft, {**draft.body, "key": self.key.public.hex()})
        self.join(draft.who)
        return self._seal(draft, draft.body)

    def join(self, who: str) -> None:
        """Write the device's key, unless it has written already."""
        if self.last.seq == 0:
            body = {"key": self.key.public.hex()}
            self._seal(Draft(DEVICE_JOINED, body, who), body)

    def state(self) -> Note:
        """A checkpoint over everything that is here, signed by this device; kept in the same transaction."""
        return held.state(self.connection, self._log_id, self.key, self._tools.clock.wall_ms())

    def _seal(self, draft: Draft, body: Mapping[str, Any]) -> Stored:
        entry = self._entry(draft, body)
        line = entry.line()
        digest = entry_hash(line)
        stored = Stored(0, entry, digest, line, self.key.sign(signed_bytes(digest)))
        stored = self._insert(stored)
        self.last = Tail(entry.dev, entry.seq, digest)
        self._hlc = entry.hlc
        return stored

    def _entry(self, draft: Draft, body: Mapping[str, Any]) -> Entry:
        wall = self._tools.clock.wall_ms()
        return Entry(
            log=self._log_id,
            dev=self.key.dev,
            seq=self.last.seq + 1,
            prev=self.last.hash.hex() if self.last.seq else "",
            uid=draft.uid or self._tools.random_bytes(16).hex(),
            wall=wall,
            offset=self._tools.clock.offset_minutes(),
            hlc=next_hlc(self._hlc, wall),
            anchor=held.anchor(self.connection, self.key.dev),
            who=draft.who,
            kind=draft.kind,
            body=body,
        )

    def _insert(self, new: Stored) -> Stored:
        entry = new.entry
        pos = self.connection.execute(
            "INSERT INTO entry (dev, seq, hash, uid, hlc, kind, line, sig) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (entry.dev, entry.seq, new.hash, entry.uid, entry.hlc, entry.kind, new.line, new.sig),
        ).lastrowid
        stored = Stored(pos or 0, entry, new.hash, new.line, new.sig)
        if self._tools.views is not None:
            fold(self.connection, self._tools.views, stored)
        return stored


def last_of(connection: sqlite3.Connection, dev: str) -> Tail:
    """A device's last entry in the log, or number 0 when it has none."""
    row = connection.execute("SELECT seq, hash FROM entry WHERE dev = ? ORDER BY seq DESC LIMIT 1", (dev,)).fetchone()
    return Tail(dev, 0, bytes(32)) if row is None else Tail(dev, *row)


def holds(connection: sqlite3.Connection, tail: Tail) -> bool:
    """Whether the log holds the entry a device remembers as its last; if not, the log is an older copy."""
    if tail.seq == 0:
        return True
    row = connection.execute("SELECT hash FROM entry WHERE dev = ? AND seq = ?", (tail.dev, tail.seq)).fetchone()
    return row is not None and row[0] == tail.hash
