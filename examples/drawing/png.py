"""PNG files of drawn pictures: without loss, or a code off where nobody sees it, and small.

A drawn picture carries grain, and grain is what a PNG cannot pack. What is off by no more than
one code of 256 is lost in that grain, and a PNG of it is little more than half as large.
PNG: ISO/IEC 15948 (W3C, Portable Network Graphics), clauses 9 (filters) and 10 (compression).
"""

from __future__ import annotations

import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.kernels.jit import kernel

Bytes = NDArray[np.uint8]

_GREY, _COLOUR = 0, 2
_NONE, _UP, _AVERAGE, _PAETH = 0, 2, 3, 4
_FILTERS = (_NONE, _UP, _AVERAGE, _PAETH)
_STRATEGIES = (zlib.Z_DEFAULT_STRATEGY, zlib.Z_FILTERED)


@kernel
def _filtered(picture: Any, near: int, kind: int, shown: Any, rows: Any) -> None:
    """Foretell each code from those before it and keep the difference, in steps of 2 near + 1."""
    height, width, channels = picture.shape
    step = 2 * near + 1
    for y in range(height):
        for x in range(width):
            for c in range(channels):
                left = shown[y, x - 1, c] if x > 0 else 0
                above = shown[y - 1, x, c] if y > 0 else 0
                corner = shown[y - 1, x - 1, c] if x > 0 and y > 0 else 0
                told = 0
                if kind == _UP:
                    told = above
                elif kind == _AVERAGE:
                    told = (left + above) // 2
                elif kind == _PAETH:
                    guess = left + above - corner
                    to_left, to_above = abs(guess - left), abs(guess - above)
                    to_corner = abs(guess - corner)
                    if to_left <= to_above and to_left <= to_corner:
                        told = left
                    elif to_above <= to_corner:
                        told = above
                    else:
                        told = corner
                code = int(picture[y, x, c])
                off = code - told
                off = (abs(off) + near) // step * step * (1 if off > 0 else -1)
                if not 0 <= told + off <= 255:
                    off = code - told
                shown[y, x, c] = told + off
                rows[y, 1 + x * channels + c] = off & 255


def png(picture: Bytes, near: int = 0) -> bytes:
    """Code a picture as PNG.

    Parameters
    ----------
    picture : (H, W) or (H, W, 3) uint8
    near : int
        Codes by which what is shown may be off; 0 loses nothing.

    Returns
    -------
    bytes
        The smallest of a few ways to code it.
    """
    height, width = picture.shape[:2]
    whole = np.ascontiguousarray(picture.reshape(height, width, -1))
    packed = min(
        (_packed(whole, near, kind, way) for kind in _FILTERS for way in _STRATEGIES), key=len
    )
    colour = _GREY if picture.ndim == 2 else _COLOUR
    header = struct.pack(">IIBBBBB", width, height, 8, colour, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", packed), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(name, data) for name, data in chunks)


def _packed(picture: Bytes, near: int, kind: int, strategy: int) -> bytes:
    height, width, channels = picture.shape
    rows = np.zeros((height, 1 + width * channels), np.uint8)
    rows[:, 0] = kind
    _filtered(picture, near, kind, np.zeros(picture.shape, np.int32), rows)
    deflate = zlib.compressobj(9, zlib.DEFLATED, 15, 9, strategy)
    return deflate.compress(rows.tobytes()) + deflate.flush()


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
