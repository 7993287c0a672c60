"""From linear light to a coded picture, as a lens and a print would show it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from examples.drawing import noise
from examples.drawing.light import blurred, encode

Floats = NDArray[np.float32]


def develop(
    light: Floats,
    seed: int,
    *,
    exposure: float = 1.0,
    white: float = 5.0,
    contrast: float = 0.4,
    vignette: float = 0.25,
    bloom: float = 0.10,
    grain: float = 0.005,
) -> Floats:
    """Develop a picture: bloom, vignette, film curve, grain.

    Parameters
    ----------
    light : (H, W, 3) float32
        Linear light, 1 a fully lit white.
    seed : int
        Of the grain.
    exposure : float
    white : float
        Light that turns into full white.
    contrast : float
        Share of an S-curve laid over the result, 0..1.
    vignette : float
        Loss of light in the corners.
    bloom : float
        Share of very bright light that spreads in the lens.
    grain : float
        Spread of the grain, coded.

    Returns
    -------
    (H, W, 3) float32, coded, in [0, 1]
    """
    height, width = light.shape[:2]
    bright = np.clip(light - np.float32(1.0), 0, 12)
    halo = blurred(bright, 0.010 * height) + blurred(bright, 0.06 * height)
    x = ((np.arange(width, dtype=np.float32) + 0.5) / width * 2 - 1)[None, :]
    y = ((np.arange(height, dtype=np.float32) + 0.5) / height * 2 - 1)[:, None]
    corner = 1 - np.float32(vignette) * (x * x * 0.6 + y * y * 0.4) ** 1.5
    total = (light + np.float32(bloom) * halo) * (corner * exposure).astype(np.float32)[..., None]
    coded = encode(total, white)
    coded += np.float32(contrast) * (coded * coded * (3 - 2 * coded) - coded)
    if grain > 0:
        coded += np.float32(grain) * noise.grain((height, width), seed, 0.6)[..., None]
    return np.asarray(np.clip(coded, 0, 1), np.float32)
