"""A title in time: at rest, built up, crawling, rolling or flashing; how long it needs."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from keyer.kinds.picture import Matrix, RgbPicture
from keyer.titles.build import Stage, Steps, readings
from keyer.titles.design import Design, Move, refuse_table
from keyer.titles.draw import draw_layout
from keyer.titles.flashing import check_flash, flash_note, is_lit
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.layers import Drawn, Layer, bounds, flatten
from keyer.titles.markup import fill, parse
from keyer.titles.read import DesignFile
from keyer.titles.shifting import inked, moved


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
    steps : Steps or None
        In which it is built up and goes.
    texts : tuple of (box, text id, words)
        What there is to read.
    """

    design: Design
    canvas: Canvas
    whole: Drawn
    moving: tuple[Layer, ...] = ()
    dark: Drawn | None = None
    steps: Steps | None = None
    texts: tuple[tuple[str, str, str], ...] = ()

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
        boxes = [box for layer in self.moving if (box := inked(layer.mark))]
        left, top, right, bottom = zip(*boxes, strict=True) if boxes else ((0,),) * 4
        return min(left), min(top), max(right), max(bottom)

    @property
    def build_frames(self) -> int:
        """Frames until all of it has been built up; 0 where it stands at once."""
        return self.steps.build_frames if self.steps else 0

    @property
    def fullest(self) -> int:
        """The frame that shows it best: when all of it is built up, or half of it has passed."""
        needed = self.frames_needed
        return self.build_frames if needed is None else needed // 2

    @property
    def leave_frames(self) -> int:
        """Number of frames that the title's way out takes."""
        return self.steps.leave_frames if self.steps else 0

    def at(self, frame: int, on_air: int | None = None) -> Drawn:
        """Return the title as it looks at one of its frames.

        Parameters
        ----------
        frame : int
            Counted from the title's first, which is 0. A crawl or roll stands
            just outside the picture on it.
        on_air : int, optional
            Frames that it is shown, for its way out; default: without end.
        """
        flash = self.design.flash
        lit = flash is None or is_lit(flash, frame)
        shown = self.whole if lit or self.dark is None else self.dark
        stage = self.steps.stage(frame, on_air) if self.steps else None
        crawls = self.design.move is not None and bool(self.moving)
        if stage is None and not crawls:
            return shown
        layers = list(shown.layers)
        if stage is not None and self.steps:
            layers = self.steps.shown(layers, stage)
        if self.design.move is not None and self.moving:
            layers = self._scrolled(layers, self.design.move, frame)
        box = bounds((layer.mark for layer in layers), self.canvas)
        planes, alpha = flatten(layers, box)
        picture = RgbPicture(planes, alpha, self.whole.picture.matrix)
        return Drawn(picture, box[0], box[1], self.canvas, tuple(layers), self.whole.notes, crawls)

    def _scrolled(self, layers: list[Layer], move: Move, frame: int) -> list[Layer]:
        """Put what crawls or rolls where it is at a frame."""
        names = {layer.box for layer in self.moving}
        right, down = self._offset(move, frame)
        found = []
        for layer in layers:
            one = moved(layer, right, down, self.canvas) if layer.box in names else layer
            found += [one] if one else []
        return found

    def state(self, frame: int, on_air: int | None = None) -> tuple[bool, int, Stage | None]:
        """Tell frames apart that do not look alike: lit, how far moved, where in the build."""
        flash = self.design.flash
        lit = flash is None or self.dark is None or is_lit(flash, frame)
        far = frame if self.design.move is not None and self.moving else 0
        return lit, far, self.steps.stage(frame, on_air) if self.steps else None

    def readings(self, on_air: int) -> list[tuple[str, int, int]]:
        """Tell what there is to read, and when, as `keyer.titles.build.readings`.

        Parameters
        ----------
        on_air : int
            Frames that it is shown.

        Returns
        -------
        list of (words, first frame, last frame)
        """
        if not self.steps:
            words = " ".join(text for _, _, text in self.texts if text.strip())
            return [(words, 0, on_air - 1)]
        return list(readings(self.texts, self.steps, on_air))

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

    Raises
    ------
    SettingError
        If a text does not fit, a character is in no font, or it flashes too fast.
    """
    design = file.design
    refuse_table(design)
    if design.flash:
        check_flash(design.flash, rate, allowed=allow_flash)
    values = design.values(given)
    layout = laid_out(design, values, canvas, file.folder)
    whole = draw_layout(layout, values, canvas, folder=file.folder, matrix=matrix)
    moving: tuple[Layer, ...] = ()
    if design.move:
        names = design.move.boxes or tuple(box.id for box in design.boxes if box.texts)
        moving = tuple(layer for layer in whole.layers if layer.box in names)
    dark = None
    if design.flash:
        off = design.flash.boxes or tuple(box.id for box in design.boxes)
        dark = draw_layout(layout, values, canvas, folder=file.folder, without=off, matrix=matrix)
        if note := flash_note(design.flash, rate):
            whole, dark = (replace(one, notes=(*one.notes, note)) for one in (whole, dark))
    steps = None
    if design.build or design.leave:
        steps = Steps(design.build, design.leave, whole.layers, canvas, rate)
    return TimedTitle(
        design, canvas, whole, moving, dark, steps, tuple(title_texts(design, values))
    )


def title_texts(design: Design, values: Mapping[str, str]) -> Iterator[tuple[str, str, str]]:
    """Yield what there is to read in a title: box, text id and words.

    Parameters
    ----------
    design : Design
    values : mapping
        Every field of the design.

    Yields
    ------
    (str, str, str)
    """
    for box in design.boxes:
        for text in box.texts:
            words = "".join(part for part, _ in fill(parse(text.text, text.style), values))
            yield box.id, text.id, words
