"""What the tests of patterns and wipes share."""

import math
from functools import cache

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from keyer.kinds.field import Field, Geometry, Modifiers, Modulation, Pattern
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.pixel.wipes.blocks import BLOCK, INSIDE, OUTSIDE, Blocks
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.noise import lattice, noise_line
from keyer.pixel.wipes.wipe import weigh_band, wipe_state

Plane = NDArray[np.float32]

SMALL = Geometry(96, 54)
"""Neither its middle nor any cell border falls on the centre of a pixel."""

WIPES = tuple(pattern for pattern in load_patterns() if pattern.effect == "wipe")
NAMES = tuple(pattern.name for pattern in WIPES)

ACROSS = {
    "left": "right",
    "right": "left",
    "clockwise": "counterclockwise",
    "counterclockwise": "clockwise",
}
DOWN = {
    "top": "bottom",
    "bottom": "top",
    "up": "down",
    "down": "up",
    "clockwise": "counterclockwise",
    "counterclockwise": "clockwise",
}
SWAPPED = {
    "left": "top",
    "top": "left",
    "right": "bottom",
    "bottom": "right",
    "up": "left",
    "down": "right",
    "horizontal": "vertical",
    "vertical": "horizontal",
    "clockwise": "counterclockwise",
    "counterclockwise": "clockwise",
}
"""Directions in the names of patterns, mirrored across, mirrored down, rows for columns."""


def find(name: str) -> Pattern:
    """A pattern of the library."""
    return load_patterns().find(name)


@cache
def plain(name: str, width: int = SMALL.width, height: int = SMALL.height) -> Field:
    """A pattern's field without modifiers, held."""
    return build(find(name), Geometry(width, height))


def spread(blocks: Blocks, shape: tuple[int, ...]) -> Plane:
    """Lay the samples near a boundary out as a field, with infinities on both sides of them."""
    out = np.empty([-(-size // BLOCK) * BLOCK for size in shape], np.float32)
    for (i, j), n in np.ndenumerate(blocks.number):
        here = out[i * BLOCK : (i + 1) * BLOCK, j * BLOCK : (j + 1) * BLOCK]
        if n >= 0:
            here[:] = blocks.samples[n, :BLOCK, :BLOCK]
        else:
            here.fill({INSIDE: -np.inf, OUTSIDE: np.inf}[int(n)])
    return out[: shape[0], : shape[1]]


def weights(
    field: Field, progress: float, edge: Edge | None = None, seconds: float = 0.0
) -> tuple[Plane, Plane]:
    """Weights of A and B over the whole picture."""
    height, width = field.geometry.height, field.geometry.width
    of_a, of_b = np.empty((2, height, width), np.float32)
    weigh_band(wipe_state(field, edge or Edge(), progress, seconds), 0, of_a, of_b)
    return of_a, of_b


def share(field: Field, progress: float, edge: Edge | None = None) -> float:
    """Share of the picture that shows B."""
    return float(weights(field, progress, edge)[1].mean(dtype=np.float64))


def percents(most: float) -> st.SearchStrategy[float]:
    """A width in percent of picture height."""
    return st.floats(0, most, width=32)


edges = st.builds(Edge, percents(40), percents(30), percents(30))

modulations = st.builds(
    Modulation,
    st.sampled_from(["sine", "triangle", "square", "saw", "noise"]),
    percents(20),
    st.floats(5, 100, width=32),
    st.floats(-1, 1, width=32),
    st.floats(-2, 2, width=32),
    st.integers(0, 1000),
)

modifiers = st.builds(
    Modifiers,
    reverse=st.booleans(),
    position=st.tuples(st.floats(-20, 120, width=32), st.floats(-20, 120, width=32)),
    aspect=st.floats(0.25, 4, width=32),
    rotation=st.floats(-360, 360, width=32),
    repeat=st.tuples(st.integers(1, 4), st.integers(1, 4)),
    mirror=st.booleans(),
    modulation=st.none() | modulations,
)


def noise_plane(
    height: int, width: int, *, origin: tuple[float, float], step: tuple[float, float], seed: int
) -> Plane:
    """Noise over a raster: x and y of its first sample, and the steps, in units of the lattice."""
    nodes = lattice(origin, (width * step[0], height * step[1]), seed, 0.0)
    x, y = (np.float32(place - math.floor(place)) for place in origin)
    out = np.empty((height, width), np.float32)
    for row in range(height):
        noise_line(
            nodes,
            x,
            y + np.float32(row * step[1]),
            np.float32(step[0]),
            np.float32(0),
            out[row],
        )
    return out
