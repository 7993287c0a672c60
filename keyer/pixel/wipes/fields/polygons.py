"""Levels of polygons that grow from the middle of the frame until they cover it."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from keyer.kinds.arrays import Flat, Reals
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.fields.cover import rim

Corners = tuple[tuple[float, float], ...]


@kernel
def _scales(x: Flat, y: Flat, sides: Flat, out: Flat) -> None:
    """How large the polygon is when its outline passes each place.

    A row of `sides` holds a corner, the next corner clockwise, and the side's
    normal over its distance from the middle.
    """
    for i in range(out.size):
        out[i] = np.float32(0.0)
    for s in range(sides.shape[0]):
        ax, ay, bx, by, nx, ny = (
            sides[s, 0],
            sides[s, 1],
            sides[s, 2],
            sides[s, 3],
            sides[s, 4],
            sides[s, 5],
        )
        for i in range(out.size):
            after = ax * y[i] - ay * x[i] >= np.float32(0.0)
            beyond = bx * y[i] - by * x[i] >= np.float32(0.0)
            out[i] = nx * x[i] + ny * y[i] if after and not beyond else out[i]


def _sides(corners: Corners) -> Flat:
    rows = []
    for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
        area = ax * by - ay * bx  # twice the triangle with the middle
        rows.append((ax, ay, bx, by, (by - ay) / area, (ax - bx) / area))
    return np.asarray(rows, np.float32)


def _scale_of(x: Reals, y: Reals, corners: Corners) -> Reals:
    u, v = np.broadcast_arrays(x, y)
    out = np.empty(u.shape, np.float32)
    flat = (
        np.ascontiguousarray(u, np.float32).reshape(-1),
        np.ascontiguousarray(v, np.float32).reshape(-1),
    )
    _scales(*flat, _sides(corners), out.reshape(-1))
    return out


@lru_cache(maxsize=64)
def _covering(corners: Corners, half_width: float, half_height: float) -> float:
    """How large the polygon is when it covers the frame."""
    return float(_scale_of(*rim(half_width, half_height), corners).max())


def _grown(x: Reals, y: Reals, half_width: float, half_height: float, corners: Corners) -> Reals:
    whole = _covering(corners, half_width, half_height)
    return _scale_of(x, y, corners) * np.float32(1 / whole)


def _ring(radii: tuple[float, ...], first_deg: float) -> Corners:
    """Corners at equal angles clockwise, the first at `first_deg` from the top."""
    angles = [math.radians(first_deg + 360 * i / len(radii)) for i in range(len(radii))]
    return tuple(
        (radius * math.sin(angle), -radius * math.cos(angle))
        for radius, angle in zip(radii, angles, strict=True)
    )


def polygon(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    corners: int,
    first_deg: float,
) -> Reals:
    """Grow a regular polygon; `first_deg` is where a corner points, clockwise from the top."""
    return _grown(x, y, half_width, half_height, _ring((1.0,) * corners, first_deg))


def star(
    x: Reals,
    y: Reals,
    half_width: float,
    half_height: float,
    *,
    points: int,
    inner: float,
    first_deg: float,
) -> Reals:
    """Grow a star; `inner` is the radius of its notches over that of its points."""
    return _grown(x, y, half_width, half_height, _ring((1.0, inner) * points, first_deg))


def arrow_head(
    x: Reals, y: Reals, half_width: float, half_height: float, *, first_deg: float
) -> Reals:
    """Grow an arrow head with a notch, pointing at `first_deg` clockwise from the top."""
    turn = math.radians(first_deg)
    sin, cos = math.sin(turn), math.cos(turn)
    outline = ((0.0, -1.0), (0.85, 0.75), (0.0, 0.3), (-0.85, 0.75))
    corners = tuple((px * cos - py * sin, px * sin + py * cos) for px, py in outline)
    return _grown(x, y, half_width, half_height, corners)
