"""The log held against checkpoints: those it holds itself, and one that somebody else kept.

In full: every signature under them, every root over the entries they cover, and every entry put aside: it is evidence.
Quick: only that nothing they cover is missing.
"""

import sqlite3
from collections.abc import Iterable, Mapping, Sequence

from seasonlog.domain.plain_words import entries
from seasonlog.journal import held
from seasonlog.journal.bundle_check import signature_fits, stated_here
from seasonlog.journal.chain import Depth
from seasonlog.journal.checkpoint import CUT_OFF, Checkpoint, does_not_hold, instant, read, trees_of
from seasonlog.journal.devices import explained
from seasonlog.journal.encoding import EncodingError, entry_from_line, entry_hash, fingerprint, signed_bytes
from seasonlog.journal.merge import FORKED, PAST_ITS_END
from seasonlog.journal.note import Note, NoteError, parse, proved_by


def complaint(reader: sqlite3.Connection, log_id: str, depth: Depth, kept: str = "") -> tuple[str, int]:
    """What the log does not bear out of the checkpoints, or empty; and how many there are.

    Args:
        reader: The log, its entries proved before.
        log_id: Its id.
        depth: `quick` or `full`.
        kept: A checkpoint from elsewhere, a signed note; empty for none.
    """
    if reader.execute("SELECT 1 FROM sqlite_schema WHERE name = 'checkpoint'").fetchone() is None and not kept:
        return "", 0
    keys = held.device_keys(reader)
    if depth == "full" and (words := _kept_otherwise(reader, keys)):
        return words, 0
    try:
        notes = [*held.notes(reader, keys), *([parse(kept)] if kept else [])]
        stated = [_stated(note, log_id, keys, depth) for note in notes]
    except (NoteError, TypeError) as error:
        return f"a checkpoint does not stand: {error}", 0
    words = _missing(reader, stated) if depth == "quick" else _different(reader, stated)
    return words, len(stated)


def _kept_otherwise(reader: sqlite3.Connection, keys: Mapping[str, bytes]) -> str:
    """What of the evidence beside the entries is not as it was kept, or empty."""
    if reader.execute("SELECT 1 FROM sqlite_schema WHERE name = 'aside'").fetchone() is None:
        return ""
    rows = reader.execute("SELECT hash, dev, seq, line, sig, why FROM aside ORDER BY dev, seq").fetchall()
    known = dict(keys)
    for row in rows:
        if not _as_put_aside(row, known):
            return f"an entry put aside (device {row[1]:.16}, number {row[2]}) was changed; go back to a copy"
    for digest, by, issued, text in reader.execute("SELECT hash, by, issued, text FROM checkpoint"):
        if not _filed_right(digest, by, issued, text):
            return f"a checkpoint of device {by:.16} is not filed under what it states; go back to a copy"
    loose = reader.execute(
        "SELECT name FROM checkpoint_signature s WHERE NOT EXISTS (SELECT 1 FROM checkpoint c WHERE c.hash = s.hash)"
    ).fetchall()
    names = {name for (name,) in reader.execute("SELECT DISTINCT name FROM checkpoint_signature")}
    if loose or not names <= known.keys():
        return "a signature under a checkpoint was moved, or its device's name changed; go back to a copy"
    return ""


def _as_put_aside(row: tuple[bytes, str, int, bytes, bytes, str], known: dict[str, bytes]) -> bool:
    """Whether an entry put aside is as its device signed it; a device may stand here with its first entry, too."""
    digest, dev, seq, line, sig, why = row
    try:
        entry = entry_from_line(line)
        if dev not in known and entry.seq == 1 and fingerprint(key := bytes.fromhex(str(entry.body.get("key")))) == dev:
            known[dev] = key
    except (EncodingError, ValueError):
        return False
    told = (entry.dev, entry.seq, entry_hash(line)) == (dev, seq, digest) and why in (FORKED, PAST_ITS_END)
    return told and signature_fits(known.get(dev, b""), sig, signed_bytes(digest))


def _filed_right(digest: bytes, by: str, issued: int, text: str) -> bool:
    try:
        stated = read(text)
    except (NoteError, TypeError):
        return False
    return (stated.hash, stated.by, stated.issued_ms) == (digest, by, issued)


def _stated(note: Note, log_id: str, keys: dict[str, bytes], depth: Depth) -> Checkpoint:
    stated = stated_here(note, log_id, keys)
    if depth == "full" and stated.by not in proved_by(note, keys, signature_fits):
        raise NoteError("the device that states it did not sign it")
    return stated


def _missing(reader: sqlite3.Connection, stated: Iterable[Checkpoint]) -> str:
    have = dict(reader.execute("SELECT dev, max(seq) FROM entry GROUP BY dev").fetchall())
    for one in stated:
        for dev, size in one.sizes.items():
            if have.get(dev, 0) < size.entries:
                when, why = instant(one.issued_ms), _explained(reader, have).get(dev, CUT_OFF)
                had = f"device {dev} had {entries(size.entries)} in a checkpoint of {when}, and has {have.get(dev, 0)}"
                return f"{had}: {why}"
    return ""


def _different(reader: sqlite3.Connection, stated: Sequence[Checkpoint]) -> str:
    hashes = held.device_hashes(reader)
    trees = trees_of(hashes)
    if all(not does_not_hold(one, trees) for one in stated):
        return ""
    told = _explained(reader, hashes)
    return next(words for one in stated if (words := does_not_hold(one, trees, told)))


def _explained(reader: sqlite3.Connection, known: Iterable[str]) -> dict[str, str]:
    return explained(held.said(reader), known)
