"""A picture in memory, at the depth in which it was stored.

Two forms: R'G'B' planes (stills, generated pictures, results) and Y'CbCr
planes as a decoder delivers them (clips). Neither is converted until a band
of it is loaded (`keyer.pixel.colour.load`), so a source costs its own depth and no
more.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyer.kinds.arrays import AnyPlane

Matrix = Literal["bt601", "bt709"]
"""Which luma coefficients relate R'G'B' and Y'CbCr: ITU-R BT.601-7 or BT.709-6."""


@dataclass(frozen=True, eq=False)
class RgbPicture:
    """R'G'B' planes, full range.

    Attributes
    ----------
    planes : (3, H, W) uint8, uint16 or float32, C-contiguous
        uint8 255, uint16 65535 and float32 1.0 all mean nominal white.
        float32 may leave 0..1.
    alpha : (H, W) of the same dtype, or None
        Straight (not premultiplied) opacity; None means opaque.
    matrix : {"bt601", "bt709"}
        Luma coefficients for hue and luma measures.
    """

    planes: AnyPlane
    alpha: AnyPlane | None = None
    matrix: Matrix = "bt709"

    @property
    def height(self) -> int:
        """Rows."""
        return int(self.planes.shape[1])

    @property
    def width(self) -> int:
        """Columns."""
        return int(self.planes.shape[2])


@dataclass(frozen=True, eq=False)
class YccPicture:
    """Y'CbCr planes as decoded.

    Attributes
    ----------
    luma : (H, W) uint8 or uint16, C-contiguous
    cb, cr : (ceil(H / step_y), ceil(W / step_x)), dtype of `luma`
        4:4:4, 4:2:2 or 4:2:0, told apart by shape.
    bits : int
        Significant bits of a sample: 8 to 16.
    full_range : bool
        False: 8-bit black 16, white 235, chroma 16..240 (ITU-R BT.709-6
        item 4.6), scaled by 2**(bits - 8). True: 0..2**bits - 1.
    matrix : {"bt601", "bt709"}
    left_sited : bool
        Chroma samples sit on the even luma columns (as MPEG-2 and H.264
        4:2:0/4:2:2 have it by default); False: midway between two columns.
        Vertically 4:2:0 chroma sits midway between two rows in both cases.
    alpha : (H, W) of the same dtype, or None
        Straight opacity, 0..2**bits - 1 in either range; None means opaque.
    """

    luma: AnyPlane
    cb: AnyPlane
    cr: AnyPlane
    bits: int
    full_range: bool
    matrix: Matrix
    left_sited: bool = True
    alpha: AnyPlane | None = None

    @property
    def height(self) -> int:
        """Rows."""
        return int(self.luma.shape[0])

    @property
    def width(self) -> int:
        """Columns."""
        return int(self.luma.shape[1])


Picture = RgbPicture | YccPicture
