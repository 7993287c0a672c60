"""The fine key as a node: worked out as a whole, alike from frame to frame."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Rgb
from keyer.measure.plate import backing_surface
from keyer.pixel.compose.over import premultiply, unpremultiply
from keyer.pixel.keys.backing import clean_plate
from keyer.pixel.keys.fast import clip_and_gain
from keyer.pixel.keys.fine import FineKey, FineModel, fine_key
from keyer.pixel.keys.solid import dense_made_full
from keyer.render.evaluate import Ready, Whole
from keyer.render.graph import Box, Node, Rows

FINE_SETTLED = (0.04, 0.06)
"""Fine matte below and short of full which counts as clear and as solid: the grain of the backing
beside the subject and the spill at its rim, which no pixel tells from a thin edge (ours, from
trials)."""


def colour_of(node: Node, ready: Ready) -> Planes:
    """Work out a picture's straight colour as a whole, for the asker to change."""
    found = ready.whole(node)
    planes = found.planes.copy() if ready.holds(found) else found.planes
    if found.alpha is not None:
        unpremultiply(planes, found.alpha)
    return planes


def settled(matte: NDArray[np.float32], clear: float, solid: float) -> NDArray[np.float32]:
    """Let the ends of a matte settle at 0 and 1, and leave its middle as it is.

    Parameters
    ----------
    matte : (H, W) float32
    clear : float
        Up to here it becomes clear; from twice that on it stays.
    solid : float
        This far short of 1 it becomes solid.

    Returns
    -------
    (H, W) float32
        A new matte; the shoulders are straight lines of slope 2.
    """
    low = 2 * (matte - np.float32(clear))
    np.clip(low, 0, matte, out=low)
    high = 2 * (matte + np.float32(solid)) - 1
    np.minimum(high, 1, out=high)
    return np.asarray(np.maximum(low, high, out=low), np.float32)


class WholeNode(Node):
    """What is worked out as a whole from one picture, and has its size."""

    of: Node
    whole = True

    @property
    def width(self) -> int:  # type: ignore[override]  # the picture's
        """Columns."""
        return self.of.width

    @property
    def height(self) -> int:  # type: ignore[override]
        """Rows."""
        return self.of.height

    def rows(self, box: Box, ready: Ready) -> Rows:
        """Copy a part out."""
        found: Whole = ready.of(self)
        return found.part(box)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """Columns that are not clear."""
        found: Whole = ready.of(self)
        return found.seen(top, bottom)


@dataclass(frozen=True, eq=False)
class Plate(WholeNode):
    """A plate keyed finely with nothing but itself to go by; its rows are not asked for.

    Attributes
    ----------
    of : Node
    clean : Node or None
        The empty backing.
    backing : tuple of three floats
        Its colour, as surveyed.
    noise : float
        Of the backing, standard deviation.
    hue_deg, spill_percent : float
    matrix : {"bt601", "bt709"}
    """

    of: Node
    clean: Node | None
    backing: Rgb
    noise: float
    hue_deg: float
    spill_percent: float
    matrix: Matrix = "bt709"

    def pictures(self, ready: Ready) -> tuple[Planes, Planes]:
        """Work out the picture and its backing at every pixel."""
        planes = colour_of(self.of, ready)
        if self.clean is not None:
            clean = colour_of(self.clean, ready)
            return planes, clean_plate(clean, self.height, self.width)
        return planes, backing_surface(planes, self.backing, self.matrix).planes

    def found(self, ready: Ready, model: FineModel | None) -> FineKey:
        """Key it, by what another plate was found to be like."""
        planes, behind = self.pictures(ready)
        return fine_key(
            planes,
            behind,
            self.hue_deg,
            self.noise,
            self.matrix,
            spill_percent=self.spill_percent,
            model=model,
        )

    def prepare(self, ready: Ready) -> FineKey:
        """Key it by itself."""
        return self.found(ready, None)


@dataclass(frozen=True, eq=False)
class Fine(WholeNode):
    """The fine chroma key.

    What the first plate of an overlay was found to be like holds for all of them.

    Attributes
    ----------
    plate, first : Plate
    clip_percent, gain : float
        Applied to the matte: (matte - clip) / (1 - clip) x gain. So what is
        solid stays so, as a fine key's gain is 1 at least.
    """

    plate: Plate
    first: Plate
    clip_percent: float = 0.0
    gain: float = 1.0

    @property
    def of(self) -> Node:  # type: ignore[override]
        """The plate's picture."""
        return self.plate.of

    @property
    def inputs(self) -> tuple[Node, ...]:
        """The first plate, worked out; the pictures of the other."""
        return (self.first, *self.plate.inputs)

    def prepare(self, ready: Ready) -> Whole:
        """Key the plate."""
        found: FineKey = ready.of(self.first)
        if self.plate.signature != self.first.signature:
            found = self.plate.found(ready, found.model)
        dense = dense_made_full(found.matte)
        matte, fill = settled(dense, *FINE_SETTLED), found.fill.copy()
        clip_and_gain(matte, self.clip_percent, self.gain / (1 - self.clip_percent / 100))
        unpremultiply(fill, found.matte)
        premultiply(fill, matte)
        return Whole(fill, matte)
