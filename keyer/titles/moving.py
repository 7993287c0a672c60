"""A title in time: at rest, crawling, rolling or flashing; and how long it needs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

import numpy as np

from keyer.kinds.picture import Matrix, RgbPicture
from keyer.titles.design import Design, Move
from keyer.titles.draw import draw_layout
from keyer.titles.flashing import check_flash, flash_note, is_lit
from keyer.titles.ink import Canvas, Coverage, Mark
from keyer.titles.inside import laid_out
from keyer.titles.layers import Drawn, Layer, bounds, flatten
from keyer.titles.read import DesignFile


@dataclass(frozen=True, eq=False)
class TimedTitle:
    """A title ready to be shown frame by frame.

    Attributes
    ----------
    design : Design
    canvas : Canvas
    whole : Drawn
        All of it, at rest.
    moving : tuple of Layer
        What crawls or rolls; empty for a title at rest.
    dark : Drawn or None
        Without the boxes that flash.
    """

    design: Design
    canvas: Canvas
    whole: Drawn
    moving: tuple[Layer, ...] = ()
    dark: Drawn | None = None

    @property
    def frames_needed(self) -> int | None:
        """Frames until everything has passed and the picture is clear; None at rest."""
        move = self.design.move
        if move is None or not self.moving:
            return None
        left, top, right, bottom = self._extent
        way = self.canvas.width + right - left
        if move.kind == "roll":
            way = self.canvas.height + bottom - top
        return math.ceil(way / move.pixels)

    @cached_property
    def _extent(self) -> tuple[int, int, int, int]:
        """Left, top, right and bottom of all ink that moves, at rest, inside or not."""
        boxes = [box for layer in self.moving if (box := _inked(layer.mark))]
        left, top, right, bottom = zip(*boxes, strict=True) if boxes else ((0,),) * 4
        return min(left), min(top), max(right), max(bottom)

    def seconds_needed(self, rate: Fraction) -> Fraction | None:
        """`frames_needed` in seconds, exact."""
        frames = self.frames_needed
        return None if frames is None else Fraction(frames) / rate

    def at(self, frame: int) -> Drawn:
        """Show one frame.

        Parameters
        ----------
        frame : int
            Counted from the title's first, which is 0. A crawl or roll stands
            just outside the picture on it.

        Returns
        -------
        Drawn
        """
        flash = self.design.flash
        lit = flash is None or is_lit(flash, frame)
        shown = self.whole if lit or self.dark is None else self.dark
        move = self.design.move
        if move is None or not self.moving:
            return shown
        moving = {id(layer) for layer in self.moving}
        at_rest = {layer.box for layer in shown.layers}
        right, down = self._offset(move, frame)
        layers = []
        for layer in self.whole.layers:
            if layer.box not in at_rest:
                continue
            if id(layer) in moving:
                moved = _moved(layer, right, down, self.canvas)
                layers += [moved] if moved else []
            else:
                layers.append(layer)
        box = bounds((layer.mark for layer in layers), self.canvas)
        planes, alpha = flatten(layers, box)
        picture = RgbPicture(planes, alpha, self.whole.picture.matrix)
        return Drawn(picture, box[0], box[1], self.canvas, tuple(layers), self.whole.notes)

    def state(self, frame: int) -> tuple[bool, int]:
        """Tell frames apart that do not look alike: whether it is lit, and how far it has moved."""
        flash = self.design.flash
        lit = flash is None or self.dark is None or is_lit(flash, frame)
        return lit, frame if self.design.move is not None and self.moving else 0

    def _offset(self, move: Move, frame: int) -> tuple[float, float]:
        """How far everything that moves is off its place at rest."""
        left, top, _, _ = self._extent
        if move.kind == "crawl":
            return self.canvas.width - move.pixels * frame - left, 0.0
        return 0.0, self.canvas.height - move.pixels * frame - top


def time_title(
    file: DesignFile,
    given: Mapping[str, str],
    canvas: Canvas,
    rate: Fraction,
    *,
    allow_flash: bool = False,
    matrix: Matrix = "bt709",
) -> TimedTitle:
    """Prepare a title to be shown in time.

    Parameters
    ----------
    file : DesignFile
    given : mapping
        Field name to value.
    canvas : Canvas
    rate : Fraction
        Frames a second.
    allow_flash : bool
        It may flash faster than the limit.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    TimedTitle

    Raises
    ------
    SettingError
        As `draw_title`; also if it flashes too fast.
    """
    design = file.design
    if design.flash:
        check_flash(design.flash, rate, allowed=allow_flash)
    values = design.values(given)
    layout = laid_out(design, values, canvas, file.folder)
    whole = draw_layout(layout, values, canvas, matrix=matrix)
    moving: tuple[Layer, ...] = ()
    if design.move:
        names = design.move.boxes or tuple(box.id for box in design.boxes if box.texts)
        moving = tuple(layer for layer in whole.layers if layer.box in names)
    dark = None
    if design.flash:
        off = design.flash.boxes or tuple(box.id for box in design.boxes)
        dark = draw_layout(layout, values, canvas, without=off, matrix=matrix)
        if note := flash_note(design.flash, rate):
            whole, dark = (replace(one, notes=(*one.notes, note)) for one in (whole, dark))
    return TimedTitle(design, canvas, whole, moving, dark)


def _inked(mark: Mark) -> tuple[int, int, int, int] | None:
    """Left, top, right and bottom of what a mark covers in fact; None for nothing."""
    rows = np.flatnonzero(mark.coverage.any(axis=1))
    columns = np.flatnonzero(mark.coverage.any(axis=0))
    if not rows.size:
        return None
    return (
        mark.left + int(columns[0]),
        mark.top + int(rows[0]),
        mark.left + int(columns[-1]) + 1,
        mark.top + int(rows[-1]) + 1,
    )


def _moved(layer: Layer, right: float, down: float, canvas: Canvas) -> Layer | None:
    """Move a layer; None if nothing of it is in the picture.

    Between two pixels coverage is shared by both in proportion.
    """
    mark = layer.mark
    rows, columns = mark.coverage.shape
    left, top = mark.left + math.floor(right), mark.top + math.floor(down)
    if not (-columns - 1 < left < canvas.width and -rows - 1 < top < canvas.height):
        return None
    across, along = right - math.floor(right), down - math.floor(down)
    if not (across or along):
        return replace(layer, mark=Mark(mark.coverage, left, top))
    first = max(-left - 1, 0), max(-top - 1, 0)
    last = min(canvas.width - left + 1, columns), min(canvas.height - top + 1, rows)
    window = (slice(first[1], last[1]), slice(first[0], last[0]))
    cover = _between(mark.coverage[window], across, along)
    ramp = None if layer.along is None else _between(layer.along[window], across, along)
    return replace(layer, mark=Mark(cover, left + first[0], top + first[1]), along=ramp)


def _between(plane: Coverage, across: float, along: float) -> Coverage:
    """Shift a plane by fractions of a pixel to the right and down; it grows by a pixel."""
    grown = np.pad(plane, 1)
    sideways, down = np.float32(across), np.float32(along)
    shifted = grown[:, 1:] + sideways * (grown[:, :-1] - grown[:, 1:])
    moved: Coverage = shifted[1:] + down * (shifted[:-1] - shifted[1:])
    return moved
