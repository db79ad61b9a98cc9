"""Checkpoints and kept files on their way to the hub and back."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from psycopg import Connection

Signatures = Mapping[bytes, tuple[str, Mapping[str, bytes]]]
"""Hash of a checkpoint's text to the text and, by device, the signatures under it."""


def checkpoints(connection: "Connection[Any]", log: str, known: Collection[bytes]) -> Signatures:
    """The checkpoints of a log on the hub that are not known yet, by their hashes, in the order they came."""
    found: dict[bytes, tuple[str, dict[str, bytes]]] = {}
    rows = connection.execute(
        "SELECT c.hash, c.text, s.name, s.sig FROM checkpoint c LEFT JOIN checkpoint_signature s USING (log, hash) "
        "WHERE c.log = %s AND c.hash <> ALL (%s) ORDER BY c.received, s.name",
        [log, list(known)],
    )
    for digest, text, name, sig in rows:
        signatures = found.setdefault(digest, (text, {}))[1]
        if name is not None:
            signatures[name] = sig
    return found


def push_checkpoints(connection: "Connection[Any]", log: str, held: Signatures) -> int:
    """Add checkpoints and signatures that the hub lacks; how many checkpoints were sent."""
    there = {digest for (digest,) in connection.execute("SELECT hash FROM checkpoint WHERE log = %s", [log])}
    signed = set(connection.execute("SELECT hash, name FROM checkpoint_signature WHERE log = %s", [log]))
    new = [(log, digest, text) for digest, (text, _) in held.items() if digest not in there]
    missing = [
        (log, digest, name, sig)
        for digest, (_, signatures) in held.items()
        for name, sig in signatures.items()
        if (digest, name) not in signed
    ]
    with connection.transaction(), connection.cursor() as cursor:
        cursor.executemany("INSERT INTO checkpoint (log, hash, text) VALUES (%s, %s, %s) ON CONFLICT DO NOTHING", new)
        cursor.executemany(
            "INSERT INTO checkpoint_signature (log, hash, name, sig) VALUES (%s, %s, %s, %s) ON CONFLICT DO NOTHING",
            missing,
        )
    return len(new)


def file_names(connection: "Connection[Any]", log: str) -> set[str]:
    """Names of the kept files on the hub: hashes of their bytes, hex."""
    return {digest.hex() for (digest,) in connection.execute("SELECT hash FROM attachment WHERE log = %s", [log])}


def push_file(connection: "Connection[Any]", log: str, name: str, data: bytes) -> None:
    """Add a kept file; nothing when it is there."""
    connection.execute(
        "INSERT INTO attachment (log, hash, bytes) VALUES (%s, %s, %s) ON CONFLICT DO NOTHING",
        [log, bytes.fromhex(name), data],
    )


def pull_files(connection: "Connection[Any]", log: str, names: Iterable[str]) -> Iterator[tuple[str, bytes]]:
    """Kept files by name, one at a time; one that the hub lacks is passed over."""
    for name in names:
        row = connection.execute(
            "SELECT bytes FROM attachment WHERE log = %s AND hash = %s", [log, bytes.fromhex(name)]
        ).fetchone()
        if row is not None:
            yield name, row[0]


def let_go(connection: "Connection[Any]", log: str, names: Collection[str]) -> int:
    """Remove kept files that an entry gave up; a supervisor's login may. How many went."""
    gone = connection.execute(
        "DELETE FROM attachment WHERE log = %s AND hash = ANY (%s)", [log, [bytes.fromhex(name) for name in names]]
    )
    return gone.rowcount
