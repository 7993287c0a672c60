"""The network of the fine key: what it reads of a plate, and running it.

A small U-Net (O. Ronneberger et al., MICCAI 2015), trained on drawn mattes laid
before drawn backings as a camera records them (`examples/matte_network`). It
sees colours turned to the key hue, so that green and blue are one problem.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from importlib import resources
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.kinds.picture import Matrix
from keyer.pixel.colour.luma_chroma import LUMA, HueAxes
from keyer.pixel.colour.weigh import luma_of, signal_against, weigh
from keyer.pixel.kernels.bands import default_threads
from keyer.pixel.keys.edge_light import light_of

WEIGHTS = "matte.onnx"
DIGEST = "4b4aa548c848b5772fa8de1594f3f2eff73f6694e5b18e8db37ac2f268e3653a"
"""SHA-256 of the weights that are shipped."""

TILE, MARGIN = 192, 32
"""Pixels of a tile, and how many about what is wanted of it the network sees besides."""

LOOK_TILE = 416
"""Pixels of a tile where all is wanted, of a copy of about 400 rows."""

STEP = 32
"""What it reads has rows and columns that are multiples of this."""


@cache
def _session() -> Any:
    import hashlib  # late: loads OpenSSL

    import onnxruntime

    weights = resources.files("keyer.pixel.keys").joinpath(WEIGHTS).read_bytes()
    if hashlib.sha256(weights).hexdigest() != DIGEST:
        msg = f"the weights of the fine key, {WEIGHTS}, are damaged. Install keyer anew."
        raise InputFileError(msg)
    options = onnxruntime.SessionOptions()
    # one thread a run: tiles run beside each other, and no sum depends on how many cores there are
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.log_severity_level = 3
    return onnxruntime.InferenceSession(weights, options, providers=["CPUExecutionProvider"])


def _axes_of(planes: Planes, axes: HueAxes, matrix: Matrix) -> list[Plane]:
    return [luma_of(planes, matrix), weigh(planes, axes.along), weigh(planes, axes.across)]


def reading(
    planes: Planes,
    backing: Planes,
    axes: HueAxes,
    matrix: Matrix,
    hints: tuple[Planes, Plane, Plane] | None = None,
    mixing: float = 0.0,
) -> NDArray[np.float32]:
    """Make the planes that the network reads.

    Parameters
    ----------
    planes, backing : (3, H, W) float32
        R'G'B' of the plate and of its backing.
    axes : HueAxes
        Of the key hue.
    matrix : {"bt601", "bt709"}
    hints : tuple of (3, H, W), (H, W) and (H, W) float32, optional
        The subject's colour carried outwards, and how far the plate lies between the backing and
        it, in coded values and in light.
    mixing : float
        1 where light was mixed at edges, -1 where coded values were, 0 where it is not known.

    Returns
    -------
    (15, H, W) float32
        Luma, chroma along and across the key hue of the plate and of the backing; the key signal
        in coded values and in light; the same three of the colour carried, 1, and the two hints
        (0 where there are none); the mixing.
    """
    behind = np.maximum(weigh(light_of(backing), axes.along), np.float32(0.005))
    in_light = np.asarray(1 - weigh(light_of(planes), axes.along) / behind, np.float32)
    signals = signal_against(planes, backing, axes), in_light
    told: list[Plane] = [np.zeros_like(in_light)] * 6
    if hints is not None:
        carried, coded, light = hints
        told = [*_axes_of(carried, axes, matrix), np.ones_like(in_light), coded, light]
    return np.stack(
        [
            *_axes_of(planes, axes, matrix),
            *_axes_of(backing, axes, matrix),
            *(signal.clip(-0.5, 1.5) for signal in signals),
            *told,
            np.full_like(in_light, mixing),
        ]
    )


def answer(read: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return what the network makes of the planes: the matte and the subject's own colour.

    Parameters
    ----------
    read : (15, H, W) float32
        From `reading`.

    Returns
    -------
    (4, H, W) float32
        The matte, about 0..1, and the subject's own luma, chroma along and across the key hue.
    """
    _, height, width = read.shape
    around = (0, 0), (0, -height % STEP), (0, -width % STEP)
    (found,) = _session().run(None, {"planes": np.pad(read, around, mode="edge")[np.newaxis]})
    return np.asarray(found[0, :, :height, :width], np.float32)


def in_tiles(
    wanted: Mask,
    read: Callable[[slice, slice], NDArray[np.float32]],
    out: NDArray[np.float32],
    tile: int = TILE,
) -> None:
    """Run the network where it is wanted, a tile at a time.

    Parameters
    ----------
    wanted : (H, W) bool
    read : callable
        Gives what is read of some rows and columns.
    out : (n, H, W) float32
        The first of the network's planes, changed where it is wanted. Tiles lie on a grid of the
        picture, so that the result does not depend on the number of threads.
    tile : int
        Of each no more is looked at than what is wanted of it and its margin.
    """
    height, width = wanted.shape

    def work(corner: tuple[int, int]) -> None:
        top, left = corner
        inner = np.s_[top : top + tile, left : left + tile]
        part = wanted[inner]
        rows = _around(np.asarray(part.any(1)), top, height)
        columns = _around(np.asarray(part.any(0)), left, width)
        found = answer(read(rows, columns))[: len(out)]
        seen = np.s_[
            max(top, rows.start) : min(top + tile, rows.stop),
            max(left, columns.start) : min(left + tile, columns.stop),
        ]
        within = np.s_[
            seen[0].start - rows.start : seen[0].stop - rows.start,
            seen[1].start - columns.start : seen[1].stop - columns.start,
        ]
        np.copyto(out[:, *seen], found[:, *within], where=wanted[seen])

    corners = [
        (top, left)
        for top in range(0, height, tile)
        for left in range(0, width, tile)
        if wanted[top : top + tile, left : left + tile].any()
    ]
    _session()  # loaded once, before threads ask for it
    with ThreadPoolExecutor(default_threads()) as pool:
        for done in [pool.submit(work, corner) for corner in corners]:
            done.result()


def _around(wanted: NDArray[np.bool_], first: int, end: int) -> slice:
    """Return the bounds of what is wanted and its margin, on the network's grid."""
    places = first + np.flatnonzero(wanted)
    start = max(int(places[0]) - MARGIN, 0) // STEP * STEP
    return slice(start, min(-(-(int(places[-1]) + 1 + MARGIN) // STEP) * STEP, end))


def look(planes: Planes, backing: Planes, axes: HueAxes, matrix: Matrix) -> tuple[Plane, Planes]:
    """Give a first matte and the subject's own colour of a small picture.

    Parameters
    ----------
    planes, backing : (3, h, w) float32
        Nothing but the backing is known of it.
    axes : HueAxes
        Of the key hue.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    tuple of (h, w) and (3, h, w) float32
        0..1, and R'G'B' not below 0.
    """
    found = np.empty((4, *planes.shape[1:]), np.float32)

    def read(rows: slice, columns: slice) -> NDArray[np.float32]:
        plate, behind = (
            np.ascontiguousarray(stack[:, rows, columns]) for stack in (planes, backing)
        )
        return reading(plate, behind, axes, matrix)

    in_tiles(np.ones(planes.shape[1:], np.bool_), read, found, LOOK_TILE)
    weights = np.stack([np.array(LUMA[matrix], np.float32), axes.along, axes.across])
    colour = np.tensordot(np.linalg.inv(weights), found[1:], axes=1)
    return found[0].clip(0, 1), np.asarray(colour.clip(0, None), np.float32)


def shrunk(planes: Planes, rows: int) -> tuple[Planes, tuple[int, int]]:
    """Average planes down by a whole number to about so many rows; also gives columns and rows."""
    _, height, width = planes.shape
    step = max(1, round(height / rows))
    size = -(-width // step), -(-height // step)
    small = [cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in planes]
    return np.stack(small), size
