"""Waveform and vectorscope as SVG: the trace as a picture, the graticule as lines."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.settings import parse_colour
from keyer.measure.scopes import HIGHEST, LOWEST, SPAN, bar_points
from keyer.media.encode_still import encode_still
from keyer.paper.cells import ACCENT
from keyer.pixel.colour.load import store
from keyer.pixel.colour.luma_chroma import FULL_CHROMA
from keyer.report.page.render import data_uri
from keyer.report.traces import TOLERANCE, scope_inks, vectorscope_shade, waveform_shade

_WIDE, _HIGH, _SIDE = 480, 240, 34
_ROUND = 240


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
    parts += [_level(level, "rule", str(level)) for level in (25, 50, 75)]
    parts += [_level(level, "rule strong", str(level)) for level in (0, 100)]
    parts += [_level(level, "rule tolerance", "") for level in TOLERANCE]
    return _svg(_WIDE + _SIDE, _HIGH, "Waveform, luma in percent", parts)


def _level(level: float, kind: str, label: str) -> str:
    y = (HIGHEST - level) / (HIGHEST - LOWEST) * _HIGH
    line = f'<line class="{kind}" x1="{_SIDE}" x2="{_WIDE + _SIDE}" y1="{y:.1f}" y2="{y:.1f}"/>'
    return (
        f'{line}<text class="side" x="{_SIDE - 6}" y="{y + 4.5:.1f}">{label}</text>'
        if label
        else line
    )


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
    middle = _ROUND / 2
    full = middle * FULL_CHROMA / SPAN
    parts += [
        f'<circle class="rule" cx="{middle}" cy="{middle}" r="{radius:.1f}"/>'
        for radius in (full, full / 2)
    ]
    ends = (f"{middle - full:.1f}", f"{middle + full:.1f}")
    parts += [
        f'<line class="rule" x1="{ends[0]}" x2="{ends[1]}" y1="{middle}" y2="{middle}"/>',
        f'<line class="rule" y1="{ends[0]}" y2="{ends[1]}" x1="{middle}" x2="{middle}"/>',
    ]
    parts += [
        _bar(name, cb / SPAN * middle, cr / SPAN * middle, middle)
        for name, (cb, cr) in bar_points(matrix).items()
    ]
    return _svg(_ROUND, _ROUND, "Vectorscope, Cb to the right, Cr up", parts)


def _bar(name: str, x: float, y: float, middle: float) -> str:
    """Mark one of the bars, its name beyond it."""
    beyond = 1 + 13 / math.hypot(x, y)
    return (
        f'<rect class="mark" x="{middle + x - 4:.1f}" y="{middle - y - 4:.1f}" width="8" '
        f'height="8"/><text class="bar" x="{middle + beyond * x:.1f}" '
        f'y="{middle - beyond * y + 4:.1f}">{name}</text>'
    )


def _svg(width: float, height: float, title: str, parts: list[str]) -> str:
    return (
        f'<svg class="scope" viewBox="0 0 {width:g} {height:g}" role="img"><title>{title}</title>'
        f"{''.join(parts)}</svg>"
    )
