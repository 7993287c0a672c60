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


def exchange(one: str, other: str, result: NDArray[np.float32]) -> None:
    """Exchange two purposes of this thread's planes, if a result lies in those of the second."""
    second = getattr(_kept, other, None)
    if second is not None and np.shares_memory(result, second):
        setattr(_kept, other, getattr(_kept, one))
        setattr(_kept, one, second)
