"""Size, rate and codec of a clip, settled from the sheet's format and what is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import cast

from keyer.errors import SettingError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.ranges import in_range
from keyer.kinds.timing import rate_name
from keyer.media.animated import ANIMATED, FASTEST
from keyer.media.codecs import CODECS, Codec, CodecName, fields_options
from keyer.pixel.compose.weave import FIRST_FIELD, FieldOrder

USUAL: dict[str, str] = {
    ".mp4": "h264",
    ".mov": "prores-hq",
    ".mkv": "ffv1",
    ".mxf": "vc3",
    ".gif": "gif",
    ".webp": "webp",
}
"""Codec of each kind of file, where none is named."""

WITH_OPACITY = {".mov": "prores-4444"}
"""The same where the base of the sheet is a source of nothing: what keeps that it is clear."""

MAIL_WIDTH = 640
"""Columns to which an animated picture is scaled down, where no scale is named."""


@dataclass(frozen=True)
class Shape:
    """Size, rate, codec and samples of a clip's pictures.

    Attributes
    ----------
    codec : str
        A key of `keyer.media.codecs.CODECS` or `keyer.media.animated.ANIMATED`.
    width, height : int
    pixel_aspect : Fraction
    rate : Fraction
        Pictures a second.
    step : int
        Frames of the sheet from one picture to the next.
    fields : {"top", "bottom"} or None
        Which of the two frames of the sheet that each picture is woven of has
        the first row; None: each picture is one frame.
    """

    codec: str
    width: int
    height: int
    pixel_aspect: Fraction
    rate: Fraction
    step: int = 1
    fields: FieldOrder | None = None


def clip_shape(
    video: VideoFormat,
    output: Path,
    codec: str | None = None,
    scale: float | None = None,
    *,
    clear: bool = False,
    interlace: bool = False,
) -> Shape:
    """Settle size, rate and codec of a clip.

    Parameters
    ----------
    video : VideoFormat
        Of the sheet.
    output : Path
    codec : str, optional
        Default: the usual one of the file's kind.
    scale : float, optional
        Percent of the sheet's size. Default: 100; for an animated picture what
        makes it `MAIL_WIDTH` wide at most.
    clear : bool
        Whether the base is a source of nothing.
    interlace : bool
        Whether each picture is woven of two frames.

    Returns
    -------
    Shape
        Of even size where the codec needs it; with square pixels where the
        file cannot say others.

    Raises
    ------
    SettingError
        If the codec is unknown, the scale out of range, or the format cannot be
        interlaced.
    """
    suffix = output.suffix.lower()
    usual = USUAL | WITH_OPACITY if clear else USUAL
    name = codec or usual.get(suffix)
    if name is None:
        msg = f"output must end in {', '.join(USUAL)}, got {output.name!r}."
        raise SettingError(msg)
    if name not in CODECS and name not in ANIMATED:
        msg = f"codec must be one of {', '.join((*CODECS, *ANIMATED))}, got {name!r}."
        raise SettingError(msg)
    if name in ANIMATED and suffix != f".{name}":
        msg = f"{output} must end in .{name} to hold {name}."
        raise SettingError(msg)
    aspect = Fraction(1) if name in ANIMATED else video.pixel_aspect
    across = Fraction(video.width) * video.pixel_aspect / aspect
    if scale is None:
        share = min(MAIL_WIDTH / across, Fraction(1)) if name in ANIMATED else Fraction(1)
    else:
        share = Fraction(in_range("scale", scale, 1, 100, "It is in percent.")) / 100
    known: Codec | None = CODECS.get(cast("CodecName", name))
    even_x = share != 1 and known is not None and known.sampling in {"420", "422"}
    even_y = share != 1 and known is not None and known.sampling == "420"
    if interlace:
        return _interlaced(video, name, scale)
    step = 1
    if name == "gif":
        step = -(-video.rate // FASTEST)
    return Shape(
        name,
        _whole(across * share, 2 if even_x else 1),
        _whole(video.height * share, 2 if even_y else 1),
        aspect,
        video.rate / step,
        step,
    )


def _interlaced(video: VideoFormat, codec: str, scale: float | None) -> Shape:
    """Settle a clip of two frames a picture."""
    order = FIRST_FIELD.get(video.height)
    if order is None:
        lines = ", ".join(map(str, FIRST_FIELD))
        demand = f"needs a sheet of {lines} lines, got {video.height}."
        raise SettingError(demand, "interlace")
    if video.rate < 48:
        demand = (
            "needs a sheet of 50, 59.94 or 60 frames a second, two for each picture, got "
            f"{rate_name(video.rate)}. 'keyer convert' makes one of this sheet."
        )
        raise SettingError(demand, "interlace")
    if scale not in {None, 100}:
        demand = f"keeps the sheet's size, got a scale of {scale:g} %. Leave one of them out."
        raise SettingError(demand, "interlace")
    rate = video.rate / 2
    fields_options(codec, video.width, video.height, rate, order)  # can it hold them?
    return Shape(codec, video.width, video.height, video.pixel_aspect, rate, 2, order)


def _whole(length: Fraction, multiple: int) -> int:
    return max(multiple, int(length / multiple + Fraction(1, 2)) * multiple)
