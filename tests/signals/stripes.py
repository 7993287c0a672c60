"""Stripes of a known count on the fine cells of a 16:9 picture, 450 x 252: light, 1 is white.

A pair is a light and a dark stripe together (ITU-R BT.1702; flash.toml
[bt1702.pattern] and [bt1702.scope_of_pairs]). Each cell is the mean of nine places
in it. Pairs of straight stripes are counted from corner to corner.
"""

import math
from functools import lru_cache

import numpy as np

ROWS, COLUMNS = 252, 450
DIAGONAL = math.hypot(ROWS, COLUMNS)


_Y, _X = np.mgrid[:ROWS, :COLUMNS] + 0.5
_PARTS = [(down, across) for down in (-1 / 3, 0, 1 / 3) for across in (-1 / 3, 0, 1 / 3)]


def drawn(picture):
    """Cells of a picture: a function of x and y, in cells from the left and the top."""
    total = sum(picture(_X + across, _Y + down) for down, across in _PARTS)
    return (total / len(_PARTS)).astype(np.float32)


WAVES = {
    "square": lambda cycle: np.where(cycle % 1 < 0.5, 1.0, 0.0),
    "sine": lambda cycle: 0.5 + 0.5 * np.sin(2 * np.pi * cycle),
    "narrow": lambda cycle: np.where(cycle % 1 < 0.3, 1.0, 0.0),
    "broad": lambda cycle: np.where(cycle % 1 < 0.7, 1.0, 0.0),
    "triangle": lambda cycle: 1 - np.abs(2 * (cycle % 1) - 1),
}
"""Light along a cycle."""


def waved(cycles, wave, phase=0.0, low=0.0, high=1.0):
    """Cells of the light of a wave, of the cycles at nine places in each."""
    total = sum(WAVES[wave](cycle + np.float32(phase)) for cycle in cycles)
    return (low + (high - low) * total / len(cycles)).astype(np.float32)


@lru_cache(maxsize=16)
def _straight(pairs, angle):
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    reach = COLUMNS * abs(cos) + ROWS * abs(sin)
    first = min(COLUMNS * cos, 0) + min(ROWS * sin, 0)
    return _cycles(lambda x, y: (x * cos + y * sin - first) / reach * pairs)


@lru_cache(maxsize=16)
def _spokes(pairs, x, y):
    cx, cy = x * COLUMNS, y * ROWS
    return _cycles(lambda x, y: np.arctan2(y - cy, x - cx) / (2 * np.pi) * pairs)


@lru_cache(maxsize=16)
def _rings(pairs):
    return _cycles(lambda x, y: np.hypot(y - ROWS / 2, x - COLUMNS / 2) / DIAGONAL * pairs)


def _cycles(cycle):
    return [cycle(_X + across, _Y + down).astype(np.float32) for down, across in _PARTS]


def straight(pairs, angle=0.0, wave="square", *, phase=0.0, low=0.0, high=1.0):
    """So many pairs from corner to corner; 0 degrees are upright stripes."""
    return waved(_straight(pairs, angle), wave, phase, low, high)


def spokes(pairs, middle=(0.5, 0.5), wave="square", *, phase=0.0, low=0.0, high=1.0):
    """So many pairs in a full turn about a middle, in shares of the sides."""
    return waved(_spokes(pairs, *middle), wave, phase, low, high)


def rings(pairs, wave="square", *, phase=0.0, low=0.0, high=1.0):
    """So many pairs along the picture's diagonal, half of them on either side of the middle."""
    return waved(_rings(pairs), wave, phase, low, high)


def spiral(pairs, wave="square", *, phase=0.0):
    """One arm of light, crossed so many times along the picture's diagonal."""
    turns = _cycles(lambda x, y: np.arctan2(y - ROWS / 2, x - COLUMNS / 2) / (2 * np.pi))
    cycles = [ring + turn for ring, turn in zip(_rings(pairs), turns, strict=True)]
    return waved(cycles, wave, phase)


def wavy(pairs, wave="square", *, bend=0.06, waves=1.7, phase=0.0):
    """Upright stripes that wave by `bend` of the width; pairs across the width."""
    cycles = _cycles(
        lambda x, y: (x / COLUMNS + bend * np.sin(2 * np.pi * waves * y / ROWS)) * pairs
    )
    return waved(cycles, wave, phase)


def receding(pairs, wave="square", *, near=2.0):
    """Lying stripes in perspective: at the foot a pair is `near` times as high as at the top."""
    cycles = _cycles(lambda _, y: pairs * np.log1p((near - 1) * (1 - y / ROWS)) / np.log(near))
    return waved(cycles, wave)


def inset(picture, left, top, right, bottom, around=0.5):
    """A part of a picture, bounds in shares of the sides, before a plain ground."""
    rows = slice(round(top * ROWS), round(bottom * ROWS))
    columns = slice(round(left * COLUMNS), round(right * COLUMNS))
    whole = np.full((ROWS, COLUMNS), around, np.float32)
    whole[rows, columns] = picture[rows, columns]
    return whole


def checks(side):
    """Squares of so many cells, light and dark in turns."""
    return drawn(lambda x, y: (np.floor(x / side) + np.floor(y / side)) % 2)


def dots(pitch, radius=0.3, *, offset=0.0):
    """Light dots in rows, each row moved by a share of the pitch; the radius too is one."""

    def picture(x, y):
        row = np.floor(y / pitch)
        away = np.hypot((x / pitch + offset * row) % 1 - 0.5, y / pitch - row - 0.5)
        return away < radius

    return drawn(picture)


def bricks(width, height, joint=2.0):
    """Light bricks, each course moved by half a brick; dark joints."""

    def picture(x, y):
        course = np.floor(y / height)
        return ((x + course * width / 2) % width > joint) & (y % height > joint)

    return drawn(picture)


def within(picture, share, around=0.5):
    """So large a share of a picture in its middle, before a plain ground."""
    side = math.sqrt(share) / 2
    return inset(picture, 0.5 - side, 0.5 - side, 0.5 + side, 0.5 + side, around)
