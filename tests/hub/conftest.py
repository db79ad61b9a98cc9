"""One real PostgreSQL for a process of tests, made by the trial server's own code; a fresh database where needed."""

import shutil
import socket
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from seasonlog.hub import admin, link, trial
from tests.hub.worlds import LOG, OTHER_LOG, device


def free_port() -> int:
    """A port nobody listens on just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def a_server(now: datetime | None = None, *, connects: bool = True) -> Iterator[trial.Trial]:
    """A trial server on loopback with TLS and SCRAM, in a folder that its own user may reach."""
    try:
        trial.programs()
    except link.HubError as error:
        pytest.skip(str(error))
    base = Path(tempfile.mkdtemp(prefix="seasonlog-hub-"))
    base.chmod(0o755)
    try:
        made = trial.make(base / "hub", free_port(), now, database=connects)
        yield made
        made.stop("immediate")
    finally:
        shutil.rmtree(base)


@pytest.fixture(scope="session")
def server() -> Iterator[trial.Trial]:
    """One server for a process of tests. It does not wait for the disk: here processes are killed, not machines."""
    with a_server() as made:
        with made.connect() as connection:
            connection.execute("ALTER SYSTEM SET fsync = off")
            connection.execute("SELECT pg_reload_conf()")
        yield made


_numbers = count(1)
PASSWORD = "pass-of-the-tests"
LOGINS = {
    "tess": ("technician", LOG, device("tess").dev),
    "tom": ("technician", LOG, device("tom").dev),
    "sue": ("supervisor", LOG, ""),
    "aud": ("auditor", LOG, ""),
    "oscar": ("supervisor", OTHER_LOG, ""),
}


class Hub:
    """A database of the record with five members."""

    def __init__(self, server: trial.Trial, database: str) -> None:
        self.server, self.database = server, database
        with self.administrator() as connection:
            admin.prepare(connection)
            for login, (role, log, dev) in LOGINS.items():
                admin.admit(connection, login=login, password=PASSWORD, log=log, role=role, dev=dev)

    def administrator(self) -> Any:
        return self.server.connect(self.database)

    def invitation(self, login: str) -> link.Invitation:
        role, log, _ = LOGINS[login]
        return link.Invitation(
            log, role, trial.HOST, self.server.port, self.database, login, PASSWORD, self.server.certificate
        )

    def as_(self, login: str, **changed: Any) -> Any:
        """A connection of a member, with the driver's own errors."""
        return link.connected(replace(self.invitation(login), **changed))

    def rows(self) -> list[tuple[str, int]]:
        with self.administrator() as connection:
            return connection.execute("SELECT dev, seq FROM record.entry ORDER BY dev, seq").fetchall()


@contextmanager
def a_hub(server: trial.Trial) -> Iterator[Hub]:
    """A fresh database, dropped afterwards."""
    name = f"t{next(_numbers)}"
    with server.connect("postgres") as connection:
        connection.execute(f"CREATE DATABASE {name}")
    yield Hub(server, name)
    with server.connect("postgres") as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def hub(server: trial.Trial) -> Iterator[Hub]:
    """A hub of one test's own."""
    with a_hub(server) as made:
        yield made


@pytest.fixture(scope="module")
def module_hub(server: trial.Trial) -> Iterator[Hub]:
    """A hub for the tests of a file, which leave it as it was."""
    with a_hub(server) as made:
        yield made
