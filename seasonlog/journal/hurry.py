"""No wait for the disk while something is made that can be made again: the demonstration, before anybody sees it."""

from collections.abc import Iterator
from contextlib import contextmanager

from seasonlog.journal.database import plain_errors
from seasonlog.journal.store import Journal


@contextmanager
def hurried(journal: Journal) -> Iterator[None]:
    """Commits inside the block do not wait for the disk; at its end all of them are on it.

    A power cut inside the block may damage the file, so that only a log under a working name may be handed in.

    Raises:
        ValueError: the log is no demonstration; a real one never hurries.
    """
    if not journal.is_demonstration:
        raise ValueError("only a demonstration is made in a hurry")
    connection = journal.pen().connection
    with plain_errors(journal.path):
        connection.execute("PRAGMA synchronous = OFF")
    yield
    with plain_errors(journal.path):
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
