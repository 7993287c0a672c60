"""What every check sees of one frame, and what the walk over all frames asks of a check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from keyer.kinds.picture import Planes
from keyer.measure.cells import Grid, Light, coarse_light, fine_light
from keyer.pixel.load import store_band
from keyer.render.compose import compose_bands
from keyer.render.frame import Frame, Keyed, Laid, Overlay
from keyer.report.findings import Finding, Series

LOOKS_A_SECOND = 5
"""How often keys and titles are looked at; every frame would take several times as long."""


@dataclass(frozen=True, eq=False)
class View:
    """One frame of the render.

    Attributes
    ----------
    index : int
        Of the sheet.
    frame : Frame
        What it is made of.
    planes : (3, H, W) float32
        R'G'B', nominal 0..1, before the limits of any file. Used again for
        the next frame.
    fine : (3, 3 rows, 3 columns) float32
        Light of the fine cells.
    coarse : (3, rows, columns) float32
        Light of the coarse cells.
    same : bool
        Whether it is exactly the picture of the frame before; `fine` and
        `coarse` are then the same arrays.
    """

    index: int
    frame: Frame
    planes: Planes
    fine: Light
    coarse: Light
    same: bool = False


class Inspector(Protocol):
    """A check that is shown every frame in order."""

    def look(self, view: View) -> None:
        """Take the next frame."""

    def findings(self) -> list[Finding]:
        """Say what was found; called once, after the last frame."""

    def series(self) -> list[Series]:
        """Give the measures along time."""


def _laid_alike(first: Overlay, second: Overlay) -> bool:
    if first.reveal is not None or second.reveal is not None or first.opacity != second.opacity:
        return False
    match first, second:
        case Keyed(), Keyed():
            return first.picture is second.picture and first.settings == second.settings
        case Laid(), Laid():
            place = (first.left, first.top) == (second.left, second.top)
            return first.picture is second.picture and place
        case _:
            return False


def same_picture(first: Frame, second: Frame) -> bool:
    """Whether two frames are surely the same picture; may say no of two that are.

    Parameters
    ----------
    first, second : Frame

    Returns
    -------
    bool
    """
    bases = (first.base, second.base)
    if any(base.second is not None for base in bases) or bases[0].first is not bases[1].first:
        return False
    if len(first.overlays) != len(second.overlays):
        return False
    return all(map(_laid_alike, first.overlays, second.overlays))


class Viewer:
    """Composes frames for the checks, into the same planes again and again.

    Parameters
    ----------
    grid : Grid
    """

    def __init__(self, grid: Grid) -> None:
        self._grid = grid
        self._planes = np.empty((3, grid.height, grid.width), np.float32)
        self._before: View | None = None

    def view(self, index: int, frame: Frame) -> View:
        """Compose a frame, unless it is the one before.

        Parameters
        ----------
        index : int
        frame : Frame

        Returns
        -------
        View
        """
        before = self._before
        if before is not None and same_picture(before.frame, frame):
            now = View(index, frame, self._planes, before.fine, before.coarse, same=True)
        else:
            compose_bands(frame, lambda band, top: store_band(band, self._planes, top))
            fine = fine_light(self._planes, self._grid)
            now = View(index, frame, self._planes, fine, coarse_light(fine))
        self._before = now
        return now
