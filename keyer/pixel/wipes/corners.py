"""Corners of a boundary that was followed from sample to sample.

The squares between samples cut a corner off by up to a pixel, and a sharp tip
by several; where two straight sides lead up to it, they tell where it was.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane
from keyer.pixel.kernels.jit import kernel

LONG = np.float32(3.0)
CUT = np.float32(4.0)
PIECES = 3
TIP = np.float32(6.0)
"""A corner was cut off where up to `PIECES` segments no longer than `CUT` pixels together join two
of at least `LONG`, and its tip is at most `TIP` pixels away."""


@kernel
def _meet(out: Plane, one: int, two: int, point: Plane) -> bool:
    """Find where two segments meet when led on, if that is a corner that was cut off."""
    dx, dy = out[one, 2] - out[one, 0], out[one, 3] - out[one, 1]
    ex, ey = out[two, 2] - out[two, 0], out[two, 3] - out[two, 1]
    gx, gy = out[two, 0] - out[one, 2], out[two, 1] - out[one, 3]
    turn = dx * ey - dy * ex
    if turn == 0:
        return False
    ahead = (gx * ey - gy * ex) / turn  # in lengths of the first segment, from its end
    back = (gx * dy - gy * dx) / turn  # in lengths of the second, from its start
    if ahead < 0 or back > 0 or ahead * np.sqrt(dx * dx + dy * dy) > TIP:
        return False
    point[0], point[1] = out[one, 2] + ahead * dx, out[one, 3] + ahead * dy
    return True


@kernel
def _length(segment: Plane) -> np.float32:
    dx, dy = segment[2] - segment[0], segment[3] - segment[1]
    length: np.float32 = np.sqrt(dx * dx + dy * dy)
    return length


@kernel
def sharpen(out: Plane, begin: int, end: int) -> None:
    """Give a followed line back the corners that the squares cut off.

    Where two long segments are joined by a few short ones, they are led on to
    where they meet, and the short ones shrink to that point.
    """
    count = end - begin
    closed = out[begin, 0] == out[end - 1, 2] and out[begin, 1] == out[end - 1, 3]
    point = np.empty(2, np.float32)
    for n in range(count):
        one = begin + n
        if _length(out[one]) < LONG:
            continue
        cut = np.float32(0.0)
        between = 0
        two = one
        while between <= PIECES:
            step = n + between + 1
            if step >= count and not closed:
                two = one
                break
            two = begin + step % count
            length = _length(out[two])
            if length >= LONG:
                break
            cut += length
            between += 1
        if two == one or between == 0 or between > PIECES or cut > CUT:
            continue
        if _meet(out, one, two, point):
            for k in range(between):
                short = out[begin + (n + k + 1) % count]
                short[0], short[1], short[2], short[3] = point[0], point[1], point[0], point[1]
            out[one, 2], out[one, 3] = point[0], point[1]
            out[two, 0], out[two, 1] = point[0], point[1]
