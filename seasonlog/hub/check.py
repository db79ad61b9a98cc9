"""The nightly look at the hub: every row hashed and its signature checked again, chains walked, compared with copies.

Triggers and policies stop the firm's programs; an administrator of the server can go round them. What was changed
then no longer fits its hash, its signature or its neighbour; what was cut off is missed by whoever holds a copy.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from seasonlog.hub.rows import Heads, Progress, Row, pull
from seasonlog.journal.encoding import EncodingError, entry_from_line, entry_hash

if TYPE_CHECKING:
    from psycopg import Connection

Proves = Callable[[Row], bool]
"""Whether the signature of a row is its device's."""


@dataclass(slots=True)
class _Walk:
    """Where each device's chain stands, and what was wrong so far."""

    log: str
    proves: Proves
    last: dict[str, tuple[int, bytes]] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)

    def step(self, row: Row) -> None:
        """Look at the next row of a device."""
        words = self._words(row)
        if words:
            self.wrong.append(f"entry {row.seq} of device {row.dev} {words}")
        self.last[row.dev] = (row.seq, row.hash)

    def _words(self, row: Row) -> str:
        seq, digest = self.last.get(row.dev, (0, b""))
        if row.seq != seq + 1:
            return f"does not come after {seq}: entries between them are gone"
        if entry_hash(row.line) != row.hash:
            return "was changed: its line does not fit its hash"
        if row.prev != digest:
            return "does not follow the one before it: one of the two was changed"
        if not self.proves(row):
            return "was changed or made up: its signature is not its device's"
        return self._line_words(row)

    def _line_words(self, row: Row) -> str:
        try:
            entry = entry_from_line(row.line)
        except EncodingError as error:
            return f"is not an entry: {error}"
        said = (entry.log, entry.dev, entry.seq, entry.prev)
        return (
            ""
            if said == (self.log, row.dev, row.seq, row.prev.hex())
            else "stands under another name than its line says"
        )


def wrong(
    connection: "Connection[Any]", log: str, *, proves: Proves, held: Heads, progress: Progress | None = None
) -> list[str]:
    """All that is wrong with the hub's copy of a log, in words; empty when nothing is.

    Args:
        connection: To the hub; an auditor's is enough.
        log: 32 hex digits.
        proves: Says whether a row's signature is its device's.
        held: What this device holds: the hub may hold more, never less or other.
        progress: Told of every thousand rows.
    """
    walk = _Walk(log, proves)
    seen: dict[str, bytes] = {}
    for number, row in enumerate(pull(connection, log, {}), 1):
        walk.step(row)
        if held.get(row.dev, (0, b""))[0] == row.seq:
            seen[row.dev] = row.hash
        if progress and number % 1000 == 0:
            progress(1000)
    return [*walk.wrong, *_against(held, seen)]


def _against(held: Heads, seen: Mapping[str, bytes]) -> Iterable[str]:
    for dev, (seq, digest) in held.items():
        if seq and dev not in seen:
            yield f"the hub lacks entry {seq} of device {dev}, which is held here: it was cut off, or sync again"
        elif seq and seen[dev] != digest:
            yield f"entry {seq} of device {dev} is another one on the hub than here"
