"""A picture in its place: scaled, moved, turned, cropped; with a border, a shadow, round corners.

Premultiplied colour and matte are moved alike, so no fringe appears.

What each pixel of the result shows of the picture, its border and its shadow is
told from its distance to the outline (a rectangle with round corners has a
simple one), so that edges are as sharp and as even anywhere between two pixels
and at any angle. The picture itself is averaged down to twice its size, moved
there, and averaged down by two: a slow move does not shimmer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import cv2
import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.settings import BoxLook


@dataclass(frozen=True)
class Placement:
    """Where a subject stands and how much of it is seen.

    Attributes
    ----------
    x, y : float
        Its middle, percent of picture width and height from left and top.
    scale : float
        Percent.
    crop : four floats
        Cut off at left, top, right and bottom, percent of its width and height.
    left_right, up_down : bool
        Mirror it.
    turn : float
        Degrees clockwise about its middle.
    """

    x: float = 50.0
    y: float = 50.0
    scale: float = 100.0
    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    left_right: bool = False
    up_down: bool = False
    turn: float = 0.0


UNMOVED = Placement()


PLAIN = BoxLook()

_FINER = 2
"""How many times finer than the result a picture that shrinks is laid down."""


class _Outline(NamedTuple):
    """The outline of a cropped picture, in rows of the result; the axes are those of the display.

    `x` and `y` are where its middle lies, `across` and `down` half its sides,
    `cos` and `sin` those of the turn.
    """

    x: float
    y: float
    across: float
    down: float
    cos: float
    sin: float

    def reach(self, more: float) -> tuple[float, float]:
        """Half the width and height of what it covers, some rows more about it."""
        across, down = self.across + more, self.down + more
        return (
            abs(self.cos) * across + abs(self.sin) * down,
            abs(self.sin) * across + abs(self.cos) * down,
        )

    def distance(self, x: Plane, y: Plane, radius: float, more: float = 0.0) -> Plane:
        """Distance of places to the outline grown by some rows, negative inside.

        Round corners grow with it, others stay sharp: a border is even all round.
        """
        right, low = x - np.float32(self.x), y - np.float32(self.y)
        u = np.abs(np.float32(self.cos) * right + np.float32(self.sin) * low)
        v = np.abs(np.float32(self.cos) * low - np.float32(self.sin) * right)
        across, down = self.across + more, self.down + more
        radius = min(radius + more if radius else 0.0, across, down)
        beyond_u = u - np.float32(across - radius)
        beyond_v = v - np.float32(down - radius)
        outside = np.hypot(np.maximum(beyond_u, 0), np.maximum(beyond_v, 0))
        inside = np.minimum(np.maximum(beyond_u, beyond_v), 0)
        return np.asarray(outside + inside - np.float32(radius), np.float32)


def _outline(placement: Placement, size: tuple[int, int], aspect: float) -> _Outline:
    rows, columns = size
    scale = placement.scale / 100
    left, top, right, bottom = (side / 100 for side in placement.crop)
    if placement.left_right:
        left, right = right, left
    if placement.up_down:
        top, bottom = bottom, top
    wide, high = columns * aspect * scale, rows * scale
    turn = math.radians(placement.turn)
    cos, sin = math.cos(turn), math.sin(turn)
    u, v = (left - right) / 2 * wide, (top - bottom) / 2 * high
    return _Outline(
        columns * aspect * placement.x / 100 + cos * u - sin * v,
        rows * placement.y / 100 + sin * u + cos * v,
        max((1 - left - right) * wide / 2, 0.0),
        max((1 - top - bottom) * high / 2, 0.0),
        cos,
        sin,
    )


def _covered(distance: Plane, soft: float) -> Plane:
    """Coverage at a distance from an outline whose edge is some rows wide, one at least."""
    return np.asarray((0.5 - distance / np.float32(max(soft, 1.0))).clip(0, 1), np.float32)


def _laid_down(
    planes: Planes, placement: Placement, aspect: float, region: tuple[int, int, int, int]
) -> Planes:
    """Resample the cropped picture into a region of the result; edges are carried outwards."""
    rows, columns = planes.shape[1:]
    left, top, right, bottom = placement.crop
    x0, x1 = math.floor(columns * left / 100), math.ceil(columns * (1 - right / 100))
    y0, y1 = math.floor(rows * top / 100), math.ceil(rows * (1 - bottom / 100))
    part = planes[:, y0 : max(y1, y0 + 1), x0 : max(x1, x0 + 1)]
    scale = placement.scale / 100
    finer = _FINER if scale < 1 else 1
    size = [max(1, round(side * min(1.0, finer * scale))) for side in part.shape[:0:-1]]
    step_x, step_y = part.shape[2] / size[0], part.shape[1] / size[1]
    fx, fy = (-1 if turned else 1 for turned in (placement.left_right, placement.up_down))
    turn = math.radians(placement.turn)
    cos, sin = math.cos(turn), math.sin(turn)
    # place i, j of the part -> u, v from the picture's middle -> columns and rows of the region
    u = np.array(
        [fx * aspect * scale * step_x, fx * aspect * scale * (x0 + step_x / 2 - columns / 2)]
    )
    v = np.array([fy * scale * step_y, fy * scale * (y0 + step_y / 2 - rows / 2)])
    across = [cos * u[0] / aspect, -sin * v[0] / aspect, (cos * u[1] - sin * v[1]) / aspect]
    down = [sin * u[0], cos * v[0], sin * u[1] + cos * v[1]]
    across[2] += columns * placement.x / 100 - region[0]
    down[2] += rows * placement.y / 100 - region[1]
    move = finer * np.array([across, down])
    move[:, 2] -= 0.5
    wide, high = region[2] - region[0], region[3] - region[1]
    done = np.empty((planes.shape[0], high, wide), np.float32)
    for plane, into in zip(part, done, strict=True):
        small = np.ascontiguousarray(plane)
        if size != [part.shape[2], part.shape[1]]:
            small = cv2.resize(small, size, interpolation=cv2.INTER_AREA)
        moved = cv2.warpAffine(
            small, move, (wide * finer, high * finer),
            flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE,
        )  # fmt: skip
        into[:] = cv2.resize(moved, (wide, high), interpolation=cv2.INTER_AREA)
    return done


def place(
    fill: Planes,
    matte: Plane,
    placement: Placement,
    look: BoxLook = PLAIN,
    pixel_aspect: float = 1.0,
) -> tuple[Planes, Plane]:
    """Place a premultiplied picture in a picture of its own size, with all that it has about it.

    Parameters
    ----------
    fill : (3, H, W) float32
    matte : (H, W) float32
    placement : Placement
    look : BoxLook
    pixel_aspect : float
        Width of a pixel over its height, so that what is turned keeps its shape.

    Returns
    -------
    fill : (3, H, W) float32
    matte : (H, W) float32
        Clear where neither the picture nor its border nor its shadow reaches.
    """
    rows, columns = matte.shape
    unit = rows / 100
    outline = _outline(placement, (rows, columns), pixel_aspect)
    done, cover = np.zeros_like(fill), np.zeros_like(matte)
    region = _region(outline, look, (rows, columns), pixel_aspect)
    if outline.across <= 0 or outline.down <= 0 or region is None:
        return done, cover
    left, top, right, bottom = region
    x = ((np.arange(left, right) + 0.5) * pixel_aspect).astype(np.float32)[np.newaxis]
    y = (np.arange(top, bottom) + 0.5).astype(np.float32)[:, np.newaxis]
    radius, border, soft = look.corners * unit, look.border * unit, look.border_soft * unit
    inner = _covered(outline.distance(x, y, radius), soft if border else 0.0)
    planes = _laid_down(np.concatenate([fill, matte[np.newaxis]]), placement, pixel_aspect, region)
    planes *= inner
    if border:
        ring = _covered(outline.distance(x, y, radius, border), soft) - inner
        np.maximum(ring, 0, out=ring)
        colour = np.array((*look.border_colour, 1.0), np.float32)
        planes += ring * colour[:, np.newaxis, np.newaxis]
    if look.shadow:
        right_by, down_by = (part * unit for part in look.shadow_offset)
        away = outline.distance(x - np.float32(right_by), y - np.float32(down_by), radius, border)
        shadow = _covered(away, look.shadow_soft * unit) * np.float32(look.shadow / 100)
        planes[3] += (1 - planes[3]) * shadow
    done[:, top:bottom, left:right], cover[top:bottom, left:right] = planes[:3], planes[3]
    return done, cover


def _region(
    outline: _Outline, look: BoxLook, size: tuple[int, int], aspect: float
) -> tuple[int, int, int, int] | None:
    """Find the columns and rows that a box reaches; None if it lies outside."""
    rows, columns = size
    unit = rows / 100
    across, down = outline.reach((look.border + look.border_soft / 2) * unit + 1)
    spans = [(outline.x - across, outline.x + across), (outline.y - down, outline.y + down)]
    if look.shadow:
        more = (look.border + look.shadow_soft / 2) * unit + 1
        for place_of, (reach, by) in enumerate(
            zip(outline.reach(more), look.shadow_offset, strict=True)
        ):
            middle = (outline.x, outline.y)[place_of] + by * unit
            low, high = spans[place_of]
            spans[place_of] = min(low, middle - reach), max(high, middle + reach)
    left, right = (math.floor(spans[0][0] / aspect), math.ceil(spans[0][1] / aspect))
    top, bottom = math.floor(spans[1][0]), math.ceil(spans[1][1])
    left, top, right, bottom = max(left, 0), max(top, 0), min(right, columns), min(bottom, rows)
    return (left, top, right, bottom) if left < right and top < bottom else None
