"""PNG in bands.

Each band of rows is deflated by itself and ends on a byte (a full flush, RFC 1951 3.2.4); the
bands are strung together in one stream, each in an IDAT chunk of its own (PNG 3rd edition,
11.2.3), and the checksum of the whole is worked out from those of the bands (RFC 1950, Adler-32).
"""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass

import numpy as np

from keyer.batch.bands import BAND_ROWS, LEVEL, Pixels, Shape, by_columns, coded, rows_in

_ADLER = 65521
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_BEGIN = b"\x78\x01"
"""Of the stream: deflate, window of 32 KiB, fastest (RFC 1950, 2.2)."""

_SUB = 1
_COLOUR_TYPES = {1: 0, 3: 2, 4: 6}


@dataclass(frozen=True)
class _Band:
    """A band compressed: its chunk, and the checksum and length of what went in."""

    chunk: bytes
    adler: int
    length: int


class PngCoding:
    """PNG; alpha is straight (PNG 3rd edition, 6.2)."""

    def pack(self, rows: Pixels) -> _Band:
        """Filter rows by "Sub" (PNG 9.2) and deflate them."""
        samples = rows.astype(">u2") if rows.dtype == np.uint16 else rows
        plain = np.ascontiguousarray(samples).view(np.uint8).reshape(rows.shape[0], -1)
        step = by_columns(rows).shape[2] * rows.dtype.itemsize
        filtered = np.empty((plain.shape[0], plain.shape[1] + 1), np.uint8)
        filtered[:, 0] = _SUB
        filtered[:, 1 : step + 1] = plain[:, :step]
        np.subtract(plain[:, step:], plain[:, :-step], out=filtered[:, step + 1 :])
        packer = zlib.compressobj(LEVEL, zlib.DEFLATED, -15, 9)
        content = filtered.data
        data = packer.compress(content) + packer.flush(zlib.Z_FULL_FLUSH)
        return _Band(_chunk(b"IDAT", data), zlib.adler32(content), filtered.size)

    def file(self, bands: list[_Band], shape: Shape) -> bytes:
        """Join bands."""
        kind = _COLOUR_TYPES[shape.channels]
        header = struct.pack(">IIBBBBB", shape.width, shape.height, shape.bits, kind, 0, 0, 0)
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

    def apart(self, data: bytes) -> tuple[Shape, list[bytes]] | None:
        """Take a PNG of this module apart; the bands are deflated rows."""
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
        return Shape(height, width, channels, bits), parts[1:-1]

    def unpack(self, band: bytes, number: int, shape: Shape) -> Pixels:
        """Unpack a band's rows.

        Raises
        ------
        zlib.error, ValueError
            If they are not as this module writes them.
        """
        rows, step = rows_in(number, shape), shape.channels * shape.bits // 8
        content = zlib.decompressobj(-15).decompress(band)
        filtered = np.frombuffer(content, np.uint8).reshape(rows, shape.width * step + 1)
        if (filtered[:, 0] != _SUB).any():
            msg = "a row has another filter"
            raise ValueError(msg)
        whole = np.cumsum(filtered[:, 1:].reshape(rows, shape.width, step), axis=1, dtype=np.uint8)
        samples = whole.view(">u2").astype(np.uint16) if shape.bits == 16 else whole
        return samples[..., 0] if shape.channels == 1 else samples


PNG = PngCoding()


def png_bytes(pixels: Pixels) -> bytes:
    """Encode one picture as a PNG.

    Parameters
    ----------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
    """
    return coded(pixels, PNG)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _joined_adler(first: int, second: int, length: int) -> int:
    """Adler-32 of two stretches from those of each; `length` is the second's in bytes."""
    low = ((first & 0xFFFF) + (second & 0xFFFF) - 1) % _ADLER
    high = ((first >> 16) + (second >> 16) + length * ((first & 0xFFFF) - 1)) % _ADLER
    return high << 16 | low
