"""Whether the ink of a title stays where it belongs: in the picture, in its box, off other lines.

A line's place is told by its capitals and its baseline. Letters with marks above and below, as
many scripts stack them, need more room than that; where they leave the picture or run into the
line before, nobody can read them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from keyer.documents.faults import sentences
from keyer.errors import SettingError
from keyer.titles.design import Design
from keyer.titles.ink import Canvas, Mark, Placed, draw_ink, ink_bounds
from keyer.titles.layout import BoxLaid, Layout, lay_out

_HAIR = 0.5
"""Display pixels by which ink may overlap an edge: rounding, and the soft edge of a letter."""
_OVER_PANEL = 0.15
"""Share of the font size by which ink may leave its panel: feet of letters on a narrow one."""
_OPAQUE = 0.5
_TOUCHES = 0.5
"""Coverage of both lines at one pixel that counts as running into each other."""


def laid_out(
    design: Design, values: Mapping[str, str], canvas: Canvas, folder: Path | None = None
) -> Layout:
    """Lay out a title that can be drawn.

    Parameters
    ----------
    design, values, canvas, folder
        As for `keyer.titles.layout.lay_out`.

    Returns
    -------
    Layout
        Without faults.

    Raises
    ------
    SettingError
        If a text does not fit or its ink leaves its place; lists all. Also if
        a font or a character is missing.
    """
    layout = lay_out(design, values, canvas, folder)
    faults = layout.faults or ink_faults(layout, design, canvas)
    if faults:
        raise SettingError(sentences(faults))
    return layout


def ink_faults(layout: Layout, design: Design, canvas: Canvas) -> list[str]:
    """Find texts whose ink leaves the picture or their panel, or whose lines run together.

    Returns
    -------
    list of str
        With a cure; empty if all is well. What crawls or rolls may leave the
        picture in the direction in which it moves.
    """
    return [
        f"box {laid.box.id!r}: {fault}"
        for laid in layout.boxes
        for fault in _box_faults(laid, design, canvas)
    ] + list(_meeting(layout, design, canvas))


def _box_faults(laid: BoxLaid, design: Design, canvas: Canvas) -> Iterator[str]:
    extents = [ink_bounds(line, canvas) for line in laid.lines]
    for line, (left, top, right, bottom) in zip(laid.lines, extents, strict=True):
        way = _moves(laid, design)
        if way != "roll" and (top < -_HAIR or bottom > canvas.height + _HAIR):
            edge = "top" if top < -_HAIR else "bottom"
            yield (
                f"{_shown(line)} leaves the picture at the {edge}. Shorten the text, make it "
                "smaller, or place the box elsewhere."
            )
            return
        if way != "crawl" and (left < -_HAIR or right > canvas.shown_width + _HAIR):
            yield (
                f"{_shown(line)} leaves the picture at the side. Shorten the text, or give the "
                "box less width."
            )
            return
    yield from _panel_faults(laid, extents)
    pairs = zip(pairwise(laid.lines), pairwise(extents), strict=True)
    for (above, below), (upper, lower) in pairs:
        if upper[3] > lower[1] and _touch(above, below, canvas):
            yield (
                f"{_shown(below)} runs into the line above it. Raise line_spacing of the style, "
                "or the gap before the text."
            )
            return


def _meeting(layout: Layout, design: Design, canvas: Canvas) -> Iterator[str]:
    """Find boxes at rest whose letters lie on each other; see-through ones may, for the look."""
    if design.flash:
        return  # boxes that come and go by turns may stand in one place
    lines = [
        (laid.box.id, line, ink_bounds(line, canvas))
        for laid in layout.boxes
        if not _moves(laid, design)
        for line in laid.lines
        if all(piece.style.opacity >= _OPAQUE for piece in line.line.pieces)
    ]
    for (first, one, a), (second, other, b) in combinations(lines, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        if first != second and not apart and _touch(one, other, canvas):
            yield (
                f"box {second!r}: {_shown(other)} lies on {_shown(one)} of box {first!r}. Shorten "
                "one of them, or place the boxes farther apart."
            )
            return


def _moves(laid: BoxLaid, design: Design) -> str:
    """Say in which way a box moves; empty for one at rest."""
    move = design.move
    if move is None or not (laid.box.id in move.boxes if move.boxes else laid.box.texts):
        return ""
    return move.kind


def _panel_faults(laid: BoxLaid, extents: list[tuple[float, float, float, float]]) -> Iterator[str]:
    if laid.box.panel is None:
        return
    for line, (_, top, _, bottom) in zip(laid.lines, extents, strict=True):
        room = _OVER_PANEL * line.line.size + _HAIR
        if top < laid.area.top - room or bottom > laid.area.bottom + room:
            edge = "top" if top < laid.area.top - room else "bottom"
            yield (
                f"{_shown(line)} leaves its panel at the {edge}. Give the box more padding or "
                "height."
            )
            return


def _touch(above: Placed, below: Placed, canvas: Canvas) -> bool:
    """Whether the letters of two lines cover the same pixels."""
    upper, lower = ([ink.letters for ink in draw_ink([line], canvas)] for line in (above, below))
    return any(_overlap(one, other) for one in upper for other in lower)


def _overlap(one: Mark, other: Mark) -> bool:
    (rows, columns), (others, across) = one.coverage.shape, other.coverage.shape
    left, top = max(one.left, other.left), max(one.top, other.top)
    right = min(one.left + columns, other.left + across)
    bottom = min(one.top + rows, other.top + others)
    if right <= left or bottom <= top:
        return False
    both = (
        mark.coverage[top - mark.top : bottom - mark.top, left - mark.left : right - mark.left]
        for mark in (one, other)
    )
    return bool((np.minimum(*both) > _TOUCHES).any())


def _shown(placed: Placed) -> str:
    text = placed.line.text
    return repr(text if len(text) <= 40 else f"{text[:37]}...")
