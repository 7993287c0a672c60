"""PNG in bands that are compressed apart, so that rows which stay the same are compressed once.

A hundred lower thirds over one picture share nine tenths of their rows. Each
band of rows is deflated by itself and ends on a byte (a full flush, RFC 1951
3.2.4); the bands are strung together in one stream, each in an IDAT chunk of
its own (PNG 3rd edition, 11.2.3), and the checksum of the whole is worked out
from those of the bands (RFC 1950, Adler-32). The bytes depend on the pixels
alone, not on what was held.
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

BAND_ROWS = 40
LEVEL = 1
"""Of deflate. By measurement: higher levels took up to twice as long and saved some percent."""

_ADLER = 65521
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_BEGIN = b"\x78\x01"
"""Of the stream: deflate, window of 32 KiB, fastest (RFC 1950, 2.2)."""

_SUB = 1
_COLOUR_TYPES = {1: 0, 3: 2, 4: 6}
Pixels = NDArray[Any]


@dataclass(frozen=True)
class _Band:
    """A band compressed: its chunk, and the checksum and length of what went in."""

    chunk: bytes
    adler: int
    length: int


class PngBands:
    """Encodes pictures of one size, keeping the bands of the first.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
        The picture with which the others share most rows.
    """

    def __init__(self, pixels: Pixels) -> None:
        self._shape, self._dtype = pixels.shape, pixels.dtype
        rows = pixels.shape[0]
        self._held = [
            _compressed(pixels[top : top + BAND_ROWS]) for top in range(0, rows, BAND_ROWS)
        ]

    def encode(self, pixels: Pixels, top: int, bottom: int) -> bytes:
        """Encode a picture that differs from the first in some rows only.

        Parameters
        ----------
        pixels : (rows, ...) of the first picture's kind
            Rows `top` to `bottom`, widened to whole bands by `widened`.
        top, bottom : int

        Returns
        -------
        bytes
            A whole PNG file.
        """
        first = top // BAND_ROWS
        count = -(-(bottom - top) // BAND_ROWS)
        bands = list(self._held)
        for i in range(count):
            start = i * BAND_ROWS
            bands[first + i] = _compressed(pixels[start : start + BAND_ROWS])
        return _file(bands, self._shape, self._dtype)

    def widened(self, top: int, bottom: int) -> tuple[int, int]:
        """Widen a range of rows to whole bands."""
        height = self._shape[0]
        return top // BAND_ROWS * BAND_ROWS, min(-(-bottom // BAND_ROWS) * BAND_ROWS, height)


def png_bytes(pixels: Pixels) -> bytes:
    """Encode one picture in bands.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16

    Returns
    -------
    bytes
        A whole PNG file.
    """
    return PngBands(pixels).encode(pixels[:0], 0, 0)


@dataclass(frozen=True)
class PngShape:
    """Size and samples of a PNG that is written in bands.

    Attributes
    ----------
    height, width, channels, bits : int
    """

    height: int
    width: int
    channels: int
    bits: int


def bands_of(data: bytes) -> tuple[PngShape, list[bytes]] | None:
    """Take a PNG of this module apart, without unpacking its bands.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    PngShape and list of bytes, or None if it is written otherwise
        The bands' deflated rows.
    """
    if data[:8] != _SIGNATURE or data[12:16] != b"IHDR":
        return None
    width, height, bits, kind = struct.unpack(">IIBB", data[16:26])
    channels = {kind: count for count, kind in _COLOUR_TYPES.items()}.get(kind)
    parts = []
    place = 8
    while place + 8 <= len(data):
        length, name = struct.unpack_from(">I4s", data, place)
        if name == b"IDAT":
            parts.append(data[place + 8 : place + 8 + length])
        place += 12 + length
    if channels is None or len(parts) != -(-height // BAND_ROWS) + 2 or parts[0] != _BEGIN:
        return None
    return PngShape(height, width, channels, bits), parts[1:-1]


def unpacked(band: bytes, number: int, shape: PngShape) -> Pixels:
    """Unpack a band's rows.

    Parameters
    ----------
    band : bytes
        As `bands_of` gives it.
    number : int
        Of the band, from the top.
    shape : PngShape
        Of the whole picture.

    Returns
    -------
    (rows, W), (rows, W, 3) or (rows, W, 4) uint8 or uint16

    Raises
    ------
    zlib.error, ValueError
        If they are not as this module writes them.
    """
    rows = min(BAND_ROWS, shape.height - number * BAND_ROWS)
    step = shape.channels * shape.bits // 8
    content = zlib.decompressobj(-15).decompress(band)
    filtered = np.frombuffer(content, np.uint8).reshape(rows, shape.width * step + 1)
    if (filtered[:, 0] != _SUB).any():
        msg = "a row has another filter"
        raise ValueError(msg)
    whole = np.cumsum(filtered[:, 1:].reshape(rows, shape.width, step), axis=1, dtype=np.uint8)
    samples = whole.view(">u2").astype(np.uint16) if shape.bits == 16 else whole
    return samples[..., 0] if shape.channels == 1 else samples


def _compressed(rows: Pixels) -> _Band:
    """Filter rows by "Sub" (PNG 9.2) and deflate them."""
    channels = rows.shape[2] if rows.ndim == 3 else 1
    samples = rows.astype(">u2") if rows.dtype == np.uint16 else rows
    plain = np.ascontiguousarray(samples).view(np.uint8).reshape(rows.shape[0], -1)
    step = channels * rows.dtype.itemsize
    filtered = np.empty((plain.shape[0], plain.shape[1] + 1), np.uint8)
    filtered[:, 0] = _SUB
    filtered[:, 1 : step + 1] = plain[:, :step]
    np.subtract(plain[:, step:], plain[:, :-step], out=filtered[:, step + 1 :])
    packer = zlib.compressobj(LEVEL, zlib.DEFLATED, -15, 9)
    content = filtered.data
    data = packer.compress(content) + packer.flush(zlib.Z_FULL_FLUSH)
    return _Band(_chunk(b"IDAT", data), zlib.adler32(content), filtered.size)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _joined_adler(first: int, second: int, length: int) -> int:
    """Adler-32 of two stretches from those of each; `length` is the second's in bytes."""
    low = ((first & 0xFFFF) + (second & 0xFFFF) - 1) % _ADLER
    high = ((first >> 16) + (second >> 16) + length * ((first & 0xFFFF) - 1)) % _ADLER
    return high << 16 | low


def _file(bands: list[_Band], shape: tuple[int, ...], dtype: np.dtype[Any]) -> bytes:
    channels = shape[2] if len(shape) == 3 else 1
    kind = _COLOUR_TYPES[channels]
    header = struct.pack(">IIBBBBB", shape[1], shape[0], 8 * dtype.itemsize, kind, 0, 0, 0)
    adler = 1
    for band in bands:
        adler = _joined_adler(adler, band.adler, band.length)
    parts = [
        _SIGNATURE,
        _chunk(b"IHDR", header),
        _chunk(b"IDAT", _BEGIN),
        *(band.chunk for band in bands),
        _chunk(b"IDAT", b"\x03\x00" + struct.pack(">I", adler)),  # an empty last block
        _chunk(b"IEND", b""),
    ]
    return b"".join(parts)
