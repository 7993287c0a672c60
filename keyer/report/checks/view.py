"""What every check sees of one frame, and what the walk over all frames asks of a check."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.formats import VideoFormat
from keyer.measure.cells import STRIP, Light, LightMeter, coarse_light, make_grid
from keyer.measure.levels import R103, Allowed, Levels, LevelsMeter
from keyer.measure.repeat_meter import Repeating, RepeatMeter
from keyer.measure.screen import screen_light
from keyer.render.effect import Effect
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.graph import Box
from keyer.render.sinks.standing import Standing
from keyer.report.checks.findings import Finding, Series

LOOKS_A_SECOND = 5
"""How often keys and titles are looked at; every frame would take several times as long."""


@dataclass(frozen=True, eq=False)
class View:
    """One rendered frame, with the measures that several checks share.

    Attributes
    ----------
    index : int
        Of the sheet.
    frame : Effect
        What it is made of.
    levels : Levels
        Of the picture before the limits of any file.
    fine : (3, 3 rows, 3 columns) float32
        Light of the fine cells.
    coarse : (3, rows, columns) float32
        Light of the coarse cells.
    screen : (3 rows, 3 columns) float32
        Luminance of the fine cells on a television screen.
    repeating : Repeating
        Elements that repeat, in the cells or in the picture.
    same : bool
        Whether it is exactly the picture of the frame before; `levels`, `fine`,
        `coarse` and `screen` are then the very same.
    """

    index: int
    frame: Effect
    levels: Levels
    fine: Light
    coarse: Light
    screen: Light
    repeating: Repeating
    same: bool = False


class Inspector(Protocol):
    """Contract of a check: it is shown every frame in order and gives findings."""

    def look(self, view: View) -> None:
        """Take the next frame."""

    def findings(self) -> list[Finding]:
        """Say what was found; called once, after the last frame."""

    def series(self) -> list[Series]:
        """Give the measurements over time."""


class Viewer:
    """Works frames out and measures what all checks need; of each only what has changed.

    Parameters
    ----------
    video : VideoFormat
    evaluator : Evaluator
    allowed : Allowed
        Levels beyond which a picture lies outside.
    """

    def __init__(self, video: VideoFormat, evaluator: Evaluator, allowed: Allowed = R103) -> None:
        self._planes: Planes = np.empty((3, video.height, video.width), np.float32)
        grid = make_grid(video.width, video.height, float(video.pixel_aspect))
        self._light = LightMeter(self._planes, grid)
        edges = self._light.edges(STRIP)
        self._levels = LevelsMeter(self._planes, video.matrix, edges, allowed)
        self._repeats = RepeatMeter(video.rate)
        self._standing = Standing(self._planes, evaluator, edges)
        self._before: View | None = None

    def views(self, frames: Iterable[tuple[Effect, Ready]]) -> Iterator[View]:
        """Work frames out in order: work for a thread of its own.

        Parameters
        ----------
        frames : iterable of node and what is prepared of it

        Raises
        ------
        InputFileError
            If a file breaks while it is read.
        """
        for index, (frame, ready) in enumerate(frames):
            yield self.view(index, frame, ready)

    def view(self, index: int, frame: Effect, ready: Ready | None = None) -> View:
        """Work a frame out, unless it is the one before.

        Parameters
        ----------
        index : int
        frame : Effect
        ready : Ready, optional
            What is prepared of it already.
        """
        before = self._before
        if before is not None and self._standing.holds(frame):
            repeating = self._repeats.add(before.screen, self._planes)
            now = replace(before, index=index, frame=frame, repeating=repeating, same=True)
        else:
            self._standing.paint(frame, self._take, ready=ready)
            fine = self._light.light.copy()
            coarse, screen = coarse_light(fine), screen_light(fine)
            repeating = self._repeats.add(screen, self._planes)
            now = View(index, frame, self._levels.read(), fine, coarse, screen, repeating)
        self._before = now
        return now

    def _take(self, box: Box) -> None:
        """Measure a part that was painted, while the processor has it at hand."""
        for meter in (self._levels, self._light):
            meter.take(box.top, box.bottom, box.left, box.right)
