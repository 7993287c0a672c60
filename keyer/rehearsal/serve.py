"""The page served on this computer alone, until it is stopped."""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import os
import secrets
import socket
import stat
from collections.abc import Callable
from pathlib import Path

from keyer.errors import SettingError
from keyer.kinds.plain_file import real_path

LOOPBACK = "127.0.0.1"
_KEPT = "rehearsal.secret"


def usual_port(path: Path) -> int:
    """Choose a sheet's usual port, so that a page that is open finds it when it is served again.

    Returns
    -------
    int
        One of the dynamic ports (RFC 6335, section 6).
    """
    digest = hashlib.sha256(os.fsencode(real_path(path))).digest()
    return 49152 + int.from_bytes(digest[:4], "big") % (65536 - 49152)


def session_key(port: int) -> str | None:
    """Make the cookie of a port, the same each time that this user serves there.

    It rests on a secret that this user alone can read; without a place for one
    each run has another cookie, and an open page must be opened again.
    """
    from keyer.pixel.kernels.jit import cache_folder

    folder = cache_folder()
    if folder is None:
        return None
    file = Path(folder) / _KEPT
    try:
        with os.fdopen(os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            out.write(secrets.token_bytes(32))
    except FileExistsError:
        pass
    except OSError:
        return None
    found = file.lstat()
    if not stat.S_ISREG(found.st_mode) or found.st_mode & 0o077 or found.st_size != 32:
        return None
    return hmac.new(file.read_bytes(), str(port).encode(), hashlib.sha256).hexdigest()


def free_socket(port: int, usual: int = 0) -> socket.socket:
    """Take a port of the loopback address.

    Parameters
    ----------
    port : int
        0: the usual one if it is free, else any that is.
    usual : int

    Raises
    ------
    SettingError
        If it is taken.
    """
    sock = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((LOOPBACK, port or usual))
    except OSError as error:
        sock.close()
        if not port and usual:
            return free_socket(0)
        msg = f"port {port} cannot be used: {error.strerror}. Leave --port out to take a free one."
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

    live = Live(Draft(path))
    sock = free_socket(port, usual_port(path))
    taken = sock.getsockname()[1]
    door = Door(application(live), taken, session=session_key(taken))
    config = uvicorn.Config(
        door, log_level="critical", access_log=False, ws_max_size=2**20, lifespan="on",
        timeout_graceful_shutdown=2, ws_per_message_deflate=False,  # pictures are coded already
    )  # fmt: skip
    server = uvicorn.Server(config)

    async def run() -> None:
        serving = asyncio.create_task(server.serve(sockets=[sock]))
        while not server.started and not serving.done():
            await asyncio.sleep(0.005)
        ready(door.address)
        await serving

    asyncio.run(run())
