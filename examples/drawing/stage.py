"""A stage on which parts are laid from back to front, with exact coverage.

Places are measured in picture heights: y runs 0 (top) to 1 (bottom), x is 0 in
the middle. Masks are drawn at a multiple of the picture's size, paint at the
picture's size; the stage keeps premultiplied colour at the finer size, so the
alpha that comes down from it is true coverage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import raster
from examples.drawing.light import blurred
from keyer.errors import SettingError

Floats = NDArray[np.float32]
Points = NDArray[np.float64]


@dataclass(frozen=True)
class Window:
    """A part of the stage, in whole pixels of the picture.

    Attributes
    ----------
    left, top, width, height : int
        Pixels of the finished picture.
    scale : float
        Picture height in pixels.
    middle : float
        Column of x = 0.
    fine : int
        Pixels of a mask across one pixel of paint.
    """

    left: int
    top: int
    width: int
    height: int
    scale: float
    middle: float
    fine: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of paint."""
        return self.height, self.width

    @property
    def mask_shape(self) -> tuple[int, int]:
        """Rows and columns of a mask."""
        return self.height * self.fine, self.width * self.fine

    def to_paint(self, points: Points) -> Points:
        """Places to pixels of the paint."""
        origin = np.array([self.middle - self.left, -float(self.top)])
        return np.ascontiguousarray(points * self.scale + origin)

    def to_mask(self, points: Points) -> Points:
        """Places to pixels of the mask."""
        return self.to_paint(points) * self.fine

    def places(self) -> tuple[Floats, Floats]:
        """X as (1, W) and y as (H, 1) of every pixel of paint."""
        columns = np.arange(self.width, dtype=np.float32) + np.float32(0.5 + self.left)
        rows = np.arange(self.height, dtype=np.float32) + np.float32(0.5 + self.top)
        scale = np.float32(self.scale)
        x = ((columns - np.float32(self.middle)) / scale)[None, :]
        return x, (rows / scale)[:, None]

    def coarse(self, mask: Floats) -> Floats:
        """Bring a mask to the size of the paint."""
        if self.fine == 1:
            return mask
        size = (self.width, self.height)
        return np.asarray(cv2.resize(mask, size, interpolation=cv2.INTER_AREA), np.float32)


class Stage:
    """Premultiplied colour and alpha, at `fine` times the size of the picture."""

    def __init__(self, width: int, height: int, fine: int = 2) -> None:
        self.width, self.height, self.fine = width, height, fine
        self.colour = np.zeros((height * fine, width * fine, 3), np.float32)
        self.alpha = np.zeros((height * fine, width * fine), np.float32)

    def window(self, points: Points, margin: float = 0.0) -> Window | None:
        """Return the part of the stage about `points`, or None if all is off stage."""
        scale, middle = float(self.height), self.width / 2
        low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
        left = max(int(np.floor(low[0] * scale + middle)) - 2, 0)
        right = min(int(np.ceil(high[0] * scale + middle)) + 2, self.width)
        top = max(int(np.floor(low[1] * scale)) - 2, 0)
        bottom = min(int(np.ceil(high[1] * scale)) + 2, self.height)
        if right <= left or bottom <= top:
            return None
        return Window(left, top, right - left, bottom - top, scale, middle, self.fine)

    def lay(self, window: Window, paint: Floats, mask: Floats) -> None:
        """Lay (h, w, 3) paint through a fine mask over what is there."""
        corner = (window.left * self.fine, window.top * self.fine)
        solid = np.ascontiguousarray(paint, np.float32)
        raster.lay(self.colour, self.alpha, solid, mask, corner, self.fine)

    def darken(
        self, points: Sequence[Points], strength: float, soft: float, shift: tuple[float, float]
    ) -> None:
        """Cast the soft shadow of a shape on all that has been laid so far.

        Parameters
        ----------
        points : outlines of the shape
        strength : float
            How much darker the coded colour gets under the middle of the shadow.
        soft : float
            Spread of the shadow, picture heights.
        shift : how far right and down it falls, picture heights
        """
        moved = [line + np.array(shift) for line in points]
        window = self.window(np.concatenate(moved), 3 * soft)
        if window is None:
            return
        shape = window.shape
        cover = raster.polygon([window.to_paint(line) for line in moved], shape)
        self.darken_mask(window, cover, strength, soft)

    def darken_mask(self, window: Window, cover: Floats, strength: float, soft: float) -> None:
        """As `darken`, for a mask at the size of the paint."""
        sigma = max(soft * self.height, 0.3)
        shadow = blurred(cover, sigma)
        keep = np.asarray(1 - np.float32(strength) * shadow, np.float32)
        corner = (window.left * self.fine, window.top * self.fine)
        raster.dim(self.colour, keep, corner, self.fine)

    def finish(self, lens: float = 0.0) -> tuple[Floats, Floats]:
        """Bring the stage down to the picture's size.

        Parameters
        ----------
        lens : float
            Softness of the lens, in pixels; it softens colour and alpha alike.

        Returns
        -------
        colour : (H, W, 3) float32, premultiplied
        alpha : (H, W) float32 in [0, 1]
        """
        size = (self.width, self.height)
        colour = cv2.resize(self.colour, size, interpolation=cv2.INTER_AREA)
        alpha = cv2.resize(self.alpha, size, interpolation=cv2.INTER_AREA)
        if lens > 0:
            colour = cv2.GaussianBlur(colour, (0, 0), lens)
            alpha = cv2.GaussianBlur(alpha, (0, 0), lens)
        # An eight-bit picture knows nothing between 0 and 1/512.
        alpha = np.where(alpha < 1 / 512, 0, np.where(alpha > 511 / 512, 1, alpha))
        return np.asarray(colour, np.float32), np.asarray(alpha, np.float32)


def check_size(width: int, height: int) -> None:
    """Refuse pictures too small to draw in.

    Raises
    ------
    SettingError
        If a side has less than two pixels.
    """
    if min(width, height) < 2:
        msg = f"a drawn picture must have at least 2 x 2 pixels, got {width} x {height}."
        raise SettingError(msg)


def spline(
    knots: Sequence[tuple[float, float]], *, closed: bool = False, steps: int = 10
) -> Points:
    """Draw a smooth curve through knots (centripetal Catmull-Rom would cusp less; ours are even).

    Parameters
    ----------
    knots : places
    closed : bool
        Join the last knot to the first.
    steps : int
        Points from one knot to the next.

    Returns
    -------
    (N, 2) float64
    """
    given = np.asarray(knots, np.float64)
    if closed:
        padded = np.concatenate([given[-1:], given, given[:2]])
    else:
        padded = np.concatenate([2 * given[:1] - given[1:2], given, 2 * given[-1:] - given[-2:-1]])
    t = (np.arange(steps) / steps)[:, None]
    before, start, end, after = padded[:-3], padded[1:-2], padded[2:-1], padded[3:]
    pieces = [
        0.5
        * (
            2 * p1
            + (p2 - p0) * t
            + (2 * p0 - 5 * p1 + 4 * p2 - p3) * t**2
            + (3 * p1 - p0 - 3 * p2 + p3) * t**3
        )
        for p0, p1, p2, p3 in zip(before, start, end, after, strict=True)
    ]
    curve = np.concatenate(pieces)
    return curve if closed else np.concatenate([curve, given[-1:]])


def taper(values: Sequence[float], count: int) -> Points:
    """Spread a few values evenly over `count` points, smoothly."""
    given = np.asarray(values, np.float64)
    return np.interp(np.linspace(0, 1, count), np.linspace(0, 1, len(given)), given)
