"""The way to the hub: an invitation file, a connection that trusts only the firm's own certificate, errors in words.

An invitation (TOML, mode 0600) is what `hub admit` writes and `hub join` keeps, one per log:

    format = 1
    log = "32 hex digits"      # the log it is for
    role = "technician"        # or supervisor, auditor
    host = "hub.example"
    port = 5432
    database = "seasonlog"
    login = "mirel_tablet"
    password = "..."
    certificate = '''-----BEGIN CERTIFICATE-----...'''   # the authority that signed the server's certificate
"""

import re
import tempfile
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from seasonlog.errors import SeasonlogError
from seasonlog.journal.keys import write_private

if TYPE_CHECKING:
    from psycopg import Connection

FORMAT = 1
CONNECT_TIMEOUT_S = 5


class HubError(SeasonlogError):
    """The hub cannot be used just now; nothing of the log on this device is lost by it."""


@dataclass(frozen=True, slots=True)
class Invitation:
    """How one device reaches the hub of one log."""

    log: str
    """32 hex digits."""
    role: str
    """technician, supervisor or auditor."""
    host: str
    port: int
    database: str
    login: str
    password: str
    certificate: str
    """PEM text of the authority that signed the server's certificate."""

    def text(self) -> str:
        """The invitation as the file that `read` takes."""
        quoted = {name: getattr(self, name) for name in ("log", "role", "host", "database", "login", "password")}
        lines = [
            f"format = {FORMAT}",
            f"port = {self.port}",
            *(f'{name} = "{value}"' for name, value in quoted.items()),
        ]
        return "\n".join([*lines, f"certificate = '''\n{self.certificate}'''", ""])


_FORMS = {
    "log": r"[0-9a-f]{32}",
    "role": r"technician|supervisor|auditor",
    "host": r"[0-9A-Za-z.:-]{1,253}",
    "database": r"[0-9A-Za-z_-]{1,63}",
    "login": r"[0-9a-z_]{1,63}",
    "password": r"[!#-&(-\[\]-~]{1,200}",
    "certificate": r"-----BEGIN CERTIFICATE-----[0-9A-Za-z+/=\s-]{1,20000}",
}


def read(text: str) -> Invitation:
    """An invitation from its text.

    Raises:
        HubError: it is not one; the sentence names the key.
    """
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise HubError(f"this is not an invitation to a hub: {error}") from None
    if values.pop("format", None) != FORMAT:
        raise HubError(f"this is not an invitation of format {FORMAT}; ask the supervisor for a new one (hub admit)")
    port = values.pop("port", None)
    if not isinstance(port, int) or isinstance(port, bool) or not 1 <= port <= 65535:
        raise HubError("the invitation's port is a whole number from 1 to 65535")
    for name, form in _FORMS.items():
        if not (isinstance(values.get(name), str) and re.fullmatch(form, values[name].strip(), re.ASCII)):
            raise HubError(f"the invitation's {name} is missing or not in its form; ask the supervisor for a new one")
    return Invitation(port=port, **{name: values[name] for name in _FORMS})


def keep(invitation: Invitation, folder: Path) -> Path:
    """Keep an invitation for its log, readable by the user only; an earlier one is replaced."""
    folder.mkdir(parents=True, exist_ok=True)
    path = kept_at(folder, invitation.log)
    write_private(path, invitation.text().encode())
    return path


def kept_at(folder: Path, log: str) -> Path:
    """Where the invitation of a log is kept."""
    return folder / f"{log}.hub"


def seen_at(folder: Path, log: str) -> Path:
    """Where a device remembers what the hub of a log held (JSON, device to number)."""
    return folder / f"{log}.seen"


def kept(folder: Path, log: str) -> Invitation | None:
    """The invitation kept for a log, if any."""
    path = kept_at(folder, log)
    return read(path.read_text(encoding="utf-8")) if path.is_file() else None


def driver() -> Any:
    """The module psycopg.

    Raises:
        HubError: it is not installed.
    """
    try:
        import psycopg
    except ImportError:
        raise HubError(
            'the hub needs a part that is not installed; add it with: pip install "seasonlog[hub]"'
        ) from None
    return psycopg


@contextmanager
def connected(invitation: Invitation) -> "Iterator[Connection[Any]]":
    """A connection to the hub: TLS to the named host or nothing, the password never on a command line.

    Raises:
        HubError: in words, for whatever goes wrong inside the `with` too.
    """
    psycopg = driver()
    with tempfile.TemporaryDirectory(prefix="seasonlog-") as folder, plain_errors(invitation.host):
        authority = Path(folder) / "authority.pem"
        authority.write_text(invitation.certificate, encoding="ascii")
        with psycopg.connect(
            host=invitation.host,
            port=invitation.port,
            dbname=invitation.database,
            user=invitation.login,
            password=invitation.password,
            sslmode="verify-full",
            sslrootcert=str(authority),
            require_auth="scram-sha-256",
            connect_timeout=CONNECT_TIMEOUT_S,
            application_name="seasonlog",
            autocommit=True,
        ) as connection:
            connection.execute("SET search_path = record, pg_catalog")
            yield connection


_CERTIFICATE = (
    "the certificate of {host} has run out or is not the firm's; nothing was sent. Ask the server's administrator, who "
    "renews it or gives a new invitation"
)
_SENTENCES = (
    (
        "password authentication failed",
        "the hub refuses this login or its password; ask the supervisor for a new invitation",
    ),
    ("is not permitted to log in", "this login was dismissed; ask the supervisor for a new invitation"),
    ("certificate verify failed", _CERTIFICATE),
    ("provider signature failure", _CERTIFICATE),
    ("does not match host name", "the certificate is not for {host}; nothing was sent. Ask the supervisor"),
    ("does not support SSL", "{host} offers no encryption; nothing was sent. Ask its administrator"),
    ("authentication method requirement", "{host} asks for the password in a weaker way than agreed; nothing was sent"),
    ("no pg_hba.conf entry", "{host} does not let this login in from here; ask its administrator"),
    ("timeout expired", "{host} does not answer; everything is kept here and goes at the next sync"),
    ("Connection refused", "{host} does not answer; everything is kept here and goes at the next sync"),
    ("could not translate host name", "{host} is not known here (no network?); everything is kept and goes later"),
    ("Name or service not known", "{host} is not known here (no network?); everything is kept and goes later"),
)
_REFUSALS = {
    "SL001": "the hub keeps what it has: {message}",
    "SL002": "the hub refuses a gap: {message}; sync the device that wrote it first",
    "SL003": "the hub refuses what contradicts itself: {message}; run verify on this device",
    "23505": "the hub holds another entry in that place: a device's key is in use twice. Run `hub verify`",
    "23514": "the hub refuses an entry that is not in its form: {message}; run verify on this device",
    "42501": "this login has no right to that on the hub: {message}",
}


@contextmanager
def plain_errors(host: str) -> Iterator[None]:
    """The driver's errors as sentences."""
    psycopg = driver()
    try:
        yield
    except psycopg.Error as error:
        raise HubError(_sentence(str(error), error.sqlstate, host)) from error


def _sentence(message: str, state: str | None, host: str) -> str:
    first = " ".join(message.split("\n")[0].split())
    if state in _REFUSALS:
        return _REFUSALS[state].format(message=first)
    for part, words in _SENTENCES:
        if part in message:
            return words.format(host=host)
    return f"the link to {host} broke; everything is kept here and goes at the next sync ({first[:200]})"
