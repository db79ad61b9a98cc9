"""What an auditor carries away: the whole log as a bundle, made without writing anything to it."""

from datetime import date
from pathlib import Path

from seasonlog import __version__
from seasonlog.errors import InputRefusedError, Problem
from seasonlog.journal import attachment_queries, held
from seasonlog.journal.blobs import Blobs
from seasonlog.journal.bundle import Bundle, Head, SignedLine, written
from seasonlog.services.logbook import Logbook


def evidence(book: Logbook) -> bytes:
    """Every entry with its signature, every checkpoint held and every kept file, as one bundle.

    Unlike a bundle of one's own it states no new checkpoint: the log is opened for reading alone. Contact details stay
    out.

    Args:
        book: The log.
    """
    lines = tuple(SignedLine(s.line, s.sig) for s in book.journal.entries(order="causal"))
    notes = tuple(held.notes(book.db, held.device_keys(book.db)))
    blobs = Blobs(book.places.attachments)
    files = {n: kept for n in sorted(attachment_queries.kept_names(book.db)) if (kept := blobs.kept(n)) is not None}
    by = book.journal.device_id or book.journal.first.entry.dev
    head = Head(book.journal.log_id, by, book.around.clock.wall_ms(), f"seasonlog {__version__}", False)
    return b"".join(written(Bundle(head, lines, notes, files, {})))


def put(folder: Path, data: bytes, on: date) -> str:
    """Write the evidence into a folder under a name of its own, whole or not at all; an older file is never lost.

    Returns:
        The file's name.

    Raises:
        InputRefusedError: the folder cannot be written.
    """
    stem = f"seasonlog-evidence-{on.isoformat()}"
    names = (f"{stem}{f'-{number}' if number else ''}.bundle" for number in range(1000))
    try:
        target = next(folder / name for name in names if not (folder / name).exists())
        new = target.with_name(f".{target.name}.new")
        new.write_bytes(data)
        new.replace(target)
    except (OSError, StopIteration) as error:
        where = getattr(error, "strerror", None) or "no free name is left"
        raise InputRefusedError([Problem(str(folder), f"cannot be written: {where}")]) from None
    return target.name
