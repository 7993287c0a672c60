"""TIFF in bands: strips (TIFF 6.0, section 3) with the horizontal predictor (section 14).

Strips are compressed by deflate (Adobe Photoshop TIFF Technical Notes, 2002: compression 8).
Whether colours are multiplied by alpha stands in the tag ExtraSamples (section 18).
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from keyer.batch.bands import BAND_ROWS, LEVEL, Pixels, Shape, by_columns, rows_in

_SHORT, _LONG, _RATIONAL = 3, 4, 5
_SIZES = {_SHORT: "H", _LONG: "I", _RATIONAL: "I"}
_WIDTH, _HEIGHT, _BITS, _COMPRESSION, _PHOTOMETRIC = 256, 257, 258, 259, 262
_OFFSETS, _SAMPLES, _ROWS, _COUNTS = 273, 277, 278, 279
_X_RESOLUTION, _Y_RESOLUTION, _PLANAR, _UNIT, _PREDICTOR, _EXTRA = 282, 283, 284, 296, 317, 338
_DEFLATE, _DIFFERENCES, _GREY, _RGB = 8, 2, 1, 2
_ASSOCIATED, _STRAIGHT = 1, 2
_HEADER = b"II*\0"
"""Little-endian, as its samples are."""


@dataclass(frozen=True)
class TiffCoding:
    """TIFF.

    Attributes
    ----------
    premultiplied : bool
        Whether the colours beside an alpha are multiplied by it.
    pixel_aspect : Fraction
        Width of a pixel over its height.
    """

    premultiplied: bool = False
    pixel_aspect: Fraction = Fraction(1)

    def pack(self, rows: Pixels) -> bytes:
        """Take differences from the pixel at the left, and deflate them."""
        samples = by_columns(rows)
        differences = np.empty(samples.shape, samples.dtype.newbyteorder("<"))
        differences[:, :1] = samples[:, :1]
        np.subtract(samples[:, 1:], samples[:, :-1], out=differences[:, 1:])
        return zlib.compress(differences.data, LEVEL)

    def file(self, bands: list[bytes], shape: Shape) -> bytes:
        """Join bands: header, strips, directory."""
        offsets, place = [], len(_HEADER) + 4
        body = []
        for band in bands:
            offsets.append(place)
            body.append(band + b"\0" * (len(band) % 2))  # values begin on words
            place += len(body[-1])
        aspect = self.pixel_aspect
        tags = {
            _WIDTH: (_LONG, [shape.width]),
            _HEIGHT: (_LONG, [shape.height]),
            _BITS: (_SHORT, [shape.bits] * shape.channels),
            _COMPRESSION: (_SHORT, [_DEFLATE]),
            _PHOTOMETRIC: (_SHORT, [_GREY if shape.channels == 1 else _RGB]),
            _OFFSETS: (_LONG, offsets),
            _SAMPLES: (_SHORT, [shape.channels]),
            _ROWS: (_LONG, [BAND_ROWS]),
            _COUNTS: (_LONG, [len(band) for band in bands]),
            _X_RESOLUTION: (_RATIONAL, [aspect.denominator, 1]),
            _Y_RESOLUTION: (_RATIONAL, [aspect.numerator, 1]),
            _PLANAR: (_SHORT, [1]),
            _UNIT: (_SHORT, [1]),  # no absolute one: the aspect of the pixels alone
            _PREDICTOR: (_SHORT, [_DIFFERENCES]),
        }
        if shape.channels == 4:
            tags[_EXTRA] = (_SHORT, [_ASSOCIATED if self.premultiplied else _STRAIGHT])
        return b"".join([_HEADER, struct.pack("<I", place), *body, _directory(tags, place)])

    def apart(self, data: bytes) -> tuple[Shape, list[bytes]] | None:
        """Take a TIFF of this module apart; the bands are deflated differences."""
        try:
            tags = _tags(data)
            shape = Shape(
                tags[_HEIGHT][0], tags[_WIDTH][0], tags[_SAMPLES][0], tags[_BITS][0]
            )  # fmt: skip
            places = list(zip(tags[_OFFSETS], tags[_COUNTS], strict=True))
            ours = (
                tags[_COMPRESSION] == (_DEFLATE,)
                and tags[_PREDICTOR] == (_DIFFERENCES,)
                and tags[_ROWS] == (BAND_ROWS,)
                and tags[_PLANAR] == (1,)
                and len(places) == -(-shape.height // BAND_ROWS)
                and shape.bits in {8, 16}
            )
        except (struct.error, KeyError, ValueError, IndexError):
            return None
        return (shape, [data[at : at + count] for at, count in places]) if ours else None

    def unpack(self, band: bytes, number: int, shape: Shape) -> Pixels:
        """Unpack a band's rows.

        Raises
        ------
        zlib.error, ValueError
            If they are not as this module writes them.
        """
        kind = np.dtype("<u2" if shape.bits == 16 else np.uint8)
        content = np.frombuffer(zlib.decompress(band), kind)
        size = (rows_in(number, shape), shape.width, shape.channels)
        whole = np.cumsum(content.reshape(size), axis=1, dtype=kind.newbyteorder("="))
        return whole[..., 0] if shape.channels == 1 else whole


def _directory(tags: Mapping[int, tuple[int, list[int]]], place: int) -> bytes:
    """Write an image file directory that stands at a place, with the values that it points to."""
    after = place + 2 + 12 * len(tags) + 4
    entries, values = [struct.pack("<H", len(tags))], b""
    for tag, (kind, numbers) in sorted(tags.items()):
        data = struct.pack(f"<{len(numbers)}{_SIZES[kind]}", *numbers)
        count = len(numbers) // 2 if kind == _RATIONAL else len(numbers)
        if len(data) > 4:
            inside = struct.pack("<I", after + len(values))
            values += data + b"\0" * (len(data) % 2)
        else:
            inside = data.ljust(4, b"\0")
        entries.append(struct.pack("<HHI", tag, kind, count) + inside)
    return b"".join([*entries, struct.pack("<I", 0), values])


def _tags(data: bytes) -> dict[int, tuple[int, ...]]:
    """Read the tags of whole numbers."""
    if data[:4] != _HEADER:
        raise ValueError
    (place,) = struct.unpack_from("<I", data, 4)
    (count,) = struct.unpack_from("<H", data, place)
    found = {}
    for n in range(count):
        at = place + 2 + 12 * n
        tag, kind, length = struct.unpack_from("<HHI", data, at)
        if kind not in {_SHORT, _LONG} or length > len(data):
            continue
        form = f"<{length}{_SIZES[kind]}"
        where = at + 8 if struct.calcsize(form) <= 4 else struct.unpack_from("<I", data, at + 8)[0]
        found[tag] = struct.unpack_from(form, data, where)
    return found
