"""Who is let in: this computer's browser that was given the address, and no one else.

The page is served on the loopback address. A token in the first address is
exchanged for a cookie that scripts cannot read and other sites cannot send
(RFC 6265bis: HttpOnly, SameSite=Strict). Host and Origin are checked on every
request and socket, since a name of somebody else's can be made to point here
(DNS rebinding), and a page of somebody else's can post here.
"""

from __future__ import annotations

import hmac
import secrets
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "font-src 'self'; media-src 'self' blob:; connect-src 'self'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
"""Content policy of every answer (W3C Content Security Policy Level 3)."""

HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}

_REFUSED = (
    "This page is for the person who started keyer on this computer. "
    "Open the address that keyer printed.\n"
)


class Door:
    """Lets requests through to the application, or refuses them.

    Parameters
    ----------
    app : ASGI application
    port : int
        On which it is served.
    session : str, optional
        What the cookie says; default: something new.
    """

    def __init__(self, app: ASGIApp, port: int, session: str | None = None) -> None:
        self.app = app
        self.port = port
        self.token = secrets.token_urlsafe(32)
        self.session = session or secrets.token_urlsafe(32)
        self.cookie = f"keyer-{port}"
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}

    @property
    def address(self) -> str:
        """The address that opens the page: with the token that lets the browser in."""
        return f"http://127.0.0.1:{self.port}/?key={self.token}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or socket."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        headers = {
            key.decode("latin-1"): value.decode("latin-1") for key, value in scope["headers"]
        }
        if not self._near(scope, headers):
            await _refuse(scope, send)
        elif self._known(headers):
            await self.app(scope, receive, _with_headers(send))
        elif self._invited(scope):
            await self._welcome(send)
        else:
            await _refuse(scope, send)

    def _near(self, scope: Scope, headers: dict[str, str]) -> bool:
        """Whether host and origin are ours."""
        host, origin = headers.get("host", ""), headers.get("origin")
        if host not in self.hosts:
            return False
        if origin is None:
            needs = scope["type"] == "websocket" or scope["method"] not in ("GET", "HEAD")
            return not needs
        return origin == f"http://{host}"

    def _known(self, headers: dict[str, str]) -> bool:
        try:
            sent = SimpleCookie(headers.get("cookie", "")).get(self.cookie)
        except CookieError:
            return False
        return sent is not None and _same(sent.value, self.session)

    def _invited(self, scope: Scope) -> bool:
        if scope["type"] != "http" or scope["path"] != "/" or scope["method"] != "GET":
            return False
        said = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])
        return _same(said[0], self.token)

    async def _welcome(self, send: Send) -> None:
        """Give the cookie, and the address without the token."""
        cookie = f"{self.cookie}={self.session}; HttpOnly; SameSite=Strict; Path=/"
        await _answer(send, 303, "", {"location": "/", "set-cookie": cookie})


def _same(said: str, known: str) -> bool:
    return hmac.compare_digest(said.encode(), known.encode())


def _with_headers(send: Send) -> Send:
    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            kept = [
                (k, v) for k, v in message.get("headers", []) if k.decode().lower() not in HEADERS
            ]
            message["headers"] = [*kept, *((k.encode(), v.encode()) for k, v in HEADERS.items())]
        await send(message)

    return sender


async def _answer(send: Send, status: int, text: str, headers: dict[str, str]) -> None:
    sent: dict[str, str] = {"content-type": "text/plain; charset=utf-8", **HEADERS, **headers}
    start: dict[str, Any] = {
        "type": "http.response.start",
        "status": status,
        "headers": [(key.encode(), value.encode()) for key, value in sent.items()],
    }
    await send(start)
    await send({"type": "http.response.body", "body": text.encode()})


async def _refuse(scope: Scope, send: Send) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
    else:
        await _answer(send, 403, _REFUSED, {})
