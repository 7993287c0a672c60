"""Planes that a thread uses again and again.

Memory that is taken anew for each band is handed back to the system and cleared
by it each time: that can take longer than the band's work.
"""

from __future__ import annotations

import threading

import numpy as np
from numpy.typing import NDArray

_kept = threading.local()


def buffer(name: str, channels: int, rows: int, width: int) -> NDArray[np.float32]:
    """Return this thread's planes for a purpose, made once and used again.

    Parameters
    ----------
    name : str
        Purpose; planes of one name are the same memory.
    channels, rows, width : int

    Returns
    -------
    (channels, rows, width) float32
        Holding whatever was in them.
    """
    size = channels * rows * width
    flat: NDArray[np.float32] | None = getattr(_kept, name, None)
    if flat is None or flat.size < size:
        flat = np.empty(size, np.float32)
        setattr(_kept, name, flat)
    return flat[:size].reshape(channels, rows, width)


def take(channels: int, rows: int, width: int) -> NDArray[np.float32]:
    """Take planes out of this thread's store; `give` hands them back.

    Returns
    -------
    (channels, rows, width) float32
        Holding whatever was in them.
    """
    size = channels * rows * width
    free: list[NDArray[np.float32]] | None = getattr(_kept, "free", None)
    if free is None:
        free = _kept.free = []
    fits = [place for place, flat in enumerate(free) if flat.size >= size]
    if fits:
        flat = free.pop(min(fits, key=lambda place: free[place].size))
    else:
        if free:
            free.pop()  # too small, as all of them are: else they would pile up
        flat = np.empty(size, np.float32)
    return flat[:size].reshape(channels, rows, width)


def give(planes: NDArray[np.float32] | None) -> None:
    """Hand planes back that `take` gave to this thread; nobody may use them any more."""
    if planes is None:
        return
    flat = planes
    while isinstance(flat.base, np.ndarray):
        flat = flat.base
    if all(flat is not other for other in _kept.free):
        _kept.free.append(flat)
