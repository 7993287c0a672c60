"""Lay flat colours, ramps and pictures on each other, each through coverage of its own.

Premultiplied "over" (Porter and Duff 1984) into planes that begin clear; the
last step divides by the alpha and gives clear pixels the colour of the layer
that lies nearest behind them.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.pixel.kernels.jit import kernel


@kernel
def lay_flat(
    planes: Planes, alpha: Plane, cover: Plane, colour: Plane, opacity: np.float32, x0: int, y0: int
) -> None:
    """Lay one colour with an opacity over rows of a stack, in place.

    Parameters
    ----------
    planes : (3, H, W) float32, C-contiguous
        Premultiplied; changed.
    alpha : (H, W) float32, C-contiguous
        Changed.
    cover : (h, w) float32
        Coverage; lies wholly inside.
    colour : (3,) float32
    opacity : float32
    x0, y0 : int
        Where `cover` lies.
    """
    for y in range(cover.shape[0]):
        for x in range(cover.shape[1]):
            weight = cover[y, x] * opacity
            clear = np.float32(1.0) - weight
            at_y, at_x = y0 + y, x0 + x
            alpha[at_y, at_x] = alpha[at_y, at_x] * clear + weight
            planes[0, at_y, at_x] = planes[0, at_y, at_x] * clear + weight * colour[0]
            planes[1, at_y, at_x] = planes[1, at_y, at_x] * clear + weight * colour[1]
            planes[2, at_y, at_x] = planes[2, at_y, at_x] * clear + weight * colour[2]


@kernel
def lay_ramp(
    planes: Planes,
    alpha: Plane,
    cover: Plane,
    along: Plane,
    near: Plane,
    far: Plane,
    opacity: np.float32,
    x0: int,
    y0: int,
) -> None:
    """Lay a ramp of two colours over; `along` is 0 at `near` and 1 at `far`."""
    for y in range(cover.shape[0]):
        for x in range(cover.shape[1]):
            weight = cover[y, x] * opacity
            clear = np.float32(1.0) - weight
            share = along[y, x]
            at_y, at_x = y0 + y, x0 + x
            alpha[at_y, at_x] = alpha[at_y, at_x] * clear + weight
            for channel in range(3):
                colour = near[channel] + share * (far[channel] - near[channel])
                planes[channel, at_y, at_x] = planes[channel, at_y, at_x] * clear + weight * colour


@kernel
def lay_picture(
    planes: Planes, alpha: Plane, cover: Plane, own: Planes, opacity: np.float32, x0: int, y0: int
) -> None:
    """Lay a picture over; `own`, (3, h, w), holds its colours, straight."""
    for y in range(cover.shape[0]):
        for x in range(cover.shape[1]):
            weight = cover[y, x] * opacity
            clear = np.float32(1.0) - weight
            at_y, at_x = y0 + y, x0 + x
            alpha[at_y, at_x] = alpha[at_y, at_x] * clear + weight
            for channel in range(3):
                colour = own[channel, y, x]
                planes[channel, at_y, at_x] = planes[channel, at_y, at_x] * clear + weight * colour


@kernel
def straighten_stack(planes: Planes, alpha: Plane) -> None:
    """Divide colour by alpha, where there is any."""
    for y in range(alpha.shape[0]):
        for x in range(alpha.shape[1]):
            cover = alpha[y, x]
            share = np.float32(1.0) / cover if cover > np.float32(1e-6) else np.float32(0.0)
            planes[0, y, x] *= share
            planes[1, y, x] *= share
            planes[2, y, x] *= share


@kernel
def colour_clear(
    planes: Planes, alpha: Plane, colour: Plane, rows: int, columns: int, x0: int, y0: int
) -> None:
    """Give the clear pixels of a rectangle a colour."""
    for y in range(y0, y0 + rows):
        for x in range(x0, x0 + columns):
            if alpha[y, x] <= np.float32(1e-6):
                planes[0, y, x] = colour[0]
                planes[1, y, x] = colour[1]
                planes[2, y, x] = colour[2]
