"""Pictures on a board with what they show written under them, and scales of false colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.paper.cells import GREY, INK, PALE
from keyer.paper.grid import Area
from keyer.paper.page import Block, Page, Photo, Words, line_of, lines_of, style, width_of
from keyer.pixel.colour.false_colour import Scale, in_colours
from keyer.pixel.colour.load import store

_LABEL = style(9.5, INK, 600)
_NOTE = style(8.5, GREY)
_TICK = style(7.5, GREY)
_UNDER, _PITCH, _HAIR, _MOST_LINES = 4.6, 3.75, 0.12, 2
_SCALE_HEIGHT, _TICK_UNDER = 2.6, 3.0


@dataclass(frozen=True, eq=False)
class Panel:
    """A picture with its label.

    Attributes
    ----------
    label : str
    pixels : (H, W, 3) or (H, W) uint8
    note : str
        Under the label.
    aspect : float or None
        Width over height as displayed; default: of square pixels.
    """

    label: str
    pixels: NDArray[np.uint8]
    note: str = ""
    aspect: float | None = None


def fitted(area: Area, aspect: float) -> Area:
    """Fit a picture into an area, at its top left.

    Parameters
    ----------
    area : Area
    aspect : float
        Width over height.
    """
    width = min(area.width, area.height * aspect)
    return Area(area.x, area.y, width, width / aspect)


def draw_panel(page: Page, panel: Panel, area: Area) -> float:
    """Draw a picture and its label.

    Parameters
    ----------
    page : Page
        Is drawn on.
    panel : Panel
    area : Area
        For the picture; the label stands under it.

    Returns
    -------
    float
        Where the label ends, in mm from the top of the page.
    """
    pixels = panel.pixels
    if pixels.ndim == 2:
        pixels = np.repeat(pixels[..., np.newaxis], 3, axis=2)
    box = fitted(area, panel.aspect or pixels.shape[1] / pixels.shape[0])
    around = (box.x - _HAIR, box.y - _HAIR, box.width + 2 * _HAIR, box.height + 2 * _HAIR)
    page.items.append(Block(*around, PALE))
    page.items.append(Photo(box.x, box.y, box.width, box.height, pixels))
    return draw_label(page, panel.label, panel.note, Area(area.x, area.y, area.width, area.height))


def draw_label(page: Page, label: str, note: str, area: Area) -> float:
    """Write a label and a note under an area.

    Parameters
    ----------
    page : Page
        Is drawn on.
    label, note : str
    area : Area

    Returns
    -------
    float
        Where they end, in mm from the top of the page.
    """
    baseline = area.y + area.height + _UNDER
    page.items.append(Words(area.x, baseline, line_of(label, _LABEL, area.width)))
    for line in lines_of(note, _NOTE, area.width, _MOST_LINES) if note else []:
        baseline += _PITCH
        page.items.append(Words(area.x, baseline, line))
    return baseline + 1


def draw_scale(
    page: Page,
    scale: Scale,
    ends: tuple[float, float],
    ticks: Sequence[tuple[float, str]],
    place: tuple[float, float, float],
) -> None:
    """Draw a scale of false colours with its numbers.

    Parameters
    ----------
    page : Page
        Is drawn on.
    scale : sequence of R'G'B'
    ends : two floats
        Numbers at its ends.
    ticks : sequence of (float, str)
        Numbers to be marked, and how they are written.
    place : three floats
        Left, top and width in mm.
    """
    left, top, width = place
    steps = np.linspace(*ends, 256, dtype=np.float32)[np.newaxis]
    pixels = store(in_colours(np.repeat(steps, 2, axis=0), *ends, scale), np.uint8)
    page.items.append(Photo(left, top, width, _SCALE_HEIGHT, pixels.transpose(1, 2, 0)))
    for value, text in ticks:
        x = left + (value - ends[0]) / (ends[1] - ends[0]) * width
        page.items.append(Block(x - 0.075, top + _SCALE_HEIGHT, 0.15, 0.9, GREY))
        line = line_of(text, _TICK)
        start = min(max(x - width_of(line) / 2, left), left + width - width_of(line))
        page.items.append(Words(start, top + _SCALE_HEIGHT + _TICK_UNDER + 0.6, line))


def brought_down(planes: NDArray[np.float32], columns: int) -> NDArray[np.float32]:
    """Average planes down to at most so many columns.

    Parameters
    ----------
    planes : (..., H, W) float32
    columns : int

    Returns
    -------
    (..., h, w) float32
    """
    height, width = planes.shape[-2:]
    if width <= columns:
        return planes
    size = columns, max(round(height * columns / width), 1)
    flat = planes.reshape(-1, height, width)
    small = [cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in flat]
    stack = np.stack(small).reshape(*planes.shape[:-2], size[1], size[0])
    return np.asarray(stack, np.float32)
