"""A PostgreSQL server of one's own for trying the hub on this machine: loopback only, TLS, SCRAM, data checksums.

It is what a firm's administrator would set up, made by one call; the tests use the same. Not for a firm's record: it
listens on this machine only and nobody backs it up.
"""

import os
import secrets
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path
from typing import TYPE_CHECKING, Any

from seasonlog.hub.link import HubError, driver

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from psycopg import Connection

HOST = "127.0.0.1"
DATABASE = "seasonlog"
ADMINISTRATOR = "administrator"
_SERVER_USER = "postgres"
_ACCESS = """\
# Encrypted and by password, or not at all.
hostssl all all 127.0.0.1/32 scram-sha-256
hostnossl all all all reject
local all all scram-sha-256
"""


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial server's folder and how to reach it."""

    folder: Path
    port: int

    @property
    def certificate(self) -> str:
        """PEM text of the authority that signed the server's certificate."""
        return (self.folder / "authority.pem").read_text("ascii")

    @property
    def password(self) -> str:
        """The administrator's."""
        return (self.folder / "password").read_text("ascii").strip()

    def connect(self, database: str = DATABASE) -> "Connection[Any]":
        """The administrator's connection; the caller closes it."""
        connection: Connection[Any] = driver().connect(
            host=HOST, port=self.port, dbname=database, user=ADMINISTRATOR, password=self.password, autocommit=True,
            sslmode="verify-full", sslrootcert=str(self.folder / "authority.pem"), connect_timeout=5,
        )  # fmt: skip
        return connection

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-p {self.port} -c listen_addresses={HOST} -c unix_socket_directories=''"
        _run(
            self.folder,
            "pg_ctl",
            "-D",
            str(self.data),
            "-w",
            "-l",
            str(self.folder / "server.log"),
            "-o",
            options,
            "start",
        )

    def stop(self, how: str = "fast") -> None:
        """Stop the server; `immediate` is as if the power had gone."""
        _run(self.folder, "pg_ctl", "-D", str(self.data), "-w", "-m", how, "stop")

    @property
    def data(self) -> Path:
        """The server's data."""
        return self.folder / "data"


def make(folder: Path, port: int, now: datetime | None = None, *, database: bool = True) -> Trial:
    """A new trial server in a new folder, started, with an empty database.

    Args:
        folder: Must not exist; its parent must let the server's user through.
        port: A free one.
        now: When its certificate begins to hold; it holds for a year.
        database: Make the database, too; impossible when the certificate does not hold today.

    Raises:
        HubError: PostgreSQL is not installed, or does not start; the sentence says what to do.
    """
    programs()
    _new_folder(folder)
    trial = Trial(folder, port)
    (folder / "password").write_text(secrets.token_urlsafe(24))
    _certificates(folder, now or datetime.now(UTC))
    _hand_over(folder)
    _run(folder, "initdb", "-D", str(trial.data), "-U", ADMINISTRATOR, "--pwfile", str(folder / "password"),
         "--auth=scram-sha-256", "--data-checksums", "--encoding=UTF8", "--locale=C", "--no-sync")  # fmt: skip
    _configure(trial)
    trial.start()
    if database:
        with trial.connect("postgres") as connection:
            connection.execute(f"CREATE DATABASE {DATABASE}")
    return trial


def found(folder: Path) -> Trial | None:
    """The trial server made in a folder earlier, if any."""
    port = folder / "port"
    return Trial(folder, int(port.read_text("ascii"))) if port.is_file() else None


def _new_folder(folder: Path) -> None:
    if folder.exists():
        raise HubError(f"{folder} is there already; name a new folder for the trial server")
    folder.mkdir(parents=True, mode=0o700)


def _configure(trial: Trial) -> None:
    settings = {
        "ssl": "on",
        "ssl_cert_file": f"'{trial.folder / 'server.pem'}'",
        "ssl_key_file": f"'{trial.folder / 'server.key'}'",
        "password_encryption": "'scram-sha-256'",
        "log_statement": "none",
        "max_connections": "50",
    }
    with (trial.data / "postgresql.conf").open("a") as out:
        out.writelines(f"{name} = {value}\n" for name, value in settings.items())
    (trial.data / "pg_hba.conf").write_text(_ACCESS)
    (trial.folder / "port").write_text(str(trial.port))


def programs() -> Path:
    """Folder of PostgreSQL's programs.

    Raises:
        HubError: none was found.
    """
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    if not versions:
        raise HubError("PostgreSQL is not installed here; on Debian or Ubuntu: apt-get install postgresql")
    return versions[-1].parent


def _as_root() -> bool:
    return sys.platform != "win32" and os.geteuid() == 0


def _hand_over(folder: Path) -> None:
    """The server refuses to run as root: its folder goes to the user made for it."""
    (folder / "password").chmod(0o600)
    (folder / "server.key").chmod(0o600)
    if _as_root():
        for path in (folder, *folder.iterdir()):
            shutil.chown(path, _SERVER_USER)


def _run(folder: Path, program: str, *arguments: str) -> None:
    command: Sequence[str] = [str(programs() / program), *arguments]
    if _as_root():
        command = ["runuser", "-u", _SERVER_USER, "--", *command]
    done = subprocess.run(command, cwd=folder, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)  # noqa: S603
    if done.returncode:
        said = " ".join((done.stderr or done.stdout).split())[-300:]
        raise HubError(f"{program} failed: {said}")


def _certificates(folder: Path, now: datetime) -> None:
    """An authority and a certificate of the server signed by it, for a year."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

    authority, server = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
    alternatives = x509.SubjectAlternativeName([x509.DNSName("localhost"), x509.IPAddress(IPv4Address(HOST))])
    own = _certificate("seasonlog trial authority", authority, authority, x509.BasicConstraints(True, 0), now)
    signed = _certificate("localhost", server, authority, alternatives, now)
    (folder / "authority.pem").write_bytes(own)
    (folder / "server.pem").write_bytes(signed)
    (folder / "server.key").write_bytes(_pem_of(server))


def _pem_of(key: "EllipticCurvePrivateKey") -> bytes:
    from cryptography.hazmat.primitives import serialization as form

    return key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())


def _certificate(
    name: str, key: "EllipticCurvePrivateKey", by: "EllipticCurvePrivateKey", extension: Any, now: datetime
) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding

    def named(text: str) -> x509.Name:
        return x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, text)])

    built = (
        x509.CertificateBuilder()
        .subject_name(named(name))
        .issuer_name(named("seasonlog trial authority"))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=365))
        .add_extension(extension, critical=isinstance(extension, x509.BasicConstraints))
        .sign(by, hashes.SHA256())
    )
    return built.public_bytes(Encoding.PEM)
