"""Pictures that need no file: a colour, a gradient, colour bars, a ramp, a checkerboard.

All are float32, so that their levels are exact at any depth.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Rgb

BARS: tuple[Rgb, ...] = (
    (1.0, 1.0, 1.0),
    (1.0, 1.0, 0.0),
    (0.0, 1.0, 1.0),
    (0.0, 1.0, 0.0),
    (1.0, 0.0, 1.0),
    (1.0, 0.0, 0.0),
    (0.0, 0.0, 1.0),
    (0.0, 0.0, 0.0),
)
"""White, yellow, cyan, green, magenta, red, blue, black: by falling luma, as colour
bars are ordered everywhere (ITU-R BT.471). In R'G'B', so of either matrix."""


def _empty(width: int, height: int) -> NDArray[np.float32]:
    if height < 1 or width < 1:
        msg = f"width and height must be 1 or more, got {width} x {height}."
        raise SettingError(msg)
    return np.empty((3, height, width), np.float32)


def _mixed(
    planes: NDArray[np.float32], first: Rgb, second: Rgb, share: NDArray[np.float32]
) -> RgbPicture:
    """Fill planes with two colours mixed by a share of the second for each pixel."""
    rest = 1 - share
    for channel in range(3):
        planes[channel] = rest * np.float32(first[channel]) + share * np.float32(second[channel])
    return RgbPicture(planes)


def colour(width: int, height: int, rgb: Rgb) -> RgbPicture:
    """Fill a picture with a colour.

    Parameters
    ----------
    width, height : int
    rgb : three floats
        R'G'B' 0..1.
    """
    planes = _empty(width, height)
    planes[:] = np.array(rgb, np.float32).reshape(3, 1, 1)
    return RgbPicture(planes)


def gradient(
    width: int,
    height: int,
    first: Rgb,
    second: Rgb,
    angle_deg: float = 0.0,
    *,
    pixel_aspect: Fraction = Fraction(1),
) -> RgbPicture:
    """Turn one colour evenly into another, from edge to edge.

    Parameters
    ----------
    width, height : int
    first, second : three floats each
        R'G'B' 0..1.
    angle_deg : float
        Direction from the first to the second: 0 to the right, 90 down.
    pixel_aspect : Fraction
        Width of a pixel over its height; the angle is as seen.

    Returns
    -------
    RgbPicture
        Exactly `first` and `second` in the pixels that lie farthest back and forth.
    """
    planes = _empty(width, height)
    across = (np.arange(width, dtype=np.float64) - (width - 1) / 2) * float(pixel_aspect)
    down = np.arange(height, dtype=np.float64) - (height - 1) / 2
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    along = across[None, :] * cos + down[:, None] * sin
    reach = float(along.max())
    share = along / (2 * reach) + 0.5 if reach > 1e-9 else np.zeros_like(along)
    return _mixed(planes, first, second, np.clip(share, 0, 1).astype(np.float32))


def bars(width: int, height: int, percent: float = 75.0) -> RgbPicture:
    """Draw eight upright colour bars of equal width.

    Parameters
    ----------
    width, height : int
    percent : float
        Level of the colours and of white: 75 for the bars written 75/0/75/0 in
        ITU-R BT.471, 100 for 100/0/100/0.
    """
    if not 0 < percent <= 100:
        msg = f"percent of colour bars must be in (0, 100], got {percent:g}. 75 and 100 are usual."
        raise SettingError(msg)
    planes = _empty(width, height)
    columns = np.arange(width) * len(BARS) // width
    levels = np.array(BARS, np.float32) * np.float32(percent / 100)
    planes[:] = levels[columns].T[:, None, :]
    return RgbPicture(planes)


def ramp(width: int, height: int) -> RgbPicture:
    """Draw black to white from the first column to the last.

    Returns
    -------
    RgbPicture
        R' = G' = B' = column / (width - 1).
    """
    planes = _empty(width, height)
    planes[:] = np.arange(width, dtype=np.float32) / np.float32(max(width - 1, 1))
    return RgbPicture(planes)


def checkerboard(
    width: int,
    height: int,
    first: Rgb,
    second: Rgb,
    *,
    squares: int = 9,
    pixel_aspect: Fraction = Fraction(1),
) -> RgbPicture:
    """Draw squares in two colours, centred on the picture.

    Parameters
    ----------
    width, height : int
    first, second : three floats each
        R'G'B' 0..1.
    squares : int
        How many stand on each other from top to bottom.
    pixel_aspect : Fraction
        Width of a pixel over its height; squares are square as seen.

    Returns
    -------
    RgbPicture
        The square at the top left of the middle is `first` when `squares` is even.
    """
    if squares < 1:
        msg = f"squares must be 1 or more, got {squares}."
        raise SettingError(msg)
    planes = _empty(width, height)
    rows = np.arange(height) * squares // height
    centre = np.arange(width) + 0.5 - width / 2
    columns = np.floor(centre * float(pixel_aspect) * squares / height + squares / 2)
    odd = (rows[:, None] + columns[None, :].astype(np.int64)) % 2
    return _mixed(planes, first, second, odd.astype(np.float32))
