"""Mattes with a known answer: shares, holes, specks and edges; `keyer` is not asked."""

import numpy as np
from scipy import ndimage

WIDTH, HEIGHT = 1920, 1080


def ramp():
    """From 0 to 1 in a thousand columns: 20 of them at 0.02 or less, 20 at 0.98 or more."""
    return np.broadcast_to(np.linspace(0, 1, 1000, dtype=np.float32), (50, 1000)).copy()


def codes(code):
    """One code of eight bits all over."""
    return np.full((40, 60), code / 255, np.float32)


def subject():
    """A solid block on the right of a clear picture, so large that holes in it are well inside."""
    matte = np.zeros((HEIGHT, WIDTH), np.float32)
    matte[:, 960:] = 1
    return matte


def with_part(pixels, value, *, in_subject):
    """A part of so many pixels, of one value, in the middle of the block or far away from it."""
    matte = subject()
    side = int(np.sqrt(pixels))
    rows, rest = divmod(pixels, side)
    top, left = 400, 1400 if in_subject else 300
    matte[top : top + rows, left : left + side] = value
    matte[top + rows, left : left + rest] = value
    assert np.count_nonzero(matte != subject()) == pixels
    return matte


def random_blobs(seed=5, shape=(270, 480)):
    """A matte of smoothed noise: many parts of all sizes, edges between them."""
    noise = ndimage.gaussian_filter(np.random.default_rng(seed).standard_normal(shape), 3)
    return np.clip(0.5 + 4 * noise / noise.std() / 2, 0, 1).astype(np.float32)


def parts(mask):
    """Count 4-connected parts within the picture that cover at most 0.2 % of it, by SciPy."""
    labels, count = ndimage.label(mask)
    edges = np.unique(np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]]))
    sizes = ndimage.sum_labels(mask, labels, np.arange(1, count + 1))
    return sum(1 for i, size in enumerate(sizes, 1) if i not in edges and size <= 0.002 * mask.size)


def edge(width, angle=0.0, shape=(1080, 400)):
    """A straight edge that goes from clear to solid over a width in pixels, at any angle."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(np.float64)
    turn = np.deg2rad(angle)
    across = (x - shape[1] / 2 + 0.25) * np.cos(turn) + (y - shape[0] / 2 + 0.25) * np.sin(turn)
    return np.clip(across / width + 0.5, 0, 1).astype(np.float32)


def soft_edge(sigma, shape=(1080, 400)):
    """A hard edge blurred by a Gaussian: its slope in the middle is 1 / (sigma sqrt(2 pi))."""
    hard = np.zeros(shape)
    hard[:, shape[1] // 2 :] = 1
    return ndimage.gaussian_filter1d(hard, sigma, axis=1).astype(np.float32)


def shared(share, solid):
    """So large a share of the picture solid (or clear), the rest clear (or solid)."""
    matte = np.zeros((500, 1000), np.float32)
    matte.ravel()[: round(share * matte.size)] = 1
    return matte if solid else 1 - matte
