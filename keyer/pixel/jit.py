"""How kernels are compiled: without the interpreter lock, kept on disk, anywhere.

Compiled code is kept in the user's own cache folder, or in a private folder
under the temporary folder where there is no writable home; where neither can
be had it is compiled anew in each process. `KEYER_CACHE_DIR` names another.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable
from typing import TypeVar, cast

import numba

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


_FOLDER = cache_folder()
if _FOLDER:
    numba.config.CACHE_DIR = _FOLDER  # type: ignore[attr-defined]  # made at run time


def kernel(function: F) -> F:
    """Compile a function over contiguous float32 planes.

    Sums may be regrouped and multiplications fused, but NaN and infinities
    keep their meaning. Each kernel has a plain numpy twin in the tests.
    """
    compiled = numba.njit(
        nogil=True,
        cache=_FOLDER is not None,
        error_model="numpy",
        fastmath={"contract", "reassoc", "nsz", "arcp"},
    )(function)
    return cast("F", compiled)


def compiled_before() -> bool:
    """Whether compiled kernels lie in the cache folder, so that nothing need be waited for."""
    if _FOLDER is None:
        return False
    return any(name.endswith(".nbi") for _, _, names in os.walk(_FOLDER) for name in names)
