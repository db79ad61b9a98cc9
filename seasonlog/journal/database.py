"""How the log's SQLite file is opened, and how SQLite's complaints become one sentence. Nobody else opens it.

An answer counts as saved only after COMMIT, so the writer runs WAL with synchronous=FULL: with NORMAL a power cut loses
answers already shown as saved. Checkpoints are the store's, under its lock. Network folders are refused, since WAL
needs memory shared by all programs that use the file. While a log is open, its file must not be opened by other means
in the same process: closing it again would drop SQLite's own locks.
"""

import errno
import os
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from seasonlog.errors import LogError

BUSY_SECONDS = 5.0
"""How long SQLite waits for another connection."""

NETWORK_FILE_SYSTEMS = frozenset(
    ("nfs", "nfs3", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "ncpfs", "afs", "coda", "ceph", "lustre", "gfs",
     "gfs2", "ocfs2", "davfs", "fuse.sshfs", "fuse.ceph", "fuse.glusterfs", "fuse.rclone", "fuse.davfs2", "fuse.s3fs",
     "fuse.gvfsd-fuse")
)  # fmt: skip
"""File system types, as Linux names them, on which a log may not lie."""

_WRITER_PRAGMAS = (
    "PRAGMA synchronous = FULL",
    "PRAGMA fullfsync = ON",  # macOS: sync through the drive's own cache
    "PRAGMA checkpoint_fullfsync = ON",
    "PRAGMA wal_autocheckpoint = 0",
    "PRAGMA journal_size_limit = 0",
    "PRAGMA recursive_triggers = ON",
    "PRAGMA foreign_keys = ON",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
    "PRAGMA mmap_size = 0",
)
_READER_PRAGMAS = ("PRAGMA query_only = ON", "PRAGMA trusted_schema = OFF", "PRAGMA mmap_size = 0")


class DamagedLogError(LogError):
    """The file is not a log, or its bytes are damaged."""


def open_writer(path: Path, *, create: bool = False) -> sqlite3.Connection:
    """The connection that appends, with every setting the promises rest on. Open and close it under the lock."""
    connection = _connect(path, "rwc" if create else "rw")
    try:
        if connection.execute("PRAGMA journal_mode = WAL").fetchone() != ("wal",):
            raise LogError(f"{path} cannot be kept safely here: the file system does not allow SQLite's WAL mode")
        for pragma in _WRITER_PRAGMAS:
            connection.execute(pragma)
    except BaseException:
        connection.close()
        raise
    return connection


def open_reader(path: Path) -> sqlite3.Connection:
    """A connection that cannot write, also for a log in a folder that is read-only."""
    connection = _connect(path, "ro")
    try:
        for pragma in _READER_PRAGMAS:
            connection.execute(pragma)
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    except sqlite3.OperationalError as error:
        connection.close()
        if _primary(error) not in _NO_WAL_HERE or not _at_rest(path):
            raise
        return _connect(path, "ro&immutable=1")  # nobody can write here, so nothing needs to be shared
    except BaseException:
        connection.close()
        raise
    return connection


_NO_WAL_HERE = (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
"""What SQLite says where it cannot make a WAL's shared memory: on a read-only disk, in a folder of somebody else."""


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    return sqlite3.connect(
        f"{path.absolute().as_uri()}?mode={mode}",
        uri=True,
        timeout=BUSY_SECONDS,
        isolation_level=None,
        check_same_thread=False,
    )


def _at_rest(path: Path) -> bool:
    """Whether the file is complete without its WAL and nobody here can change it."""
    wal = path.with_name(path.name + "-wal")
    no_wal = not wal.exists() or wal.stat().st_size == 0
    return path.is_file() and no_wal and not os.access(path.parent, os.W_OK)


def run_script(connection: sqlite3.Connection, script: str) -> None:
    """Run several statements inside the caller's transaction (`executescript` would commit it)."""
    statement = ""
    for line in script.splitlines(keepends=True):
        statement += line
        if sqlite3.complete_statement(statement):
            connection.execute(statement)
            statement = ""


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """One write transaction: committed at the end of the block, rolled back when it fails."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        with suppress(sqlite3.Error):
            connection.execute("ROLLBACK")
        raise


@contextmanager
def plain_errors(path: Path, *, saving: bool = False) -> Iterator[None]:
    """Turn SQLite's and the system's errors into a `LogError` that names the file and says what to do.

    Args:
        path: The log's file.
        saving: Whether an entry was being saved, so that the sentence can say that it was not.
    """
    lost = "; the entry is not saved" if saving else ""
    try:
        yield
    except sqlite3.Error as error:
        kind = DamagedLogError if _primary(error) in _DAMAGED else LogError
        raise kind(_sentence(error, path, lost)) from error
    except UnicodeDecodeError as error:  # SQLite hands out text as it lies in the file
        raise DamagedLogError(
            f"{path} is damaged (text that is no text){lost}; run verify, then go back to a copy"
        ) from error
    except OSError as error:
        words = _SENTENCES.get(_LIKE.get(error.errno or 0, -1), "{path} cannot be used: {name}{lost}")
        raise LogError(words.format(path=error.filename or path, lost=lost, name=error)) from error


_SENTENCES = {
    sqlite3.SQLITE_BUSY: "{path} is busy: another program is writing to it{lost}; try again in a moment",
    sqlite3.SQLITE_LOCKED: "{path} is busy: another program is writing to it{lost}; try again in a moment",
    sqlite3.SQLITE_FULL: "the disk that holds {path} is full{lost}; free space and press save again",
    sqlite3.SQLITE_READONLY: "{path} is read-only{lost}; allow writing to the file and its folder, or use another log",
    sqlite3.SQLITE_PERM: "{path} may not be opened{lost}; check the permissions of the file and its folder",
    sqlite3.SQLITE_AUTH: "{path} may not be opened{lost}; check the permissions of the file and its folder",
    sqlite3.SQLITE_CANTOPEN: "{path} cannot be opened{lost}; check that it exists and that its folder allows writing",
    sqlite3.SQLITE_IOERR: "the disk that holds {path} reported an error ({name}){lost}; check the disk, then try again",
}
_DAMAGED = {
    sqlite3.SQLITE_NOTADB: "{path} is not a log: it is not a database at all{lost}",
    sqlite3.SQLITE_CORRUPT: "{path} is damaged ({name}){lost}; run verify, then go back to a copy",
}


_LIKE = {
    errno.ENOSPC: sqlite3.SQLITE_FULL,
    errno.EDQUOT: sqlite3.SQLITE_FULL,
    errno.EROFS: sqlite3.SQLITE_READONLY,
    errno.EACCES: sqlite3.SQLITE_PERM,
    errno.EPERM: sqlite3.SQLITE_PERM,
}


_FULL = ("SQLITE_IOERR_SHMSIZE",)
"""No room for the memory that programs share: a full disk by another name."""


def _primary(error: sqlite3.Error) -> int:
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def _sentence(error: sqlite3.Error, path: Path, lost: str) -> str:
    name = getattr(error, "sqlite_errorname", type(error).__name__)
    code = sqlite3.SQLITE_FULL if name in _FULL else _primary(error)
    words = (_SENTENCES | _DAMAGED).get(code, "{path} cannot be used: {error} ({name}){lost}")
    return words.format(path=path, lost=lost, name=name, error=error)


def is_damage(error: sqlite3.Error) -> bool:
    """Whether the file's bytes are to blame, not the moment or the permissions."""
    return _primary(error) not in _SENTENCES or _primary(error) == sqlite3.SQLITE_IOERR


def refuse_network_folder(path: Path) -> None:
    """Refuse a log on a file system shared over a network.

    Raises:
        LogError: the folder lies on one.
    """
    kind = "a network share" if str(path.absolute()).startswith("\\\\") else _file_system(path.absolute().parent)
    if kind in NETWORK_FILE_SYSTEMS or kind == "a network share":
        raise LogError(f"{path} lies on a network folder ({kind}), where a log is not safe; keep it on this machine")


def _file_system(folder: Path) -> str:
    """Type of the file system a folder lies on, or empty where the system does not tell."""
    if sys.platform != "linux":
        return ""
    try:
        mounts = Path("/proc/mounts").read_text("utf-8", "replace")
    except OSError:
        return ""
    return file_system_of(folder.resolve(), mounts)


def file_system_of(folder: Path, mounts: str) -> str:
    """The type of the last and longest mount above a folder, from the text of /proc/mounts (proc(5))."""
    best, kind = -1, ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) > 2 and _above(point := _unescaped(fields[1]), folder) and len(point) >= best:
            best, kind = len(point), fields[2]
    return kind


def _above(point: str, folder: Path) -> bool:
    return folder == Path(point) or Path(point) in folder.parents


def _unescaped(field: str) -> str:
    for octal, char in (("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\")):
        field = field.replace(octal, char)
    return field
