"""One short exclusive lock beside the log, across processes and threads.

It covers "read tail, write, commit, checkpoint", because several published SQLite versions can damage a log in WAL
mode when one connection writes while another checkpoints (fixed in SQLite 3.51.3).
"""

import errno
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from seasonlog.errors import LogError

if sys.platform == "win32":
    import msvcrt

    def _try(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _try(descriptor: int) -> None:
        # flock belongs to the open file, not the process: threads with a file each exclude one another, too.
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


TIMEOUT_SECONDS = 5.0
"""How long a writer waits for another one, the same as SQLite's own busy timeout in the store."""


@contextmanager
def exclusive(lock_path: Path, *, log: Path, timeout_seconds: float = TIMEOUT_SECONDS) -> Iterator[None]:
    """Hold the lock for a `with` block; the end of the process gives it back as well.

    Raises:
        LogError: another program kept it longer than the timeout.
        OSError: the lock file cannot be made.
    """
    with lock_path.open("ab") as file:
        _wait(file.fileno(), log, time.monotonic() + timeout_seconds)
        yield


def _wait(descriptor: int, log: Path, deadline: float) -> None:
    pause_seconds = 0.0005
    while not _acquired(descriptor):
        if time.monotonic() > deadline:
            raise LogError(f"{log} is busy: another program is writing to it; try again in a moment")
        time.sleep(pause_seconds)
        pause_seconds = min(pause_seconds * 2, 0.02)


def _acquired(descriptor: int) -> bool:
    try:
        _try(descriptor)
    except OSError as error:
        if error.errno not in (errno.EAGAIN, errno.EACCES, errno.EDEADLK):
            raise
        return False
    return True
