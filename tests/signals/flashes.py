"""Flashing areas of a known size, as light of the fine cells of a 16:9 picture.

Shapes are drawn on a raster of 1800 x 1008 pixels, four by four to a cell, so
the area is that of its pixels (WCAG, "general flash and red flash thresholds";
BT.1702; flash.toml [wcag.area] and [bt1702.area]).
"""

import cv2
import numpy as np

ROWS, COLUMNS = 252, 450
_PIXELS = 4
HEIGHT, WIDTH = _PIXELS * ROWS, _PIXELS * COLUMNS


def cells(mask):
    """Share of each fine cell that a mask of pixels covers."""
    return cv2.resize(mask.astype(np.float32), (COLUMNS, ROWS), interpolation=cv2.INTER_AREA)


def ellipse(rng, mask, size):
    axes = (rng.uniform(0.2, 1) * size * HEIGHT / 2, rng.uniform(0.2, 1) * size * HEIGHT / 2)
    centre = (rng.uniform(0, WIDTH), rng.uniform(0, HEIGHT))
    box = (centre, (2 * axes[0], 2 * axes[1]), rng.uniform(0, 180))
    cv2.ellipse(mask, box, 1, -1)


def polygon(rng, mask, size):
    """Star-shaped, with dents; a triangle at least."""
    count = rng.integers(3, 12)
    angle = np.sort(rng.uniform(0, 2 * np.pi, count))
    away = rng.uniform(0.35, 1, count) * size * HEIGHT / 2
    centre = rng.uniform(0, WIDTH), rng.uniform(0, HEIGHT)
    points = np.stack([centre[0] + away * np.cos(angle), centre[1] + away * np.sin(angle)], 1)
    cv2.fillPoly(mask, [points.astype(np.int32)], 1)


def bands(rng, mask, size):
    """A few bars side by side, 24 pixels or more wide each, at an angle."""
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    turn = rng.uniform(0, np.pi)
    pitch = rng.uniform(120, 400)
    across = (x * np.cos(turn) + y * np.sin(turn)) % pitch
    mask[across < max(24, 0.3 * size * pitch)] = 1


def random_mask(rng):
    """Pixels of one to four shapes laid over each other, up to about the whole picture."""
    mask = np.zeros((HEIGHT, WIDTH), np.uint8)
    kinds = (ellipse, polygon, ellipse, polygon, bands)
    for _ in range(rng.integers(1, 5)):
        kinds[rng.integers(0, len(kinds))](rng, mask, rng.uniform(0.2, 1.6))
    return mask


def random_states(rng):
    """Relative luminance of a darker and a lighter state that make a transition."""
    dark = rng.uniform(0, 0.79)
    # half of them near the least change that counts
    change = rng.uniform(0.1, 0.2) if rng.random() < 0.5 else rng.uniform(0.1, 1 - dark)
    return dark, min(dark + change, 1.0)


def sized(rng, share):
    """Mask of one shape, moved and scaled until it covers a share of the picture, to 0.02 %."""
    seed = rng.integers(1 << 31)
    low, high = 0.05, 6.0
    for _ in range(40):
        middle = (low + high) / 2
        mask = np.zeros((HEIGHT, WIDTH), np.uint8)
        again = np.random.default_rng(seed)
        (ellipse, polygon)[seed % 2](again, mask, middle)
        covered = mask.mean()
        if abs(covered - share) < 2e-4:
            return mask
        low, high = (middle, high) if covered < share else (low, middle)
    return None
