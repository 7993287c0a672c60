"""Where graphs begin: pictures from files, drawn ones and lettering; plain colours; nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from keyer.kinds.picture import Matrix, Picture, YccPicture
from keyer.kinds.settings import Rgb
from keyer.pixel.colour.decode_ycc import chroma_steps
from keyer.pixel.colour.load import load_alpha_box, load_box
from keyer.pixel.colour.transfer import decode_signal
from keyer.pixel.compose.over import premultiply
from keyer.pixel.kernels.scratch import give, take
from keyer.render.evaluate import Ready
from keyer.render.graph import Box, Node, Rows

if TYPE_CHECKING:
    from keyer.titles.layers import Drawn


@dataclass(frozen=True, eq=False)
class Source(Node):
    """A picture from elsewhere: a file's frame, a drawing, an array.

    Attributes
    ----------
    name : tuple
        What tells it from all other pictures: a file's identity and frame, or
        all that a drawing rests on.
    width, height : int
    fetch : callable
        Brings the picture, at the depth in which it is stored.
    opaque : bool
    matrix : {"bt601", "bt709"}
    """

    name: tuple[object, ...]
    width: int
    height: int
    fetch: Callable[[], Picture] = field(compare=False)
    opaque: bool = False
    matrix: Matrix = "bt709"

    whole = True

    def prepare(self, ready: Ready) -> Picture:  # noqa: ARG002  it has no inputs
        """Read the picture from its source."""
        return self.fetch()

    def rows(self, box: Box, ready: Ready) -> Rows:
        """Return rows of the picture."""
        return _loaded(ready.of(self), box)


@dataclass(frozen=True, eq=False)
class Lettering(Node):
    """A title: a picture that touches a part of the raster.

    Attributes
    ----------
    name : tuple
        What tells it from all other pictures.
    width, height : int
        Of the raster.
    fetch : callable
        Draws it.
    matrix : {"bt601", "bt709"}
    """

    name: tuple[object, ...]
    width: int
    height: int
    fetch: Callable[[], Drawn] = field(compare=False)
    matrix: Matrix = "bt709"

    whole = True

    def prepare(self, ready: Ready) -> Drawn:  # noqa: ARG002  it has no inputs
        """Draw it."""
        return self.fetch()

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Load a part of it, clear all round."""
        drawn: Drawn = ready.of(self)
        x, y, picture = drawn.left, drawn.top, drawn.picture
        part = Box(
            max(box.left, x), max(box.top, y),
            min(box.right, x + picture.width), min(box.bottom, y + picture.height),
        )  # fmt: skip
        if part.left >= part.right or part.top >= part.bottom:
            return None
        found = _loaded(picture, Box(part.left - x, part.top - y, part.right - x, part.bottom - y))
        if part == box:
            return found
        planes, alpha = take(3, box.rows, box.width), take(1, box.rows, box.width)[0]
        planes.fill(0)
        alpha.fill(0)
        rows = slice(part.top - box.top, part.bottom - box.top)
        columns = slice(part.left - box.left, part.right - box.left)
        planes[:, rows, columns] = found.planes
        alpha[rows, columns] = 1 if found.alpha is None else found.alpha
        give(found.planes)
        give(found.alpha)
        return Rows(planes, alpha)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """Columns that it touches."""
        drawn: Drawn = ready.of(self)
        there = top < drawn.top + drawn.picture.height and drawn.top < bottom
        return (drawn.left, drawn.left + drawn.picture.width) if there else (0, 0)


def _loaded(picture: Picture, box: Box) -> Rows:
    """Load a part of a picture; its colour premultiplied."""
    planes = take(3, box.rows, box.width)
    if isinstance(picture, YccPicture) and box.left % chroma_steps(picture)[0]:
        msg = "a part of a picture begins where a chroma sample sits"
        raise AssertionError(msg)
    load_box(picture, box, planes)
    if picture.alpha is None:
        return Rows(planes, None)
    alpha = take(1, box.rows, box.width)[0]
    load_alpha_box(picture, box, alpha)
    premultiply(planes, alpha)
    return Rows(planes, alpha)


@dataclass(frozen=True, eq=False)
class Colour(Node):
    """A colour all over.

    Attributes
    ----------
    rgb : tuple of three floats
    width, height : int
    """

    rgb: Rgb
    width: int
    height: int

    opaque = True

    def rows(self, box: Box, ready: Ready) -> Rows:  # noqa: ARG002
        """Return rows of the colour."""
        planes = take(3, box.rows, box.width)
        planes[:] = np.asarray(self.rgb, np.float32)[:, np.newaxis, np.newaxis]
        return Rows(planes, None)

    def lit(self) -> Colour:
        """Take its light instead of its signal."""
        red, green, blue = decode_signal(np.asarray(self.rgb)).tolist()
        return Colour((red, green, blue), self.width, self.height)


@dataclass(frozen=True, eq=False)
class Clear(Node):
    """A picture with nothing in it: clear everywhere."""

    width: int
    height: int

    def rows(self, box: Box, ready: Ready) -> None:  # noqa: ARG002
        """Return None: nothing is there."""
        return

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """Columns that are not clear: none."""
        return 0, 0


def given(picture: Picture) -> Source:
    """Make a node of a picture in memory."""
    return Source(
        ("memory", id(picture)),
        picture.width,
        picture.height,
        lambda: picture,
        opaque=picture.alpha is None,
        matrix=picture.matrix,
    )
