"""Requests to stop: Ctrl-C, SIGTERM and SIGHUP alike, and nothing is left behind.

The first one raises KeyboardInterrupt in the main thread, so that each block takes back what
it has begun. What was begun is noted here as well, since an exception may come between any two
steps of a block, or be lost where a library calls back; and where the work does not end
within `PATIENCE` seconds, it is ended from here.
"""

from __future__ import annotations

import _thread
import os
import signal
import sys
import time
from types import FrameType
from typing import Any, NoReturn

STOPPED = "stopped; nothing was half-written."
INTERRUPTED = 130
"""Exit code of a command that was stopped: 128 and the number of SIGINT, as shells have it."""

PATIENCE = 10.0
_AGAIN = 1.0
"""Seconds after the first Ctrl-C from which on another one ends the program at once."""

KINDS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
"""The signals that ask a program to stop."""

UNFINISHED = ".keyer-"
"""How the names of files and folders begin that are being written."""


class _State:
    """State of stopping that the whole process shares."""

    heard: float | None = None
    kind = signal.SIGINT
    lost = False
    held = 0
    put_off: int | None = None
    main = 0
    advice = ""
    begun: dict[str, None] = {}  # noqa: RUF012  one a process


def begin(path: str | os.PathLike[str]) -> None:
    """Note a file or folder that is about to be made, to be taken back if the work ends here."""
    _State.begun[os.fspath(path)] = None


def end(path: str | os.PathLike[str]) -> None:
    """Note that a file or folder is finished, or gone."""
    _State.begun.pop(os.fspath(path), None)


def advise(text: str) -> None:
    """Say how to go on with what is begun now, should it be stopped."""
    _State.advice = text


def last_words() -> list[str]:
    """Give the lines that a stopped command ends with."""
    return [line for line in (_State.advice, STOPPED) if line]


def take_back() -> None:
    """Remove what was begun and not finished; of other folders only those that are empty."""
    # what lies in a folder, whose path is longer, before the folder
    for path in sorted(_State.begun, key=len, reverse=True):
        end(path)
        try:
            if not os.path.isdir(path):
                os.unlink(path)
            elif os.path.basename(path).startswith(UNFINISHED):
                import shutil

                shutil.rmtree(path, ignore_errors=True)
            else:
                os.rmdir(path)
        except OSError:
            continue


def listen() -> None:
    """Hear requests to stop, but for those that this program was started to ignore (nohup)."""
    for kind in KINDS:
        if signal.getsignal(kind) not in {signal.SIG_IGN, None}:
            signal.signal(kind, _stop)
    _State.main = _thread.get_ident()
    sys.unraisablehook = _lost


def leave(code: int) -> NoReturn:
    """End the program with an exit code: it waits for no thread, and cannot be stopped any more.

    Python would end itself by SIGINT instead where a stop has passed through code that a library
    runs by text, and a stop would end it otherwise while it takes itself apart.
    """
    for kind in KINDS:
        if signal.getsignal(kind) is _stop:
            signal.signal(kind, signal.SIG_IGN)
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except (OSError, ValueError, AttributeError):
            continue
    os._exit(code)


def heard() -> bool:
    """Whether a stop was heard; what fails after it fails because of it."""
    return _State.heard is not None


def go_on() -> None:
    """Raise KeyboardInterrupt again if a stop was heard: a library may have swallowed it."""
    if heard():
        raise KeyboardInterrupt


class PutOff:
    """Puts a stop off while a block lasts, where a library calls back and breaks if that fails."""

    def __enter__(self) -> None:
        self._here = _thread.get_ident() == _State.main  # no other thread is interrupted
        _State.held += self._here

    def __exit__(self, *_: object) -> None:
        _State.held -= self._here
        if self._here and not _State.held and _State.put_off is not None:
            number, _State.put_off = _State.put_off, None
            _stop(number, None)


def _stop(number: int, _: FrameType | None) -> None:
    """Stop the work the first time, and again where that was lost."""
    if _State.held:
        _State.put_off = number
        return
    now = time.monotonic()
    if _State.heard is None:
        _State.heard, _State.kind = now, signal.Signals(number)
        _thread.start_new_thread(_insist, ())  # takes no lock that the main thread may hold
        raise KeyboardInterrupt
    if _State.lost:
        _State.lost = False
        raise KeyboardInterrupt
    if number == signal.SIGINT and now > _State.heard + _AGAIN:
        _at_once(number, None)


def _at_once(_kind: int, _: FrameType | None) -> None:
    take_back()
    os._exit(INTERRUPTED)


def _insist() -> None:
    time.sleep(PATIENCE)
    take_back()
    for line in last_words():
        print(f"keyer: {line}", file=sys.stderr, flush=True)  # noqa: T201  the last words
    os._exit(INTERRUPTED)


def _lost(found: Any) -> None:
    """Raise again what a library's callback has lost; of other losses nobody is told."""
    if _State.heard is not None and found.exc_type is KeyboardInterrupt:
        _State.lost = True
        _thread.start_new_thread(_say_again, ())


def _say_again() -> None:
    time.sleep(0.02)
    if hasattr(signal, "pthread_kill"):  # wakes what waits for the system, too
        signal.pthread_kill(_State.main, _State.kind)
    else:
        _thread.interrupt_main(_State.kind)
