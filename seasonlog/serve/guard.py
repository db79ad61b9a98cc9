"""What stands before every request: names, cookie, origin; and the headers every answer carries."""

import logging
import secrets

from aiohttp import web
from aiohttp.typedefs import Handler, Middleware

from seasonlog.serve.access import Access, Slowness, is_called
from seasonlog.serve.listening import Ear

DOOR = "/in/"
"""Where the address that works once begins."""
NONCE = web.RequestKey("nonce", str)
"""Marks the styles of one page as ours."""

NOT_LET_IN = "This browser is not let in. Open the address that the server printed; each works once."
WRONG = "This address is not valid, or was used already. Open the one that the server printed last."
TOO_MANY = "Too many wrong addresses were tried; wait a minute."
OTHER_NAME = "The server is not called by this name."
OTHER_PAGE = "Another page may not use this server."
NOTHING = "There is nothing at this address."
FAILED = "The server could not do this. Nothing saved is lost."
log = logging.getLogger("seasonlog.serve")


def plain(status: int, sentence: str) -> web.Response:
    """One sentence."""
    return web.Response(status=status, text=sentence + "\n")


class Guard:
    """Lets a request through, or answers it with one sentence."""

    def __init__(self, ear: Ear, access: Access, slowness: Slowness) -> None:
        self.ear = ear
        self.access = access
        self._slowness = slowness

    @property
    def middleware(self) -> Middleware:
        """For the application; it wraps every handler, also "not found"."""

        @web.middleware
        async def guarded(request: web.Request, handler: Handler) -> web.StreamResponse:
            request[NONCE] = secrets.token_urlsafe(16)
            refusal = await self._refusal(request)
            return refusal if refusal is not None else await _answer(request, handler)

        return guarded

    async def _refusal(self, request: web.Request) -> web.Response | None:
        if not is_called(request.headers.get("Host", ""), self.ear.names):
            return plain(403, OTHER_NAME)
        if not self._is_our_page(request):
            return plain(403, OTHER_PAGE)
        if request.path.startswith(DOOR) or self.access.knows(request.cookies):
            return None
        if self.access.cookie_name in request.cookies and not await self._slowness.wait():
            return plain(429, TOO_MANY)
        return plain(401, NOT_LET_IN)

    def _is_our_page(self, request: web.Request) -> bool:
        """An Origin, where there is one, is our own; a websocket always has one."""
        origin = request.headers.get("Origin")
        if origin is None:
            return request.headers.get("Upgrade", "").lower() != "websocket" and request.path != "/ws"
        return origin.lower() == f"{self.ear.scheme}://{request.headers['Host']}".lower()

    async def refuse_code(self) -> web.Response:
        """A wrong address, answered after a pause."""
        waited = await self._slowness.wait()
        return plain(403, WRONG) if waited else plain(429, TOO_MANY)

    def let_in(self, response: web.Response) -> None:
        """Hand the cookie over."""
        response.set_cookie(
            self.access.cookie_name, self.access.cookie,
            httponly=True, samesite="Strict", secure=self.ear.tls is not None, path="/",
        )  # fmt: skip

    async def head(self, request: web.Request, response: web.StreamResponse) -> None:
        """The headers of every answer: nothing is fetched from elsewhere, nothing may show us in a frame."""
        socket_origin = f"{'wss' if self.ear.tls else 'ws'}://{request.headers.get('Host', '')}"
        safe = socket_origin if is_called(request.headers.get("Host", ""), self.ear.names) else ""
        response.headers["Content-Security-Policy"] = (
            "default-src 'self'; script-src 'self'; font-src 'self'; img-src 'self' data:; "
            f"style-src 'self' 'nonce-{request.get(NONCE, '')}'; connect-src 'self' {safe}; "
            "object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["X-Frame-Options"] = "DENY"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        response.headers["Permissions-Policy"] = "camera=(), geolocation=(), microphone=()"
        response.headers.setdefault("Cache-Control", "no-store")
        response.headers["Server"] = "seasonlog"


async def _answer(request: web.Request, handler: Handler) -> web.StreamResponse:
    try:
        return await handler(request)
    except web.HTTPException as error:
        return plain(error.status, NOTHING if error.status in (403, 404) else error.reason + ".")
    except Exception as error:  # noqa: BLE001  (a sentence for whoever runs it, none of the record in it)
        log.error("a request failed: %s", type(error).__name__)
        return plain(500, FAILED)
