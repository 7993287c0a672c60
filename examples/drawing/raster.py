"""Coverage and coordinates of drawn shapes: swept lines, polygons, spoked wheels.

The compiled loops under the demo's pictures. Everything is measured in pixels
of the array that is handed in, pixel centres at whole numbers plus one half.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.pixel.kernels.jit import kernel

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

FAR = 1e6
"""Distance written where no part of a swept line is near."""


@kernel
def _sweep(points: Any, radii: Any, reach: float, near: Any, along: Any, across: Any) -> None:
    rows, columns = near.shape
    start = 0.0
    for index in range(points.shape[0] - 1):
        ax, ay = points[index, 0], points[index, 1]
        dx, dy = points[index + 1, 0] - ax, points[index + 1, 1] - ay
        length = math.sqrt(dx * dx + dy * dy)
        if length < 1e-9:
            continue
        ra, rb = radii[index], radii[index + 1]
        margin = max(ra, rb) + reach
        x0 = max(int(min(ax, ax + dx) - margin), 0)
        x1 = min(int(max(ax, ax + dx) + margin) + 2, columns)
        y0 = max(int(min(ay, ay + dy) - margin), 0)
        y1 = min(int(max(ay, ay + dy) + margin) + 2, rows)
        ux, uy = dx / length, dy / length
        for y in range(y0, y1):
            py = y + 0.5 - ay
            for x in range(x0, x1):
                px = x + 0.5 - ax
                reached = px * ux + py * uy
                t = min(max(reached / length, 0.0), 1.0)
                qx, qy = px - t * dx, py - t * dy
                radius = ra + t * (rb - ra)
                away = math.sqrt(qx * qx + qy * qy)
                if away - radius < near[y, x]:
                    near[y, x] = away - radius
                    # Beyond the ends the length runs on, so that textures do.
                    first, last = index == 0, index == points.shape[0] - 2
                    low = reached if first else max(reached, 0.0)
                    along[y, x] = start + (low if last else min(low, length))
                    side = px * uy - py * ux
                    across[y, x] = (away if side >= 0.0 else -away) / max(radius, 1e-6)
        start += length


@kernel
def _strokes(points: Any, widths: Any, lengths: Any, cover: Any) -> None:
    rows, columns = cover.shape
    for line in range(points.shape[0]):
        for index in range(lengths[line] - 1):
            ax, ay = points[line, index, 0], points[line, index, 1]
            dx, dy = points[line, index + 1, 0] - ax, points[line, index + 1, 1] - ay
            squared = dx * dx + dy * dy
            if squared < 1e-12:
                continue
            ra, rb = widths[line, index] / 2, widths[line, index + 1] / 2
            margin = max(ra, rb) + 1.0
            x0 = max(int(min(ax, ax + dx) - margin), 0)
            x1 = min(int(max(ax, ax + dx) + margin) + 2, columns)
            y0 = max(int(min(ay, ay + dy) - margin), 0)
            y1 = min(int(max(ay, ay + dy) + margin) + 2, rows)
            for y in range(y0, y1):
                py = y + 0.5 - ay
                for x in range(x0, x1):
                    px = x + 0.5 - ax
                    t = min(max((px * dx + py * dy) / squared, 0.0), 1.0)
                    qx, qy = px - t * dx, py - t * dy
                    radius = ra + t * (rb - ra)
                    distance = math.sqrt(qx * qx + qy * qy)
                    # The overlap of a band [-r, r] with a pixel one wide at this distance.
                    inner = min(distance + 0.5, radius) - max(distance - 0.5, -radius)
                    value = min(max(inner, 0.0), 1.0)
                    cover[y, x] = max(value, cover[y, x])


@kernel
def _fill(points: Any, way: float, areas: Any) -> None:
    rows, columns = areas.shape[0], areas.shape[1] - 2
    for index in range(points.shape[0]):
        ax, ay = points[index, 0], points[index, 1]
        bx, by = points[(index + 1) % points.shape[0], 0], points[(index + 1) % points.shape[0], 1]
        turn = way
        if ay > by:
            ax, ay, bx, by = bx, by, ax, ay
            turn = -way
        if by <= 0.0 or ay >= rows or by - ay < 1e-12:
            continue
        slope = (bx - ax) / (by - ay)
        top = max(int(ay), 0) if ay > 0.0 else 0
        for y in range(top, min(math.ceil(by), rows)):
            high, low = max(ay, float(y)), min(by, y + 1.0)
            x0 = min(max(ax + slope * (high - ay), 0.0), float(columns))
            x1 = min(max(ax + slope * (low - ay), 0.0), float(columns))
            if x0 > x1:
                x0, x1 = x1, x0
            part = turn * (low - high)
            first, last = int(x0), int(x1)
            if first == last:
                # The part of its own pixel right of the edge, and the rest from the next on.
                inside = 0.5 * (x0 + x1) - first
                areas[y, first] += part * (1.0 - inside)
                areas[y, first + 1] += part * inside
                continue
            share = part / (x1 - x0)
            done = 0.0
            for x in range(first, last + 1):
                start, end = max(x0, float(x)), min(x1, x + 1.0)
                # Coverage to the right of the edge, as a running sum along the row.
                run = share * (end - start)
                passed = run * (x + 1.0 - 0.5 * (start + end)) + share * (start - x0)
                areas[y, x] += passed - done
                done = passed
            areas[y, last + 1] += part - done


@kernel
def _gather(areas: Any, cover: Any) -> None:
    for y in range(cover.shape[0]):
        total = 0.0
        for x in range(cover.shape[1]):
            total += areas[y, x]
            cover[y, x] = min(abs(total), 1.0)


@kernel
def _lay(colour: Any, alpha: Any, paint: Any, mask: Any, left: int, top: int, step: int) -> None:
    rows, columns = mask.shape
    for y in range(rows):
        for x in range(columns):
            cover = mask[y, x]
            if cover <= 0.0:
                continue
            keep = 1.0 - cover
            sy, sx = y // step, x // step
            for channel in range(3):
                below = colour[top + y, left + x, channel]
                colour[top + y, left + x, channel] = below * keep + cover * paint[sy, sx, channel]
            alpha[top + y, left + x] = alpha[top + y, left + x] * keep + cover


@kernel
def _dim(colour: Any, keep: Any, left: int, top: int, step: int) -> None:
    rows, columns = keep.shape
    for y in range(rows * step):
        for x in range(columns):
            factor = keep[y // step, x]
            if factor < 1.0:
                for part in range(step):
                    for channel in range(3):
                        colour[top + y, left + x * step + part, channel] *= factor


@kernel
def _spokes(
    inverse: Any, count: int, turn: float, blur: float, flange: float, inner: float,
    outer: float, half: float, cover: Any, side: Any,
) -> None:  # fmt: skip
    rows, columns = cover.shape
    pitch = 2.0 * math.pi / count
    scale = 1.0 / math.sqrt(abs(inverse[0, 0] * inverse[1, 1] - inverse[0, 1] * inverse[1, 0]))
    for y in range(rows):
        for x in range(columns):
            wx = inverse[0, 0] * (x + 0.5) + inverse[0, 1] * (y + 0.5) + inverse[0, 2]
            wy = inverse[1, 0] * (x + 0.5) + inverse[1, 1] * (y + 0.5) + inverse[1, 2]
            radius = math.sqrt(wx * wx + wy * wy)
            if radius < inner or radius > outer:
                cover[y, x] = 0.0
                continue
            angle = math.atan2(wy, wx)
            lean = math.acos(min(flange / radius, 1.0))
            free = 1.0
            for way in range(2):
                offset = lean if way == 0 else -lean
                phase = (angle - turn + offset) / pitch + 0.25 * way
                away = (phase - math.floor(phase + 0.5)) * pitch
                width = half / radius
                spread = 0.5 * blur + 0.5 / (scale * radius)
                high = min(max(away + spread, -width), width)
                low = min(max(away - spread, -width), width)
                part = (high - low) / (2.0 * spread)
                free *= 1.0 - part
                if part > 0.0:
                    side[y, x] = away / max(width, spread)
            cover[y, x] = 1.0 - free


def sweep(
    points: Points, radii: Points, shape: tuple[int, int], reach: float = 1.5
) -> tuple[Floats, Floats, Floats]:
    """Coordinates of a line swept by a disc of changing radius.

    Parameters
    ----------
    points : (N, 2) float64, x and y in pixels
    radii : (N,) float64, pixels
    shape : rows, columns
    reach : float
        How far beyond the radius coordinates are still written, pixels.

    Returns
    -------
    near : (H, W) float32
        Signed distance to the swept outline, negative inside; `FAR` elsewhere.
    along : (H, W) float32
        Pixels along the line, running on beyond its ends.
    across : (H, W) float32
        Distance from the line as part of the radius; negative on one side.
    """
    near = np.full(shape, FAR, np.float32)
    along, across = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    _sweep(points, radii, reach, near, along, across)
    return near, along, across


def strokes(lines: Sequence[Points], widths: Sequence[Points], shape: tuple[int, int]) -> Floats:
    """Coverage of thin lines; below a pixel of width the coverage thins out.

    Parameters
    ----------
    lines : sequence of (N, 2) float64, pixels
    widths : sequence of (N,) float64, pixels
    shape : rows, columns

    Returns
    -------
    (H, W) float32 in [0, 1]
    """
    cover = np.zeros(shape, np.float32)
    if not lines:
        return cover
    lengths = np.array([len(line) for line in lines])
    packed = np.zeros((len(lines), lengths.max(), 2))
    wide = np.zeros((len(lines), lengths.max()))
    for index, (line, width) in enumerate(zip(lines, widths, strict=True)):
        packed[index, : len(line)] = line
        wide[index, : len(line)] = width
    _strokes(packed, wide, lengths, cover)
    return cover


def polygon(outlines: Sequence[Points], shape: tuple[int, int]) -> Floats:
    """Coverage of a filled outline; further outlines inside cut holes.

    The area of each pixel to the left of each edge is summed along the rows:
    the coverage is exact for outlines that do not cross themselves.

    Parameters
    ----------
    outlines : sequence of (N, 2) float64, pixels
    shape : rows, columns

    Returns
    -------
    (H, W) float32 in [0, 1]
    """
    areas = np.zeros((shape[0], shape[1] + 2))
    for index, line in enumerate(outlines):
        x, y = line[:, 0], line[:, 1]
        clockwise = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) > 0
        _fill(np.ascontiguousarray(line), 1.0 if clockwise == (index == 0) else -1.0, areas)
    cover = np.zeros(shape, np.float32)
    _gather(areas, cover)
    return cover


def spokes(
    shape: tuple[int, int],
    inverse: Points,
    *,
    count: int,
    turn: float,
    blur: float,
    flange: float,
    inner: float,
    outer: float,
    half: float,
) -> tuple[Floats, Floats]:
    """Coverage of a wheel's crossed spokes, blurred along their turn.

    A spoke that leaves the hub flange at a tangent lies, at radius r, at the
    angle acos(flange / r) from its foot: in polar coordinates the lacing is an
    offset and the blur of the turn a box, both exact.

    Parameters
    ----------
    shape : rows, columns
    inverse : (2, 3) float64
        Takes pixels to the wheel's plane.
    count : int
        Spokes that lean each way.
    turn, blur : float
        Angle of the wheel and the angle it turns while the shutter is open, radians.
    flange, inner, outer, half : float
        Radii of the flange, of the first and last visible point, and half the
        thickness, in units of the wheel's plane.

    Returns
    -------
    cover : (H, W) float32 in [0, 1]
    side : (H, W) float32
        -1 to 1 across the spoke.
    """
    cover, side = np.zeros(shape, np.float32), np.zeros(shape, np.float32)
    _spokes(inverse, count, turn, blur, flange, inner, outer, half, cover, side)
    return cover, side


def lay(
    colour: Floats, alpha: Floats, paint: Floats, mask: Floats, corner: tuple[int, int], step: int
) -> None:
    """Lay paint over a premultiplied canvas, in place.

    Parameters
    ----------
    colour, alpha : (H, W, 3) and (H, W) float32
        Premultiplied canvas at `step` times the paint's resolution.
    paint : (h, w, 3) float32
    mask : (h * step, w * step) float32
    corner : left, top of the mask on the canvas
    step : int
    """
    _lay(colour, alpha, paint, mask, corner[0], corner[1], step)


def dim(colour: Floats, keep: Floats, corner: tuple[int, int], step: int) -> None:
    """Darken a premultiplied canvas, in place.

    Parameters
    ----------
    colour : (H, W, 3) float32
        Canvas at `step` times the resolution of `keep`.
    keep : (h, w) float32 in [0, 1]
        What is left of the light.
    corner : left, top on the canvas
    step : int
    """
    _dim(colour, keep, corner[0], corner[1], step)
