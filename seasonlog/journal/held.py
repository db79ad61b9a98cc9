"""The checkpoints a log holds: looked up, added, never changed. Functions on a connection; writers hold the lock."""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence

from seasonlog.journal import remembered
from seasonlog.journal.checkpoint import Checkpoint, Size, hash_of, read
from seasonlog.journal.devices import TELLING
from seasonlog.journal.encoding import Entry, fingerprint
from seasonlog.journal.keys import DeviceKey
from seasonlog.journal.note import Note, Signature, key_id, signature
from seasonlog.journal.stored import SELECT, from_row


def device_hashes(connection: sqlite3.Connection) -> dict[str, list[bytes]]:
    """Device to the hashes of its entries, from its first on."""
    hashes: dict[str, list[bytes]] = {}
    for dev, digest in connection.execute("SELECT dev, hash FROM entry ORDER BY dev, seq"):
        hashes.setdefault(dev, []).append(digest)
    return hashes


def device_keys(connection: sqlite3.Connection) -> dict[str, bytes]:
    """Device to its public key, as its first entry holds it."""
    firsts = connection.execute(SELECT + "WHERE seq = 1 ORDER BY pos")
    found = {s.entry.dev: bytes.fromhex(str(s.entry.body["key"])) for s in map(from_row, firsts)}
    return {dev: key for dev, key in found.items() if fingerprint(key) == dev}


def said(connection: sqlite3.Connection) -> list[Entry]:
    """The entries that say which device may add, and which one forked; in causal order."""
    marks = ",".join("?" * len(TELLING))
    rows = connection.execute(f"{SELECT} WHERE kind IN ({marks}) ORDER BY hlc, dev, seq", TELLING)
    return [from_row(row).entry for row in rows]


def keep(connection: sqlite3.Connection, note: Note, names: Sequence[str]) -> bool:
    """Keep a checked checkpoint with the signatures of these devices; true when the checkpoint is new here."""
    stated, digest = read(note.text), hash_of(note.text)
    cursor = connection.execute(
        "INSERT OR IGNORE INTO checkpoint (hash, by, issued, text) VALUES (?,?,?,?)",
        (digest, stated.by, stated.issued_ms, note.text),
    )
    if cursor.rowcount > 0:
        remembered.added(connection, stated.by, cursor.lastrowid or 0, digest)
    for one in note.signatures:
        if one.name in names and len(one.sig) == 64:
            connection.execute("INSERT OR IGNORE INTO checkpoint_signature VALUES (?,?,?)", (digest, one.name, one.sig))
    return cursor.rowcount > 0


def notes(connection: sqlite3.Connection, keys: Mapping[str, bytes]) -> Iterator[Note]:
    """Every checkpoint held with its signatures, in the order they came to be known here."""
    signed: dict[bytes, list[Signature]] = {}
    for digest, name, sig in connection.execute("SELECT hash, name, sig FROM checkpoint_signature ORDER BY name"):
        if name in keys:
            signed.setdefault(digest, []).append(Signature(name, key_id(name, keys[name]), sig))
    for digest, by, text in connection.execute("SELECT hash, by, text FROM checkpoint ORDER BY pos").fetchall():
        own_first = sorted(signed.get(digest, []), key=lambda s: s.name != by)
        yield Note(text, tuple(own_first))


def checkpoints(connection: sqlite3.Connection) -> list[Checkpoint]:
    """Every checkpoint held, in the order they came to be known here."""
    return [read(text) for (text,) in connection.execute("SELECT text FROM checkpoint ORDER BY pos").fetchall()]


def anchor(connection: sqlite3.Connection, dev: str) -> str:
    """Hash of the newest checkpoint held, hex: one of another device if there is any, since one's own proves less."""
    newest = remembered.newest(connection)
    return max(((by != dev, *told) for by, told in newest.items()), default=(False, 0, ""))[-1]


def state(connection: sqlite3.Connection, log_id: str, key: DeviceKey, now_ms: int) -> Note:
    """A fresh checkpoint over all that is here, signed by this device and kept before it is handed out."""
    grown = remembered.trees(connection, key)
    stated = Checkpoint(log_id, key.dev, now_ms, {dev: Size(tree.size, tree.root()) for dev, tree in grown.items()})
    note = Note(stated.text(), (signature(key.dev, key.public, key.sign, stated.text()),))
    keep(connection, note, (key.dev,))
    remembered.keep_trees(connection, stated.hash, grown)
    return note


def cosign(connection: sqlite3.Connection, note: Note, key: DeviceKey) -> None:
    """Stand for a checkpoint of another device that was checked against the entries here."""
    own = signature(key.dev, key.public, key.sign, note.text)
    keep(connection, Note(note.text, (own,)), (key.dev,))
