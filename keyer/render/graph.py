"""What pictures are made of: nodes, each with its inputs and its signature.

A node says what it does and computes nothing until it is asked. It answers with
rows of premultiplied R'G'B' and their alpha; `keyer.render.evaluate` asks.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cached_property, lru_cache
from hashlib import blake2b
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Planes

if TYPE_CHECKING:
    from keyer.render.evaluate import Ready

Alpha = NDArray[np.float32]

_BYTES = 16
"""Of a signature: 128 bits, so that no two of a lifetime's frames meet by chance."""


class Box(NamedTuple):
    """A part of a picture: columns `left` to `right` and rows `top` to `bottom`, ends excluded."""

    left: int
    top: int
    right: int
    bottom: int

    @property
    def width(self) -> int:
        """Columns."""
        return self.right - self.left

    @property
    def rows(self) -> int:
        """Rows."""
        return self.bottom - self.top


class Rows(NamedTuple):
    """What a node answers with; from `keyer.pixel.kernels.scratch.take`, and the asker's to change.

    Attributes
    ----------
    planes : (3, rows, columns) float32, C-contiguous
        Premultiplied R'G'B'.
    alpha : (rows, columns) float32, or None
        None: opaque.
    """

    planes: Planes
    alpha: Alpha | None


class Node:
    """A step from pictures to a picture. Its fields are all that it rests on.

    Attributes
    ----------
    width, height : int
        Of its picture.
    opaque : bool
        Whether it is so everywhere for certain.
    whole : bool
        Whether its rows come from what it has prepared, and from nothing else.
    shared : bool
        Whether its bands share what it prepares.
    wide : bool
        Whether it can only be asked for rows from side to side.
    """

    width: int
    height: int
    opaque: bool = False
    whole: bool = False
    shared: bool = False
    wide: bool = False

    @property
    def inputs(self) -> tuple[Node, ...]:
        """The nodes that it is made of."""
        return tuple(part for part in vars(self).values() if isinstance(part, Node))

    @cached_property
    def signature(self) -> bytes:
        """Digest of what it does and of its inputs': equal ones give bit-equal pictures."""
        return signed(self)

    def prepare(self, ready: Ready) -> object | None:  # noqa: ARG002  most have nothing to
        """Work out what all bands share, once a signature; its inputs are prepared already."""
        return None

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Answer with a part of the picture; None where it is clear all over."""
        raise NotImplementedError

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """Columns outside of which some rows are clear; equal where all of them are.

        `faint` is the alpha up to which a key may count as clear.
        """
        return 0, self.width


class OfOne(Node):
    """A step from one picture to another of its size."""

    of: Node

    @property
    def width(self) -> int:  # type: ignore[override]
        """Columns."""
        return self.of.width

    @property
    def height(self) -> int:  # type: ignore[override]
        """Rows."""
        return self.of.height


def signed(node: Node) -> bytes:
    """Digest a node: its kind and all its fields that are compared.

    Parameters
    ----------
    node : Node
        A dataclass.
    """
    digest = blake2b(type(node).__name__.encode(), digest_size=_BYTES)
    for part in fields(node):  # type: ignore[arg-type]  # all nodes are dataclasses
        if part.compare:
            digest.update(b"|" + _told(getattr(node, part.name)))
    return digest.digest()


def _told(value: Any) -> bytes:
    """Write a field's value as bytes that no other value has, for the signature."""
    match value:
        case Node():
            told = value.signature
        case Layer():
            told = value.node.signature
        case tuple():
            told = b"(" + b",".join(_told(one) for one in value) + b")"
        case np.ndarray():
            whole = repr((value.dtype.str, value.shape)).encode() + value.tobytes()
            told = blake2b(whole, digest_size=_BYTES).digest()
        case Mapping():
            told = _told(tuple(sorted((str(key), _told(one)) for key, one in value.items())))
        case _ if is_dataclass(value):
            told = _setting(value) if isinstance(value, Hashable) else _parts(value)
        case _:
            told = repr(value).encode()
    return told


@lru_cache(maxsize=512)
def _setting(value: Any) -> bytes:
    """As `_parts`, remembered: settings are few, and stay from frame to frame."""
    return _parts(value)


def _parts(value: Any) -> bytes:
    told = b",".join(_told(getattr(value, part.name)) for part in fields(value) if part.compare)
    return type(value).__name__.encode() + b"(" + told + b")"


@dataclass(frozen=True, eq=False)
class Layer:
    """A picture that lies over others in an effect, and who it is.

    Attributes
    ----------
    node : Node
        As it is laid.
    path : str
        In the sheet, e.g. `overlays[1]`.
    """

    node: Node
    path: str = ""
