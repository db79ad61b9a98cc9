"""The log held against checkpoints: those it holds itself, and one that somebody else kept.

In full: every signature under them, and every root over the entries they cover. Quick: only that nothing they cover is
missing.
"""

import sqlite3
from collections.abc import Iterable

from seasonlog.journal import held
from seasonlog.journal.bundle_check import signature_fits
from seasonlog.journal.chain import Depth
from seasonlog.journal.checkpoint import Checkpoint, does_not_hold, instant, read, trees_of
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
    try:
        notes = [*held.notes(reader, keys), *([parse(kept)] if kept else [])]
        stated = [_stated(note, log_id, keys, depth) for note in notes]
    except NoteError as error:
        return f"a checkpoint does not stand: {error}", 0
    words = _missing(reader, stated) if depth == "quick" else _different(reader, stated)
    return words, len(stated)


def _stated(note: Note, log_id: str, keys: dict[str, bytes], depth: Depth) -> Checkpoint:
    stated = read(note.text)
    if stated.log != log_id:
        raise NoteError("it is of another log")
    if depth == "full" and stated.by not in proved_by(note, keys, signature_fits):
        raise NoteError("the device that states it did not sign it")
    return stated


def _missing(reader: sqlite3.Connection, stated: Iterable[Checkpoint]) -> str:
    have = dict(reader.execute("SELECT dev, max(seq) FROM entry GROUP BY dev").fetchall())
    for one in stated:
        for dev, size in one.sizes.items():
            if have.get(dev, 0) < size.entries:
                when = instant(one.issued_ms)
                return f"device {dev} had {size.entries} entries in a checkpoint of {when}, and has {have.get(dev, 0)}"
    return ""


def _different(reader: sqlite3.Connection, stated: Iterable[Checkpoint]) -> str:
    trees = trees_of(held.device_hashes(reader))
    return next((words for one in stated if (words := does_not_hold(one, trees))), "")
