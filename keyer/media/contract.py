"""What every source of pictures offers: its properties, a picture by number, an end."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from keyer.kinds.picture import Matrix, Picture

MAX_SIDE = 16384
"""Columns or rows beyond which a file is refused before it is decoded."""

MAX_BYTES = 400_000_000
"""Bytes that a still may take when it is decoded: 100 million pixels of 8 bits, 50 of 16. A small
file can unfold to any number of them."""

MAX_FILE_BYTES = 1_000_000_000
"""Bytes of a still's file, which is read whole."""

LONGEST_SECONDS = 24 * 3600
"""A clip or a sound lasts a day at most: one time stamp can say that it lasts for ever."""


@dataclass(frozen=True)
class SourceProps:
    """What is known of a source without reading more of it than its first picture.

    Attributes
    ----------
    description : str
        One line for people, e.g. `"clip, h264 yuv420p, 1920 x 1080"`.
    width, height : int
        In samples, upright.
    rate : Fraction or None
        Pictures a second; None where the source does not say (a still, a sequence).
    frames : int or None
        How many pictures there are; None for a still, which has no end.
    pixel_aspect : Fraction
        Width of a pixel over its height.
    matrix : {"bt601", "bt709"}
        Luma coefficients of the pictures.
    has_alpha : bool
    bits : int
        Of a sample as stored.
    notices : tuple of str
        What had to be assumed, one line each.
    fields : int
        Pictures that each frame of the file gives: 2 of an interlaced clip that is read by fields.
    """

    description: str
    width: int
    height: int
    rate: Fraction | None = None
    frames: int | None = None
    pixel_aspect: Fraction = Fraction(1)
    matrix: Matrix = "bt709"
    has_alpha: bool = False
    bits: int = 8
    notices: tuple[str, ...] = ()
    fields: int = 1

    @property
    def opaque(self) -> bool:
        """Whether all its pictures are for certain; numbered stills may differ in that."""
        return not self.has_alpha and (self.frames is None or self.rate is not None)


class Source(Protocol):
    """A still, a clip or a numbered sequence. Not for use by two threads at once."""

    @property
    def props(self) -> SourceProps:
        """Size, rate, length, depth and matrix, known from opening the source."""

    def read(self, index: int) -> Picture:
        """Return picture `index`, counted from 0.

        Raises
        ------
        TimeError
            If there is no such picture.
        InputFileError
            If it cannot be decoded.
        """

    def close(self) -> None:
        """Let go of the file."""
