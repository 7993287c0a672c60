"""The kinds of arrays that pictures are made of: one name each, with its shape and range.

NumPy's types tell a dtype alone; the names here tell what is in the array.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]
"""`(rows, columns)`: one component or a matte, nominal 0..1."""

Planes = NDArray[np.float32]
"""`(channels, rows, columns)`: R'G'B', nominal 0..1."""

AnyPlane = NDArray[Any]
"""`(rows, columns)` at the depth in which it was stored: uint8, uint16 or float32."""

Codes = NDArray[Any]
"""Code values, uint8 or uint16, of any shape."""

Reals = NDArray[np.floating[Any]]
"""Float32 or float64 of any shape: places in a picture, a wipe's field over them."""

Mask = NDArray[np.bool_]
"""`(rows, columns)`: whether a pixel belongs to something."""

Flat = NDArray[np.float32]
"""`(pixels,)`: chosen pixels of a plane, one after another."""

Floats = NDArray[np.float32]
"""Float32 of any shape: what a kernel takes."""

Points = NDArray[np.float64]
"""`(points, 2)`: places or sizes in a picture, x before y."""
