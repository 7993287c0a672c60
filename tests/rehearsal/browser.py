"""A real browser for the page's tests: the system's Chromium, driven by playwright."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)

OPTIONS = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
)  # fmt: skip


@contextmanager
def served(sheet: Path, *options: str) -> Iterator[tuple[str, subprocess.Popen]]:
    """Serve a sheet by the command, as a user would; gives its address."""
    command = [sys.executable, "-m", "keyer", "rehearse", sheet, "--no-open", "--json", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=os.environ)
    try:
        yield json.loads(process.stdout.readline())["url"], process
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(60)
        process.stdout.close()


def drawn(tab, frame: int, *, exact: bool = True) -> None:
    """Wait until the picture of a frame is on the screen."""
    tab.wait_for_function(
        "([f, e]) => { const c = document.querySelector('#canvas').dataset;"
        " return c.frame === String(f) && (!e || c.exact === 'true'); }",
        arg=[frame, exact],
    )
