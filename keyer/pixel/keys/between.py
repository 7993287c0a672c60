"""Where a colour lies between the subject's and the backing's.

A recorded pixel is C = a F + (1 - a) B (Porter and Duff 1984). With B known and
F known up to a spread S and the grain's variance n, the matte that fits best is

    a = w . (C - B) / w . (F - B),   w = (a^2 S + n I)^-1 (F - B),

repeated with the matte it gives. It is the step for the matte in Y.-Y. Chuang
et al., "A Bayesian Approach to Digital Matting", CVPR 2001 (section 3), with
the backing certain and the subject's spread taken into account: directions in
which the subject's own colour varies much, luma above all, count little.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Flat, Planes
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel_beside

Colours = NDArray[np.float32]

STEPS = 16
"""Values of the matte for which the weights are tabled."""

ROUNDS = 3

NEAREST = np.float32(1e-6)
"""Squared weighed distance of subject and backing below which they are the same."""


def _between_plainly(
    picture: Colours,
    subject: Colours,
    backing: Colours,
    wanted: NDArray[np.uint8],
    table: NDArray[np.float32],
    matte: Flat,
) -> None:
    here = np.flatnonzero(wanted)
    behind = backing.take(here, 1)
    toward, off = subject.take(here, 1) - behind, picture.take(here, 1) - behind
    of_subject, of_pixel = (_products(toward, other) for other in (toward, off))
    weights = np.ascontiguousarray(table.reshape(-1, 9).T)
    cover = _held(matte[here])
    for _ in range(ROUNDS):
        step = (cover * np.float32(len(table) - 1) + np.float32(0.5)).astype(np.intp)
        weight = weights.take(step, 1)
        apart = np.einsum("kn,kn->n", weight, of_subject)
        cover = np.einsum("kn,kn->n", weight, of_pixel) / np.maximum(apart, NEAREST)
        cover = _held(cover)
    matte[here] = cover


def _held(cover: Flat) -> Flat:
    """Hold mattes in 0..1; what is no number is 0."""
    return np.asarray(np.fmin(np.fmax(cover, 0), 1), np.float32)


def _products(one: Colours, other: Colours) -> Colours:
    """Products of every component of a colour with every one of another."""
    return (other[:, np.newaxis] * one).reshape(9, -1)


@kernel_beside(_between_plainly)
def _between(
    picture: Colours,
    subject: Colours,
    backing: Colours,
    wanted: NDArray[np.uint8],
    table: NDArray[np.float32],
    matte: Flat,
) -> None:
    last = np.float32(table.shape[0] - 1)
    none, full = np.float32(0.0), np.float32(1.0)
    for i in range(matte.size):
        if wanted[i] == 0:
            continue
        gr = subject[0, i] - backing[0, i]
        gg = subject[1, i] - backing[1, i]
        gb = subject[2, i] - backing[2, i]
        dr = picture[0, i] - backing[0, i]
        dg = picture[1, i] - backing[1, i]
        db = picture[2, i] - backing[2, i]
        cover = matte[i]
        for _ in range(ROUNDS):
            cover = cover if cover > none else none
            cover = cover if cover < full else full
            m = table[int(cover * last + np.float32(0.5))]
            wr = m[0, 0] * gr + m[0, 1] * gg + m[0, 2] * gb
            wg = m[1, 0] * gr + m[1, 1] * gg + m[1, 2] * gb
            wb = m[2, 0] * gr + m[2, 1] * gg + m[2, 2] * gb
            apart = wr * gr + wg * gg + wb * gb
            cover = (wr * dr + wg * dg + wb * db) / (apart if apart > NEAREST else NEAREST)
        cover = cover if cover > none else none
        matte[i] = cover if cover < full else full


def weight_table(spread: NDArray[np.float64], noise: float) -> NDArray[np.float32]:
    """Table the weights of `between` for mattes from 0 to 1.

    Parameters
    ----------
    spread : (3, 3) float64
        Covariance of the subject's R'G'B' about the colour carried outwards.
    noise : float
        Standard deviation of the grain.

    Returns
    -------
    (STEPS + 1, 3, 3) float32
        (a^2 S + n I)^-1, scaled by n so that the numbers stay near 1.
    """
    grain = noise**2 * np.eye(3)
    covers = np.linspace(0, 1, STEPS + 1)
    table = [noise**2 * np.linalg.inv(cover**2 * spread + grain) for cover in covers]
    return np.array(table, np.float32)


def between(
    planes: Planes,
    subject: Planes,
    backing: Planes,
    wanted: NDArray[np.bool_],
    table: NDArray[np.float32],
    matte: NDArray[np.float32],
) -> None:
    """Improve a matte where wanted, in place.

    Parameters
    ----------
    planes, subject, backing : (3, H, W) float32, C-contiguous
        The picture, the subject's colour carried outwards, the backing.
    wanted : (H, W) bool, C-contiguous
    table : (STEPS + 1, 3, 3) float32
        From `weight_table`.
    matte : (H, W) float32, C-contiguous
        A first guess where wanted; left alone elsewhere.
    """

    def work(top: int, bottom: int) -> None:
        _between(
            np.ascontiguousarray(planes[:, top:bottom]).reshape(3, -1),
            np.ascontiguousarray(subject[:, top:bottom]).reshape(3, -1),
            np.ascontiguousarray(backing[:, top:bottom]).reshape(3, -1),
            wanted[top:bottom].view(np.uint8).reshape(-1),
            table,
            matte[top:bottom].reshape(-1),
        )

    height, width = matte.shape
    run_bands(height, width, work)
