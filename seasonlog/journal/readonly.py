"""A log opened so that nothing of it changes: no entry, no table, no step to a newer schema, not a byte of its file.

A log of the present version is read where it lies, also on a read-only medium. An older one is copied into memory, and
brought up to date and folded there.
"""

import sqlite3
from pathlib import Path

from seasonlog.errors import OlderLogError
from seasonlog.journal import schema
from seasonlog.journal.database import open_reader, plain_errors
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Views
from seasonlog.journal.tables import Progress, rebuild_views, views_version


def open_untouched(
    path: Path, views: Views, *, keys_dir: Path | None = None, progress: Progress | None = None
) -> Journal:
    """Open a log for reading without changing anything.

    Args:
        path: The log's file.
        views: The tables that will be asked for.
        keys_dir: Folder of the device keys, where there is one.
        progress: Told how many entries of an older log are folded.

    Raises:
        LogError: there is no log, it is damaged, or of a newer seasonlog.
    """
    try:
        return Journal.open_read_only(path, keys_dir=keys_dir, views=views)
    except OlderLogError:
        with plain_errors(path):
            return Journal(path, _in_memory(path, views, progress), keys_dir=keys_dir, writer=None)


def _in_memory(path: Path, views: Views, progress: Progress | None) -> sqlite3.Connection:
    memory = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    try:
        source = open_reader(path)
        try:
            source.backup(memory)
        finally:
            source.close()
        if not schema.check(memory, path):
            schema.upgrade(memory)
        if views_version(memory) != views.version:
            memory.execute("BEGIN")
            rebuild_views(memory, views, progress)
            memory.execute("COMMIT")
        memory.execute("PRAGMA query_only = ON")
    except BaseException:
        memory.close()
        raise
    return memory


def is_shared(journal: Journal) -> bool:
    """Whether the log is read from a copy in memory, which no second connection can see."""
    (name,) = journal.connection.execute("SELECT file FROM pragma_database_list WHERE name='main'").fetchone()
    return not name
