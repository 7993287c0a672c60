"""Waveform and vectorscope as SVG: the trace as a picture, the graticule as lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.settings import parse_colour
from keyer.media.encode_still import encode_still
from keyer.paper.cells import ACCENT
from keyer.pixel.colour.load import store
from keyer.report.page.render import data_uri
from keyer.report.traces import (
    LEVELS,
    Level,
    Point,
    graticule,
    scope_inks,
    vectorscope_shade,
    waveform_shade,
)

_WIDE, _HIGH, _SIDE = 480, 240, 34
_ROUND = 240
_HALF = _ROUND / 2


def _picture(planes: NDArray[np.float32], opacity: NDArray[np.float32]) -> str:
    codes = RgbPicture(store(planes, np.uint8), store(opacity, np.uint8))
    return data_uri(encode_still(codes, Path("trace.png")), "image/png")


def waveform_svg(planes: Planes, matrix: Matrix) -> str:
    """Draw the waveform of a picture: luma in percent, over its width.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}

    Returns
    -------
    str
        SVG.
    """
    shade = waveform_shade(planes, matrix, _WIDE, _HIGH)
    colour = np.array(parse_colour(ACCENT), np.float32)[:, np.newaxis, np.newaxis]
    ink = np.ascontiguousarray(np.broadcast_to(colour, (3, *shade.shape)))
    size = f'x="{_SIDE}" width="{_WIDE}" height="{_HIGH}" preserveAspectRatio="none"'
    parts = [f'<image {size} href="{_picture(ink, shade)}"/>']
    parts += [_level(level) for level in LEVELS]
    return _svg(_WIDE + _SIDE, _HIGH, "Waveform, luma in percent", parts)


def _level(level: Level) -> str:
    y = level.down * _HIGH
    kind = level.kind if level.kind == "rule" else f"rule {level.kind}"
    line = f'<line class="{kind}" x1="{_SIDE}" x2="{_WIDE + _SIDE}" y1="{y:.1f}" y2="{y:.1f}"/>'
    if level.kind == "tolerance":
        return line
    return f'{line}<text class="side" x="{_SIDE - 6}" y="{y + 4.5:.1f}">{level.percent:g}</text>'


def vectorscope_svg(planes: Planes, matrix: Matrix) -> str:
    """Draw the vectorscope of a picture: Cb to the right, Cr up, each hue in its colour.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}

    Returns
    -------
    str
        SVG; circles at half and full chroma, squares at the bars of 75 percent.
    """
    shade = vectorscope_shade(planes, matrix, _ROUND)
    trace = _picture(scope_inks(matrix, _ROUND), shade)
    parts = [f'<image width="{_ROUND}" height="{_ROUND}" href="{trace}"/>']
    drawn = graticule(matrix)
    parts += [
        f'<circle class="rule" cx="{_HALF}" cy="{_HALF}" r="{radius * _HALF:.1f}"/>'
        for radius in drawn.circles
    ]
    for ends in drawn.axes:
        (x0, y0), (x1, y1) = map(_at, ends)
        parts.append(
            f'<line class="rule" x1="{x0:.1f}" y1="{y0:.1f}" x2="{x1:.1f}" y2="{y1:.1f}"/>'
        )
    for left, bottom, right, top in drawn.squares:
        x, y = _at((left, top))
        size = f'width="{(right - left) * _HALF:.1f}" height="{(top - bottom) * _HALF:.1f}"'
        parts.append(f'<rect class="mark" x="{x:.1f}" y="{y:.1f}" {size}/>')
    for name, place in drawn.bars:
        x, y = _at(place)
        parts.append(f'<text class="bar" x="{x:.1f}" y="{y + 4:.1f}">{name}</text>')
    return _svg(_ROUND, _ROUND, "Vectorscope, Cb to the right, Cr up", parts)


def _at(point: Point) -> Point:
    """Place of a point of the graticule in the drawing."""
    return _HALF * (1 + point[0]), _HALF * (1 - point[1])


def _svg(width: float, height: float, title: str, parts: list[str]) -> str:
    return (
        f'<svg class="scope" viewBox="0 0 {width:g} {height:g}" role="img"><title>{title}</title>'
        f"{''.join(parts)}</svg>"
    )
