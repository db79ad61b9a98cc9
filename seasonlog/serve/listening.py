"""Where the server listens: a socket of its own, TLS from a firm's certificate, and the names in that certificate."""

import socket
import ssl
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from seasonlog.errors import UsageError
from seasonlog.serve.access import LOOPBACK_NAMES, is_loopback

ANY = frozenset({"0.0.0.0", "::", ""})  # noqa: S104  (names of "all addresses", only compared)
PORT = 8023
"""Where it listens unless told otherwise; any free port would do."""


@dataclass(frozen=True, slots=True)
class Certificate:
    """The two PEM files of the firm."""

    chain: Path
    key: Path


@dataclass(frozen=True, slots=True)
class Ear:
    """An open socket with all that follows from where it is."""

    socket: socket.socket
    names: frozenset[str]
    """What the server may be called in a Host header."""
    shown: str
    """The name that goes into the printed address."""
    tls: ssl.SSLContext | None

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self.socket.getsockname()[1])

    @property
    def scheme(self) -> str:
        """`https` with a certificate."""
        return "https" if self.tls else "http"

    @property
    def origin(self) -> str:
        """The address without a path."""
        name = f"[{self.shown}]" if ":" in self.shown else self.shown
        return f"{self.scheme}://{name}:{self.port}"


def listen(host: str, port: int, certificate: Certificate | None) -> Ear:
    """Open the socket; beyond this machine only with a certificate.

    Raises:
        UsageError: another host without a certificate, a certificate that cannot be used, or a port that is taken.
    """
    if certificate is None and not is_loopback(host):
        raise UsageError(
            f"{host} is reached over the network, where everyone could read along and join in. "
            "Give --certificate FILE and --key FILE, or leave --host away to serve only this machine."
        )
    tls = _tls(certificate) if certificate else None
    certified = _names_in(certificate.chain) if certificate else []
    names = LOOPBACK_NAMES | frozenset(certified) | (frozenset({host}) - ANY)
    return Ear(_socket(host, port), names, _shown(host, certified), tls)


def _shown(host: str, certified: list[str]) -> str:
    if is_loopback(host):
        return host
    plain = [name for name in certified if not name.startswith("*")]
    return host if host not in ANY and (host in certified or not plain) else (plain or ["localhost"])[0]


def _socket(host: str, port: int) -> socket.socket:
    try:
        found = socket.getaddrinfo(host or None, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)
        family, kind, protocol, _, address = found[0]
        opened = socket.socket(family, kind, protocol)
    except (OSError, OverflowError, UnicodeError) as error:
        raise UsageError(f"There is no host {host} with port {port} here: {error}.") from None
    try:
        opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        opened.bind(address)
        opened.listen(64)
    except OSError as error:
        opened.close()
        raise UsageError(f"{host} port {port} cannot be listened on: {error.strerror}. Try --port.") from None
    return opened


def _tls(certificate: Certificate) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        context.load_cert_chain(certificate.chain, certificate.key, password="")
    except (OSError, ValueError) as error:  # an SSLError is an OSError
        raise UsageError(
            f"{certificate.chain} with {certificate.key} cannot be used ({getattr(error, 'reason', None) or error}); "
            "both are PEM, the key without a password, the certificate first in its chain."
        ) from None
    return context


def _names_in(chain: Path) -> list[str]:
    """The names a certificate speaks for, in its order.

    Raises:
        UsageError: it is past its time, or names nobody.
    """
    from cryptography import x509

    first = x509.load_pem_x509_certificate(chain.read_bytes())
    if first.not_valid_after_utc < datetime.now(UTC):
        raise UsageError(f"{chain} was valid until {first.not_valid_after_utc:%Y-%m-%d}; browsers refuse it.")
    try:
        names = first.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        raise UsageError(f"{chain} names no host (subjectAltName); browsers refuse it.") from None
    return [*names.get_values_for_type(x509.DNSName), *map(str, names.get_values_for_type(x509.IPAddress))]
