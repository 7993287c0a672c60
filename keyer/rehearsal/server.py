"""The page's server: static files, one socket, pictures without loss, sound."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from keyer.errors import KeyerError
from keyer.rehearsal.arrivals import keep, kind_of
from keyer.rehearsal.controls import KINDS, controls
from keyer.rehearsal.designs import take_design
from keyer.rehearsal.guide import guide_wav
from keyer.rehearsal.live import Live, Window
from keyer.rehearsal.numbers import sound_numbers
from keyer.rehearsal.said import fault_words
from keyer.rehearsal.title_words import title_words
from keyer.render.sound import heard, sound_wave

if TYPE_CHECKING:
    from starlette.requests import Request

_TYPES = {
    "html": "text/html; charset=utf-8",
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "svg": "image/svg+xml",
}

MOST_MESSAGE = 2**20
"""Largest message of a window, in letters."""


def application(live: Live) -> Starlette:
    """Make the application."""

    async def page(request: Request) -> Response:
        del request
        return _static("index.html")

    async def static(request: Request) -> Response:
        return _static(request.path_params["name"])

    async def face(request: Request) -> Response:
        data = await run_in_threadpool(_face, request.path_params["weight"])
        return Response(data, media_type="font/ttf") if data else _missing()

    async def exact(request: Request) -> Response:
        view = request.query_params.get("view", "picture")
        frame = request.path_params["frame"]
        try:
            data = await run_in_threadpool(_exact, live, frame, view)
        except KeyerError as error:
            return _refused(live, error)
        return Response(data, media_type="image/png")

    async def said(request: Request) -> Response:
        from keyer.kinds.check_names import NAMES

        del request
        return JSONResponse({"controls": controls(), "kinds": KINDS, "names": NAMES})

    async def socket(websocket: WebSocket) -> None:
        await _talk(websocket, live)

    @contextlib.asynccontextmanager
    async def span(app: Starlette) -> AsyncIterator[None]:
        del app
        watching = asyncio.create_task(live.watch())
        yield
        watching.cancel()
        live.close()

    return Starlette(
        routes=[
            Route("/", page),
            Route("/static/{name}", static),
            Route("/face/{weight:int}", face),
            Route("/exact/{frame:int}", exact),
            *_sounds(live),
            _words(live),
            *_arrivals(live),
            Route("/controls", said),
            WebSocketRoute("/live", socket),
        ],
        lifespan=span,
    )


def _sounds(live: Live) -> list[Route]:
    """Make the routes of what is heard."""

    async def sound(request: Request) -> Response:
        del request
        sheet = live.draft.sheet
        if sheet is None or not sheet.sounds:
            return _missing()
        try:
            data = await run_in_threadpool(guide_wav, sheet)
        except KeyerError as error:
            return _refused(live, error)
        return Response(data, media_type="audio/wav")

    async def trace(request: Request) -> Response:
        sheet, index = live.draft.sheet, request.path_params["index"]
        if sheet is None or index >= len(sheet.sounds):
            return _missing()
        try:
            points = await run_in_threadpool(sound_wave, sheet, index)
            _, stop = await run_in_threadpool(heard, sheet, index)
        except KeyerError as error:
            return _refused(live, error)
        return JSONResponse({"peaks": points, "stop": stop})

    async def verdicts(request: Request) -> Response:
        del request
        sheet = live.draft.sheet
        if sheet is None or not sheet.sounds:
            return _missing()
        try:
            return JSONResponse(await run_in_threadpool(sound_numbers, sheet))
        except KeyerError as error:
            return _refused(live, error)

    return [
        Route("/sound", sound),
        Route("/wave/{index:int}", trace),
        Route("/loudness", verdicts),
    ]


def _words(live: Live) -> Route:
    """Make the route of where a title's words stand."""

    async def words(request: Request) -> Response:
        sheet, source = live.draft.sheet, request.query_params.get("of", "")
        if sheet is None:
            return _missing()
        try:
            return JSONResponse(await run_in_threadpool(title_words, sheet, source))
        except KeyerError as error:
            return _refused(live, error)

    return Route("/words", words)


def _arrivals(live: Live) -> list[Route]:
    """Make the routes by which something comes to lie beside the sheet."""

    async def arrive(request: Request) -> Response:
        folder = live.draft.path.parent
        name = request.query_params.get("name", "")
        try:
            path = await keep(folder, name, request.stream())
        except KeyerError as error:
            return _refused(live, error)
        return JSONResponse({"path": path, "kind": kind_of(path)})

    async def design(request: Request) -> Response:
        folder, name = live.draft.path.parent, request.query_params.get("name", "")
        try:
            return JSONResponse(await run_in_threadpool(take_design, folder, name))
        except KeyerError as error:
            return _refused(live, error)

    async def remarks(request: Request) -> Response:
        data = bytearray()
        async for part in request.stream():
            data += part
            if len(data) > MOST_MESSAGE:
                return JSONResponse({"error": "that is too long for remarks."}, status_code=422)
        try:
            count = live.take_remarks(bytes(data))
        except KeyerError as error:
            return _refused(live, error)
        return JSONResponse({"count": count})

    return [
        Route("/arrive", arrive, methods=["POST"]),
        Route("/design", design, methods=["POST"]),
        Route("/remarks", remarks, methods=["POST"]),
    ]


def _refused(live: Live, error: KeyerError) -> Response:
    said = live.plain({"error": fault_words(error)})
    return JSONResponse(said, status_code=422)


def _missing() -> Response:
    return PlainTextResponse("not here\n", status_code=404)


def _static(name: str) -> Response:
    """Send a file of the page; the names are those of one flat folder."""
    folder = files("keyer.rehearsal") / "static"
    known = {one.name for one in folder.iterdir() if one.is_file()}
    suffix = name.rpartition(".")[2]
    if name not in known or suffix not in _TYPES:
        return _missing()
    return Response((folder / name).read_bytes(), media_type=_TYPES[suffix])


def _face(weight: int) -> bytes:
    from keyer.report.page.fonts import WEIGHTS, face_file

    return face_file(weight).read_bytes() if weight in WEIGHTS else b""


def _exact(live: Live, frame: int, view: str) -> bytes:
    """Draw a picture as the sheet's still would be."""
    from keyer.errors import SettingError
    from keyer.rehearsal.pictures import exact_png
    from keyer.render.plan import Plan
    from keyer.render.still import frame_picture

    sheet = live.draft.sheet
    if sheet is None:
        msg = "there is no sheet yet. Drop a picture on the page."
        raise SettingError(msg)
    with Plan(sheet) as plan:
        return exact_png(frame_picture(plan, sheet.frame(frame), view))


async def _talk(websocket: WebSocket, live: Live) -> None:
    """Serve one window until it goes."""
    await websocket.accept()
    window = Window()
    live.open(window)
    sending = asyncio.create_task(_send(websocket, window))
    try:
        while True:
            text = await websocket.receive_text()
            said = _message(text)
            if said is None:
                await websocket.close(1003)
                return
            live.hear(window, said)
    except (WebSocketDisconnect, KeyError):
        pass
    finally:
        live.leave(window)
        sending.cancel()


def _message(text: str) -> dict[str, Any] | None:
    if len(text) > MOST_MESSAGE:
        return None
    try:
        said = json.loads(text)
    except (ValueError, RecursionError):
        return None
    return said if isinstance(said, dict) else None


async def _send(websocket: WebSocket, window: Window) -> None:
    with contextlib.suppress(WebSocketDisconnect, RuntimeError):
        while True:
            message = await window.queue.get()
            if isinstance(message, bytes):
                await websocket.send_bytes(message)
            else:
                await websocket.send_text(json.dumps(message))
