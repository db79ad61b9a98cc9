"""What a log remembers of its checkpoints, so that neither the next entry nor the next checkpoint walks through it.

It stands in `meta` and is no part of the record: it is believed only where it agrees with the checkpoints held, and the
trees only where this device's own signature stands under what they come to. Otherwise it is made anew.
"""

import json
import sqlite3
from collections.abc import Mapping
from typing import Any

from seasonlog.journal.checkpoint import Size, read
from seasonlog.journal.keys import DeviceKey
from seasonlog.journal.merkle import Peaks
from seasonlog.journal.note import NoteError

_NEWEST, _TREES = "newest_checkpoints", "checkpoint_trees"
_DEVICES = """
WITH RECURSIVE device(dev) AS (SELECT min(dev) FROM entry
  UNION ALL SELECT (SELECT min(dev) FROM entry WHERE dev > device.dev) FROM device WHERE device.dev IS NOT NULL)
SELECT dev FROM device WHERE dev IS NOT NULL
"""
"""From one device to the next by the index, not through all entries."""


def newest(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """Device to place and hash (hex) of the newest checkpoint it stated; the caller may write."""
    last = connection.execute("SELECT pos, by, hash FROM checkpoint ORDER BY pos DESC LIMIT 1").fetchone()
    if last is None:
        return {}
    told = _told_newest(connection)
    if told.get(last[1]) != (last[0], last[2].hex()):
        told = _held_newest(connection)
        _tell(connection, _NEWEST, told)
    return told


def misleads(connection: sqlite3.Connection) -> bool:
    """Whether it would be believed though it is not what the checkpoints held say: a byte of it rotted."""
    held, told = _held_newest(connection), _told_newest(connection)
    last = max(held, key=held.__getitem__, default="")
    return told != held and bool(held) and told.get(last) == held[last]


def added(connection: sqlite3.Connection, by: str, pos: int, digest: bytes) -> None:
    """A checkpoint was put behind all that were held."""
    told = _told_newest(connection)
    if max((at for at, _ in told.values()), default=0) == pos - 1:  # else it was forgotten: asked for, it is made anew
        _tell(connection, _NEWEST, told | {by: (pos, digest.hex())})


def _held_newest(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    """From all checkpoints held, one after another."""
    rows = connection.execute("SELECT by, pos, hash FROM checkpoint ORDER BY pos")
    return {by: (pos, digest.hex()) for by, pos, digest in rows}


def _told_newest(connection: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    try:
        return {dev: (int(pos), str(name)) for dev, (pos, name) in _told(connection, _NEWEST).items()}
    except (TypeError, ValueError):
        return {}


def trees(connection: sqlite3.Connection, key: DeviceKey) -> dict[str, Peaks]:
    """Device to the tree over all its entries, grown from where this device's checkpoint before left it."""
    grown = _kept_trees(connection, key)
    for (dev,) in connection.execute(_DEVICES).fetchall():
        tree = grown.setdefault(dev, Peaks())
        since = "SELECT hash FROM entry WHERE dev = ? AND seq > ? ORDER BY seq"
        for (digest,) in connection.execute(since, (dev, tree.size)):
            tree.push(digest)
    return grown


def keep_trees(connection: sqlite3.Connection, digest: bytes, grown: Mapping[str, Peaks]) -> None:
    """Remember the trees that a checkpoint of this device states."""
    peaks = {dev: [peak.hex() for peak in tree.hashes] for dev, tree in grown.items()}
    _tell(connection, _TREES, {"checkpoint": digest.hex(), "peaks": peaks})


def _kept_trees(connection: sqlite3.Connection, key: DeviceKey) -> dict[str, Peaks]:
    told = _told(connection, _TREES)
    try:
        sizes = _own(connection, key, bytes.fromhex(told["checkpoint"]))
        peaks = {dev: Peaks(size.entries, map(bytes.fromhex, told["peaks"][dev])) for dev, size in sizes.items()}
    except (KeyError, TypeError, ValueError, NoteError):
        return {}
    return peaks if all(peaks[dev].root() == size.root for dev, size in sizes.items()) else {}


def _own(connection: sqlite3.Connection, key: DeviceKey, digest: bytes) -> Mapping[str, Size]:
    """What a checkpoint that this device signed states; nothing when there is none."""
    sql = "SELECT c.text, s.sig FROM checkpoint c JOIN checkpoint_signature s ON s.hash = c.hash"
    row = connection.execute(f"{sql} WHERE c.hash = ? AND s.name = ?", (digest, key.dev)).fetchone()
    return read(row[0]).sizes if row and key.sign(row[0].encode()) == row[1] else {}


def _told(connection: sqlite3.Connection, name: str) -> dict[str, Any]:
    row = connection.execute("SELECT value FROM meta WHERE name = ?", (name,)).fetchone()
    try:
        told = json.loads(row[0]) if row else {}
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}


def _tell(connection: sqlite3.Connection, name: str, value: Mapping[str, Any]) -> None:
    connection.execute("INSERT OR REPLACE INTO meta VALUES (?, ?)", (name, json.dumps(value)))
