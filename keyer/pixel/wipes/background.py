"""Moving backgrounds: a pattern's field run through a few colours, bent by waves and drifting.

Everything that moves does so in whole cycles, so that a loop closes without a
jump. Edges are never sharper than a pixel; where the colours change faster than
pixels can show, they merge into their mean.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.look import Look, LookWave
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.noise import lattice, noise_line

FINEST = np.float32(1.4)
"""Narrowest slope between two colours, in pixels."""

COARSEST = 0.03
"""Way along the noise's lattice in which a straight line stands for it, within 0.3 %."""

STEPS = 4096
"""Entries of the table of colours."""

_GRAIN = (np.random.default_rng(1).random((128, 128), np.float32) - np.float32(0.5)) / np.float32(
    255
)
"""A grain of one 8-bit code, which hides the steps of a slope."""


@dataclass(frozen=True, eq=False)
class Background:
    """A look laid out for a raster.

    Attributes
    ----------
    look : Look
    geometry : Geometry
    runs : (H + 1, W + 1) float32
        Runs through the colours at each pixel, and one beyond on the right and below.
    shade : (H, W) float32, or None
        Factor that darkens the corners.
    """

    look: Look
    geometry: Geometry
    runs: Plane
    shade: Plane | None


def _shade(geometry: Geometry, percent: float) -> Plane | None:
    """Darken with the square of the distance from the middle, `percent` in the corners."""
    if percent <= 0:
        return None
    aspect = geometry.display_aspect
    x = (np.arange(geometry.width) + 0.5) / geometry.width * aspect - aspect / 2
    y = (np.arange(geometry.height) + 0.5) / geometry.height - 0.5
    squares = (x[np.newaxis] ** 2 + y[:, np.newaxis] ** 2) / (aspect**2 / 4 + 0.25)
    return np.asarray(1 - percent / 100 * squares, np.float32)


def lay_background(look: Look, pattern: Pattern, geometry: Geometry) -> Background:
    """Lay a background out for a raster: its field and its shade.

    Parameters
    ----------
    look : Look
    pattern : Pattern
        The one that the look names.
    geometry : Geometry
    """
    field = build(pattern, geometry, look.modifiers)
    top, left = field.margin_y, field.margin_x
    rows, columns = slice(top, top + geometry.height + 1), slice(left, left + geometry.width + 1)
    runs = np.ascontiguousarray(field.values[rows, columns]) * np.float32(look.runs)
    return Background(look, geometry, runs, _shade(geometry, look.shade))


@kernel
def _add_sine(out: Plane, x: np.float32, y: np.float32, step: np.float32, size: np.float32) -> None:
    """Add a plane wave along a row; `x + y` in cycles."""
    for c in range(out.size):
        out[c] += size * np.sin(np.float32(2 * math.pi) * (x + y + np.float32(c) * step))


@kernel
def _add_noise(
    out: Plane,
    nodes: NDArray[np.float32],
    x: np.float32,
    y: np.float32,
    step_x: np.float32,
    step_y: np.float32,
    size: np.float32,
    stride: int,
    line: Plane,
) -> None:
    """Add noise along a row, read at every `stride`-th pixel, with straight lines between."""
    count = (out.size + stride - 1) // stride + 1
    wide = np.float32(stride)
    noise_line(nodes, x, y, step_x * wide, step_y * wide, line[:count])
    for i in range(count - 1):
        first = line[i] * size
        slope = (line[i + 1] * size - first) / wide
        begin = i * stride
        for c in range(min(stride, out.size - begin)):
            out[begin + c] += first + np.float32(c) * slope


@kernel
def _between(colours: Plane, mean: Plane, place: np.float32, width: np.float32, out: Plane) -> None:
    """Colour at a place 0..count, with slopes `width` colours wide; wider than one, they merge."""
    count = colours.shape[0]
    first = int(place)
    part = place - np.float32(first)
    share = (part - np.float32(0.5)) / width + np.float32(0.5)
    share = min(max(share, np.float32(0.0)), np.float32(1.0))
    share = share * share * (np.float32(3.0) - np.float32(2.0) * share)
    merge = min(max(width - np.float32(1.0), np.float32(0.0)), np.float32(1.0))
    for plane in range(3):
        a, b = colours[first % count, plane], colours[(first + 1) % count, plane]
        value = a + share * (b - a)
        out[plane] = value + merge * (mean[plane] - value)


@kernel
def _table(colours: Plane, mean: Plane, width: np.float32, out: Plane) -> None:
    count = np.float32(colours.shape[0])
    for i in range(out.shape[0]):
        place = np.float32(i % (out.shape[0] - 1)) / np.float32(out.shape[0] - 1) * count
        _between(colours, mean, place, width, out[i])


@kernel
def _colour(
    runs: Plane,
    colours: Plane,
    mean: Plane,
    table: Plane,
    soft: np.float32,
    shade: Plane,
    grain: Plane,
    top: int,
    out: Planes,
) -> None:
    """Turn runs into colours, from row `top` of `out` on; `runs` has one row and column more.

    A table serves where the slopes are as soft as the look has them; where that
    would be narrower than `FINEST` pixels, they are widened.
    """
    count = np.float32(colours.shape[0])
    steps = np.float32(table.shape[0] - 1)
    sharpest = soft / FINEST / count
    found = np.empty(3, np.float32)
    size = grain.shape[0]
    for r in range(runs.shape[0] - 1):
        grains = grain[(top + r) % size]
        for c in range(out.shape[2]):
            here = runs[r, c]
            right, below = runs[r, c + 1] - here, runs[r + 1, c] - here
            right -= np.floor(right + np.float32(0.5))  # a whole run is no change of colour
            below -= np.floor(below + np.float32(0.5))
            slope = np.sqrt(right * right + below * below)
            place = here - np.floor(here)
            if slope <= sharpest:
                at = place * steps
                first = int(at)
                part = at - np.float32(first)
                for plane in range(3):
                    a, b = table[first, plane], table[first + 1, plane]
                    found[plane] = a + part * (b - a)
            else:
                _between(colours, mean, place * count, FINEST * slope * count, found)
            light = shade[r, c] if shade.size > 0 else np.float32(1.0)
            speck = grains[c % size]
            for plane in range(3):
                value = found[plane] * light + speck
                value = value if value > np.float32(0.0) else np.float32(0.0)
                out[plane, top + r, c] = value if value < np.float32(1.0) else np.float32(1.0)


@dataclass(frozen=True, eq=False)
class _Laid:
    """A wave at one moment: start and steps in cycles (or lattice units), and its gradients."""

    size: np.float32
    start: tuple[float, float]
    across: tuple[float, float]
    down: tuple[float, float]
    nodes: NDArray[np.float32] | None

    @property
    def stride(self) -> int:
        """Pixels in `COARSEST` of the lattice."""
        return max(1, int(COARSEST / max(math.hypot(*self.across), 1e-6)))


def _lay_wave(wave: LookWave, geometry: Geometry, share: float) -> _Laid:
    """Return a wave's strength, phase and directions at a share (0..1) of the loop."""
    unit = 100 / wave.wavelength / geometry.height
    cos, sin = math.cos(math.radians(wave.angle)), math.sin(math.radians(wave.angle))
    wide = geometry.pixel_aspect
    size = np.float32(wave.amplitude / 100)
    phase = wave.cycles * share % 1.0
    if wave.kind == "sine":
        return _Laid(size, (-phase, 0.0), (unit * cos * wide, 0.0), (unit * sin, 0.0), None)
    along = unit / wave.stretch
    across = (along * cos * wide, -unit * sin * wide)
    down = (along * sin, unit * cos)
    width, height = geometry.width, geometry.height
    low = [min(0.0, across[k] * width) + min(0.0, down[k] * height) for k in (0, 1)]
    span = [abs(across[k] * width) + abs(down[k] * height) for k in (0, 1)]
    nodes = lattice((0.0, 0.0), (span[0] + 1.1, span[1] + 1.1), wave.seed, phase)
    start = [(across[k] + down[k]) / 2 - low[k] for k in (0, 1)]
    return _Laid(size, (start[0], start[1]), across, down, nodes)


def draw_background(
    background: Background, share: float = 0.0, *, threads: int | None = None
) -> Planes:
    """Draw a background at a moment of its loop.

    Parameters
    ----------
    background : Background
    share : float
        Part of the loop that has passed: frame n of N is n / N. 0 and 1 are the same.
    threads : int, optional
        Default: every core. The result does not depend on it.

    Returns
    -------
    (3, H, W) float32
        0..1, with a grain of one 8-bit code that hides the steps of its slopes.
    """
    look, geometry = background.look, background.geometry
    height, width = geometry.height, geometry.width
    waves = [_lay_wave(wave, geometry, share % 1.0) for wave in look.waves]
    drift = np.float32(look.drift * share % 1.0)
    colours = np.asarray(look.colours, np.float32)
    mean = colours.mean(axis=0)
    soft = np.float32(look.soft / 100)
    table = np.empty((STEPS + 1, 3), np.float32)
    _table(colours, mean, np.maximum(soft, np.float32(1e-6)), table)
    out = np.empty((3, height, width), np.float32)
    none = np.empty((0, 0), np.float32)

    def work(top: int, bottom: int) -> None:
        runs = background.runs[top : bottom + 1] - drift
        line = np.empty(width + 3, np.float32)
        for wave in waves:
            for r in range(runs.shape[0]):
                x = wave.start[0] + (top + r) * wave.down[0]
                y = wave.start[1] + (top + r) * wave.down[1]
                if wave.nodes is None:
                    cycles = np.float32(x % 1.0)
                    _add_sine(runs[r], cycles, np.float32(0), np.float32(wave.across[0]), wave.size)
                else:
                    _add_noise(
                        runs[r],
                        wave.nodes,
                        np.float32(x),
                        np.float32(y),
                        np.float32(wave.across[0]),
                        np.float32(wave.across[1]),
                        wave.size,
                        wave.stride,
                        line,
                    )
        shade = none if background.shade is None else background.shade[top:bottom]
        _colour(runs, colours, mean, table, soft, shade, _GRAIN, top, out)

    run_bands(height, width, work, threads=threads)
    return out
