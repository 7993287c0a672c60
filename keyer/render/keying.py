"""Keys that look at each pixel alone: the fast chroma key, luminance and linear keys."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from keyer.kinds.picture import Matrix, YccPicture
from keyer.kinds.settings import KeySettings
from keyer.pixel.colour.decode_ycc import chroma_steps
from keyer.pixel.compose.over import premultiply, unpremultiply
from keyer.pixel.kernels.scratch import give, take
from keyer.pixel.keys.clear import unclear_spans
from keyer.pixel.keys.fast import key_matte, take_subject
from keyer.pixel.keys.level_key import level_matte, luma_band
from keyer.render.between import ones
from keyer.render.evaluate import Ready
from keyer.render.graph import Box, Node, OfOne, Rows
from keyer.render.leaves import Source


@dataclass(frozen=True, eq=False)
class Key(OfOne):
    """The fast chroma key: matte, backing lifted off, spill taken out.

    Attributes
    ----------
    of : Node
        What is clear in it stays clear.
    settings : KeySettings
    matrix : {"bt601", "bt709"}
    """

    of: Node
    settings: KeySettings
    matrix: Matrix = "bt709"

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows of the keyed subject."""
        found = ready.rows(self.of, box)
        if found is None:
            return None
        fill = found.planes
        if found.alpha is not None:
            unpremultiply(fill, found.alpha)
        matte = take(1, box.rows, box.width)[0]
        key_matte(fill, self.settings, self.matrix, matte)
        take_subject(fill, matte, self.settings, self.matrix)
        if found.alpha is not None:
            premultiply(fill, found.alpha)
            premultiply(matte[np.newaxis], found.alpha)
            give(found.alpha)
        return Rows(fill, matte)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns on which the key may leave something, told from coded chroma."""
        picture = ready.of(self.of) if isinstance(self.of, Source) else None
        if not isinstance(picture, YccPicture) or picture.width != self.width:
            return self.of.seen(top, bottom, ready, faint)
        _, step = chroma_steps(picture)
        first, last = max(top // step - 1, 0), -(-bottom // step) + 1
        rows = unclear_spans(picture, self.settings, faint, first, last)
        some = rows[rows[:, 0] < rows[:, 1]]
        return (int(some[:, 0].min()), int(some[:, 1].max())) if some.size else (0, 0)


@dataclass(frozen=True, eq=False)
class Level(OfOne):
    """A luminance or linear key: a picture seen by how bright, or how opaque, another one is.

    Attributes
    ----------
    of : Node
        The fill.
    signal : Node
        The key source; may be the fill itself.
    channel : {"luma", "alpha"}
    clip_percent, gain : float
    invert : bool
    matrix : {"bt601", "bt709"}
        Of the key source.
    """

    of: Node
    signal: Node
    channel: Literal["luma", "alpha"] = "luma"
    clip_percent: float = 0.0
    gain: float = 1.0
    invert: bool = False
    matrix: Matrix = "bt709"

    def rows(self, box: Box, ready: Ready) -> Rows:
        """Key a part; the key takes the place of the fill's own opacity."""
        found = ready.drawn(self.of, box)
        fill = found.planes
        if found.alpha is not None:
            unpremultiply(fill, found.alpha)
            give(found.alpha)
        signal = ready.drawn(self.signal, box)
        if self.channel == "alpha":
            matte = ones(box) if signal.alpha is None else signal.alpha
        else:
            give(signal.alpha)  # what is clear does not shine
            matte = take(1, box.rows, box.width)[0]
            luma_band(signal.planes, self.matrix, matte)
        give(signal.planes)
        level_matte(matte, self.clip_percent, self.gain, invert=self.invert)
        premultiply(fill, matte)
        return Rows(fill, matte)
