"""Draw pages as pixels."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import parse_colour
from keyer.paper.page import DOTS_PER_MM, Block, Page, Photo, Stroke, Words
from keyer.titles.ink import Canvas, Placed, draw_ink

Pixels = NDArray[np.uint8]
_WHITE = 255

_FINER = 4
"""Parts of a pixel, across and down, from which the cover of a line is counted."""


def page_picture(page: Page) -> RgbPicture:
    """Draw a page.

    Returns
    -------
    RgbPicture
        uint8, `DPI` dpi.
    """
    width, height = round(page.width * DOTS_PER_MM), round(page.height * DOTS_PER_MM)
    pixels = np.full((height, width, 3), _WHITE, np.uint8)
    canvas = Canvas(width, height)
    for item in page.items:
        match item:
            case Block():
                _fill(pixels, item)
            case Photo():
                _put(pixels, item)
            case Words():
                _write(pixels, item, canvas)
            case Stroke():
                _draw(pixels, item)
    return RgbPicture(np.ascontiguousarray(pixels.transpose(2, 0, 1)))


def _lay(under: Pixels, cover: NDArray[np.float32], colour: str) -> None:
    """Lay a colour over pixels, as much as it covers of each."""
    ink = _WHITE * np.array(parse_colour(colour), np.float32)
    under[:] = under + cover[..., np.newaxis] * (ink - under) + np.float32(0.5)


def _cover(start: float, length: float, count: int) -> NDArray[np.float32]:
    """Share of each of `count` pixels that a stretch covers."""
    edges = np.arange(count + 1, dtype=np.float64)
    inside = np.clip(edges, start, start + length)
    return (inside[1:] - inside[:-1]).astype(np.float32)


def _fill(pixels: Pixels, block: Block) -> None:
    """Fill a rectangle; its sides may run through pixels."""
    x, y = block.x * DOTS_PER_MM, block.y * DOTS_PER_MM
    left, top = max(int(x), 0), max(int(y), 0)
    right = min(int(x + block.width * DOTS_PER_MM) + 1, pixels.shape[1])
    bottom = min(int(y + block.height * DOTS_PER_MM) + 1, pixels.shape[0])
    across = _cover(x - left, block.width * DOTS_PER_MM, right - left)
    down = _cover(y - top, block.height * DOTS_PER_MM, bottom - top)
    _lay(pixels[top:bottom, left:right], down[:, np.newaxis] * across, block.colour)


def _put(pixels: Pixels, photo: Photo) -> None:
    left, top = round(photo.x * DOTS_PER_MM), round(photo.y * DOTS_PER_MM)
    right = round((photo.x + photo.width) * DOTS_PER_MM)
    bottom = round((photo.y + photo.height) * DOTS_PER_MM)
    size = (max(right - left, 1), max(bottom - top, 1))
    smaller = size[0] < photo.pixels.shape[1]
    how = cv2.INTER_AREA if smaller else cv2.INTER_CUBIC
    pixels[top:bottom, left:right] = cv2.resize(photo.pixels, size, interpolation=how)


def _draw(pixels: Pixels, stroke: Stroke) -> None:
    """Draw a line, its edges smoothed."""
    points = np.array(stroke.points, np.float64) * DOTS_PER_MM
    reach = 1 + stroke.thickness * DOTS_PER_MM
    left, top = (max(int(side), 0) for side in points.min(0) - reach)
    right, bottom = (int(side) + 1 for side in points.max(0) + reach)
    under = pixels[top:bottom, left:right]
    height, width = under.shape[:2]
    fine = np.zeros((height * _FINER, width * _FINER), np.uint8)
    places = np.round((points - (left, top)) * _FINER * 16).astype(np.int32)
    # OpenCV fills the dots that the two edges of a line run through, about one too many
    thickness = max(round(stroke.thickness * DOTS_PER_MM * _FINER) - 1, 1)
    cv2.polylines(fine, [places], isClosed=False, color=_WHITE, thickness=thickness, shift=4)
    cover = np.asarray(cv2.resize(fine, (width, height), interpolation=cv2.INTER_AREA))
    _lay(under, cover / np.float32(_WHITE), stroke.colour)


def _write(pixels: Pixels, words: Words, canvas: Canvas) -> None:
    placed = Placed(words.line, words.x * DOTS_PER_MM, words.baseline * DOTS_PER_MM)
    for ink in draw_ink([placed], canvas):
        mark = ink.letters
        top, left = max(mark.top, 0), max(mark.left, 0)
        cover = mark.coverage[top - mark.top :, left - mark.left :]
        under = pixels[top : top + cover.shape[0], left : left + cover.shape[1]]
        _lay(under, cover[: under.shape[0], : under.shape[1]], ink.style.colour)
