"""Entries on their way to the hub and back: pushed in batches that may be repeated, pulled by what is not held yet."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

from seasonlog.hub.link import HubError

if TYPE_CHECKING:
    from psycopg import Connection, Cursor

Heads = Mapping[str, tuple[int, bytes]]
"""Of each device: the number and hash of its last entry."""
Progress = Callable[[int], None]
"""Told how many more rows went through."""
BATCH = 5_000
"""Rows of one transaction: what is lost and sent again when the link breaks."""


@dataclass(frozen=True, slots=True)
class Row:
    """An entry with the columns that the hub keeps beside its line."""

    dev: str
    seq: int
    prev: bytes
    """32 bytes, empty for the first."""
    hash: bytes
    line: bytes
    sig: bytes


def heads(connection: "Connection[Any]", log: str) -> dict[str, tuple[int, bytes]]:
    """The last entry of every device that the hub holds of a log; steps from device to device, not over all rows."""
    rows = connection.execute(
        """
        WITH RECURSIVE device AS (
          (SELECT dev FROM entry WHERE log = %(log)s ORDER BY dev LIMIT 1)
          UNION ALL
          SELECT (SELECT e.dev FROM entry e WHERE e.log = %(log)s AND e.dev > device.dev ORDER BY e.dev LIMIT 1)
          FROM device WHERE device.dev IS NOT NULL)
        SELECT device.dev, last.seq, last.hash FROM device,
          LATERAL (SELECT seq, hash FROM entry e WHERE e.log = %(log)s AND e.dev = device.dev
                   ORDER BY seq DESC LIMIT 1) AS last
        WHERE device.dev IS NOT NULL
        """,
        {"log": log},
    )
    return {dev: (seq, digest) for dev, seq, digest in rows}


def push(connection: "Connection[Any]", log: str, rows: Iterable[Row], progress: Progress | None = None) -> int:
    """Add rows, a batch a transaction; what the hub holds already is passed over, so any part may be sent again.

    Args:
        connection: With autocommit, as `link.connected` gives it.
        log: 32 hex digits.
        rows: Each device's in the order of their numbers.
        progress: Told after every batch that is committed.

    Returns:
        How many rows were new to the hub.
    """
    added = 0
    left = iter(rows)
    connection.execute(_INCOMING)
    while batch := tuple(islice(left, BATCH)):
        added += _push_batch(connection, log, batch)
        if progress:
            progress(len(batch))
    return added


_INCOMING = """
CREATE TEMP TABLE IF NOT EXISTS incoming
  (log text, dev text, seq bigint, prev bytea, hash bytea, line bytea, sig bytea) ON COMMIT DELETE ROWS
"""
_COPY = "COPY incoming (log, dev, seq, prev, hash, line, sig) FROM STDIN (FORMAT BINARY)"
_FORKS = "SELECT i.dev, i.seq FROM incoming i JOIN entry e USING (log, dev, seq) WHERE e.hash <> i.hash LIMIT 1"
_MERGE = """
INSERT INTO entry (log, dev, seq, prev, hash, line, sig)
SELECT log, dev, seq, prev, hash, line, sig FROM incoming ON CONFLICT DO NOTHING
"""


def _push_batch(connection: "Connection[Any]", log: str, batch: Sequence[Row]) -> int:
    with connection.transaction(), connection.cursor() as cursor:
        with cursor.copy(_COPY) as copy:
            copy.set_types(["text", "text", "int8", "bytea", "bytea", "bytea", "bytea"])
            for row in batch:
                copy.write_row((log, row.dev, row.seq, row.prev, row.hash, row.line, row.sig))
        added = cursor.execute(_MERGE).rowcount
        if added < len(batch):
            _refuse_forks(cursor)
        return added


def _refuse_forks(cursor: "Cursor[Any]") -> None:
    """What was passed over must be the same rows; another one in a place makes the batch fail as a whole."""
    fork = cursor.execute(_FORKS).fetchone()
    if fork is not None:
        raise HubError(
            f"the hub holds another entry {fork[1]} of device {fork[0]}: its key is in use twice. Run `hub verify`"
        )


def pull(connection: "Connection[Any]", log: str, held: Mapping[str, int], batch: int = BATCH) -> Iterator[Row]:
    """The rows that are not held yet, each device's in the order of their numbers.

    Args:
        connection: To the hub.
        log: 32 hex digits.
        held: Number of the last entry held, by device.
        batch: Rows fetched at a time.
    """
    with connection.transaction(), connection.cursor("pulled", binary=True) as cursor:
        cursor.itersize = batch
        cursor.execute(
            """
            SELECT e.dev, e.seq, e.prev, e.hash, e.line, e.sig FROM entry e
            LEFT JOIN unnest(%(devs)s::text[], %(seqs)s::int8[]) AS held (dev, seq) ON held.dev = e.dev
            WHERE e.log = %(log)s AND e.seq > coalesce(held.seq, 0) ORDER BY e.dev, e.seq
            """,
            {"log": log, "devs": list(held), "seqs": list(held.values())},
        )
        for row in cursor:
            yield Row(*row)


def news(connection: "Connection[Any]", log: str, timeout_s: float) -> bool:
    """Wait until somebody pushed to the log, at most so long; True when somebody did. Call `listen` once before."""
    return any(note.payload == log for note in connection.notifies(timeout=timeout_s, stop_after=1))


def listen(connection: "Connection[Any]") -> None:
    """From now on this connection is told when something is pushed."""
    connection.execute("LISTEN seasonlog")
