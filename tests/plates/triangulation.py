"""Triangulation matting: the exact matte of a subject recorded before two backings.

A. R. Smith and J. F. Blinn, "Blue Screen Matting", SIGGRAPH 1996, theorem 4, in
the form of `tests/references/compositing.toml` ([matting.triangulation]).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Planes = NDArray[np.floating]


def triangulate(
    first: Planes, second: Planes, first_backing: Planes, second_backing: Planes
) -> tuple[NDArray[np.floating], Planes]:
    """Return matte and premultiplied subject from two recordings, channels first."""
    apart = first_backing - second_backing
    through = ((first - second) * apart).sum(0) / (apart**2).sum(0)
    return 1 - through, first - through * first_backing
