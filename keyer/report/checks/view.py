"""What every check sees of one frame, and what the walk over all frames asks of a check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.measure.cells import Grid, Light, coarse_light, fine_light
from keyer.measure.screen import screen_light
from keyer.pixel.colour.load import store_band
from keyer.render.effect import Effect, flat
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.graph import Rows
from keyer.report.checks.findings import Finding, Series

LOOKS_A_SECOND = 5
"""How often keys and titles are looked at; every frame would take several times as long."""


@dataclass(frozen=True, eq=False)
class View:
    """One frame of the render.

    Attributes
    ----------
    index : int
        Of the sheet.
    frame : Effect
        What it is made of.
    planes : (3, H, W) float32
        R'G'B', nominal 0..1, before the limits of any file. Used again for
        the next frame.
    fine : (3, 3 rows, 3 columns) float32
        Light of the fine cells.
    coarse : (3, rows, columns) float32
        Light of the coarse cells.
    screen : (3 rows, 3 columns) float32
        Luminance of the fine cells on a television screen.
    same : bool
        Whether it is exactly the picture of the frame before; `fine`,
        `coarse` and `screen` are then the same arrays.
    """

    index: int
    frame: Effect
    planes: Planes
    fine: Light
    coarse: Light
    screen: Light
    same: bool = False


class Inspector(Protocol):
    """A check that is shown every frame in order."""

    def look(self, view: View) -> None:
        """Take the next frame."""

    def findings(self) -> list[Finding]:
        """Say what was found; called once, after the last frame."""

    def series(self) -> list[Series]:
        """Give the measurements over time."""


class Viewer:
    """Works frames out for the checks, into the same planes again and again.

    Parameters
    ----------
    grid : Grid
    evaluator : Evaluator
    """

    def __init__(self, grid: Grid, evaluator: Evaluator) -> None:
        self._grid, self._evaluator = grid, evaluator
        self._planes = np.empty((3, grid.height, grid.width), np.float32)
        self._before: View | None = None

    def view(self, index: int, frame: Effect, ready: Ready | None = None) -> View:
        """Work a frame out, unless it is the one before.

        Parameters
        ----------
        index : int
        frame : Effect
        ready : Ready, optional
            What is prepared of it already.

        Returns
        -------
        View
        """
        before = self._before
        if before is not None and before.frame.signature == frame.signature:
            now = View(
                index, frame, self._planes, before.fine, before.coarse, before.screen, same=True
            )
        else:
            opaque = flat(frame)
            ready = self._evaluator.prepare(opaque, ready=ready)
            ready.bands(opaque, self._put)
            fine = fine_light(self._planes, self._grid)
            now = View(index, frame, self._planes, fine, coarse_light(fine), screen_light(fine))
        self._before = now
        return now

    def _put(self, band: Rows, top: int) -> None:
        store_band(band.planes, self._planes, top)
