"""Takes a bundle into the log's file: one transaction under the log's lock, with its views; or makes a log of it."""

import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path

from seasonlog.errors import LogError
from seasonlog.journal import held, schema
from seasonlog.journal.bundle import refused
from seasonlog.journal.bundle_check import Proved
from seasonlog.journal.copying import clear, put
from seasonlog.journal.database import open_writer, plain_errors, refuse_network_folder, transaction
from seasonlog.journal.devices import standing
from seasonlog.journal.merge import Fork, Merge, Ours, is_nothing, merge
from seasonlog.journal.note import Note
from seasonlog.journal.pen import Pen, Tools
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft
from seasonlog.journal.tables import Progress, UnreadableEntryError, bring_up, forget_views
from seasonlog.journal.writer import Writer, alone

FORK_FOUND = "fork_found"
"""Kind of the entry that holds the proof of a fork."""
_LONGEST_PROOF = 400_000
"""A longer line is named by its hash only: the entry that holds it must fit, too [bytes]."""


def ours(connection: sqlite3.Connection, log_id: str) -> Ours:
    """What the log knows, as far as a merge asks."""
    aside = frozenset(digest for (digest,) in connection.execute("SELECT hash FROM aside"))
    return Ours(log_id, held.device_hashes(connection), held.checkpoints(connection), held.said(connection), aside)


def would_take(journal: Journal, found: Proved, name: str, enrol: Iterable[str] = ()) -> Merge:
    """What taking a bundle in would do; nothing is written.

    Raises:
        InputRefusedError: it may not be taken in.
    """
    with plain_errors(journal.path):
        return merge(found, ours(journal.connection, journal.log_id), name, enrol)


def take_in(
    journal: Journal,
    found: Proved,
    name: str,
    who: str,
    *,
    also: Sequence[Draft] = (),
    enrol: Iterable[str] = (),
    attest: bool = True,
    progress: Progress | None = None,
) -> Merge:
    """Take a bundle in, all of it or nothing, with one durable commit; it is safe when this returns.

    A device that sees its own fork, or that it was revoked, goes on as a new one: others would put aside all it writes.
    A bundle that brings nothing writes nothing. Else the newest checkpoint of each other device in it is co-signed, and
    a checkpoint of what is now here is made.

    Args:
        journal: The log, open for writing.
        found: The bundle, proved.
        name: What to call the file in sentences.
        who: The person who takes it in.
        also: Entries to write with it, such as the enrolment of its device.
        enrol: Devices that those entries enrol.
        attest: State a checkpoint and co-sign those that came.
        progress: Told how far the views are, when they have to be folded again.

    Raises:
        InputRefusedError: it may not be taken in; nothing was written.
        LogError: nothing was written, and the sentence says why.
    """
    writer = journal.pen()
    with alone(journal.path, saving=True), _readable(name), transaction(writer.connection):
        before = ours(writer.connection, journal.log_id)
        news = merge(found, before, name, enrol)
        if is_nothing(news, before) and not also:
            return news
        _insert(writer.connection, news, writer.tools, progress)
        writer.retire_key_of(_not_to_go_on(before, news))
        pen = Pen(writer.connection, journal.log_id, writer.key_in_charge(), writer.tools)
        for draft in (*also, *_fork_entries(writer.connection, news.forks, who)):
            pen.write(draft)
        if attest:
            _attest(pen, news, who)
    writer.after_commit(pen.last)
    return news


def adopt(path: Path, found: Proved, who: str, tools: Tools, progress: Progress | None = None) -> None:
    """A whole new log from a bundle, in which this device joins with a key of its own. Whole or absent.

    Raises:
        LogError: something is there already, or the folder cannot be used.
    """
    with plain_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    refuse_network_folder(path)
    with alone(path, saving=True):
        if path.exists():
            raise LogError(f"{path} is there already; a new log is never made over another file")
        new = path.with_name(path.name + ".new")
        clear(new)
        with closing(open_writer(new, create=True)) as connection:
            _fill(connection, new, found, who, tools, progress)
        put(new, path)


def _fill(
    connection: sqlite3.Connection, path: Path, found: Proved, who: str, tools: Tools, progress: Progress | None
) -> None:
    log_id = found.head.log
    writer = Writer(connection, path, log_id, tools)
    with _readable("the bundle"), transaction(connection):
        schema.build(connection)
        news = merge(found, Ours(log_id, {}, (), ()), "the bundle", found.keys)
        _insert(connection, news, tools, progress)
        pen = Pen(connection, log_id, writer.key_in_charge(), tools)
        _attest(pen, news, who)
    writer.after_commit(pen.last)


@contextmanager
def _readable(name: str) -> Iterator[None]:
    try:
        yield
    except UnreadableEntryError as error:
        raise refused(name, 0, f"holds an entry that this version cannot read: {error}") from error


def _insert(connection: sqlite3.Connection, news: Merge, tools: Tools, progress: Progress | None) -> None:
    for s in news.new:
        e = s.entry
        connection.execute(
            "INSERT INTO entry (dev, seq, hash, uid, hlc, kind, line, sig) VALUES (?,?,?,?,?,?,?,?)",
            (e.dev, e.seq, s.hash, e.uid, e.hlc, e.kind, s.line, s.sig),
        )
    for a in news.aside:
        e = a.stored.entry
        connection.execute(
            "INSERT OR IGNORE INTO aside VALUES (?,?,?,?,?,?)",
            (a.stored.hash, e.dev, e.seq, a.stored.line, a.stored.sig, a.why),
        )
    for one in news.checkpoints:
        held.keep(connection, one.note, one.names)
    if tools.views is None:
        forget_views(connection)
    elif news.new:
        bring_up(connection, tools.views, news.new[0].entry, progress)


def _not_to_go_on(before: Ours, news: Merge) -> set[str]:
    """Devices whose further entries others put aside."""
    said = sorted((*before.said, *(s.entry for s in news.new)), key=lambda e: (e.hlc, e.dev, e.seq))
    revoked = standing(said, {*before.hashes, *news.joining}).revoked
    return {*revoked, *(fork.other.entry.dev for fork in news.forks)}


def _fork_entries(connection: sqlite3.Connection, forks: Iterable[Fork], who: str) -> Iterable[Draft]:
    for fork in forks:
        other = fork.other
        uid = f"fork:{other.hash.hex()}"
        if connection.execute("SELECT 1 FROM entry WHERE uid = ?", (uid,)).fetchone() is None:
            line = other.line.decode() if len(other.line) <= _LONGEST_PROOF else ""
            body = {"device": other.entry.dev, "seq": other.entry.seq, "held": fork.held.hex(),
                    "other": other.hash.hex(), "line": line, "sig": other.sig.hex()}  # fmt: skip
            yield Draft(FORK_FOUND, body, who, uid)


def _attest(pen: Pen, news: Merge, who: str) -> None:
    """Co-sign the newest checkpoint of each other device, and state what is here: kept before anybody is told."""
    pen.join(who)
    newest = {one.stated.by: one for one in news.checkpoints}
    for one in newest.values():
        if one.stated.by != pen.key.dev:
            held.cosign(pen.connection, one.note, pen.key)
    pen.state()


def state_checkpoint(journal: Journal, who: str) -> Note:
    """A checkpoint of everything that is here, signed by this device, on disk before this returns.

    Raises:
        LogError: the log was opened for reading only, or cannot be written.
    """
    writer = journal.pen()
    with alone(journal.path, saving=True):
        with transaction(writer.connection):
            pen = Pen(writer.connection, journal.log_id, writer.key_in_charge(), writer.tools)
            pen.join(who)
            note = pen.state()
        writer.after_commit(pen.last)
    return note
