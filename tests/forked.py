"""A command in a copy of this process, where everything is loaded already."""

from __future__ import annotations

import os
import pkgutil
import subprocess
import sys
import time
from contextlib import suppress
from importlib import import_module
from pathlib import Path


def load_everything() -> None:
    """Load every module, and start no thread."""
    import keyer

    for module in pkgutil.walk_packages(keyer.__path__, "keyer."):
        if not module.name.endswith("__main__"):
            import_module(module.name)


class Forked:
    """A command in a copy of this process; as much of a Popen as is wanted here."""

    def __init__(self, folder: Path, words: str, out: int | None = None) -> None:
        self._words = words
        self._read, write = os.pipe()
        self.returncode: int | None = None
        self.pid = os.fork()
        if not self.pid:
            self._be(folder, words, write, out)
        os.close(write)

    def _be(self, folder: Path, words: str, write: int, out: int | None) -> None:
        code = 1
        try:
            os.setsid()
            os.chdir(folder)
            os.dup2(write, 2)
            os.dup2(os.open(os.devnull, os.O_WRONLY) if out is None else out, 1)
            sys.argv[1:] = words.split()
            sys.stdout, sys.stderr = os.fdopen(1, "w"), os.fdopen(2, "w")
            from keyer.__main__ import run

            run()
        except SystemExit as error:
            code = error.code if isinstance(error.code, int) else 1
        finally:
            os._exit(code)

    def poll(self) -> int | None:
        if self.returncode is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.returncode = os.waitstatus_to_exitcode(status)
        return self.returncode

    def wait(self, timeout: float) -> int:
        end = time.monotonic() + timeout
        while self.poll() is None:
            if time.monotonic() > end:
                raise subprocess.TimeoutExpired(self._words, timeout)
            time.sleep(0.001)
        return self.returncode or 0

    def send_signal(self, number: int) -> None:
        with suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def communicate(self, timeout: float) -> tuple[None, str]:
        with os.fdopen(self._read) as file:
            said = file.read()
        self.wait(timeout)
        return None, said
