"""Find the boundary of a wipe: where its field equals the progress.

The way from sample to sample (`keyer.pixel.wipes.trace`) is straightened into as few
line segments as stay within a thirtieth of a pixel of it. Distances to these
segments are exact, whatever pattern they come from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.kinds.field import Field
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import Blocks
from keyer.pixel.wipes.corners import sharpen
from keyer.pixel.wipes.trace import trace

TOLERANCE = 0.03
"""How far in rows a segment may stray from the boundary."""

Index = NDArray[np.int32]


@kernel
def _write(
    ax: np.float32, ay: np.float32, px: np.float32, py: np.float32, out: Plane, count: int
) -> int:
    if count < out.shape[0]:
        out[count, 0], out[count, 1], out[count, 2], out[count, 3] = ax, ay, px, py
    return count + 1


@kernel
def _straighten(
    points: Plane, begin: int, end: int, tolerance: np.float32, out: Plane, count: int
) -> int:
    """Write a line as few segments, as far as there is room; count them all.

    All points since the last corner lie within the tolerance of any line from
    it inside a cone, whose two sides are (lx, ly) and (hx, hy). One that turns
    back, as at the end of a sliver, ends there.
    """
    ax, ay = points[begin, 0], points[begin, 1]
    px, py = ax, ay
    lx = ly = hx = hy = np.float32(0.0)
    cone = False
    for n in range(begin + 1, end):
        x, y = points[n, 0], points[n, 1]
        vx, vy = x - ax, y - ay
        back = (x - px) * (lx + hx) + (y - py) * (ly + hy) < 0
        if cone and (lx * vy - ly * vx < 0 or vx * hy - vy * hx < 0 or back):
            count = _write(ax, ay, px, py, out, count)
            ax, ay, cone = px, py, False
            vx, vy = x - ax, y - ay
        length = np.sqrt(vx * vx + vy * vy)
        if length > tolerance:
            sx, sy = -vy * tolerance / length, vx * tolerance / length
            if not cone or lx * (vy - sy) - ly * (vx - sx) > 0:
                lx, ly = vx - sx, vy - sy
            if not cone or (vx + sx) * hy - (vy + sy) * hx > 0:
                hx, hy = vx + sx, vy + sy
            cone = True
        px, py = x, y
    return _write(ax, ay, px, py, out, count)


@kernel
def _segments(points: Plane, ends: Index, tolerance: np.float32, out: Plane) -> int:
    """Write the segments of all lines, as far as there is room; count them all."""
    count, start = 0, 0
    for end in ends:
        begin = count
        count = _straighten(points, start, end, tolerance, out, count)
        if count <= out.shape[0]:
            sharpen(out, begin, count)
        start = end
    return count


def boundary(blocks: Blocks, field: Field, level: float, *, tolerance: float = TOLERANCE) -> Plane:
    """Segments of the line on which a field equals a level.

    Parameters
    ----------
    blocks : Blocks
        Of the field, modulated or not.
    field : Field
        Whose margins and jumps apply.
    level : float
    tolerance : float
        How far in rows a segment may stray from the boundary.

    Returns
    -------
    (N, 4) float32
        x0, y0, x1, y1 in rows of the picture (a column is `pixel_aspect` rows
        wide), from the centre of its first pixel.
    """
    aspect = field.geometry.pixel_aspect
    points, ends = trace(blocks, field.values.shape, level, jumps=field.jumps, aspect=aspect)
    out = np.empty((4096, 4), np.float32)
    while (count := _segments(points, ends, np.float32(tolerance), out)) > out.shape[0]:
        out = np.empty((count, 4), np.float32)
    origin = (field.margin_x * aspect, field.margin_y) * 2
    return out[:count] - np.asarray(origin, np.float32)
