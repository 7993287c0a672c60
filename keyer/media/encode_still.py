"""A picture as the bytes of a PNG, JPEG, TIFF or WebP file."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import OutputError
from keyer.kinds.picture import RgbPicture

Pixels = NDArray[Any]

_JPEG_QUALITY = 95
_SHALLOW = frozenset({".jpg", ".jpeg", ".webp"})
_DEEP = frozenset({".png", ".tif", ".tiff"})
"""Kinds that hold 8 bits, and those that hold 16 as well."""


def _with_text(png: bytes, text: Mapping[str, str]) -> bytes:
    """Put text chunks after the header (PNG 3rd edition, 11.3.3.4 iTXt, uncompressed)."""
    header_end = 8 + 4 + 4 + 13 + 4
    chunks = []
    for keyword, value in text.items():
        if not 1 <= len(keyword) <= 79 or not keyword.isprintable() or max(keyword) > "\xff":
            msg = f"a note's keyword must be 1 to 79 Latin-1 characters, got {keyword!r}."
            raise OutputError(msg)
        body = b"iTXt" + keyword.encode("latin-1") + b"\0\0\0\0\0" + value.encode("utf-8")
        chunks.append(struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body)))
    return png[:header_end] + b"".join(chunks) + png[header_end:]


def _by_opencv(suffix: str, pixels: Pixels, settings: Sequence[int] = ()) -> bytes:
    """Encode through OpenCV, which has the channels blue first."""
    import cv2

    if pixels.ndim == 3:
        swap = cv2.COLOR_RGB2BGR if pixels.shape[2] == 3 else cv2.COLOR_RGBA2BGRA
        pixels = cv2.cvtColor(pixels, swap)
    done, data = cv2.imencode(suffix, pixels, settings)
    if not done:
        msg = f"the picture could not be encoded as {suffix}."
        raise OutputError(msg)
    return data.tobytes()


def _png(pixels: Pixels, text: Mapping[str, str]) -> bytes:
    """Encode as PNG.

    Left to itself OpenCV takes level 1, the filter Sub and run-length strategy:
    of those tried the quickest on photographs, and no larger than level 3.
    """
    return _with_text(_by_opencv(".png", pixels), text)


def _tiff(pixels: Pixels) -> bytes:
    import cv2

    deflate = 8  # value of the TIFF tag Compression (259)
    return _by_opencv(".tif", pixels, (cv2.IMWRITE_TIFF_COMPRESSION, deflate))


def _by_pillow(pixels: Pixels, kind: str, **settings: Any) -> bytes:
    from PIL import Image

    memory = io.BytesIO()
    Image.fromarray(pixels).save(memory, kind, **settings)
    return memory.getvalue()


def check_suffix(path: Path) -> None:
    """Refuse a file name that names no kind of still.

    Raises
    ------
    OutputError
    """
    if path.suffix.lower() not in _SHALLOW | _DEEP:
        msg = f"{path} must end in .png, .jpg, .tif or .webp to be written as a still."
        raise OutputError(msg)


def check_alpha(path: Path) -> None:
    """Refuse a file whose kind cannot hold alpha.

    Raises
    ------
    OutputError
    """
    if path.suffix.lower() in {".jpg", ".jpeg"}:
        msg = f"{path}: JPEG cannot hold alpha. Write PNG, TIFF or WebP."
        raise OutputError(msg)


def _depth(stored: np.dtype[Any], path: Path) -> np.dtype[Any]:
    """Depth at which samples of a given depth go into the file that a path names."""
    check_suffix(path)
    if path.suffix.lower() in _SHALLOW:
        return np.dtype(np.uint8)
    return np.dtype(np.uint16) if stored == np.float32 else stored


def _encode(pixels: Pixels, path: Path, text: Mapping[str, str] | None) -> bytes:
    """Encode (H, W), (H, W, 3) or (H, W, 4) pixels by the suffix of a path."""
    suffix = path.suffix.lower()
    if suffix == ".png":
        return _png(pixels, text or {})
    if suffix in {".tif", ".tiff"}:
        return _tiff(pixels)
    if suffix == ".webp":
        return _by_pillow(pixels, "WEBP", lossless=True, exact=True)
    if pixels.ndim == 3 and pixels.shape[2] == 4:
        check_alpha(path)
    return _by_pillow(pixels, "JPEG", quality=_JPEG_QUALITY, subsampling=0)


def encode_still(picture: RgbPicture, path: Path, text: Mapping[str, str] | None = None) -> bytes:
    """Encode a picture as the suffix of `path` says.

    Parameters
    ----------
    picture : RgbPicture
        PNG and TIFF keep 8 or 16 bits (float32 becomes 16); JPEG and WebP take 8.
    path : Path
    text : mapping, optional
        FaultLog to keep in a PNG, by keyword (1 to 79 Latin-1 characters).

    Returns
    -------
    bytes
        PNG, TIFF and WebP without loss.

    Raises
    ------
    OutputError
        If the suffix is another, or JPEG is asked to hold alpha.
    """
    from keyer.pixel.colour.load import at_depth, to_array

    depth = _depth(picture.planes.dtype, path)
    return _encode(to_array(at_depth(picture, depth)), path, text)


def encode_grey(plane: Pixels, path: Path, text: Mapping[str, str] | None = None) -> bytes:
    """Encode one plane as the suffix of `path` says.

    Parameters
    ----------
    plane : (H, W) uint8, uint16 or float32
    path, text
        As in `encode_still`.

    Raises
    ------
    OutputError
    """
    from keyer.pixel.colour.load import plane_at_depth

    return _encode(plane_at_depth(plane, _depth(plane.dtype, path)), path, text)
