"""Who may come in: a secret, an address that works once, a cookie, and the names by which the server may be called."""

import asyncio
import hashlib
import hmac
import ipaddress
import os
import secrets
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path

from seasonlog.errors import UsageError

TOKEN_BYTES = 32
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "::1"})
GONE = 0o177
"""Permission bits a file with a secret must not have."""


def new_token() -> str:
    """A secret nobody can guess: 32 random bytes, in letters that an address may hold."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def kept_token(path: Path) -> str:
    """The secret in a file that only its owner can read; the file is made when it is not there.

    Raises:
        UsageError: others can read the file, it holds no secret, or it cannot be made.
    """
    try:
        if not path.exists():
            _write_once(path, new_token())
        mode = stat.S_IMODE(path.stat().st_mode)
        token = path.read_text("ascii").strip()
    except (OSError, UnicodeError) as error:
        raise UsageError(f"{path} cannot be used: {getattr(error, 'strerror', None) or error}.") from None
    if os.name == "posix" and mode & GONE:
        raise UsageError(f"{path} can be read by others (mode {mode:o}); a secret wants mode 600: chmod 600 {path}")
    if len(token) < len(new_token()):
        raise UsageError(f"{path} holds no secret of {TOKEN_BYTES} bytes; take it away and a new one is made.")
    return token


def _write_once(path: Path, token: str) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(token + "\n")


class Access:
    """The address that lets one browser in, once, and the cookie which that browser then holds.

    The cookie is a keyed hash of the log's path, so that it opens no other log, not even under the same secret.
    """

    def __init__(self, token: str, log: Path, port: int, *, tls: bool = False) -> None:
        self.cookie_name = f"{'__Host-' if tls else ''}seasonlog-{port}"
        """Browsers keep cookies by host, not by port: the name tells two servers of one machine apart.

        Under TLS its prefix makes a browser refuse one that another host or an open connection set.
        """
        self.cookie = _keyed(token, f"cookie\n{log.resolve()}")
        """What a browser that came in holds."""
        self.code = new_token()
        """The last part of the address that works next."""

    def enter(self, code: str) -> bool:
        """Use an address; it works once, then the next one does."""
        if not _same(code, self.code):
            return False
        self.code = new_token()
        return True

    def knows(self, cookies: Mapping[str, str]) -> bool:
        """Does the browser hold the cookie."""
        return _same(cookies.get(self.cookie_name, ""), self.cookie)


def _keyed(token: str, words: str) -> str:
    return hmac.new(token.encode(), f"seasonlog serve\n{words}".encode(), hashlib.sha256).hexdigest()


def _same(given: str, kept: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), kept.encode())


class Slowness:
    """Wrong guesses wait for one another; whoever holds the cookie never waits."""

    def __init__(self, pause_seconds: float = 1.0, most_waiting: int = 16) -> None:
        self._pause_seconds = pause_seconds
        self._most_waiting = most_waiting
        self._waiting = 0
        self._turn = asyncio.Lock()

    async def wait(self) -> bool:
        """Wait for one's turn and the pause; False at once when too many wait already."""
        if self._waiting >= self._most_waiting:
            return False
        self._waiting += 1
        try:
            async with self._turn:
                await asyncio.sleep(self._pause_seconds)
        finally:
            self._waiting -= 1
        return True


def is_loopback(host: str) -> bool:
    """Does this host reach only programs of the same machine."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def is_called(host_header: str, names: Iterable[str]) -> bool:
    """Is the name in a Host header one of ours; the port may differ, since a tunnel changes it.

    A page of another site can make a browser ask us under that site's name (DNS rebinding): such a name is not ours.

    Args:
        host_header: `localhost:8023`, `tablet.example`, `[::1]:8023`.
        names: Our names; `*.example` stands for every name with one more label.
    """
    name = _name_of(host_header)
    return bool(name) and any(_fits(name, known.lower()) for known in names)


def _name_of(host_header: str) -> str:
    text = host_header.strip().lower()
    if text.startswith("["):
        name, closed, _ = text[1:].partition("]")
        return name if closed else ""
    return text.partition(":")[0]


def _fits(name: str, known: str) -> bool:
    if known.startswith("*."):
        label, dot, rest = name.partition(".")
        return bool(label and dot) and rest == known[2:]
    return name == known
