"""Waveform, vectorscope and hues of a picture on paper."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import parse_colour
from keyer.measure.hues import BARS, bar_hue
from keyer.measure.scopes import SPAN
from keyer.paper.cells import ACCENT, GREY, INK, PALE
from keyer.paper.grid import Area
from keyer.paper.page import Block, Page, Photo, Stroke, Words, line_of, style, width_of
from keyer.pixel.colour.load import store
from keyer.pixel.colour.luma_chroma import FULL_CHROMA
from keyer.pixel.keys.wedge import wedge_slope
from keyer.report.traces import (
    EDGE,
    LEVELS,
    graticule,
    hue_inks,
    scope_inks,
    vectorscope_shade,
    waveform_shade,
)

_DOTS = 360
_COLUMNS, _ROWS = 640, 320
_TICK = style(7.5, GREY)
_BAR = style(8.5, GREY, 600)
_MARK = style(8.5, INK, 600)
_LIMIT = "#A4161A"
_LINE, _FINE = 0.25, 0.13
_TINT = 0.14
_SIDE = 7.0
_EDGE = EDGE * SPAN
_INKS = {"rule": PALE, "strong": GREY, "tolerance": _LIMIT}


@dataclass(frozen=True)
class Wedge:
    """A range of hues drawn on a scope.

    Attributes
    ----------
    hue_deg : float
        Its middle.
    acceptance_deg : float
        Full angle.
    least : float
        Chroma inside it from which a colour counts.
    """

    hue_deg: float
    acceptance_deg: float
    least: float


def draw_waveform(page: Page, planes: Planes, matrix: Matrix, area: Area) -> None:
    """Draw luma in percent over the picture's width.

    Parameters
    ----------
    page : Page
        Is drawn on.
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    area : Area
    """
    box = Area(area.x + _SIDE, area.y, area.width - _SIDE, area.height)
    shade = waveform_shade(planes, matrix, _COLUMNS, _ROWS)
    ink = np.array(parse_colour(ACCENT), np.float32)[:, np.newaxis, np.newaxis]
    page.items.append(_photo(1 - shade * (1 - ink), box))
    for level in LEVELS:
        y = box.y + level.down * box.height
        page.items.append(Block(box.x, y - _FINE / 2, box.width, _FINE, _INKS[level.kind]))
        if level.kind != "tolerance":
            line = line_of(f"{level.percent:g}", _TICK)
            page.items.append(Words(box.x - 1.4 - width_of(line), y + 0.9, line))


def draw_vectorscope(
    page: Page,
    planes: Planes,
    matrix: Matrix,
    area: Area,
    wedges: Sequence[Wedge] = (),
    marks: Sequence[tuple[float, str]] = (),
) -> None:
    """Draw hue and chroma: Cb to the right, Cr up, each hue in its colour.

    Parameters
    ----------
    page : Page
        Is drawn on.
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    area : Area
        A square at its top left is drawn in.
    wedges : sequence of Wedge
        Ranges of hues, tinted.
    marks : sequence of (float, str)
        Hues to be marked at the rim, in degrees, and what they are.
    """
    side = min(area.width, area.height)
    scope = _Scope(page, area.x, area.y, side / 2)
    shade = vectorscope_shade(planes, matrix, _DOTS)
    paper = np.ones((3, _DOTS, _DOTS), np.float32)
    for wedge in wedges:
        paper -= _TINT * _inside(wedge) * (1 - _ink(wedge.hue_deg, matrix)[:, None, None])
    inked = paper + shade * (scope_inks(matrix, _DOTS) - paper)
    page.items.append(_photo(inked, Area(area.x, area.y, side, side)))
    for wedge in wedges:
        scope.wedge(wedge, _colour(_ink(wedge.hue_deg, matrix)))
    scope.graticule(matrix)
    for hue, text in marks:
        scope.mark(hue, text)


def draw_hues(
    page: Page,
    shares: Sequence[float],
    matrix: Matrix,
    area: Area,
    wedges: Sequence[Wedge] = (),
) -> None:
    """Draw how much of a subject has each hue.

    Parameters
    ----------
    page : Page
        Is drawn on.
    shares : sequence of float
        Percent, at equal steps round the vectorscope from 0 degrees.
    matrix : {"bt601", "bt709"}
    area : Area
    wedges : sequence of Wedge
        Ranges of hues, tinted.
    """
    box = Area(area.x + _SIDE, area.y, area.width - _SIDE, area.height - 5)
    top = _round_up(max(*shares, 1.0))
    step = 360 / len(shares)
    for wedge in wedges:
        tint = _colour(1 - _TINT * (1 - _ink(wedge.hue_deg, matrix)))
        for first, last in _spans(wedge):
            width = (last - first) / 360 * box.width
            x = box.x + first / 360 * box.width
            page.items.append(Block(x, box.y, width, box.height, tint))
    for part in (0.0, 0.5, 1.0):
        y = box.y + (1 - part) * box.height
        page.items.append(Block(box.x, y - _FINE / 2, box.width, _FINE, PALE if part else GREY))
        line = line_of(f"{part * top:g}", _TICK)
        page.items.append(Words(box.x - 1.4 - width_of(line), y + 0.9, line))
    for number, share in enumerate(shares):
        height = share / top * box.height
        left = box.x + number * step / 360 * box.width
        colour = _colour(_ink((number + 0.5) * step, matrix))
        place = (left + 0.2, box.y + box.height - height, step / 360 * box.width - 0.4, height)
        page.items.append(Block(*place, colour))
    for name in BARS:
        x = box.x + bar_hue(name, matrix) / 360 * box.width
        page.items.append(Block(x - 0.075, box.y + box.height, 0.15, 1.2, GREY))
        line = line_of(f"{name} {bar_hue(name, matrix):.0f}°", _TICK)
        start = min(x - width_of(line) / 2, box.x + box.width - width_of(line))
        page.items.append(Words(start, box.y + box.height + 4.4, line))


def _spans(wedge: Wedge) -> list[tuple[float, float]]:
    """Degrees that a wedge covers between 0 and 360: two parts where it runs through 0."""
    half = wedge.acceptance_deg / 2
    first, last = wedge.hue_deg - half, wedge.hue_deg + half
    parts = [(first + turn, last + turn) for turn in (-360, 0, 360)]
    cut = [(max(low, 0.0), min(high, 360.0)) for low, high in parts]
    return [(low, high) for low, high in cut if low < high]


def _round_up(value: float) -> float:
    """Round up to a number that is good on a scale."""
    power = 10.0 ** math.floor(math.log10(value))
    return next(power * step for step in (1, 2, 3, 4, 6, 8, 10) if power * step >= value)


def _photo(planes: Planes, box: Area) -> Photo:
    pixels = store(np.ascontiguousarray(planes, np.float32), np.uint8).transpose(1, 2, 0)
    return Photo(box.x, box.y, box.width, box.height, pixels)


def _ink(hue_deg: float, matrix: Matrix) -> NDArray[np.float32]:
    angle = math.radians(hue_deg)
    reach = 0.8 * FULL_CHROMA
    cb, cr = np.array(reach * math.cos(angle)), np.array(reach * math.sin(angle))
    return hue_inks(cb, cr, matrix)


def _colour(rgb: NDArray[np.float32]) -> str:
    return "#" + "".join(f"{min(max(round(255 * float(part)), 0), 255):02X}" for part in rgb)


def _inside(wedge: Wedge) -> NDArray[np.float32]:
    """Where a colour counts as inside a wedge, over the whole scope; its rim is smoothed."""
    side = (((np.arange(_DOTS) + 0.5) / _DOTS * 2 - 1) * SPAN).astype(np.float32)
    cb, cr = np.meshgrid(side, -side)
    cos, sin = (np.float32(part(math.radians(wedge.hue_deg))) for part in (math.cos, math.sin))
    along, across = cb * cos + cr * sin, cr * cos - cb * sin
    slope = np.float32(wedge_slope(wedge.acceptance_deg))
    dot = np.float32(2 * SPAN / _DOTS)
    depth = np.minimum(along - slope * np.abs(across) - wedge.least, _EDGE - np.hypot(cb, cr))
    return np.asarray(np.clip(depth / dot + 0.5, 0, 1), np.float32)


@dataclass(frozen=True, eq=False)
class _Scope:
    """A vectorscope on a page."""

    page: Page
    left: float
    top: float
    half: float

    def at(self, cb: float, cr: float) -> tuple[float, float]:
        """Place of a colour in mm."""
        return (
            self.left + self.half * (1 + cb / SPAN),
            self.top + self.half * (1 - cr / SPAN),
        )

    def line(self, points: Sequence[tuple[float, float]], thickness: float, colour: str) -> None:
        """Draw through colours."""
        places = tuple(self.at(cb, cr) for cb, cr in points)
        self.page.items.append(Stroke(places, thickness, colour))

    def words(self, text: str, cb: float, cr: float, *, strong: bool = False) -> None:
        """Write in the middle of a place."""
        line = line_of(text, _MARK if strong else _BAR)
        x, y = self.at(cb, cr)
        self.page.items.append(Words(x - width_of(line) / 2, y + 1.0, line))

    def graticule(self, matrix: Matrix) -> None:
        """Draw axes, circles at half and full chroma, and the bars of 75 percent."""
        drawn = graticule(matrix)
        for radius in drawn.circles:
            self.line([_polar(radius * SPAN, turn) for turn in range(0, 361, 3)], _FINE, GREY)
        for ends in drawn.axes:
            self.line([(SPAN * x, SPAN * y) for x, y in ends], _FINE, GREY)
        self.words("Cb", _EDGE - 0.012, 0.018)
        self.words("Cr", 0.022, _EDGE - 0.012)
        for x0, y0, x1, y1 in drawn.squares:
            corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
            self.line([(SPAN * x, SPAN * y) for x, y in corners], _LINE, INK)
        for name, (x, y) in drawn.bars:
            self.words(name, SPAN * x, SPAN * y, strong=True)

    def wedge(self, wedge: Wedge, colour: str) -> None:
        """Draw the edges of a wedge, and its middle line."""
        half = math.radians(wedge.acceptance_deg / 2)
        axis = math.radians(wedge.hue_deg)
        tip = (wedge.least * math.cos(axis), wedge.least * math.sin(axis))
        for turn in (axis - half, axis + half):
            # from the tip at `least` to the rim
            b = tip[0] * math.cos(turn) + tip[1] * math.sin(turn)
            reach = -b + math.sqrt(b * b - wedge.least**2 + _EDGE**2)
            end = (tip[0] + reach * math.cos(turn), tip[1] + reach * math.sin(turn))
            self.line([tip, end], _LINE, colour)
        self.line([tip, _polar(_EDGE, wedge.hue_deg)], _FINE, colour)

    def mark(self, hue_deg: float, text: str) -> None:
        """Mark a hue at the rim."""
        ends = [_polar(part * FULL_CHROMA, hue_deg) for part in (1.06, 1.15)]
        self.line(ends, 0.6, INK)
        line = line_of(text, _MARK)
        cb, cr = _polar(1.15 * FULL_CHROMA, hue_deg)
        x, y = self.at(cb, cr + math.copysign(0.026, cr))
        x = min(max(x - width_of(line) / 2, self.left), self.left + 2 * self.half - width_of(line))
        self.page.items.append(Words(x, y + 1.0, line))


def _polar(radius: float, hue_deg: float) -> tuple[float, float]:
    angle = math.radians(hue_deg)
    return radius * math.cos(angle), radius * math.sin(angle)
