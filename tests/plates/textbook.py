"""The textbook key that every better one is measured against.

Colour-difference key and spill limit as in `tests/references/compositing.toml`
([keyer.colour_difference], [keyer.spill_limit], [keyer.suppression]), with
what a careful operator would set: the backing's median colour, a clip just
above its spread, a gain that makes 0.9 solid.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Planes = NDArray[np.float32]


def colour_difference_key(
    recorded: Planes, backing: tuple[float, float, float]
) -> tuple[NDArray[np.float32], Planes]:
    """Return matte and premultiplied fill."""
    colour = np.array(backing, np.float32)
    key = 1 if colour[1] >= colour[2] else 2
    others = [channel for channel in range(3) if channel != key]
    rest = np.maximum(recorded[others[0]], recorded[others[1]])
    full = max(float(colour[key] - colour[others].max()), 0.02)
    signal = 1 - np.clip((recorded[key] - rest) / full, 0, 1)
    matte = np.clip((signal - 0.1) / 0.8, 0, 1).astype(np.float32)
    fill = np.clip(recorded - (1 - matte) * colour[:, None, None], 0, 1)
    fill[key] = np.minimum(fill[key], np.maximum(fill[others[0]], fill[others[1]]))
    return matte, fill
