"""Displace the edge of a wipe by a wave along it, or by smooth noise.

The displaced field is field - swing (wave + 2 p - 1): at progress p = 0 the
edge is held back by the whole amplitude, at 1 it is ahead by it, so that the
wave comes in from nothing and leaves none of A behind.
"""

from __future__ import annotations

import math

import numpy as np

from keyer.kinds.arrays import Plane
from keyer.kinds.field import Field, Modulation
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.kernels.jit import kernel
from keyer.pixel.wipes.blocks import BLOCK, OUTSIDE, SIDE, Blocks, Index, Samples, number_blocks
from keyer.pixel.wipes.noise import lattice, noise_line

SINE, TRIANGLE, SQUARE, SAW, NOISE = range(5)
_KINDS = {"sine": SINE, "triangle": TRIANGLE, "square": SQUARE, "saw": SAW, "noise": NOISE}

FLANK = np.float32(0.06)
"""Share of a square wave's or saw's length in which it rises or falls back."""

ROUNDING = 1e-5
"""Far more than a displaced value can stray by from its bounds when it is rounded."""

TABLE = 1024


def wave_table(kind: str) -> Plane:
    """Return one wave as a table of values, -1..1.

    Parameters
    ----------
    kind : {"sine", "triangle", "square", "saw"}

    Returns
    -------
    (1026,) float32
        From cycle 0 to 1, and one more sample.
    """
    cycle = np.arange(TABLE + 2) / TABLE % 1.0
    triangle = 1 - 4 * np.abs((cycle + 0.25) % 1.0 - 0.5)
    if kind == "sine":
        wave = np.sin(2 * math.pi * cycle)
    elif kind == "triangle":
        wave = triangle
    elif kind == "square":
        wave = np.clip(triangle / (2 * FLANK), -1, 1)
    else:
        centred = (cycle + 0.5) % 1.0 - 0.5
        falling = (0.5 - np.abs(centred)) * np.sign(centred) / (FLANK / 2)
        rising = centred / (0.5 - FLANK / 2)
        wave = np.where(np.abs(centred) > 0.5 - FLANK / 2, falling, rising)
    return np.asarray(wave, np.float32)


_TABLES = {kind: wave_table(kind) for kind in _KINDS if kind != "noise"}
_NO_TABLE = np.zeros(0, np.float32)
_NO_NODES = np.zeros((2, 2, 2), np.float32)


@kernel
def _wave_row(along: Plane, scale: np.float32, phase: np.float32, table: Plane, out: Plane) -> None:
    for i in range(along.size):
        cycle = along[i] * scale + phase
        place = (cycle - np.floor(cycle)) * np.float32(TABLE)
        number = int(place)
        part = place - np.float32(number)
        out[i] = table[number] + part * (table[number + 1] - table[number])


@kernel
def _displace(
    values: Plane,
    along: Plane,
    swing: Plane,
    places: Index,
    across: int,
    numbers: Plane,
    table: Plane,
    nodes: Plane,
    begin: int,
    end: int,
    samples: Samples,
) -> None:
    """Displace some of the blocks.

    `numbers` are the progress, the sign of the wave, waves per picture height,
    the phase, and for noise (where `table` is empty) the first sample's place
    and the steps across and down. All tables are float32, so that one call
    serves every wave.
    """
    level, sign, scale, phase = numbers[0], numbers[1], numbers[2], numbers[3]
    rows, columns = values.shape
    lead = np.float32(2.0) * level - np.float32(1.0)
    wave = np.empty(SIDE, np.float32)
    for n in range(begin, end):
        top, left = places[n] // across * BLOCK, places[n] % across * BLOCK
        size = min(SIDE, columns - left)
        for r in range(SIDE):
            row = min(top + r, rows - 1)
            if table.size == 0:
                x = numbers[4] + np.float32(left) * numbers[6]
                y = numbers[5] + np.float32(row) * numbers[7]
                noise_line(nodes, x, y, numbers[6], np.float32(0.0), wave)
            else:
                _wave_row(along[row, left : left + size], scale, phase, table, wave)
            for c in range(SIDE):
                k = min(c, size - 1)
                value, change = values[row, left + k], swing[row, left + k]
                samples[n, r, c] = value - change * (sign * wave[k] + lead)


@kernel
def _join(number: Index, places: Index, samples: Samples) -> None:
    """Let neighbours have the same samples where they share them, to the last bit."""
    down, across = number.shape
    for n in range(places.size):
        i, j = places[n] // across, places[n] % across
        right = number[i, j + 1] if j + 1 < across else OUTSIDE
        below = number[i + 1, j] if i + 1 < down else OUTSIDE
        beyond = number[i + 1, j + 1] if j + 1 < across and i + 1 < down else OUTSIDE
        for k in range(BLOCK):
            if right >= 0:
                samples[n, k, BLOCK] = samples[right, k, 0]
            if below >= 0:
                samples[n, BLOCK, k] = samples[below, 0, k]
        if beyond >= 0:
            samples[n, BLOCK, BLOCK] = samples[beyond, 0, 0]


@kernel
def _block_most(swing: Plane, out: Plane) -> None:
    for i in range(out.shape[0]):
        for j in range(out.shape[1]):
            most = np.float32(0.0)
            for r in range(i * BLOCK, min(i * BLOCK + BLOCK + 1, swing.shape[0])):
                for c in range(j * BLOCK, min(j * BLOCK + BLOCK + 1, swing.shape[1])):
                    most = swing[r, c] if swing[r, c] > most else most
            out[i, j] = most


def block_most(swing: Plane) -> Plane:
    """Greatest swing of each block, as `keyer.pixel.wipes.blocks` has blocks."""
    out = np.empty((-(-swing.shape[0] // BLOCK), -(-swing.shape[1] // BLOCK)), np.float32)
    _block_most(swing, out)
    return out


def _numbered(field: Field, most: Plane, level: float) -> tuple[Index, Index]:
    """Give numbers to the blocks in which the displaced edge may lie."""
    lead = 2.0 * level - 1.0
    low = field.low - most * (1.0 + lead) - ROUNDING
    high = field.high + most * (1.0 - lead) + ROUNDING
    return number_blocks(low.astype(np.float32), high.astype(np.float32), level)


def displaced(field: Field, wave: Modulation, level: float, seconds: float) -> Blocks:
    """Displace a field's edge, and copy the blocks together where it may lie.

    Parameters
    ----------
    field : Field
        Built with a modulation.
    wave : Modulation
    level : float
        Progress.
    seconds : float
        Time, for a wave that moves.
    """
    if field.along is None or field.swing is None or field.most is None:
        msg = "the field was built without a modulation"
        raise ValueError(msg)
    values, along, swing, most = field.values, field.along, field.swing, field.most
    phase = wave.phase + wave.speed * seconds
    waves = 100 / wave.wavelength
    step_y = waves / field.geometry.height
    step_x = step_y * field.geometry.pixel_aspect
    origin = (0.5 - field.margin_x) * step_x, (0.5 - field.margin_y) * step_y
    table, nodes = _NO_TABLE, _NO_NODES
    if wave.wave == "noise":
        spans = values.shape[1] * step_x, values.shape[0] * step_y
        nodes = lattice(origin, spans, wave.seed, phase)
    else:
        table = _TABLES[wave.wave]
    sign = -1.0 if field.modifiers.reverse else 1.0
    first = [place - math.floor(place) for place in origin]
    numbers = np.asarray([level, sign, waves, phase % 1.0, *first, step_x, step_y], np.float32)
    number, places = _numbered(field, most, level)
    samples = np.empty((places.size, SIDE, SIDE), np.float32)
    settled = values, along, swing, places, number.shape[1], numbers, table, nodes

    def work(begin: int, end: int) -> None:
        _displace(*settled, begin, end, samples)

    run_bands(places.size, SIDE * SIDE, work)
    _join(number, places, samples)
    return Blocks(number, places, samples)
