"""Setting a hub up and letting people in: what an administrator does once, and a supervisor's device after it."""

import re
from base64 import b32encode
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from seasonlog.hub import admin, check, link, rows
from seasonlog.hub.link import HubError, Invitation
from seasonlog.journal import held
from seasonlog.journal.bundle_check import signature_fits
from seasonlog.journal.encoding import signed_bytes
from seasonlog.services.logbook import Logbook
from seasonlog.services.sync import heads, seen_at_last_sync

if TYPE_CHECKING:
    from psycopg import Connection

PASSWORD_BYTES = 20
"""160 random bits, far past guessing over a network."""


@dataclass(frozen=True, slots=True)
class Server:
    """Where a hub is, and which authority its certificate must come from."""

    host: str
    port: int
    database: str
    certificate: str
    """PEM text."""


@contextmanager
def administrator(server: str, authority: str, password: str = "") -> Iterator["Connection[Any]"]:
    """An administrator's connection, encrypted and to the named host, or none.

    Args:
        server: libpq's words, such as `host=hub.example dbname=seasonlog user=admin`; never a password.
        authority: Path of the PEM file of the authority that signed the server's certificate.
        password: Empty to leave it to libpq: PGPASSWORD or the password file.

    Raises:
        HubError: in words.
    """
    if re.search(r"password\s*=|://[^/@]*:[^/@]*@", server):
        raise HubError("no password on the command line, where others can read it: PGPASSWORD, ~/.pgpass, or asked for")
    driver = link.driver()
    secret = {"password": password} if password else {}
    with link.plain_errors("the server"):
        connection: Connection[Any] = driver.connect(
            server, sslmode="verify-full", sslrootcert=authority, connect_timeout=link.CONNECT_TIMEOUT_S,
            autocommit=True, **secret,
        )  # fmt: skip
    with connection:
        yield connection


def server_of(connection: "Connection[Any]", certificate: str) -> Server:
    """The server at the other end of a connection."""
    info = connection.info
    return Server(info.host, info.port, info.dbname, certificate)


def admit(
    connection: "Connection[Any]",
    server: Server,
    *,
    login: str,
    role: str,
    log: str,
    random_bytes: Callable[[int], bytes],
) -> Invitation:
    """Let a login in with a fresh password; the invitation to hand over.

    A login that is there gets the new password and may join with a new device.
    """
    password = b32encode(random_bytes(PASSWORD_BYTES)).decode("ascii").lower()
    admin.admit(connection, login=login, password=password, log=log, role=role)
    return Invitation(log, role, server.host, server.port, server.database, login, password, server.certificate)


@dataclass(frozen=True, slots=True)
class Standing:
    """How the log here and the hub's stand to each other."""

    log: str
    device: str
    host: str
    role: str
    to_push: int
    """Entries here that the hub lacks."""
    to_pull: int
    """Entries on the hub that are not here."""


def standing(book: Logbook, invitation: Invitation) -> Standing:
    """Ask the hub how far it is.

    Raises:
        HubError: it cannot be asked just now.
    """
    here = heads(book)
    with link.connected(invitation) as hub:
        there = {dev: seq for dev, (seq, _) in rows.heads(hub, invitation.log).items()}
    own = {dev: seq for dev, (seq, _) in here.items()}
    lacks = {dev: seq for dev, seq in own.items() if invitation.role != "technician" or dev == book.journal.device_id}
    return Standing(
        invitation.log, book.journal.device_id, invitation.host, invitation.role, _more(lacks, there), _more(there, own)
    )


def _more(some: dict[str, int], others: dict[str, int]) -> int:
    return sum(max(seq - others.get(dev, 0), 0) for dev, seq in some.items())


def wrong(book: Logbook, invitation: Invitation, progress: rows.Progress | None = None) -> list[str]:
    """All that is wrong with the hub's copy: every row hashed, every signature and link checked, held against ours.

    Raises:
        HubError: it cannot be asked just now.
    """
    keys = held.device_keys(book.db)

    def proves(row: rows.Row) -> bool:
        key = keys.get(row.dev) or _key_in(row)
        if row.seq == 1:
            keys.setdefault(row.dev, key)
        return signature_fits(key, row.sig, signed_bytes(row.hash))

    with link.connected(invitation) as hub:
        return check.wrong(hub, invitation.log, proves=proves, held=_seen(book), progress=progress)


def _key_in(row: rows.Row) -> bytes:
    found = re.search(rb'"key":"([0-9a-f]{64})"', row.line) if row.seq == 1 else None
    return bytes.fromhex(found[1].decode()) if found else bytes(32)


def _seen(book: Logbook) -> dict[str, tuple[int, bytes]]:
    """What the hub was seen to hold at the last sync, with the hashes of our own copies."""
    seen = seen_at_last_sync(book)
    marks = book.journal.query("SELECT dev, seq, hash FROM entry")
    return {dev: (seq, digest) for dev, seq, digest in marks if seen.get(dev) == seq}
