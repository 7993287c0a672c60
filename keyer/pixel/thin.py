"""Thin solid parts of a subject, and the gaps between them.

A tube, a wire or a lace is too thin to be found as solid on a smoothed copy, and
the light of the backing on it looks like transparency. What tells is its
profile: level along its middle, with edges no wider than the lens makes them.
What moves or is out of focus has wide edges, and is left alone.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Matrix, Planes
from keyer.pixel.bands import run_bands
from keyer.pixel.colour import LUMA, HueAxes
from keyer.pixel.jit import kernel_beside
from keyer.pixel.regions import draw_out, drop_small

Matte = NDArray[np.float32]
Mask = NDArray[np.bool_]
Flat = NDArray[np.float32]

SMOOTHING = 0.5
"""Sigma in pixels before anything is looked at: a little grain off."""

GAP, GAP_SMOOTHING = 0.25, 0.7
"""Matte in the middle of a gap below which the backing itself is seen, and the smoothing for it."""

PLATEAU = 0.76
"""Matte from which the middle of a thin part may be solid with light of the backing on it."""

SLOPE = 0.05
"""Greatest change of matte from pixel to pixel along the middle of a thin part."""

EDGE = 0.2
"""Matte from which, and short of full up to which, an edge is looked at."""

LENS, LEAST_LENS = 0.012, 5
"""Width of an edge that is wider than a sharp lens makes it: in picture heights, in pixels."""

LONG = 0.04
"""Pixels of the smallest plateau over the picture's height: less is where strands cross."""

WIDE_REACH = 0.02
"""How far from a wide edge no plateau is believed, in picture heights."""

MARGIN = 8
"""Pixels about what is partial that are looked at with it."""

BRIGHTER, SURELY = np.float32(0.05), np.float32(0.1)
"""Luma beyond any mixture's at which a pixel is doubted to be one, and how much more is sure."""


def gaps(matte: Matte) -> Mask:
    """Find gaps in a subject, through which the backing itself is seen.

    Parameters
    ----------
    matte : (H, W) float32

    Returns
    -------
    (H, W) bool
        With a pixel of their edge.
    """
    smooth = cv2.GaussianBlur(matte, (0, 0), GAP_SMOOTHING)
    return draw_out(smooth < GAP, 1)


def plateaus(matte: Matte, height: int | None = None) -> Mask:
    """Find long level parts between sharp edges, three pixels wide or more.

    Parameters
    ----------
    matte : (H, W) float32
    height : int, optional
        Rows of the picture that it is a part of.

    Returns
    -------
    (H, W) bool
        Their middles, a pixel inside the parts.
    """
    height = height or matte.shape[0]
    smooth = cv2.GaussianBlur(matte, (0, 0), SMOOTHING)
    across = cv2.Sobel(smooth, -1, 1, 0, scale=0.125)
    down = cv2.Sobel(smooth, -1, 0, 1, scale=0.125)
    level = cv2.magnitude(across, down) < SLOPE
    square = np.ones((3, 3), np.uint8)
    middle = cv2.erode((smooth > PLATEAU).view(np.uint8), square) > 0
    edges = ((smooth > EDGE) & (smooth < 1 - EDGE)).view(np.uint8)
    lens = max(LEAST_LENS, round(LENS * height))
    wide = cv2.morphologyEx(edges, cv2.MORPH_OPEN, np.ones((lens, lens), np.uint8))
    reach = 2 * max(2, round(WIDE_REACH * height)) + 1
    near = cv2.dilate(wide, cv2.getStructuringElement(cv2.MORPH_RECT, (reach, reach))) > 0
    return drop_small(middle & level & ~near, LONG * height)


def to_plateaus(matte: Matte) -> Matte:
    """Make the middles of thin parts solid, and what borders on them solid in proportion.

    Parameters
    ----------
    matte : (H, W) float32

    Returns
    -------
    (H, W) float32
        The matte over the level that the plateau beside it reaches.
    """
    box = _partial(matte)
    done = matte.copy()
    done[box] = _raised(np.ascontiguousarray(matte[box]), matte.shape[0])
    return done


def _partial(matte: Matte) -> tuple[slice, slice]:
    """Find the rows and columns that hold everything partial, with a margin."""
    some = (matte > 0) & (matte < 1)
    box = []
    for axis in (1, 0):
        where = np.flatnonzero(some.any(axis))
        size = matte.shape[1 - axis]
        first, last = (int(where[0]), int(where[-1])) if where.size else (0, size - 1)
        box.append(slice(max(first - MARGIN, 0), min(last + MARGIN + 1, size)))
    return box[0], box[1]


def _raised(matte: Matte, height: int) -> Matte:
    found = plateaus(matte, height)
    weight = found.astype(np.float32)
    share = cv2.blur(weight, (5, 5))
    level = cv2.blur(cv2.multiply(matte, weight), (5, 5))
    beside = (matte < 1) & draw_out(found, 1)
    reached = np.maximum(level[beside] / share[beside], np.float32(PLATEAU))
    done = np.maximum(matte, weight)
    done[beside] = np.maximum(done[beside], np.minimum(matte[beside] / reached, 1))
    return done


def _raise_bright_plainly(
    picture: Flat,
    subject: Flat,
    backing: Flat,
    wanted: NDArray[np.uint8],
    luma: Flat,
    along: Flat,
    matte: Flat,
) -> None:
    here = np.flatnonzero(wanted)
    seen, behind = picture.take(here, 1), backing.take(here, 1)
    brightest = np.maximum(luma @ subject.take(here, 1), luma @ behind)
    doubt = (luma @ seen - brightest - BRIGHTER) / SURELY
    neutral = np.minimum(1 - (along @ seen) / np.maximum(along @ behind, np.float32(0.02)), 1)
    more = np.fmax(neutral - matte[here], 0)
    matte[here] += np.fmin(np.fmax(doubt, 0), 1) * more


@kernel_beside(_raise_bright_plainly)
def _raise_bright(
    picture: Flat,
    subject: Flat,
    backing: Flat,
    wanted: NDArray[np.uint8],
    luma: Flat,
    along: Flat,
    matte: Flat,
) -> None:
    none, full = np.float32(0.0), np.float32(1.0)
    for i in range(matte.size):
        if wanted[i] == 0:
            continue
        seen = luma[0] * picture[0, i] + luma[1] * picture[1, i] + luma[2] * picture[2, i]
        own = luma[0] * subject[0, i] + luma[1] * subject[1, i] + luma[2] * subject[2, i]
        behind = luma[0] * backing[0, i] + luma[1] * backing[1, i] + luma[2] * backing[2, i]
        doubt = (seen - max(own, behind) - BRIGHTER) / SURELY
        if doubt <= none:
            continue
        has = along[0] * picture[0, i] + along[1] * picture[1, i] + along[2] * picture[2, i]
        all_ = along[0] * backing[0, i] + along[1] * backing[1, i] + along[2] * backing[2, i]
        neutral = min(full - has / max(all_, np.float32(0.02)), full)
        if neutral > matte[i]:
            matte[i] += min(doubt, full) * (neutral - matte[i])


def raise_bright(
    planes: Planes,
    subject: Planes,
    backing: Planes,
    wanted: Mask,
    axes: HueAxes,
    matrix: Matrix,
    matte: Matte,
) -> None:
    """Weigh what is brighter than any mixture of subject and backing as if it were neutral.

    A chrome wire before a brown saddle is no mixture of brown and backing: its
    colour is not the one carried to it. Taken as neutral, it holds as much of
    the backing as it has of the backing's chroma.

    Parameters
    ----------
    planes, subject, backing : (3, H, W) float32, C-contiguous
        The picture, the subject's colour carried outwards, the backing.
    wanted : (H, W) bool, C-contiguous
    axes : HueAxes
        Of the key hue.
    matrix : {"bt601", "bt709"}
    matte : (H, W) float32, C-contiguous
        Raised in place where wanted.
    """
    luma, along = np.array(LUMA[matrix], np.float32), np.array(axes.along, np.float32)

    def work(top: int, bottom: int) -> None:
        _raise_bright(
            np.ascontiguousarray(planes[:, top:bottom]).reshape(3, -1),
            np.ascontiguousarray(subject[:, top:bottom]).reshape(3, -1),
            np.ascontiguousarray(backing[:, top:bottom]).reshape(3, -1),
            wanted[top:bottom].view(np.uint8).reshape(-1),
            luma,
            along,
            matte[top:bottom].reshape(-1),
        )

    height, width = matte.shape
    run_bands(height, width, work)
