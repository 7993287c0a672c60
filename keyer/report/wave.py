"""How high a sound's wave is drawn, on paper and on a page."""

from __future__ import annotations

import math

SOFTEST_DBFS = -48.0
"""Level at which a wave is a line."""


def wave_height(peak: float) -> float:
    """Height of a wave, even in decibels, so that speech and what is under it are both seen.

    Parameters
    ----------
    peak : float
        Full scale at 1.

    Returns
    -------
    float
        0 at -48 dBFS and below, 1 at full scale and above.

    Examples
    --------
    >>> wave_height(1.0), wave_height(0.0)
    (1.0, 0.0)
    >>> round(wave_height(0.251), 2)  # -12 dBFS
    0.75
    """
    if peak <= 0:
        return 0.0
    return min(max(1 - 20 * math.log10(peak) / SOFTEST_DBFS, 0.0), 1.0)
