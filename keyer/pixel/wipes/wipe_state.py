"""A wipe at one progress: its boundary, dealt out to the tiles of the picture.

The distance of a pixel to the boundary is shifted by the edge's half extent,
from minus at the start to plus at the end, so that at 0 there is only A and at
1 only B, whatever the softness and the border.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyer.kinds.arrays import Plane
from keyer.kinds.field import Field
from keyer.kinds.settings import Edge, Light, Rgb
from keyer.pixel.colour.transfer import decode_signal
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import TILE, Blocks, Index, gather
from keyer.pixel.wipes.contour import TOLERANCE, boundary
from keyer.pixel.wipes.displace import displaced

LEAD = 0.125
"""Share of the progress at the start and at the end in which a shift comes in, and goes out."""

_NO_BLOCKS = Blocks(np.empty((0, 0), np.int32), np.empty(0, np.int32), np.empty((0, 9, 9), "f4"))


@dataclass(frozen=True, eq=False)
class WipeState:
    """A wipe at one progress, ready for its bands. All lengths in rows.

    Attributes
    ----------
    field : Field
    blocks : Blocks
        Those of the field, modulated if it is, in which the boundary lies.
    level : float
        Progress that the samples are compared with.
    segments : (N, 4) float32
        The boundary: x0, y0, x1, y1.
    first, dealt : int32
        Tile t is near segments `dealt[first[t]:first[t + 1]]`.
    shift : float
        Added to the distance.
    border : float
        Width of the border, 0 for none.
    soft : float
        Width of each ramp.
    colours : tuple of two R'G'B'
        Of the border, on A's side and on B's, in the light asked for.
    whole : {-1, 0, 1}
        The picture is wholly A (-1), wholly B (1) or neither (0).
    """

    field: Field
    blocks: Blocks
    level: float
    segments: Plane
    first: Index
    dealt: Index
    shift: float
    border: float
    soft: float
    colours: tuple[Rgb, Rgb]
    whole: int


@kernel
def away(
    x: np.float32,
    y: np.float32,
    x0: np.float32,
    y0: np.float32,
    x1: np.float32,
    y1: np.float32,
) -> np.float32:
    """Return the distance from a point to a segment."""
    dx, dy = x1 - x0, y1 - y0
    ex, ey = x - x0, y - y0
    square = dx * dx + dy * dy
    part = (ex * dx + ey * dy) / square if square > 0 else np.float32(0.0)
    part = min(max(part, np.float32(0.0)), np.float32(1.0))
    ex, ey = ex - part * dx, ey - part * dy
    distance: np.float32 = np.sqrt(ex * ex + ey * ey)
    return distance


@kernel
def _deal(
    segments: Plane,
    extent: np.float32,
    aspect: np.float32,
    across: int,
    down: int,
    count: Index,
    dealt: Index,
) -> None:
    """Count the segments near each tile, or where there is room write their numbers."""
    wide = np.float32(TILE) * aspect
    half_x, half_y = np.float32(TILE - 1) * aspect / 2, np.float32(TILE - 1) / 2
    near = extent + np.sqrt(half_x * half_x + half_y * half_y)
    for s in range(segments.shape[0]):
        x0, y0, x1, y1 = segments[s, 0], segments[s, 1], segments[s, 2], segments[s, 3]
        left = max(int(np.floor((min(x0, x1) - near - half_x) / wide)), 0)
        right = min(int(np.floor((max(x0, x1) + near - half_x) / wide)) + 1, across)
        top = max(int(np.floor((min(y0, y1) - near - half_y) / TILE)), 0)
        bottom = min(int(np.floor((max(y0, y1) + near - half_y) / TILE)) + 1, down)
        for i in range(top, bottom):
            y = np.float32(i * TILE) + half_y
            for j in range(left, right):
                x = np.float32(j) * wide + half_x
                if away(x, y, x0, y0, x1, y1) <= near:
                    tile = i * across + j
                    if dealt.size > 0:
                        dealt[count[tile]] = s
                    count[tile] += 1


def tiles(field: Field) -> tuple[int, int]:
    """Tiles across and down a field's picture."""
    geometry = field.geometry
    return -(-geometry.width // TILE), -(-geometry.height // TILE)


def _dealt(segments: Plane, field: Field, extent: float) -> tuple[Index, Index]:
    """Deal segments out to the tiles within reach of them."""
    across, down = tiles(field)
    settled = np.float32(extent), np.float32(field.geometry.pixel_aspect), across, down
    count = np.zeros(across * down, np.int32)
    _deal(segments, *settled, count, np.empty(0, np.int32))
    first = np.zeros(across * down + 1, np.int32)
    np.cumsum(count, out=first[1:])
    dealt = np.empty(int(first[-1]), np.int32)
    if dealt.size:
        _deal(segments, *settled, first[:-1].copy(), dealt)
    return first, dealt


def _shift(progress: float, half: float, finest: float, *, turns: bool) -> float:
    """Shift of the edge, from -half at the start to half at the end.

    A travelling edge takes it evenly, but for the half pixel that its
    anti-aliasing needs: so a hard edge stands where the pattern says. A hand
    shall stand where the clock says and takes all of it at the start and end.
    """
    ends = min(progress / LEAD, 1.0) - 1.0 + max((progress - 1.0) / LEAD + 1.0, 0.0)
    if turns:
        return half * ends
    return (half - finest / 2) * (2.0 * progress - 1.0) + finest / 2 * ends


def _colours(edge: Edge, light: Light) -> tuple[Rgb, Rgb]:
    pair = (edge.border_colour, edge.border_ramp or edge.border_colour)
    if light == "video":
        return pair
    red, green, blue = decode_signal(np.asarray(pair)).T.tolist()
    return (red[0], green[0], blue[0]), (red[1], green[1], blue[1])


def wipe_state(
    field: Field, edge: Edge, progress: float, seconds: float = 0.0, *, light: Light = "video"
) -> WipeState:
    """Prepare a wipe for one frame.

    Parameters
    ----------
    field : Field
    edge : Edge
    progress : float
        0..1 of the effect; the modifiers' start and end are applied here.
    seconds : float
        Time since the effect began, for a modulation that moves.
    light : {"video", "linear"}
        What the bands that are wiped hold, for the border's colours.
    """
    level = field.modifiers.progress(progress)
    geometry = field.geometry
    percent = geometry.height / 100
    border = edge.border * percent
    soft = (max(edge.soft, edge.border_soft) if border else edge.soft) * percent
    finest = max(1.0, geometry.pixel_aspect)
    soft = max(soft, finest)
    half = (border + soft) / 2
    shift = _shift(level, half, finest, turns=field.turns)
    blocks, segments = _NO_BLOCKS, np.empty((0, 4), np.float32)
    whole = 0 if 0.0 < level < 1.0 else -1 if level <= 0.0 else 1
    if not whole:
        if field.modifiers.modulation:
            blocks = displaced(field, field.modifiers.modulation, level, seconds)
        else:
            blocks = gather(field.values, field.low, field.high, level)
        # over a wide ramp nobody sees the boundary stray by a thousandth of it
        tolerance = max(TOLERANCE, soft / 1000)
        segments = boundary(blocks, field, level, tolerance=tolerance)
    first, dealt = _dealt(segments, field, half + abs(shift))
    colours = _colours(edge, light)
    return WipeState(
        field,
        blocks,
        level,
        segments,
        first,
        dealt,
        shift,
        border,
        soft,
        colours,
        whole,
    )
