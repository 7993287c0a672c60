"""What subjects look like: crops of free pictures, and scenes of overlapping shapes.

The scenes are dead leaves (A. Lee, D. Mumford, J. Huang, "Occlusion Models for
Natural Images", IJCV 2001): shapes of all sizes that cover one another, whose
sizes fall as in photographs, each in a colour, a gradient or a grain of its own.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Texture = NDArray[np.uint8]
Rng = np.random.Generator

SIZE = 512


def _colours(count: int, rng: Rng) -> NDArray[np.float32]:
    """Colours of one scene: a base tone and what departs from it."""
    base = rng.uniform(0, 1, 3) * rng.uniform(0.1, 1)
    grey = base.mean()
    base = grey + (base - grey) * rng.uniform(0, 1)
    loose = rng.uniform(0, 1, (count, 3)) * rng.uniform(0, 1, (count, 1))
    share = rng.uniform(0.1, 1)
    return np.asarray(base * (1 - share) + loose * share, np.float32)


def _grain(rng: Rng) -> NDArray[np.float32]:
    """Draw a texture of one direction and coarseness: cloth, bark, fur."""
    noise = rng.standard_normal((SIZE, SIZE)).astype(np.float32)
    across, down = np.exp(rng.uniform(np.log(0.4), np.log(6), 2))
    noise = cv2.GaussianBlur(noise, (0, 0), sigmaX=float(across), sigmaY=float(down))
    turn = cv2.getRotationMatrix2D((SIZE / 2, SIZE / 2), rng.uniform(0, 180), 1.5)
    noise = cv2.warpAffine(noise, turn, (SIZE, SIZE), borderMode=cv2.BORDER_REFLECT)
    return np.asarray(noise / max(float(noise.std()), 1e-3), np.float32)


def leaves(seed: int) -> Texture:
    """Draw one scene.

    Parameters
    ----------
    seed : int

    Returns
    -------
    (SIZE, SIZE, 3) uint8
        R'G'B'.
    """
    rng = np.random.default_rng([17, seed])
    count = int(rng.integers(20, 900))
    sizes = 1 / np.sqrt(rng.uniform(1 / 260**2, 1 / rng.uniform(3, 20) ** 2, count))
    colours = _colours(count, rng)
    picture = np.empty((SIZE, SIZE, 3), np.float32)
    picture[:] = colours[0]
    over = 2
    picture = cv2.resize(picture, (SIZE * over, SIZE * over), interpolation=cv2.INTER_NEAREST)
    for size, colour in zip(sizes, colours, strict=True):
        place = rng.uniform(0, SIZE * over, 2)
        if rng.random() < 0.5:
            axes = np.maximum(size * over * rng.uniform(0.2, 1, 2), 1).astype(int).tolist()
            turn = rng.uniform(0, 360)
            cv2.ellipse(
                picture, place.astype(int).tolist(), axes, turn, 0, 360, colour.tolist(), -1
            )
        else:
            angle = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 8)))
            points = place + size * over * np.stack([np.cos(angle), np.sin(angle)], 1)
            cv2.fillPoly(picture, [points.astype(np.int32)], colour.tolist())
    picture = cv2.resize(picture, (SIZE, SIZE), interpolation=cv2.INTER_AREA)
    shade = rng.random((5, 5, 1)).astype(np.float32) * rng.uniform(0, 1) + rng.uniform(0.2, 0.8)
    picture *= cv2.resize(shade, (SIZE, SIZE), interpolation=cv2.INTER_CUBIC)[..., None]
    picture += _grain(rng)[..., None] * np.float32(rng.uniform(0, 0.12)) * (picture + 0.1)
    if rng.random() < 0.5:
        picture = cv2.GaussianBlur(picture, (0, 0), rng.uniform(0.4, 3))
    return (picture.clip(0, 1) * 255 + 0.5).astype(np.uint8)


def crop(picture: Texture, rng: Rng) -> Texture:
    """Take a piece of a picture, of any size, to the size of a texture."""
    height, width = picture.shape[:2]
    side = max(32, int(min(height, width) * rng.uniform(0.25, 1)))
    top, left = rng.integers(0, height - side + 1), rng.integers(0, width - side + 1)
    piece = picture[top : top + side, left : left + side]
    how = cv2.INTER_AREA if side > SIZE else cv2.INTER_CUBIC
    piece = cv2.resize(piece, (SIZE, SIZE), interpolation=how)
    return np.asarray(piece[:, ::-1] if rng.random() < 0.5 else piece, np.uint8)
