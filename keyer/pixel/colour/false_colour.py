"""Pictures of measures: a plane of numbers shown in colours.

One scale for what has a middle (light on a backing: too dark, even, too
bright), one for what starts at nothing (spill, transparency). Both change in
lightness all the way, so that they read on paper and for colour-blind eyes.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane, Planes

Scale = tuple[tuple[float, float, float], ...]

ABOUT_A_MIDDLE: Scale = (
    (0.05, 0.09, 0.27),
    (0.16, 0.33, 0.62),
    (0.52, 0.56, 0.6),
    (0.93, 0.63, 0.24),
    (1.0, 0.95, 0.75),
)
"""Dark blue, blue, grey (even), orange, cream, at equal steps."""

FROM_NOTHING: Scale = (
    (0.05, 0.05, 0.07),
    (0.28, 0.12, 0.4),
    (0.75, 0.24, 0.35),
    (0.98, 0.65, 0.25),
    (1.0, 0.97, 0.75),
)
"""Nearly black, violet, red, orange, cream, at equal steps."""

UNKNOWN = 0.18
"""Grey level of what is not a number."""


def in_colours(values: Plane, low: float, high: float, scale: Scale) -> Planes:
    """Return numbers as colours of a scale.

    Parameters
    ----------
    values : (H, W) float32
        What is not a number is shown dark grey.
    low, high : float
        Numbers at the ends of the scale; what lies beyond is shown as the end.
    scale : sequence of R'G'B'
        Colours at equal steps from `low` to `high`.

    Returns
    -------
    (3, H, W) float32
    """
    known = np.isfinite(values)
    place = np.where(known, (values - low) / (high - low), 0).clip(0, 1) * (len(scale) - 1)
    steps = np.arange(len(scale))
    table = np.array(scale)
    planes = [
        np.where(known, np.interp(place, steps, table[:, channel]), UNKNOWN) for channel in range(3)
    ]
    return np.stack(planes).astype(np.float32)
