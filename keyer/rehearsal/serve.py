"""The page served on this computer alone, until it is stopped."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from pathlib import Path

from keyer.errors import SettingError

LOOPBACK = "127.0.0.1"


def free_socket(port: int) -> socket.socket:
    """Take a port of the loopback address.

    Parameters
    ----------
    port : int
        0: any that is free.

    Returns
    -------
    socket

    Raises
    ------
    SettingError
        If it is taken.
    """
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((LOOPBACK, port))
    except OSError as error:
        sock.close()
        msg = f"port {port} cannot be had: {error.strerror}. Leave --port out to take a free one."
        raise SettingError(msg) from None
    return sock


def serve(path: Path, port: int, ready: Callable[[str], None]) -> None:
    """Serve a sheet until the process is stopped.

    Parameters
    ----------
    path : Path
        The sheet; it need not be there yet.
    port : int
        0: any that is free.
    ready : callable
        Told the address once the page can be opened.

    Raises
    ------
    KeyerError
    """
    import uvicorn

    from keyer.rehearsal.door import Door
    from keyer.rehearsal.draft import Draft
    from keyer.rehearsal.live import Live
    from keyer.rehearsal.server import application

    sock = free_socket(port)
    live = Live(Draft(path))
    door = Door(application(live), sock.getsockname()[1])
    config = uvicorn.Config(
        door, log_level="critical", access_log=False, ws_max_size=2**20, lifespan="on",
        timeout_graceful_shutdown=2,
    )  # fmt: skip
    server = uvicorn.Server(config)

    async def run() -> None:
        serving = asyncio.create_task(server.serve(sockets=[sock]))
        while not server.started and not serving.done():
            await asyncio.sleep(0.005)
        ready(door.address)
        await serving

    asyncio.run(run())
