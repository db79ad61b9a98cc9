"""Who is let in and who is not, asked by an HTTP client that is not ours (aiohttp's).

What a browser does with the headers is from the published texts: Content Security Policy Level 3 (W3C), cookies with
SameSite (RFC 6265 and its draft successor), Origin (RFC 6454); DNS rebinding is told in the HTTP standard's security
notes and in common practice.
"""

import asyncio
import re
import ssl
import sys
import time
from pathlib import Path

import pytest
from aiohttp import ClientWebSocketResponse, WSServerHandshakeError

from seasonlog.errors import UsageError
from seasonlog.serve import server as serving
from seasonlog.serve.access import is_called, kept_token, new_token
from seasonlog.serve.listening import Certificate, listen
from tests.serve.conftest import Knocked, Serve, a_certificate

PATHS = (
    "/", "/ws", "/page/page.css", "/page/keys.js", "/static/js/textual.js", "/static/css/xterm.css", "/download/x",
    "/favicon.ico", "/nothing",
)  # fmt: skip
OURS = ("/", "/page/page.css", "/page/link.js", "/page/screen.js", "/page/keys.js")


@pytest.mark.parametrize("path", PATHS)
async def test_nothing_is_shown_without_the_cookie(serve: Serve, path: str) -> None:
    at = await serve()
    headers = {"Upgrade": "websocket", "Origin": at.origin} if path == "/ws" else {}
    for cookie in (None, "", "wrong", at.access.cookie[:-1], at.access.code):
        status, words, _ = await at.get(path, cookie=cookie, **headers)
        assert (status, words.strip()) == (
            401,
            "This browser is not let in. Open the address that the server printed; each works once.",
        )


async def test_an_address_works_once_and_the_next_one_is_told(serve: Serve) -> None:
    at = await serve()
    first = at.said[-1]
    assert len(at.access.code) >= 43  # 32 bytes in base 64
    status, words, answer = await at.get(first.removeprefix(at.origin))
    assert status == 200
    assert "url=/" in words
    cookie = answer.cookies[at.access.cookie_name]
    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == (True, "Strict", "")
    assert str(at.access.cookie_name).endswith(at.origin.rpartition(":")[2])
    again, _, refused = await at.get(first.removeprefix(at.origin))
    assert (again, list(refused.cookies)) == (403, [])
    assert at.said[-1] != first
    assert (await at.get(at.said[-1].removeprefix(at.origin)))[0] == 200
    assert (await at.get("/", cookie=cookie.value))[0] == 200


async def test_an_address_asked_for_only_by_its_head_is_not_used_up(serve: Serve) -> None:
    at = await serve()
    async with at.client.head(at.said[-1]) as answer:
        assert answer.status == 405
    assert (await at.get(at.said[-1].removeprefix(at.origin)))[0] == 200


@pytest.mark.parametrize("name", ["evil.example", "127.0.0.1.evil.example", "", "localhost.evil.example:80", "[::2]"])
async def test_another_name_is_refused_even_with_the_cookie(serve: Serve, name: str) -> None:
    """DNS rebinding: a page's own name is made to lead here, so the browser would send what it keeps for that name."""
    at = await serve()
    for path in ("/", "/page/page.css", at.said[-1].removeprefix(at.origin)):
        status, words, answer = await at.get(path, cookie=at.access.cookie, Host=name)
        assert (status, words) == (403, "The server is not called by this name.\n")
        assert name not in answer.headers["Content-Security-Policy"] or not name


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1", "http://127.0.0.1:1", None])
async def test_a_websocket_of_another_page_is_refused(serve: Serve, origin: str | None) -> None:
    at = await serve()
    headers = {"Cookie": f"{at.access.cookie_name}={at.access.cookie}"} | ({"Origin": origin} if origin else {})
    with pytest.raises(WSServerHandshakeError) as refused:
        await at.client.ws_connect(at.origin + "/ws", headers=headers)
    assert refused.value.status == 403


async def test_one_servers_cookie_and_address_open_no_other(serve: Serve, tmp_path: Path) -> None:
    """Not even under the same secret: the cookie is of one log."""
    token = new_token()
    one, other = await serve(tmp_path / "one.db", token=token), await serve(tmp_path / "other.db", token=token)
    assert (await one.get("/", cookie=one.access.cookie))[0] == 200
    assert (await other.get("/", cookie=one.access.cookie))[0] == 401
    assert (await other.get(one.said[-1].removeprefix(one.origin)))[0] == 403
    status, _, _ = await other.get("/", Cookie=f"{one.access.cookie_name}={one.access.cookie}")
    assert status == 401


async def test_wrong_guesses_wait_for_one_another_and_the_right_cookie_does_not(serve: Serve) -> None:
    at = await serve(pause_seconds=0.1)
    began = time.monotonic()
    statuses = [status for status, _, _ in await asyncio.gather(*(at.get(f"/in/guess{i}") for i in range(3)))]
    assert statuses == [403, 403, 403]
    assert time.monotonic() - began >= 0.3
    many = asyncio.gather(*(at.get("/", cookie=f"guess{i}") for i in range(40)))
    await asyncio.sleep(0.05)
    began = time.monotonic()
    assert (await at.get("/", cookie=at.access.cookie))[0] == 200
    assert time.monotonic() - began < 2.0
    assert {status for status, _, _ in await many} == {401, 429}


async def test_every_answer_carries_a_strict_policy(serve: Serve) -> None:
    at = await serve()
    wanted = {
        "default-src": {"'self'"}, "script-src": {"'self'"}, "font-src": {"'self'"}, "frame-ancestors": {"'none'"},
        "object-src": {"'none'"}, "base-uri": {"'none'"}, "form-action": {"'none'"}, "img-src": {"'self'", "data:"},
        "connect-src": {"'self'", at.origin.replace("http", "ws")},
    }  # fmt: skip
    nonces = set()
    for path in ("/", "/nothing", "/page/page.css", "/in/wrong", "/static/js/textual.js"):
        _, _, answer = await at.get(path, cookie=at.access.cookie)
        policy = {
            words[0]: set(words[1:])
            for words in map(str.split, answer.headers["Content-Security-Policy"].split(";"))
        }  # fmt: skip
        (nonce,) = policy.pop("style-src") - {"'self'"}
        assert re.fullmatch(r"'nonce-[\w-]{20,}'", nonce)
        nonces.add(nonce)
        assert policy == wanted
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
    assert len(nonces) == 5  # one for each answer


async def test_no_file_of_ours_names_another_machine_or_carries_code_in_the_page(serve: Serve) -> None:
    at = await serve()
    for path in (*OURS, at.said[-1].removeprefix(at.origin)):
        status, words, _ = await at.get(path, cookie=at.access.cookie)
        assert status == 200
        local = words.replace(at.origin.replace("http", "ws"), "")
        assert re.findall(r"(?:https?:|wss?:)?//[\w.]+", re.sub(r"^\s*//.*$", "", local, flags=re.M)) == []
        assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\son\w+=|style=|javascript:", words) == []


@pytest.mark.parametrize(
    "path",
    [
        "/page/../server.py", "/page/..%2fserver.py", "/page/%2e%2e/server.py", "/page/..%5cserver.py",
        "/page//etc/passwd", "/page/%2fetc%2fpasswd", "/static/../../../etc/passwd", "/static/..%2fserver.py",
        "/page", "/page/", "/static/", "/static/js", "/static/js/", "/page/../index.html", "/download/..%2f..%2fx",
    ],
)  # fmt: skip
async def test_static_files_lead_nowhere_else_and_folders_are_not_listed(serve: Serve, path: str) -> None:
    at = await serve()
    status, words, _ = await at.get(path, cookie=at.access.cookie)
    assert status in (403, 404)
    assert words in ("There is nothing at this address.\n", "")


async def test_the_title_is_shown_as_text(serve: Serve) -> None:
    at = await serve()
    assert "<title>a &lt;log&gt;</title>" in (await at.get("/", cookie=at.access.cookie))[1]


# -- beyond this machine ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "roof.example", ""])
def test_beyond_this_machine_a_certificate_is_wanted(host: str) -> None:
    with pytest.raises(UsageError, match="--certificate FILE and --key FILE"):
        listen(host, 0, None)


async def test_tls_is_1_2_or_newer_and_the_cookie_is_secure(serve: Serve, certificate: Certificate) -> None:
    """The client is Python's own TLS with the certificate as its only authority: chain and name are checked."""
    at = await serve(certificate=certificate)
    _, _, answer = await at.get("/in/" + at.access.code)
    assert answer.cookies[at.access.cookie_name]["secure"] is True
    assert at.access.cookie_name.startswith("__Host-seasonlog-")
    page = (await at.get("/", cookie=at.access.cookie))[1]
    assert f'data-session-websocket-url="wss://{at.origin.removeprefix("https://")}/ws"' in page
    tls = at.server._ear.tls
    assert tls is not None
    assert tls.minimum_version is ssl.TLSVersion.TLSv1_2
    plain = at.origin.replace("https", "http")
    with pytest.raises(Exception, match=r"disconnected|closed|reset|400"):
        async with at.client.get(plain + "/") as refused:
            refused.raise_for_status()


def test_a_server_on_every_address_answers_to_the_certificates_names_only(certificate: Certificate) -> None:
    ear = listen("0.0.0.0", 0, certificate)
    assert ear.origin.startswith("https://roof.example:")
    assert is_called("roof.example:8023", ear.names)
    assert not is_called("0.0.0.0:8023", ear.names)
    assert not is_called("other.example", ear.names)
    ear.socket.close()


def test_wrong_certificates_are_told_in_words(certificate: Certificate, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="was valid until"):
        listen("127.0.0.1", 0, a_certificate(tmp_path, days=-1))
    with pytest.raises(UsageError, match="cannot be used"):
        listen("127.0.0.1", 0, Certificate(certificate.chain, certificate.chain))
    with pytest.raises(UsageError, match="cannot be used"):
        listen("127.0.0.1", 0, Certificate(tmp_path / "none.pem", certificate.key))


def test_names_in_a_host_header() -> None:
    names = {"localhost", "::1", "*.firm.example"}
    taken = ["localhost", "LOCALHOST:1", "[::1]:8023", "roof.firm.example:443"]
    refused = [
        "firm.example",
        "a.b.firm.example",
        ".firm.example",
        "localhost.",
        "[::1",
        "",
        "localhost@evil",
        "xlocalhost",
    ]
    assert [t for t in taken if not is_called(t, names)] == []
    assert [r for r in refused if is_called(r, names)] == []


def test_a_taken_port_is_told() -> None:
    ear = listen("127.0.0.1", 0, None)
    with pytest.raises(UsageError, match="Try --port"):
        listen("127.0.0.1", ear.port, None)
    ear.socket.close()


def test_a_kept_secret_is_the_owners_alone(tmp_path: Path) -> None:
    path = tmp_path / "token"
    token = kept_token(path)
    assert (path.stat().st_mode & 0o777, kept_token(path)) == (0o600, token)
    path.chmod(0o640)
    with pytest.raises(UsageError, match="chmod 600"):
        kept_token(path)
    path.chmod(0o600)
    path.write_text("short")
    with pytest.raises(UsageError, match="holds no secret"):
        kept_token(path)


# -- sessions ----------------------------------------------------------------------------------------------------------


async def _open(at: Knocked, width: str = "80") -> ClientWebSocketResponse:
    headers = {"Cookie": f"{at.access.cookie_name}={at.access.cookie}", "Origin": at.origin}
    return await at.client.ws_connect(f"{at.origin}/ws?width={width}&height=24", headers=headers)


async def test_so_many_sessions_and_no_more(serve: Serve, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "MOST_SESSIONS", 2)
    waits = (sys.executable, "-c", "import sys; sys.stdin.read(1)")  # quits with the first byte it is sent
    at = await serve(argv=waits)
    open_ = [await _open(at) for _ in range(2)]
    third = await _open(at)
    assert (await third.receive_json())[1].startswith("So many browsers are open")
    await open_[0].close()
    for _ in range(100):  # its process ends first
        if len(at.server._open) < 2:
            break
        await asyncio.sleep(0.05)
    fourth = await _open(at)
    with pytest.raises(TimeoutError):
        await fourth.receive(timeout=0.2)
    for each in (open_[1], fourth):
        await each.close()


async def test_why_an_app_did_not_open_reaches_the_browser(serve: Serve, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    log = tmp_path / "file" / "seasonlog.db"
    at = await serve(log, argv=(sys.executable, "-m", "seasonlog", f"--log={log}", "--by=Mirel Oduvane"))
    socket = await _open(at, width="9999999999")
    what, words = await socket.receive_json(timeout=60)
    assert what == "said"
    assert str(log.parent) in words
    assert "Traceback" not in words
