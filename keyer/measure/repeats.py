"""Elements that repeat at even distances: rows of dots, squares or lines, of any orientation.

ITU-R BT.1702 (from memory) says of harmful stripes that they may be formed by
rows of repetitive elements. Such rows need not run together into lines, so they
are known by their correlation instead: a part of the picture that looks the same
once it is moved by a step, the same again after a second step, and quite another
half a step away, repeats at that step.

The parts are square and overlap by half. All limits are ours, from trials with
drawn patterns, noise and photographs (`docs/checking.md`).
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Plane
from keyer.measure.cells import WHOLE, Place, place_of
from keyer.measure.stripe_lines import DIFFERENCE, LIGHT_STRIPE
from keyer.measure.stripes import COUNTED, MOST_PAIRS, detailed, reduced

SIDE = 48
"""Cells to the side of a part; steps of up to a quarter of it are found."""

_ALIKE, _AGAIN, _BETWEEN = 0.7, 0.6, 0.6
"""Least correlation after a step and after two, and how far it must fall between."""

_NEAR = 0.1
"""How much less alike than the best step a shorter one may be that is taken instead."""

_LOCAL = 0.3
"""Mean square difference after a step, over that after half of one, up to which a place repeats."""

_SLIM = 5.0
"""Percent of a part that its light elements cover at least, and its dark ones."""

_LEAST_SPREAD = DIFFERENCE * 0.2
"""Standard deviation of light below which no part can have such elements that differ enough."""


class Repeats(NamedTuple):
    """Elements that repeat in a picture: how many pairs, over what area, and where.

    `pairs` is how often the step fits the longer side of where it does, `area`
    its share of the picture.
    """

    pairs: float
    area: float
    place: Place


NO_REPEATS = Repeats(0.0, 0.0, WHOLE)


def _starts(length: int, side: int) -> NDArray[np.intp]:
    """Where the parts begin along a side: by half a part, the last flush with the end."""
    count = max(1, -(-(length - side) // (side // 2)) + 1)
    return np.round(np.linspace(0, max(0, length - side), count)).astype(np.intp)


class _Steps(NamedTuple):
    """Steps that are tried in a part: flat indices of its correlation, lengths, and moves."""

    whole: NDArray[np.intp]
    twice: NDArray[np.intp]
    half: tuple[NDArray[np.intp], NDArray[np.intp]]
    length: Plane
    moves: NDArray[np.intp]


@lru_cache(maxsize=8)
def _steps(rows: int, columns: int) -> _Steps:
    """All steps of half a turn, two cells long at least and a quarter of the part at most."""
    reach_y, reach_x = rows // 4, columns // 4
    y, x = np.mgrid[0 : reach_y + 1, -reach_x : reach_x + 1]
    use = ((y > 0) | (x > 0)) & (np.maximum(y, abs(x)) >= 2)
    y, x = y[use], x[use]

    def flat(down: NDArray[np.intp], across: NDArray[np.intp]) -> NDArray[np.intp]:
        return (down % rows) * columns + across % columns

    halves = flat(y // 2, x // 2), flat((y + 1) // 2, (x + 1) // 2)
    length = np.hypot(y, x).astype(np.float32)
    return _Steps(flat(y, x), flat(2 * y, 2 * x), halves, length, np.stack([y, x], 1))


@lru_cache(maxsize=8)
def _window(rows: int, columns: int) -> tuple[Plane, Plane]:
    """Hann's window, and its own correlation, by which that of a part is divided."""
    window = np.outer(np.hanning(rows + 1)[:-1], np.hanning(columns + 1)[:-1]).astype(np.float32)
    return window, _correlated(window[np.newaxis])[0]


def _correlated(parts: Plane) -> Plane:
    """Correlation of each part with itself at every step, by way of its spectrum."""
    spectrum = np.fft.rfft2(parts)
    power = spectrum.real**2 + spectrum.imag**2
    return np.asarray(np.fft.irfft2(power, parts.shape[1:]), np.float32)


def _repeating(parts: Plane) -> NDArray[np.intp]:
    """Step at which each of the parts repeats: rows down and columns across, 0 and 0 for none."""
    count, rows, columns = parts.shape
    window, own = _window(rows, columns)
    level = (parts * window).sum((1, 2), keepdims=True) / window.sum()
    correlation = (_correlated((parts - level) * window) / own).reshape(count, -1)
    correlation /= np.maximum(correlation[:, :1], 1e-12)
    steps = _steps(rows, columns)
    once = correlation[:, steps.whole]
    between = np.minimum(*(correlation[:, half] for half in steps.half))
    good = (once >= _ALIKE) & (correlation[:, steps.twice] >= _AGAIN)
    alike = np.where(good & (once - between >= _BETWEEN), once, np.float32(0))
    near = (alike > 0) & (alike >= alike.max(axis=1, keepdims=True) - _NEAR)
    length = np.where(near, steps.length, np.float32(np.inf))
    shortest = length.argmin(axis=1)
    return np.where(np.isfinite(length.min(axis=1, keepdims=True)), steps.moves[shortest], 0)


def _difference(part: Plane, move: NDArray[np.intp]) -> float:
    """Difference of light half a step away, as the slimmest elements that count have it."""
    down, across = int(move[0]), int(move[1])
    rows, columns = part.shape
    first = part[: rows - down, max(0, -across) : columns - max(0, across)]
    second = part[down:, max(0, across) : columns - max(0, -across)]
    return float(np.percentile(np.abs(first - second), 100 - 2 * _SLIM))


def steps_of(parts: Plane) -> NDArray[np.intp]:
    """Find at which step each of some parts of a picture repeats.

    Parameters
    ----------
    parts : (n, rows, columns) float32
        Light on a screen, 1 is white.

    Returns
    -------
    (n, 2) int
        Cells down and across; 0 and 0 where a part does not repeat, or where
        its elements are darker than `LIGHT_STRIPE` or differ by less than
        `DIFFERENCE`.
    """
    found = np.zeros((len(parts), 2), np.intp)
    flat = parts.reshape(len(parts), -1)
    worth = np.flatnonzero((flat.std(axis=1) >= _LEAST_SPREAD) & (flat.max(axis=1) >= LIGHT_STRIPE))
    if worth.size == 0:
        return found
    step = _repeating(parts[worth])
    some = step.any(axis=1)
    for index, move in zip(worth[some], step[some], strict=True):
        light = float(np.percentile(flat[index], 100 - _SLIM))
        if light >= LIGHT_STRIPE and _difference(parts[index], move // 2) >= DIFFERENCE:
            found[index] = move
    return found


def _places(plane: Plane, step: NDArray[np.intp]) -> NDArray[np.uint8]:
    """Where a plane is the same after a step, one way or the other, and another half way."""
    side = max(3, round(float(np.hypot(*step))))
    places = np.zeros(plane.shape, np.uint8)
    for sign in (-1, 1):
        once, between = (
            cv2.blur((plane - np.roll(plane, move, (0, 1))) ** 2, (side, side))
            for move in (sign * step, sign * step // 2)
        )
        places |= (once <= _LOCAL * between) & (between >= 2 * _LEAST_SPREAD**2)
    return cv2.dilate(places, np.ones((side // 2 | 1,) * 2, np.uint8)).astype(np.uint8)


def _repeats_in(plane: Plane, side: int) -> Repeats:
    """Find what repeats in parts of a plane, and where in each of them."""
    height, width = (min(side, length) for length in plane.shape)
    corners = [
        (y, x) for y in _starts(plane.shape[0], height) for x in _starts(plane.shape[1], width)
    ]
    step = steps_of(np.stack([plane[y : y + height, x : x + width] for y, x in corners]))
    some = np.flatnonzero(step.any(axis=1))
    where = np.zeros(plane.shape, np.uint8)
    for index in some:
        y, x = corners[index]
        here = slice(y, y + height), slice(x, x + width)
        where[here] |= _places(plane[here], step[index])
    return _counted(where, np.hypot(*step[some].T))


def _counted(where: NDArray[np.uint8], steps: NDArray[np.floating]) -> Repeats:
    """Count how often a step fits the longer side of what repeats."""
    if not where.any():
        return NO_REPEATS
    y, x = np.nonzero(where)
    long = max(np.ptp(y), np.ptp(x)) + 1
    rows, columns = where.shape
    place = place_of(
        x.min() / columns, y.min() / rows, (x.max() + 1) / columns, (y.max() + 1) / rows
    )
    return Repeats(float(long / np.median(steps)), float(where.mean()), place)


def find_repeats(light: Plane) -> Repeats:
    """Find the elements that repeat in a picture at regular steps: squares, dots, bricks.

    Parameters
    ----------
    light : (rows, columns) float32
        Light of the fine cells on a screen, 1 is white.

    Returns
    -------
    Repeats
        The largest of what is found on the cells and on copies of half and a
        quarter of their number each way; area 0 where there is nothing.
    """
    found = NO_REPEATS
    if min(light.shape) < SIDE:
        return found
    half = reduced(light)
    quarter = reduced(half)
    looks = [(half, SIDE), (quarter, SIDE), (quarter, max(quarter.shape))]
    if detailed(light, half):
        looks.insert(0, (light, SIDE))
    for plane, side in looks:
        here = _repeats_in(plane, side)
        if here.pairs <= MOST_PAIRS + COUNTED or here.area <= found.area:
            continue
        # steps are the more exact the finer the plane
        much = here.area > 1.1 * found.area
        found = here if much else found._replace(area=here.area)
    return found
