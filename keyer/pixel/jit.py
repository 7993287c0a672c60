"""How kernels are compiled: when first called, without the interpreter lock, kept on disk.

Compiled code is kept in the user's own cache folder, or in a private folder
under the temporary folder where there is no writable home; where neither can
be had it is compiled anew in each process. `KEYER_CACHE_DIR` names another.

To load the compiler and its code takes as long as a second of work on one
picture, so the kernels that such work needs have a plain form in numpy beside
them, which `plainly` asks for.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache, update_wrapper
from threading import RLock
from typing import Any, TypeVar, cast

from keyer.kinds.version import __version__

F = TypeVar("F", bound=Callable[..., object])


def _candidates() -> list[str]:
    """Folders to try, best first."""
    named = os.environ.get("KEYER_CACHE_DIR")
    base = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    user = os.getuid() if hasattr(os, "getuid") else 0
    own = [os.path.join(base, "keyer"), os.path.join(tempfile.gettempdir(), f"keyer-{user}")]
    # code of another version is never taken: the age of a file says nothing in a wheel
    return [os.path.join(folder, __version__) for folder in ([named, *own] if named else own)]


def _private(folder: str) -> bool:
    """Whether `folder` can be made, is ours alone to write, and takes a file.

    Cached code is loaded and run, so a folder that others may write is refused.
    """
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        status = os.stat(folder)
        if hasattr(os, "getuid") and status.st_uid != os.getuid():
            return False
        if status.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
            return False
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def cache_folder() -> str | None:
    """Return the folder for compiled kernels, or None where there is none."""
    return next((folder for folder in _candidates() if _private(folder)), None)


_folder = cache(cache_folder)
_NONE: frozenset[str] = frozenset()


@cache
def _kept() -> frozenset[str]:
    """Names of the files that list compiled kernels, as they were before any was compiled."""
    folder = _folder()
    return frozenset(name for _, _, names in os.walk(folder) for name in names) if folder else _NONE


def any_kept() -> bool:
    """Whether compiled code of any kernel is kept on disk."""
    return any(name.endswith(".nbi") for name in _kept())


def compiled_before(function: Callable[..., object]) -> bool:
    """Whether compiled code of a function is kept on disk, so that it need not be waited for."""
    code = function.__code__
    stem = os.path.splitext(os.path.basename(code.co_filename))[0]
    start = f"{stem}.{function.__qualname__}-{code.co_firstlineno}."
    return any(name.startswith(start) and name.endswith(".nbi") for name in _kept())


class _State:
    """What all kernels of the process share."""

    lock = RLock()
    plainly = False
    wait: Callable[[], None] | None = None


def before_waiting(say: Callable[[], None]) -> None:
    """Have it said, once, that kernels are compiled, if one is not kept on disk."""
    _State.wait = say


@contextmanager
def plainly() -> Iterator[None]:
    """Run what has a plain form, and is not compiled yet, in its plain form."""
    before, _State.plainly = _State.plainly, True
    try:
        yield
    finally:
        _State.plainly = before


def _compiled(function: Callable[..., object]) -> Callable[..., object]:
    """Compile a function. The folder must be named before the compiler is asked for."""
    import numba

    folder = _folder()
    if folder:
        numba.config.CACHE_DIR = folder  # type: ignore[attr-defined]  # made at run time
    if _State.wait is not None and not compiled_before(function):
        _State.wait()
        _State.wait = None
    made = numba.njit(
        nogil=True,
        cache=folder is not None,
        error_model="numpy",
        fastmath={"contract", "reassoc", "nsz", "arcp"},
    )(function)
    return cast("Callable[..., object]", made)


class Kernel:
    """A function over contiguous float32 planes that is compiled when it is first called.

    Attributes
    ----------
    function : callable
    plain : callable or None
        Does the same in numpy.
    """

    def __init__(
        self, function: Callable[..., object], plain: Callable[..., object] | None = None
    ) -> None:
        update_wrapper(self, function)
        self.function, self.plain = function, plain
        self._made: Callable[..., object] | None = None

    def made(self) -> Callable[..., object]:
        """Return the compiled function."""
        with _State.lock:
            if self._made is None:
                self._made = _compiled(self.function)
            return self._made

    @property
    def _numba_type_(self) -> Any:
        """What the compiler asks for where a kernel calls another."""
        import numba

        return numba.typeof(self.made())  # type: ignore[no-untyped-call]

    def __call__(self, *arguments: object) -> object:
        """Run the compiled function, or the plain one where that will do."""
        made = self._made
        if made is None:
            if _State.plainly and self.plain is not None:
                return self.plain(*arguments)
            made = self.made()
        return made(*arguments)


def kernel(function: F) -> F:
    """Compile a function over contiguous float32 planes.

    Sums may be regrouped and multiplications fused, but NaN and infinities
    keep their meaning. Each kernel has a plain numpy twin in the tests.
    """
    return cast("F", Kernel(function))


def kernel_beside(plain: F) -> Callable[[F], F]:
    """Compile a function as `kernel` does, with a plain form of it in numpy."""
    return lambda function: cast("F", Kernel(function, plain))
