"""Ask the page for what a browser would, or never should, without a network in between (ASGI 3.0).

What no browser may see is told on standard error: a request that ends in status 500, a message
that speaks of a defect, a page that answers no more.
"""

import asyncio
import json
import sys
import traceback
from collections.abc import Iterable
from typing import Any

LONGEST_SECONDS = 15
"""In which the page must answer to what a good window asks for last."""

Scope = dict[str, Any]


async def visit(app: Any, asked: Iterable[Any]) -> None:
    """Ask an application for one thing after the other.

    Parameters
    ----------
    app : ASGI application
    asked : iterable
        Texts and bytes are messages of a window; tuples are requests: method, path, query, body.
    """
    life = _Talk(app, {"type": "lifespan", "asgi": {"version": "3.0"}})
    await life.say({"type": "lifespan.startup"})
    window = _Talk(app, {"type": "websocket", "path": "/live", "query_string": b"", "headers": []})
    await window.say({"type": "websocket.connect"})
    for one in asked:
        if isinstance(one, tuple):
            await _request(app, *one)
        else:
            kind = "text" if isinstance(one, str) else "bytes"
            await window.say({"type": "websocket.receive", kind: one})
    if not window.over:
        last = {"do": "show", "frame": 0, "rows": 90, "tag": "the last"}
        await window.say({"type": "websocket.receive", "text": json.dumps(last)}, b'"the last"')
        await window.say({"type": "websocket.disconnect", "code": 1000})
    await life.say({"type": "lifespan.shutdown"})
    await asyncio.wait([life.task, window.task], timeout=LONGEST_SECONDS)


async def _request(app: Any, method: str, path: str, query: str, body: bytes) -> None:
    scope = {
        "type": "http", "http_version": "1.1", "method": method, "path": path, "headers": [],
        "raw_path": path.encode("utf-8", "replace"), "scheme": "http",
        "query_string": query.encode("utf-8", "replace"), "server": ("127.0.0.1", 1),
    }  # fmt: skip
    talk = _Talk(app, scope)
    await talk.say({"type": "http.request", "body": body, "more_body": False})
    await asyncio.wait([talk.task], timeout=LONGEST_SECONDS)
    if not talk.task.done():
        print(f"defect: no answer to {method} {path!r:.80}", file=sys.stderr)


class _Talk:
    """One scope of an application, and what passes in it."""

    def __init__(self, app: Any, scope: Scope) -> None:
        self._app, self._scope = app, scope
        self._queue: asyncio.Queue[Scope] = asyncio.Queue()
        self._heard = asyncio.Event()
        self._wanted = b""
        self.over = False
        self.task = asyncio.create_task(self._run())

    async def _run(self) -> None:
        try:
            await self._app(self._scope, self._queue.get, self._hear)
        except Exception:  # noqa: BLE001  whatever comes out of it is a finding
            traceback.print_exc()
        finally:
            self.over = True
            self._heard.set()

    async def _hear(self, message: Scope) -> None:
        said = message.get("bytes") or (message.get("text") or "").encode()
        if b"defect: " in said or message.get("status", 0) >= 500:
            print(f"defect: {message!r:.600}", file=sys.stderr)
        if message["type"] == "websocket.close":
            self.over = True
        if self._wanted and self._wanted in said:
            self._heard.set()

    async def say(self, message: Scope, wanted: bytes = b"") -> None:
        """Say something; wait for an answer that is wanted, or a moment."""
        self._wanted = wanted
        self._heard.clear()
        self._queue.put_nowait(message)
        if not wanted:
            await asyncio.sleep(0.002)
            return
        try:
            await asyncio.wait_for(self._heard.wait(), LONGEST_SECONDS)
        except TimeoutError:
            print(f"defect: no answer to {message!r:.200}", file=sys.stderr)
