"""The log as the rest of the program sees it: opened, read, appended to. Nothing is ever changed or deleted.

Readers and the one writer of a process have a connection each; the reader's cannot write.
"""

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

from seasonlog import __version__
from seasonlog.errors import LogError, OlderLogError
from seasonlog.journal import schema
from seasonlog.journal.clock import Clock
from seasonlog.journal.copying import clear, copy_of, put
from seasonlog.journal.database import (
    DamagedLogError,
    open_reader,
    open_writer,
    plain_errors,
    refuse_network_folder,
    transaction,
)
from seasonlog.journal.keys import KeyFiles, RandomBytes
from seasonlog.journal.pen import LOG_STARTED, Tools
from seasonlog.journal.stored import SELECT, Draft, Stored, Views, from_row
from seasonlog.journal.tables import Progress, rebuild_views, views_version
from seasonlog.journal.writer import Writer, alone

Order = Literal["arrival", "causal"]
"""In which order entries are read."""


class Journal:
    """An open log. Use it in a `with` statement or close it."""

    def __init__(self, path: Path, reader: sqlite3.Connection, *, keys_dir: Path | None, writer: Writer | None) -> None:
        self.path = path
        """The log's file."""
        self.keys_dir = keys_dir
        """Folder of the device keys, None when the log was opened for reading without one."""
        self.connection = reader
        """For queries; cannot write. Wrap queries in `plain_errors(journal.path)` or use `query`."""
        self._writer = writer
        self.first: Stored = self._first()
        """The entry that started the log."""

    @classmethod
    def create(
        cls,
        path: Path,
        *,
        keys_dir: Path,
        clock: Clock,
        random_bytes: RandomBytes,
        who: str,
        demonstration: bool = False,
        body: Mapping[str, Any] | None = None,
        views: Views | None = None,
    ) -> Self:
        """Make a new log with its first entry and this device's key, and open it. It appears whole or not at all.

        Args:
            path: Where; nothing may be there yet.
            keys_dir: Folder of the device keys; made when absent.
            clock: Time of the entries.
            random_bytes: Source of ids and keys, `secrets.token_bytes` outside tests.
            who: The person who starts the log.
            demonstration: Whether its entries are invented; screens, reports and `verify` then say so.
            body: Further facts for the first entry.
            views: Tables to keep beside the log.

        Raises:
            LogError: something is there already, or the folder cannot be used.
        """
        tools = Tools(keys_dir, clock, random_bytes, views)
        facts = {**(body or {}), "demonstration": demonstration, "software": f"seasonlog {__version__}"}
        with plain_errors(path):
            path.parent.mkdir(parents=True, exist_ok=True)
        refuse_network_folder(path)
        with alone(path):
            if path.exists():
                raise LogError(f"{path} is there already; a new log is never made over another file")
            _make(path, Draft(LOG_STARTED, facts, who), tools)
        return cls._opened(path, tools)

    @classmethod
    def open(
        cls, path: Path, *, keys_dir: Path, clock: Clock, random_bytes: RandomBytes, views: Views | None = None
    ) -> Self:
        """Open a log for reading and appending. Makes no log; brings an older one and its views up to date.

        Raises:
            LogError: there is no log, it is busy, read-only, on a network folder, damaged or of a newer seasonlog.
        """
        must_exist(path)
        refuse_network_folder(path)
        return cls._opened(path, Tools(keys_dir, clock, random_bytes, views))

    @classmethod
    def open_read_only(cls, path: Path, *, keys_dir: Path | None = None, views: Views | None = None) -> Self:
        """Open a log for reading; works on a read-only medium and never waits for a writer.

        Args:
            path: The log's file.
            keys_dir: Folder of the device keys, for `device_id` and for `verify`'s look at what the device remembers.
            views: The tables that will be asked for; refused when the log's are of another version.

        Raises:
            LogError: there is no log, or it cannot be read as it is.
        """
        must_exist(path)
        with plain_errors(path):
            reader = open_reader(path)
            with _closing_on_error(reader):
                if not schema.check(reader, path) or (views and views_version(reader) != views.version):
                    words = "is of an older seasonlog; open it once for writing (rebuild) to update it"
                    raise OlderLogError(f"{path} {words}")
                return cls(path, reader, keys_dir=keys_dir, writer=None)

    @classmethod
    def _opened(cls, path: Path, tools: Tools) -> Self:
        with alone(path), ExitStack() as undo:
            reader = open_reader(path)
            undo.callback(reader.close)
            current = schema.check(reader, path)  # before a writer could touch a file that is no log
            connection = open_writer(path)
            undo.callback(connection.close)
            if not current:
                schema.upgrade(connection)
            journal = cls(path, reader, keys_dir=tools.keys_dir, writer=None)
            journal._writer = writer = Writer(connection, path, journal.log_id, tools)
            if tools.views is not None and views_version(connection) != tools.views.version:
                writer.rebuild(tools.views)
            undo.pop_all()
        return journal

    def _first(self) -> Stored:
        first = self._one("WHERE pos = 1")
        if first is None:
            raise DamagedLogError(f"{self.path} is damaged: its first entry is missing; go back to a copy")
        return first

    @property
    def log_id(self) -> str:
        """32 hex digits, the same in every entry."""
        return self.first.entry.log

    @property
    def is_demonstration(self) -> bool:
        """Whether the entries are invented."""
        return self.first.entry.body.get("demonstration") is True

    @property
    def device_id(self) -> str:
        """This device's name in the log; empty before it has a key for it."""
        tail = None if self.keys_dir is None else KeyFiles(self.keys_dir, self.log_id).tail()
        return tail.dev if tail else ""

    def append(self, drafts: Sequence[Draft]) -> tuple[Stored, ...]:
        """Write entries, all or none, with one durable commit; they are safe when this returns.

        A draft whose uid is in the log already is not written again: the stored entry is returned in its place.

        Args:
            drafts: What happened, in order.

        Returns:
            One stored entry per draft, in the same order.

        Raises:
            LogError: nothing was written, and the sentence says why.
            EncodingError: a draft holds what cannot be recorded; nothing was written.
        """
        return self.pen().append(drafts)

    def rebuild_views(self, views: Views, progress: Progress | None = None) -> None:
        """Make the view tables again from the log."""
        writer = self.pen()
        with alone(self.path):
            writer.rebuild(views, progress)

    def pen(self) -> Writer:
        """The appending side.

        Raises:
            LogError: the log was opened for reading only.
        """
        if self._writer is None:
            raise LogError(f"{self.path} was opened for reading only; the entry is not saved")
        return self._writer

    def entries(
        self, *, kind: str | None = None, dev: str | None = None, after: int = 0, order: Order = "arrival"
    ) -> Iterator[Stored]:
        """The entries, one at a time.

        Args:
            kind: Only this kind.
            dev: Only this device's.
            after: Only those that arrived after this position.
            order: `arrival` in this file, or `causal`: (hlc, dev, seq), the same on every device.
        """
        where = "WHERE pos > :after AND (:kind IS NULL OR kind = :kind) AND (:dev IS NULL OR dev = :dev)"
        by = "pos" if order == "arrival" else "hlc, dev, seq"
        values = {"after": after, "kind": kind, "dev": dev}
        with plain_errors(self.path):
            for row in self.connection.execute(f"{SELECT}{where} ORDER BY {by}", values):
                yield from_row(row)

    def find(self, uid: str) -> Stored | None:
        """The entry with this uid."""
        return self._one("WHERE uid = ?", uid)

    def last(self) -> Stored:
        """The entry that arrived last."""
        return self._one("ORDER BY pos DESC LIMIT 1") or self.first

    def count(self) -> int:
        """How many entries there are, without reading them."""
        return self.last().pos

    def query(self, sql: str, values: Sequence[Any] | Mapping[str, Any] = ()) -> list[Any]:
        """All rows of a query on the log or its view tables, with errors in plain words."""
        with plain_errors(self.path):
            return self.connection.execute(sql, values).fetchall()

    def _one(self, condition: str, *values: object) -> Stored | None:
        with plain_errors(self.path):
            row = self.connection.execute(SELECT + condition, values).fetchone()
            return None if row is None else from_row(row)

    def backup(self, target: Path) -> Path:
        """Copy the log, also while it is being written to, into a file that is whole or absent; verify it afterwards.

        Raises:
            LogError: the target exists, or cannot be written.
        """
        return copy_of(self.connection, target)

    def close(self) -> None:
        """Close both connections; the file is then complete without its WAL if nobody else has it open."""
        with plain_errors(self.path):
            self.connection.close()
        if self._writer is not None:
            with alone(self.path):
                self._writer.connection.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def must_exist(path: Path) -> Path:
    """The path of a log.

    Raises:
        LogError: nothing is there.
    """
    if not path.is_file():
        older = sorted(p for p in path.parent.glob(f"{path.name}.before-*") if p.name[-1].isdecimal())
        begin = "; `seasonlog register import` begins one, `seasonlog demo` shows invented sites"
        aside = f"; {older[-1]} was moved aside when a copy was restored: restore again" if older else begin
        raise LogError(f"there is no log at {path}{aside}")
    return path


def _make(path: Path, first: Draft, tools: Tools) -> None:
    """A whole new log beside its place, moved there when it is complete."""
    new = path.with_name(path.name + ".new")
    clear(new)
    connection = open_writer(new, create=True)
    try:
        with transaction(connection):
            schema.build(connection)
            if tools.views is not None:
                rebuild_views(connection, tools.views)
        Writer(connection, new, tools.random_bytes(16).hex(), tools).commit([first])
    finally:
        connection.close()
    put(new, path)


@contextmanager
def _closing_on_error(connection: sqlite3.Connection) -> Iterator[None]:
    try:
        yield
    except BaseException:
        connection.close()
        raise
