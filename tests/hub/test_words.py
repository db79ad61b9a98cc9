"""Whatever is wrong with the way to the hub is told in one sentence, and nothing is sent over an open line."""

import socket
import threading
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from seasonlog.hub import link, trial
from seasonlog.hub.link import HubError, Invitation, read
from tests.hub.conftest import Hub, a_server
from tests.hub.worlds import LOG


def said(invitation: Invitation) -> str:
    """What a person is told when the hub cannot be used."""
    with pytest.raises(HubError) as told, link.connected(invitation):
        pass
    assert "\n" not in str(told.value)
    return str(told.value)


def test_a_wrong_password(module_hub: Hub) -> None:
    assert "refuses this login or its password" in said(replace(module_hub.invitation("tess"), password="wrong"))


def test_an_unknown_login_is_told_the_same(module_hub: Hub) -> None:
    assert "refuses this login or its password" in said(replace(module_hub.invitation("tess"), login="nobody"))


def test_a_server_that_is_not_there(module_hub: Hub) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    assert "does not answer" in said(replace(module_hub.invitation("tess"), port=port))


def test_an_unknown_host(module_hub: Hub) -> None:
    assert "not known here" in said(replace(module_hub.invitation("tess"), host="hub.invalid"))


def test_another_authority(module_hub: Hub) -> None:
    """A server whose certificate somebody else signed."""
    with a_server() as other:
        words = said(replace(module_hub.invitation("tess"), certificate=other.certificate))
    assert "run out or is not the firm's" in words


def test_a_certificate_that_has_expired() -> None:
    with a_server(now=datetime.now(UTC) - timedelta(days=400), connects=False) as old:
        invitation = Invitation(LOG, "technician", trial.HOST, old.port, "seasonlog", "tess", "x", old.certificate)
        assert "run out" in said(invitation)


def test_no_password_goes_over_an_open_line(module_hub: Hub) -> None:
    """A server that says it knows no encryption ("N" to the request of PostgreSQL's protocol) hears nothing more."""
    heard = []

    def answer(server: socket.socket) -> None:
        client, _ = server.accept()
        with client:
            heard.append(client.recv(8))
            client.sendall(b"N")
            heard.append(client.recv(1000))

    with socket.create_server(("127.0.0.1", 0)) as server:
        thread = threading.Thread(target=answer, args=[server])
        thread.start()
        words = said(replace(module_hub.invitation("tess"), port=server.getsockname()[1]))
        thread.join()
    assert "no encryption" in words
    assert heard == [b"\x00\x00\x00\x08\x04\xd2\x16\x2f", b""]


def test_an_unencrypted_client_is_turned_away(module_hub: Hub) -> None:
    """The trial server's own rule, asked by the driver without our settings."""
    import psycopg

    with pytest.raises(psycopg.OperationalError, match=r"pg_hba\.conf"):
        psycopg.connect(
            host=trial.HOST, port=module_hub.server.port, dbname=module_hub.database, user="tess", sslmode="disable",
            password="pass-of-the-tests",
        )  # fmt: skip


@pytest.mark.parametrize(
    "broken",
    [
        "", "not = [toml", "format = 2", "format = 1\nport = 0", "format = 1\nport = true", "[" * 5000,
        "format = 1\nport = 5432\nlog = \"../../etc\"",
    ],
)  # fmt: skip
def test_what_is_no_invitation_is_refused_in_words(broken: str) -> None:
    with pytest.raises(HubError, match="invitation"):
        read(broken)


def test_an_invitation_reads_back_as_it_was_written(module_hub: Hub) -> None:
    invitation = module_hub.invitation("tess")
    assert read(invitation.text()) == replace(invitation, certificate=invitation.certificate.strip() + "\n")
