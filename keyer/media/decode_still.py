"""Decode stills: PNG, JPEG, TIFF, WebP, HEIC and AVIF, with or without alpha, upright.

Told by their first bytes, never by their name. Pillow decodes; 16-bit colour,
which it would cut to 8 bits, goes through OpenCV, and so do plain PNGs, which it
decodes without keeping other threads waiting.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zlib
from collections.abc import Callable
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.kinds.plain_file import open_plain
from keyer.media.contract import MAX_BYTES, MAX_FILE_BYTES, MAX_SIDE
from keyer.media.icc import to_srgb
from keyer.media.png_chunks import SIGNATURE, static_png

if TYPE_CHECKING:
    from PIL.Image import Image

Pixels = NDArray[Any]

STILL_SUFFIXES = frozenset(
    {".png", ".jpg", ".jpeg", ".tif", ".tiff", ".webp", ".heic", ".heif", ".avif"}
)

_HEIF_BRANDS = {
    b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis",
}  # fmt: skip
"""Brands of HEIC (ISO/IEC 23008-12, annex B) and of AVIF (AOMedia, section 6)."""

_READERS = {
    "PNG": ("PngImagePlugin", "PngImageFile"),
    "JPEG": ("JpegImagePlugin", "jpeg_factory"),
    "TIFF": ("TiffImagePlugin", "TiffImageFile"),
    "WebP": ("WebPImagePlugin", "WebPImageFile"),
}
"""Pillow's module and reader of each kind; only the one that is wanted is loaded."""
_EXIF_ORIENTATION = 0x0112
_PNG_TURNED = (b"eXIf", b"Raw profile type exif", b"XML:com.adobe.xmp")
"""One of these is in every PNG that tells how it is turned (PNG 3rd edition, 11.3.4.5; others
are keywords of text chunks, common practice)."""
_TIFF_BITS_PER_SAMPLE = 258
_ODD_TIFF = (
    (284, 2, "separate colour planes"),
    (262, 0, "white as zero"),
)
"""Tag, value and meaning (TIFF 6.0, section 8)."""
_EXTRA_SAMPLES, _ASSOCIATED = 338, 1
_DNG_VERSION, _PHOTOMETRIC, _RAW_PHOTOMETRIC = 50706, 262, {32803, 34892}
"""Tags of sensor data (TIFF/EP, ISO 12234-2; DNG 1.6): a colour filter array, linear raw."""
_MALFORMED = (
    OSError, SyntaxError, ValueError, TypeError, KeyError, IndexError, EOFError,
    OverflowError, AssertionError, RuntimeError, StopIteration, struct.error, zlib.error,
)  # fmt: skip
"""What Pillow's readers raise on broken files."""

_UPRIGHT: dict[int, Callable[[Pixels], Pixels]] = {
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.swapaxes(0, 1),
    6: lambda a: a[::-1].swapaxes(0, 1),
    7: lambda a: a[::-1, ::-1].swapaxes(0, 1),
    8: lambda a: a[:, ::-1].swapaxes(0, 1),
}
"""How to turn a picture upright for each Exif orientation (Exif 2.32, tag 274)."""


def still_kind(head: bytes) -> str | None:
    """Tell the kind of a still by its first bytes.

    Parameters
    ----------
    head : bytes
        At least 12 bytes, if the file has them.

    Returns
    -------
    str or None
        `"PNG"`, `"JPEG"`, `"TIFF"`, `"WebP"`, `"HEIF"` (HEIC or AVIF), or None for anything else.
    """
    if head.startswith(SIGNATURE):
        return "PNG"
    if head.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if head[:4] in {b"II*\0", b"MM\0*"}:
        return "TIFF"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "WebP"
    if head[4:8] == b"ftyp" and head[8:12] in _HEIF_BRANDS:
        return "HEIF"
    return None


def _opened(data: bytes, kind: str) -> Image:
    """Read the header only; Pillow's own size limit, which is lower, does not apply here."""
    module, reader = _READERS[kind]
    image: Image = getattr(import_module(f"PIL.{module}"), reader)(io.BytesIO(data), "")
    return image


def _check_size(path: Path, width: int, height: int, sample_bytes: int) -> None:
    if not 0 < width <= MAX_SIDE or not 0 < height <= MAX_SIDE:
        msg = (
            f"{path} says that it is {width} x {height}; a picture must have 1 to {MAX_SIDE} "
            "columns and rows. Scale it down first."
        )
        raise InputFileError(msg)
    if width * height * sample_bytes > MAX_BYTES:
        msg = (
            f"{path} says that it is {width} x {height}, which takes "
            f"{width * height * sample_bytes // 1_000_000} MB; a picture may take "
            f"{MAX_BYTES // 1_000_000}. Scale it down first."
        )
        raise InputFileError(msg)


def _bytes_of_a_pixel(image: Image, *, deep: bool) -> int:
    """Bytes of a pixel as it is decoded: Pillow's own form keeps four for each but grey."""
    channels = 1 if image.mode in {"1", "L", "I;16", "I"} else 4
    return channels * (2 if deep else 1)


def _has_16_bits(image: Image, kind: str, data: bytes) -> bool:
    if kind == "PNG":
        return data[24] == 16
    if kind == "TIFF":
        bits: Any = image.getexif().get(_TIFF_BITS_PER_SAMPLE, 8)
        return 16 in (bits if isinstance(bits, tuple) else (bits,))
    return False


def _orientation(image: Image, kind: str, data: bytes) -> Any:
    """Read the Exif orientation; Pillow would decode a whole PNG to find that it has none."""
    if kind == "PNG" and not any(mark in data for mark in _PNG_TURNED):
        return 1
    return image.getexif().get(_EXIF_ORIENTATION, 1)


def _refuse_odd_tiff(path: Path, image: Image) -> None:
    """Refuse 16-bit TIFFs that OpenCV would decode wrongly."""
    tags = image.getexif()
    for tag, value, finding in _ODD_TIFF:
        found: Any = tags.get(tag)
        if value in (found if isinstance(found, tuple) else (found,)):
            msg = f"{path} is a 16-bit TIFF with {finding}, which is not read. Export a PNG."
            raise InputFileError(msg)


def _decode_by_opencv(data: bytes, depth: type[np.uint8 | np.uint16]) -> Pixels:
    """Decode samples of a depth; channels in the order red, green, blue, alpha."""
    import cv2

    level = cv2.utils.logging.getLogLevel()
    cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    except cv2.error as error:
        raise ValueError(str(error)) from None
    finally:
        cv2.utils.logging.setLogLevel(level)
    if pixels is None:
        msg = "its samples are damaged or end too soon"
        raise ValueError(msg)
    if pixels.dtype != depth:
        msg = f"samples are not {np.dtype(depth).itemsize * 8}-bit"
        raise ValueError(msg)
    if pixels.ndim == 3 and pixels.shape[2] >= 3:
        swap = cv2.COLOR_BGR2RGB if pixels.shape[2] == 3 else cv2.COLOR_BGRA2RGBA
        return np.asarray(cv2.cvtColor(pixels, swap))
    return np.asarray(pixels)


def _checked_deep(path: Path, image: Image, kind: str, data: bytes) -> Pixels:
    """Decode 16-bit samples; a TIFF once Pillow has found it whole."""
    if kind == "TIFF":
        _refuse_odd_tiff(path, image)
        image.load()
    pixels = _decode_by_opencv(data, np.uint16)
    return _straight(pixels) if kind == "TIFF" and _premultiplied(image) else pixels


def _premultiplied(image: Image) -> bool:
    """Whether colours are multiplied by alpha (TIFF 6.0, section 18)."""
    extra: Any = image.getexif().get(_EXTRA_SAMPLES)
    return _ASSOCIATED in (extra if isinstance(extra, tuple) else (extra,))


def _straight(pixels: Pixels) -> Pixels:
    """Divide colours of 16 bits by alpha; where all is clear they stay as they are."""
    alpha = pixels[..., 3:].astype(np.float32)
    whole = pixels[..., :3] * np.float32(65535) / np.maximum(alpha, 1) + np.float32(0.5)
    colour = np.where(alpha > 0, np.minimum(whole, 65535), pixels[..., :3])
    return np.concatenate([colour.astype(np.uint16), pixels[..., 3:]], axis=-1)


def _decode_plain(image: Image, kind: str, data: bytes) -> Pixels:
    """Decode 8-bit samples as grey, R'G'B' or R'G'B' with alpha."""
    if kind == "PNG" and image.mode in {"L", "RGB", "RGBA"} and "transparency" not in image.info:
        return _decode_by_opencv(data, np.uint8)
    see_through = image.mode in {"LA", "PA", "RGBA", "La", "RGBa"} or "transparency" in image.info
    if see_through:
        mode = "RGBA"
    elif image.mode in {"1", "L"}:
        mode = "L"
    else:
        mode = "RGB"
    return np.asarray(image if image.mode == mode else image.convert(mode))


def decode_still(path: Path) -> Pixels:
    """Read a still; as `decode_noted`, without what is to be said of it."""
    return decode_noted(path)[0]


def decode_noted(path: Path) -> tuple[Pixels, str]:
    """Decode a still; return its samples and, in words, what was done to them.

    Returns
    -------
    pixels : (H, W), (H, W, 3) or (H, W, 4) uint8 or uint16
        Upright, C-contiguous; alpha is straight. The first of several pictures; of an
        animated PNG its static image. Of standard range in the colours of BT.709.
    said : str
        A clause on how a high range or wide colours were brought to that; mostly empty.

    Raises
    ------
    InputFileError
        In one line, if the file is missing, broken, too large or no still.
    """
    from PIL.Image import DecompressionBombError

    data = read_bytes(path)
    kind = still_kind(data[:16])
    if kind is None:
        msg = (
            f"{path} is not a PNG, JPEG, TIFF, WebP, HEIC or AVIF picture, whatever its name says. "
            "Export it again as one of these."
        )
        raise InputFileError(msg)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _heif(path, data) if kind == "HEIF" else _decoded(path, data, kind)
    except InputFileError:
        raise
    except DecompressionBombError:  # of Pillow, where it looks before we can
        msg = f"{path} is larger than a picture may be. Scale it down first."
        raise InputFileError(msg) from None
    except MemoryError:
        msg = f"{path} takes more memory than there is. Scale it down first."
        raise InputFileError(msg) from None
    except _MALFORMED as error:
        msg = f"{path} is a broken {kind} file ({_reason(error)}). Copy or export it again."
        raise InputFileError(msg) from None


def _reason(error: Exception) -> str:
    """Say what a reader finds wrong, without its saying first that it is an error."""
    said = (str(error).strip().splitlines() or [""])[0]
    return re.sub(r".*error: ", "", said, flags=re.IGNORECASE) or "it is malformed"


def _heif(path: Path, data: bytes) -> tuple[Pixels, str]:
    from keyer.media.decode_heif import decode_heif

    pixels, said = decode_heif(data, partial(_check_size, path))
    return np.ascontiguousarray(pixels), said


def _decoded(path: Path, data: bytes, kind: str) -> tuple[Pixels, str]:
    if kind == "PNG":
        data = static_png(data)
    image = _opened(data, kind)
    if kind == "TIFF":
        _refuse_raw(path, image)
    deep = _has_16_bits(image, kind, data)
    _check_size(path, *image.size, _bytes_of_a_pixel(image, deep=deep))
    if image.mode == "F" or (image.mode == "I" and not deep):
        msg = f"{path} has samples of 32 bits. Export it with 8 or 16."
        raise InputFileError(msg)
    pixels = _checked_deep(path, image, kind, data) if deep else _decode_plain(image, kind, data)
    pixels, said = to_srgb(pixels, image.info.get("icc_profile"))
    # Both libraries turn TIFFs themselves, and Pillow then drops the tag.
    upright = _UPRIGHT.get(_orientation(image, kind, data))
    return np.ascontiguousarray(upright(pixels) if upright else pixels), said


def _refuse_raw(path: Path, image: Image) -> None:
    tags = image.getexif()
    if _DNG_VERSION in tags or tags.get(_PHOTOMETRIC) in _RAW_PHOTOMETRIC:
        raise raw_refused(path)


def raw_refused(path: Path) -> InputFileError:
    """Say that a file holds what the sensor saw, and what to do."""
    return InputFileError(
        f"{path} is raw: what the sensor saw, before white balance and curve. Develop it to BT.709"
        " (standard range) and export a TIFF or PNG of 16 bits, or a clip of 10."
    )


def read_bytes(path: Path) -> bytes:
    """Read a whole input file.

    Raises
    ------
    InputFileError
        If it cannot be read, is empty or larger than any picture.
    """
    try:
        if path.stat().st_size > MAX_FILE_BYTES:
            msg = f"{path} is larger than any picture ({MAX_FILE_BYTES // 10**9} GB). Is it a clip?"
            raise InputFileError(msg)
        with open_plain(path) as file:
            data = file.read()
    except OSError as error:
        if isinstance(error, InputFileError):
            raise
        raise unreadable(path, error) from None
    if not data:
        msg = f"{path} is empty (0 bytes). Copy or export it again."
        raise InputFileError(msg)
    return data


def unreadable(path: Path, error: OSError | ValueError) -> InputFileError:
    """Say in one line why a file cannot be read.

    Parameters
    ----------
    path : Path
    error : OSError or ValueError
    """
    if isinstance(error, FileNotFoundError):
        starts = "" if path.is_absolute() else f"; it starts at {Path.cwd()}"
        return InputFileError(f"{path} does not exist. Check the path{starts}.")
    reason = getattr(error, "strerror", None) or error
    return InputFileError(f"{path} cannot be read: {reason}. Check its name and permissions.")
