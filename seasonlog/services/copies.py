"""Copies of the whole log: taken while it is written to, proved after; brought back without losing what is there."""

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from seasonlog.domain.plain_words import counted
from seasonlog.errors import LogError
from seasonlog.journal import schema
from seasonlog.journal.copying import copy_of, put_in_place
from seasonlog.journal.database import open_reader, plain_errors
from seasonlog.journal.keys import KeyFiles
from seasonlog.journal.store import Journal, must_exist
from seasonlog.journal.verify import Verification, verify
from seasonlog.journal.writer import alone
from seasonlog.services.bundles import Progress
from seasonlog.services.places import Places


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy of the log."""

    found: Verification
    """What proving it showed."""
    beside: int
    """Photos, clips and contact details that lie beside the log and are not in it."""
    aside: str = ""
    """Where the log that was here before lies now; empty when there was none."""


def backup(at: Places, target: Path, progress: Progress | None = None) -> Copied:
    """Copy the log into a new file by SQLite's own backup, also while it is written to, and prove the copy.

    The device's key is not in it: a key in two places would make forks.

    Raises:
        LogError: no log, the target exists or cannot be written, or the copy is not good.
    """
    with plain_errors(at.log), closing(open_reader(must_exist(at.log))) as reader:
        schema.check(reader, at.log)  # refuses what is no log, or of a later version; an older one is copied as it is
        copy_of(reader, target)
    found = verify(target, progress=progress)
    if not found.ok:
        says = found.first_bad or found.problem
        raise LogError(f"the copy {target} is not good: {says}; run verify on the log itself")
    return Copied(found, _beside(at))


def _beside(at: Places) -> int:
    from seasonlog.journal.blobs import Blobs

    return len(Blobs(at.attachments).names()) + len(Blobs(at.details).names())


def restore(at: Places, source: Path, *, over: bool, progress: Progress | None = None) -> Copied:
    """Bring a copy back as the log of these places; this device goes on in it as a new one, never as a fork.

    Args:
        at: The paths.
        source: The copy.
        over: There is a log here and it is to make room: it is moved aside, never written over.
        progress: Told how far the proof of the copy is.

    Raises:
        LogError: the copy is not good, or there is a log here and `over` was not said; nothing was changed.
    """
    if not source.is_file():
        raise LogError(f"there is no copy at {source}; nothing was restored")
    if at.log.exists() and source.samefile(at.log):
        raise LogError(f"{source} is the log itself, not a copy of it; nothing was restored")
    found = verify(source, progress=progress)
    if not found.ok:
        raise LogError(f"{source} is not good: {found.first_bad or found.problem}; nothing was restored")
    if at.log.exists() and not over:
        raise LogError(_refusal(at, source, found.entries))
    with plain_errors(at.log):
        at.log.parent.mkdir(parents=True, exist_ok=True)
    with alone(at.log):
        log_id, aside = put_in_place(source, at.log)
        KeyFiles(at.keys, log_id).retire()
    return Copied(found, 0, aside)


def _refusal(at: Places, source: Path, entries: int) -> str:
    try:
        with Journal.open_read_only(at.log) as here:
            have = f"it holds {counted(here.count(), 'entry', 'entries')}, the copy {entries}"
    except LogError:
        have = "it cannot be read"
    return f"there is a log at {at.log} ({have}); say --over to move it aside and put {source} in its place"
