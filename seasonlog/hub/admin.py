"""What an administrator does on the server: the record's tables, and who may use them.

Passwords reach the server only as SCRAM verifiers, so that neither its log nor its statistics ever hold one.
"""

import re
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from seasonlog.hub.link import HubError, plain_errors

if TYPE_CHECKING:
    from psycopg import Connection

ROLES = ("technician", "supervisor", "auditor")
OWNER = "seasonlog_owner"


def steps() -> dict[int, str]:
    """The numbered scripts that bring the record's tables up to date, by number."""
    folder = files("seasonlog.hub") / "sql"
    return {int(f.name[:3]): f.read_text("utf-8") for f in folder.iterdir() if f.name.endswith(".sql")}


def prepare(connection: "Connection[Any]") -> list[int]:
    """Make the roles and tables, or bring older ones up to date; the numbers of the steps taken.

    Args:
        connection: Of an administrator who may create roles, to the database of the record.
    """
    with plain_errors(connection.info.host), connection.transaction():
        for role in (OWNER, *(f"seasonlog_{role}" for role in ROLES)):
            _make_role(connection, role)
        done = _version(connection)
        taken = [number for number in sorted(steps()) if number > done]
        for number in taken:
            connection.execute(steps()[number].encode())  # bytes: our own scripts, no text of a person
            connection.execute("RESET ROLE")
    return taken


def _make_role(connection: "Connection[Any]", role: str) -> None:
    from psycopg import sql

    if connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [role]).fetchone() is None:
        connection.execute(sql.SQL("CREATE ROLE {} NOLOGIN").format(sql.Identifier(role)))
        connection.execute(sql.SQL("GRANT {} TO current_user").format(sql.Identifier(role)))


def _version(connection: "Connection[Any]") -> int:
    """Number of the newest step taken, 0 for an empty database."""
    if connection.execute("SELECT to_regclass('record.version')").fetchone() == (None,):
        return 0
    row = connection.execute("SELECT max(number) FROM record.version").fetchone()
    return int(row[0]) if row else 0


def admit(connection: "Connection[Any]", *, login: str, password: str, log: str, role: str, dev: str = "") -> None:
    """Let a login in: as technician of one device, as supervisor or as auditor of one log.

    Args:
        connection: Of an administrator.
        login: Small letters, digits, underscores.
        password: For this login; a login that exists gets this new one.
        log: 32 hex digits.
        role: technician, supervisor or auditor.
        dev: The technician's device, 16 hex digits, or empty: then the first one that joins with this login. Always
            empty for the others.

    Raises:
        HubError: a name is not in its form, or the server refuses.
    """
    _check(login, log, role, dev)
    verifier = connection.pgconn.encrypt_password(password.encode(), login.encode(), b"scram-sha-256").decode()
    with plain_errors(connection.info.host), connection.transaction():
        _login(connection, login, verifier, role)
        connection.execute(
            "INSERT INTO record.member (login, log, role, dev) VALUES (%s, %s, %s, %s) "
            "ON CONFLICT (login, log) DO UPDATE SET role = excluded.role, dev = excluded.dev",
            [login, log, role, dev],
        )


def _check(login: str, log: str, role: str, dev: str) -> None:
    if not re.fullmatch(r"[a-z][0-9a-z_]{0,62}", login, re.ASCII) or login.startswith(("pg_", "seasonlog_")):
        raise HubError(f"{login!r:.80} cannot be a login: small letters, digits and _, beginning with a letter")
    if not re.fullmatch(r"[0-9a-f]{32}", log, re.ASCII):
        raise HubError("a log is named by 32 hex digits (seasonlog hub status shows it)")
    if role not in ROLES:
        raise HubError(f"a role is one of {', '.join(ROLES)}")
    if not re.fullmatch(r"([0-9a-f]{16})?" if role == "technician" else r"", dev, re.ASCII):
        raise HubError(
            "a technician is admitted with the 16 hex digits of the own device or none, the others with none"
        )


def _login(connection: "Connection[Any]", login: str, verifier: str, role: str) -> None:
    from psycopg import sql

    known = connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [login]).fetchone()
    made = "ALTER ROLE {} LOGIN PASSWORD {}" if known else "CREATE ROLE {} LOGIN CONNECTION LIMIT 10 PASSWORD {}"
    connection.execute(sql.SQL(made).format(sql.Identifier(login), sql.Literal(verifier)))
    for other in ROLES:
        given = "GRANT {} TO {}" if other == role else "REVOKE {} FROM {}"
        connection.execute(sql.SQL(given).format(sql.Identifier(f"seasonlog_{other}"), sql.Identifier(login)))


def dismiss(connection: "Connection[Any]", login: str) -> None:
    """Lock a login out; what it pushed stays.

    Raises:
        HubError: there is no such member.
    """
    from psycopg import sql

    with plain_errors(connection.info.host), connection.transaction():
        gone = connection.execute("DELETE FROM record.member WHERE login = %s", [login]).rowcount
        if not gone:
            raise HubError(f"there is no member {login!r:.80}; `hub members` lists them")
        connection.execute(sql.SQL("ALTER ROLE {} NOLOGIN").format(sql.Identifier(login)))
        connection.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = %s", [login])


def members(connection: "Connection[Any]") -> list[tuple[str, str, str, str]]:
    """Login, log, role and device of every member."""
    with plain_errors(connection.info.host):
        return connection.execute(
            "SELECT login, log, role, dev FROM record.member ORDER BY log, role, login"
        ).fetchall()
