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
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache, update_wrapper
from threading import Lock, RLock
from typing import Any, TypeVar, cast

from keyer.kinds.version import __version__

F = TypeVar("F", bound=Callable[..., object])


def _candidates() -> list[str]:
    """Return folders in which compiled code may be kept, the best first."""
    named = os.environ.get("KEYER_CACHE_DIR")
    base = os.environ.get("XDG_CACHE_HOME") or os.path.join(os.path.expanduser("~"), ".cache")
    user = os.getuid() if hasattr(os, "getuid") else 0
    own = [os.path.join(base, "keyer"), os.path.join(tempfile.gettempdir(), f"keyer-{user}")]
    # code of another version is never taken: the age of a file says nothing in a wheel
    folders = [named, *own] if named else own
    # links are followed here, once: what they lead to is looked at, and used
    return [os.path.realpath(os.path.join(folder, __version__)) for folder in folders]


def _private(folder: str) -> bool:
    """Whether `folder` can be made, is ours alone to write, and takes a file.

    Cached code is loaded and run, so a folder is refused that others may write, or
    could put another in the place of.
    """
    try:
        os.makedirs(folder, mode=0o700, exist_ok=True)
        if hasattr(os, "getuid") and not _safe(folder):
            return False
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _safe(folder: str) -> bool:
    """Whether nobody else can change a folder, or rename the two above it."""
    status = os.stat(folder)
    if status.st_uid != os.getuid() or status.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        return False
    for _ in range(2):
        folder = os.path.dirname(folder)
        status = os.stat(folder)
        if status.st_uid not in {os.getuid(), 0}:
            return False
        # where all may write, as in /tmp, the sticky bit keeps each one's own from the others
        if status.st_mode & stat.S_IWOTH and not status.st_mode & stat.S_ISVTX:
            return False
    return True


def cache_folder() -> str | None:
    """Return the folder for compiled kernels, or None where there is none."""
    return next((folder for folder in _candidates() if _private(folder)), None)


_folder = cache(cache_folder)
_NONE: frozenset[str] = frozenset()


@cache
def _kept() -> frozenset[str]:
    """Names of the files that list compiled kernels, as they were when first asked for."""
    folder = _folder()
    return frozenset(name for _, _, names in os.walk(folder) for name in names) if folder else _NONE


def any_kept() -> bool:
    """Whether compiled code of any kernel is kept on disk."""
    return any(name.endswith(".nbi") for name in _kept())


def compiled_before(function: Callable[..., object]) -> bool:
    """Whether a file for compiled code of a function is kept, so that it need not be waited for."""
    code, version = function.__code__, sys.version_info
    stem = os.path.splitext(os.path.basename(code.co_filename))[0]
    python = f"py{version.major}{version.minor}{getattr(sys, 'abiflags', '')}"
    return f"{stem}.{function.__qualname__}-{code.co_firstlineno}.{python}.nbi" in _kept()


def _stamp(function: Callable[..., object]) -> tuple[int, int] | None:
    """Give what changes when the file of a function is edited."""
    try:
        found = os.stat(function.__code__.co_filename)
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


class _State:
    """What all kernels share: locks, whether plain forms run, who is told of waiting."""

    lock = RLock()
    plainly = 0
    waiting = Lock()
    wait: Callable[[], None] | None = None
    all_compiled = False


def before_waiting(say: Callable[[], None]) -> None:
    """Compile all kernels as soon as one is called that is not kept on disk, and have it said.

    Without this each is compiled when it is first called.
    """
    _State.wait = say


def _wait_for(function: Callable[..., object]) -> None:
    """Compile all kernels in one go, if that is asked for and this one is not kept."""
    with _State.waiting:
        if _State.wait is None or _State.all_compiled or compiled_before(function):
            return
        _State.wait()
        _State.wait, _State.all_compiled = None, True
        if _folder():
            from keyer.pixel.kernels.compiling import compile_all

            compile_all()


@contextmanager
def plainly() -> Iterator[None]:
    """Run what has a plain form in its plain form, in all threads."""
    with _State.lock:
        _State.plainly += 1
    try:
        yield
    finally:
        with _State.lock:
            _State.plainly -= 1


def _compiled(function: Callable[..., object], *, keep: bool) -> Callable[..., object]:
    """Compile a function. The folder must be named before the compiler is asked for."""
    import numba

    folder = _folder()
    if folder:
        numba.config.CACHE_DIR = folder  # type: ignore[attr-defined]  # made at run time
    njit: Any = numba.njit  # whose types do not know all of its options
    made = njit(
        nogil=True,
        error_model="numpy",
        no_cfunc_wrapper=True,  # nobody calls them from C, and it takes a fifteenth of the time
        fastmath={"contract", "reassoc", "nsz", "arcp"},
    )(function)
    if keep and folder:
        from keyer.pixel.kernels.kernel_cache import KernelCache

        made._cache = KernelCache(function)
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
        self._stamp = _stamp(function)

    def made(self) -> Any:
        """Return the compiled function; compile it, or load its code, if need be."""
        with _State.lock:
            if self._made is None:
                # edited since it was imported, this code must not be kept as that of the new file
                keep = self._stamp is not None and self._stamp == _stamp(self.function)
                self._made = _compiled(self.function, keep=keep)
            return self._made

    @property
    def _numba_type_(self) -> Any:
        """What the compiler asks for where a kernel calls another."""
        import numba

        return numba.typeof(self.made())  # type: ignore[no-untyped-call]

    def __call__(self, *arguments: object) -> object:
        """Run the compiled function, or the plain one where that is asked for."""
        if _State.plainly and self.plain is not None:
            return self.plain(*arguments)
        if self._made is None:
            # never while the compiler runs, which has a lock of its own: not in `made`
            _wait_for(self.function)
        return (self._made or self.made())(*arguments)

    def compile(self, types: tuple[Any, ...]) -> None:
        """Compile it for arguments of some types, or load it if it is kept."""
        self.made().compile(types)


def kernel(function: F) -> F:
    """Compile a function over contiguous float32 planes.

    Sums may be regrouped and multiplications fused, which may make NaN of an
    infinity; that there is no NaN is not taken for granted. Each kernel has a plain
    numpy twin in the tests.
    """
    return cast("F", Kernel(function))


def kernel_beside(plain: F) -> Callable[[F], F]:
    """Compile a function as `kernel` does, with a plain form of it in numpy."""
    return lambda function: cast("F", Kernel(function, plain))
