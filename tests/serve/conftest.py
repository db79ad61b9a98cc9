"""A server in this process with an HTTP client that knocks at it; no app is started until a session begins."""

import ssl
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from aiohttp import ClientResponse, ClientSession, CookieJar, TCPConnector, web
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from yarl import URL

from seasonlog.serve.access import Access, Slowness, new_token
from seasonlog.serve.listening import Certificate, listen
from seasonlog.serve.server import BrowserServer, Served


@dataclass
class Knocked:
    """A server that runs, and what a browser would be."""

    server: BrowserServer
    access: Access
    origin: str
    client: ClientSession
    said: list[str] = field(default_factory=list)

    async def get(self, path: str, *, cookie: str | None = None, **headers: str) -> tuple[int, str, ClientResponse]:
        """Status, body and answer; the path goes out exactly as written."""
        if cookie is not None:
            headers["Cookie"] = f"{self.access.cookie_name}={cookie}"
        url = URL(self.origin + path, encoded=True)
        async with self.client.get(url, headers=headers, allow_redirects=False) as answer:
            return answer.status, await answer.text("utf-8", "replace"), answer


Serve = Callable[..., Awaitable[Knocked]]


@pytest.fixture
async def serve(tmp_path: Path) -> AsyncIterator[Serve]:
    """Start servers; they end with the test."""
    ends: list[Callable[[], Awaitable[None]]] = []

    async def start(
        log: Path = tmp_path / "seasonlog.db", *, token: str = "", argv: tuple[str, ...] = ("false",),
        certificate: Certificate | None = None, pause_seconds: float = 0.0,
    ) -> Knocked:  # fmt: skip
        ear = listen("127.0.0.1", 0, certificate)
        access = Access(token or new_token(), log, ear.port, tls=ear.tls is not None)
        said: list[str] = []
        server = BrowserServer(Served(argv, "a <log>", said.append, said.append), ear, access, Slowness(pause_seconds))
        runner = web.AppRunner(await server._make_app())
        await runner.setup()
        await web.SockSite(runner, ear.socket, ssl_context=ear.tls).start()
        trust = ssl.create_default_context(cafile=str(certificate.chain)) if certificate else False
        client = ClientSession(cookie_jar=CookieJar(unsafe=True), connector=TCPConnector(ssl=trust))
        ends.extend([client.close, runner.cleanup])
        origin = ear.origin if certificate is None else f"https://127.0.0.1:{ear.port}"
        return Knocked(server, access, origin, client, said)

    yield start
    for end in ends:
        await end()


@pytest.fixture(scope="session")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Certificate:
    """A firm's certificate for one name and one address, as its own authority."""
    return a_certificate(tmp_path_factory.mktemp("certificate"))


def a_certificate(folder: Path, days: int = 30) -> Certificate:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "roof.example")])
    now = datetime.now(UTC)
    names = [x509.DNSName("roof.example"), x509.IPAddress(ip_address("127.0.0.1"))]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=60))
        .not_valid_after(now + timedelta(days=days))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    paths = Certificate(folder / "roof.pem", folder / "roof-key.pem")
    paths.chain.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    paths.key.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
    )  # fmt: skip
    return paths
