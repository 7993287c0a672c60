"""Decode HEIC and AVIF stills, as telephones and the web have them.

HEIC goes through pillow-heif, AVIF of 8 bits through Pillow; AVIF of 10 or 12
bits, which Pillow cuts to 8, through the codec library of the clips. HLG, PQ and
BT.2020 are brought to standard range as those of a clip are.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.media.frames import Range, picture_of, range_of, read_tags
from keyer.media.icc import to_srgb

Pixels = NDArray[Any]
Check = Callable[[int, int, int], None]
"""Refuses a size: columns, rows, bytes of a pixel."""

_AVIF = (b"avif", b"avis")


class Decoded(NamedTuple):
    """A decoded still, and how it was brought to standard range.

    Attributes
    ----------
    pixels : (H, W, 3) or (H, W, 4) uint8 or uint16
        Full range, upright; alpha is straight.
    said : str
        How it was brought to standard range, or empty: a clause without its subject.
    """

    pixels: Pixels
    said: str


def decode_heif(data: bytes, check: Check) -> Decoded:
    """Decode a HEIC or AVIF still.

    Parameters
    ----------
    data : bytes
        The whole file.
    check : callable
        Is asked before anything is decoded.

    Returns
    -------
    Decoded
        The primary picture.

    Raises
    ------
    ValueError, OSError, ...
        Whatever the readers raise on a broken file.
    """
    length = int.from_bytes(data[:4], "big")
    brands = {data[place : place + 4] for place in (8, *range(16, min(length, 256), 4))}
    if data[8:12] in _AVIF or not brands.isdisjoint(_AVIF):
        import av

        try:
            return _avif(data, check)
        except av.error.FFmpegError:  # of which not every kind is an OSError or a ValueError
            msg = "it cannot be decoded"
            raise ValueError(msg) from None
    return _heic(data, check)


def _heic(data: bytes, check: Check) -> Decoded:
    import pillow_heif

    opened = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=False)
    image = opened[opened.primary_index]
    info: dict[str, Any] = dict(image.info)
    bits = int(info.get("bit_depth", 8))
    channels = 4 if image.has_alpha else 3
    check(*image.size, channels * (2 if bits > 8 else 1))
    pixels = np.asarray(image)
    if pixels.dtype == np.uint16:
        codes = pixels >> (16 - bits)  # the reader shifts them up
        pixels = _spread(codes, bits)
    nclx = info.get("nclx_profile") or {}
    found = range_of(
        int(nclx.get("transfer_characteristics", 2)), int(nclx.get("color_primaries", 2))
    )
    if found is None:
        return Decoded(*to_srgb(pixels, info.get("icc_profile")))
    return _ranged(pixels, found)


def _avif(data: bytes, check: Check) -> Decoded:
    import av

    with av.open(io.BytesIO(data), "r") as container:
        stream = container.streams.video[0]
        context = stream.codec_context
        bits = max(part.bits for part in context.format.components) if context.format else 8
        check(context.width, context.height, 4 * (2 if bits > 8 else 1))
        frame = next(container.decode(stream))
        tags = read_tags("it", context, frame)
        if bits <= 8 and tags.range is None:
            return _plain_avif(data)
        if len(container.streams.video) > 1:
            msg = "it has more than 8 bits, or a high range, and alpha: export a PNG"
            raise ValueError(msg)
        return Decoded(_of_frame(frame, tags), tags.range.said if tags.range else "")


def _plain_avif(data: bytes) -> Decoded:
    from PIL import ImageOps
    from PIL.AvifImagePlugin import AvifImageFile

    image = ImageOps.exif_transpose(AvifImageFile(io.BytesIO(data), ""))
    pixels = np.asarray(image if image.mode in {"RGB", "RGBA"} else image.convert("RGB"))
    return Decoded(*to_srgb(pixels, image.info.get("icc_profile")))


def _of_frame(frame: Any, tags: Any) -> Pixels:
    from keyer.pixel.colour.load import load, store

    planes = load(picture_of(frame, tags))
    return np.ascontiguousarray(store(planes, np.uint16).transpose(1, 2, 0))


def _spread(codes: Pixels, bits: int) -> Pixels:
    top = (1 << bits) - 1
    return ((codes.astype(np.uint32) * 65535 * 2 + top) // (2 * top)).astype(np.uint16)


def _ranged(pixels: Pixels, found: Range) -> Decoded:
    from keyer.pixel.colour.hdr import to_standard
    from keyer.pixel.colour.load import from_array, load, store

    planes = to_standard(load(from_array(pixels[..., :3])), found.transfer, wide=found.wide)
    out = store(planes, np.uint16).transpose(1, 2, 0)
    if pixels.shape[2] == 4:
        alpha = pixels[..., 3:].astype(np.uint16) * (257 if pixels.dtype == np.uint8 else 1)
        out = np.concatenate([out, alpha], axis=2)
    return Decoded(np.ascontiguousarray(out), found.said)
