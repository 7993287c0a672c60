"""One sheet that shows patterns: each half way, with its name and code."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.look import Look
from keyer.kinds.settings import Edge, Rgb
from keyer.library.patterns import Patterns
from keyer.pixel.compose.move import push, slide
from keyer.pixel.wipes.background import draw_background, lay_background
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.wipe import wipe_band, wipe_state

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont

Picture = NDArray[np.uint8]

PROGRESS = {"iris": 0.28, "matrix": 0.433}
USUAL = 0.4
"""How far the wipes of a family are: a shape is shown whole, and a grid in the middle of a row."""

EDGE = Edge(soft=1.2, border=2.0, border_colour=(1.0, 0.86, 0.45))

TILE = (320, 180)
ACROSS = 6
GAP = 24
RIM = 56
LABEL = 50

PAPER, INK, PALE = (246, 244, 240), (34, 36, 40), (112, 112, 116)

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
    """Draw a pattern between two pictures.

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


def _fitted(text: str, size: int, width: float) -> FreeTypeFont:
    """Type as large as asked for, or smaller until the text fits."""
    while size > 8 and _font(size).getlength(text) > width:
        size -= 1
    return _font(size)


class _Sheet:
    """A page that grows downwards."""

    def __init__(self, columns: int) -> None:
        self.columns = columns
        self.width = 2 * RIM + columns * TILE[0] + (columns - 1) * GAP
        self.parts: list[tuple[int, Image]] = []
        self.at = RIM

    def add(self, height: int) -> ImageDraw:
        """Add a strip of paper and return what draws on it."""
        from PIL import Image, ImageDraw

        strip = Image.new("RGB", (self.width, height), PAPER)
        self.parts.append((self.at, strip))
        self.at += height
        return ImageDraw.Draw(strip)

    def heading(self, text: str, size: int, below: str = "") -> None:
        """Add a line of large type, and a line of small type below it."""
        draw = self.add(round(size * (2.2 if below else 1.7)) + (14 if below else 0))
        draw.text((RIM, size * 0.2), text, fill=INK, font=_font(size), anchor="la")
        if below:
            font = _fitted(below, 18, self.width - 2 * RIM)
            draw.text((RIM, size * 1.45), below, fill=PALE, font=font, anchor="la")

    def row(self, tiles: Sequence[tuple[Picture, str, str, str]]) -> None:
        """Add tiles; below each a name, a code on the right, and small type below the name."""
        from PIL import Image

        draw = self.add(TILE[1] + LABEL + 14)
        strip = self.parts[-1][1]
        for number, (picture, name, code, below) in enumerate(tiles):
            x = RIM + number * (TILE[0] + GAP)
            strip.paste(Image.fromarray(picture), (x, 0))
            room = TILE[0] - (_font(17).getlength(code) + 12 if code else 0)
            draw.text((x, TILE[1] + 8), name, fill=INK, font=_fitted(name, 17, room), anchor="la")
            draw.text((x, TILE[1] + 30), below, fill=PALE, font=_font(14), anchor="la")
            if code:
                end = x + TILE[0]
                draw.text((end, TILE[1] + 8), code, fill=PALE, font=_font(17), anchor="ra")

    def rows(self, tiles: Sequence[tuple[Picture, str, str, str]]) -> None:
        """Add as many rows as the tiles need."""
        for first in range(0, len(tiles), self.columns):
            self.row(tiles[first : first + self.columns])

    def picture(self) -> Picture:
        """Return the whole page."""
        from PIL import Image

        page = Image.new("RGB", (self.width, self.at + RIM), PAPER)
        for top, strip in self.parts:
            page.paste(strip, (0, top))
        return np.asarray(page)


def _tile(pattern: Pattern) -> tuple[Picture, str, str, str]:
    code = str(pattern.code) if pattern.code is not None else ""
    return to_codes(draw_pattern(pattern, *TILE)), pattern.subtype, code, pattern.type


def draw_chart(patterns: Sequence[Pattern] | Patterns) -> Picture:
    """Draw a labelled sheet of patterns, by family.

    Parameters
    ----------
    patterns : sequence of Pattern
        In the order of the sheet.

    Returns
    -------
    (H, W, 3) uint8
        2152 columns wide.
    """
    sheet = _Sheet(ACROSS)
    sheet.heading(
        "Wipe patterns",
        46,
        f"From A to B, part of the way; border {EDGE.border:g} % and softness {EDGE.soft:g} % of "
        "picture height. Names: W3C SMIL; codes: SMPTE 258M.",
    )
    for family, members in groupby(patterns, key=lambda pattern: pattern.family):
        sheet.heading(FAMILY_TITLES.get(family, family), 28)
        sheet.rows([_tile(pattern) for pattern in members])
    return sheet.picture()


def draw_looks(looks: Sequence[Look], patterns: Patterns) -> Picture:
    """Draw a labelled sheet of moving backgrounds, each at three moments of its loop.

    Parameters
    ----------
    looks : sequence of Look
    patterns : Patterns
        In which they find their patterns.

    Returns
    -------
    (H, W, 3) uint8
    """
    sheet = _Sheet(ACROSS)
    sheet.heading(
        "Moving backgrounds", 46, "Each at the start of its loop, a third and two thirds on."
    )
    tiles: list[tuple[Picture, str, str, str]] = []
    for look in looks:
        ground = lay_background(look, patterns.find(look.pattern), Geometry(*TILE))
        for share, name in ((0.0, look.name), (1 / 3, ""), (2 / 3, "")):
            tiles.append((to_codes(draw_background(ground, share)), name, "", ""))
    sheet.rows(tiles)
    return sheet.picture()
