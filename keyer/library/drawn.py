"""Patterns drawn between two pictures, part of the way."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.settings import Edge, Rgb
from keyer.pixel.compose.move import push, slide
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.wipe import wipe_band, wipe_state

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

Picture = NDArray[np.uint8]

PROGRESS = {"iris": 0.28, "matrix": 0.433}
USUAL = 0.4
"""How far the wipes of a family are: a shape is shown whole, and a grid in the middle of a row."""

EDGE = Edge(soft=1.2, border=2.0, border_colour=(1.0, 0.86, 0.45))

FAMILY_TITLES = {
    "edge": "Edges that run across the frame",
    "iris": "Shapes that grow from the middle",
    "clock": "Hands that turn about a point",
    "matrix": "Grids of cells",
    "move": "Pictures that move or mix",
}

_A: tuple[Rgb, Rgb] = ((0.78, 0.36, 0.25), (0.50, 0.17, 0.19))
_B: tuple[Rgb, Rgb] = ((0.16, 0.45, 0.60), (0.09, 0.23, 0.38))


@cache
def _font(size: int) -> FreeTypeFont:
    from PIL import ImageFont

    font: FreeTypeFont = ImageFont.load_default(size)  # type: ignore[assignment]
    return font


def _source(letter: str, colours: tuple[Rgb, Rgb], width: int, height: int) -> Planes:
    """Make a picture to wipe from or to: a slope of one colour with a large letter."""
    from PIL import Image, ImageDraw

    share = np.linspace(0, 1, height, dtype=np.float32)[:, np.newaxis]
    top, bottom = (np.asarray(colour, np.float32)[:, np.newaxis, np.newaxis] for colour in colours)
    planes = np.broadcast_to(top + (bottom - top) * share, (3, height, width)).copy()
    mask = Image.new("L", (width, height))
    draw = ImageDraw.Draw(mask)
    draw.text(
        (width / 2, height / 2), letter, fill=255, font=_font(round(height * 0.8)), anchor="mm"
    )
    planes += np.float32(0.09 / 255) * np.asarray(mask, np.float32)
    return planes


@cache
def _sources(width: int, height: int) -> tuple[Planes, Planes]:
    return _source("A", _A, width, height), _source("B", _B, width, height)


def draw_pattern(
    pattern: Pattern,
    width: int,
    height: int,
    *,
    progress: float | None = None,
    edge: Edge = EDGE,
    sources: tuple[Planes, Planes] | None = None,
) -> Planes:
    """Return the picture of a wipe in a pattern, from one small picture to another.

    Parameters
    ----------
    pattern : Pattern
        Of any effect.
    width, height : int
    progress : float, optional
        Default: one that shows a pattern of its family well.
    edge : Edge
    sources : tuple of two (3, H, W) float32, optional
        A and B; default: a warm and a cool one with their letters.

    Returns
    -------
    (3, H, W) float32
    """
    a, b = sources or _sources(width, height)
    if progress is None:
        progress = PROGRESS.get(pattern.family, USUAL)
    if pattern.effect == "push":
        return push(a, b, progress, str(pattern.params["side"]))
    if pattern.effect == "slide":
        return slide(a, b, progress, str(pattern.params["side"]))
    if pattern.effect == "mix":
        black = np.zeros_like(a)
        first, second = {"to colour": (a, black), "from colour": (black, b)}.get(
            str(pattern.params["kind"]), (a, b)
        )
        return np.asarray(first + np.float32(progress) * (second - first), np.float32)
    out = a.copy()
    wipe_band(out, b, wipe_state(build(pattern, Geometry(width, height)), edge, progress), 0)
    return out


def to_codes(planes: Planes) -> Picture:
    """Turn planes into an 8-bit picture, rows x columns x channels."""
    codes = np.clip(planes * 255 + 0.5, 0, 255).astype(np.uint8)
    return np.ascontiguousarray(np.moveaxis(codes, 0, 2))
