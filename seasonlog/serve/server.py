"""The server: Textual's, with its own pages, a guard before every request, and sessions without a shell."""

import asyncio
import html
import json
import logging
import shlex
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from string import Template

import textual_serve
from aiohttp import WSCloseCode, WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.server import Server, to_int

from seasonlog.serve.access import Access, Slowness
from seasonlog.serve.guard import DOOR, NONCE, Guard
from seasonlog.serve.listening import Ear
from seasonlog.serve.session import AppSession

PAGES = Path(__file__).with_name("page")
THEIR_STATICS = Path(textual_serve.__file__).with_name("static")
MOST_SESSIONS = 8
"""Browsers at once: one process each, 54 MB measured with the sample sites. Common sense, no source."""
MOST_MESSAGE_BYTES = 256 * 1024
"""Far more than anybody types or pastes at once."""
MOST_CELLS = 500
"""Wider or higher than any screen."""
FULL = "So many browsers are open that no other one is let in. Close one, then try again."


@dataclass(frozen=True, slots=True)
class Served:
    """What is served and how it is announced."""

    argv: Sequence[str]
    """The command that opens the app: program and words, never seen by a shell."""
    title: str
    tell: Callable[[str], None]
    """Shows a line to whoever started the server."""
    show_address: Callable[[str], None]
    """Shows the address that works next."""


class BrowserServer(Server):
    """One log for the browsers that were let in."""

    def __init__(self, served: Served, ear: Ear, access: Access, slowness: Slowness | None = None) -> None:
        super().__init__(shlex.join(served.argv), ear.shown, ear.port, served.title, ear.origin)
        self._served = served
        self._ear = ear
        self._access = access
        self._guard = Guard(ear, access, slowness or Slowness())
        self._open: set[web.WebSocketResponse] = set()

    @property
    def next_address(self) -> str:
        """The address that lets the next browser in."""
        return f"{self._ear.origin}{DOOR}{self._access.code}"

    def serve(self, debug: bool = False) -> None:
        """Serve until Ctrl+C or a signal to end; `debug` of the base class is not used: it would show entries."""
        logging.getLogger("aiohttp.server").setLevel(logging.CRITICAL)  # what strangers send wrong is no news
        web.run_app(
            self._make_app(), sock=self._ear.socket, ssl_context=self._ear.tls,
            print=None, access_log=None, shutdown_timeout=10,
        )  # fmt: skip

    async def _make_app(self) -> web.Application:
        app = web.Application(middlewares=[self._guard.middleware])
        app.add_routes(
            [
                web.get("/", self._page, allow_head=False),
                web.get(DOOR + "{code}", self._door, allow_head=False),
                web.get("/ws", self.handle_websocket, allow_head=False),
                web.get("/download/{key}", self.handle_download, allow_head=False),
                web.static("/page", PAGES / "static"),
                web.static("/static", THEIR_STATICS),
            ]
        )
        app.on_response_prepare.append(self._guard.head)
        app.on_startup.append(self.on_startup)
        app.on_shutdown.append(self.on_shutdown)
        return app

    async def on_startup(self, app: web.Application) -> None:
        """Say where to go."""
        self._served.show_address(self.next_address)

    async def on_shutdown(self, app: web.Application) -> None:
        """Close every browser's link; the sessions then close their logs."""
        for websocket in list(self._open):
            await websocket.close(code=WSCloseCode.GOING_AWAY)

    async def _page(self, request: web.Request) -> web.Response:
        words = {
            "title": html.escape(self._served.title),
            "nonce": request[NONCE],
            "textual": version("textual-serve"),
            "socket": f"{'wss' if self._ear.tls else 'ws'}://{html.escape(request.headers['Host'])}/ws",
        }
        return _html(Template((PAGES / "index.html").read_text("utf-8")).substitute(words))

    async def _door(self, request: web.Request) -> web.Response:
        """An address that works once: hand over the cookie, then lead to the page.

        A page that leads on, not a redirect: after a link in a mail a browser sends no strict cookie on redirects.
        """
        if not self._access.enter(request.match_info["code"]):
            return await self._guard.refuse_code()
        response = _html((PAGES / "door.html").read_text("utf-8"))
        self._guard.let_in(response)
        self._served.tell("A browser was let in. The next one:")
        self._served.show_address(self.next_address)
        return response

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """One browser session, from the first byte to the last."""
        websocket = web.WebSocketResponse(heartbeat=10, max_msg_size=MOST_MESSAGE_BYTES)
        await websocket.prepare(request)
        if len(self._open) >= MOST_SESSIONS:
            await websocket.send_str(json.dumps(["said", FULL]))
            await websocket.close(code=WSCloseCode.TRY_AGAIN_LATER)
            return websocket
        self._open.add(websocket)
        try:
            await self._session(request, websocket)
        finally:
            self._open.discard(websocket)
        return websocket

    async def _session(self, request: web.Request, websocket: web.WebSocketResponse) -> None:
        session = AppSession(
            self._served.argv, write_bytes=websocket.send_bytes, write_str=websocket.send_str,
            close=websocket.close, downloads=self.download_manager,
        )  # fmt: skip
        try:
            await session.start(_cells(request.query.get("width"), 80), _cells(request.query.get("height"), 24))
            await self._process_messages(websocket, session)
        finally:
            await asyncio.shield(session.stop())

    async def _process_messages(self, websocket: web.WebSocketResponse, app_service: AppService) -> None:
        async for message in websocket:
            if message.type is WSMsgType.TEXT:
                await _pass_on(message.data, websocket, app_service)


async def _pass_on(text: str, websocket: web.WebSocketResponse, session: AppService) -> None:
    """A message of the page to the app; what is none is dropped."""
    try:
        envelope = json.loads(text)
    except (ValueError, RecursionError):
        return
    match envelope:
        case ["stdin", str(data)]:
            await session.send_bytes(data.encode("utf-8", "replace"))
        case ["resize", {"width": int(width), "height": int(height)}]:
            await session.set_terminal_size(_cells(str(width), 80), _cells(str(height), 24))
        case ["ping", str(data)]:
            await websocket.send_json(["pong", data[:32]])
        case ["focus"]:
            await session.focus()
        case ["blur"]:
            await session.blur()


def _cells(text: str | None, otherwise: int) -> int:
    return min(max(to_int(text or "", otherwise), 1), MOST_CELLS)


def _html(text: str) -> web.Response:
    return web.Response(text=text, content_type="text/html", charset="utf-8")
