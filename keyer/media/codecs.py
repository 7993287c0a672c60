"""The ways in which a clip can be coded: what each takes and what it is for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from keyer.errors import SettingError
from keyer.kinds.timing import rate_name

if TYPE_CHECKING:
    from keyer.pixel.colour.encode_ycc import Sampling

CodecName = Literal[
    "h264", "ffv1", "ffv1-yuv", "ffv1-alpha", "prores-hq", "prores-4444", "png", "vc3"
]


@dataclass(frozen=True)
class Codec:
    """A codec with its encoder, pixel format, files and limits.

    Attributes
    ----------
    purpose : str
        One line for people.
    encoder : str
        Its name in libavcodec.
    layout : str
        Pixel format in libavutil's words.
    suffixes : tuple of str
        Files that can hold it; the first is usual.
    sampling : {"420", "422", "444"} or None
        None for R'G'B'.
    bits : int
    alpha : bool
        Whether opacity is kept.
    square_only : bool
        Whether the file cannot say a pixel aspect other than 1.
    options : mapping
        Of the encoder.
    deep : str
        Pixel format for 16 bits; empty where there is none.
    fields : bool
        Whether it can hold the two fields of an interlaced frame.
    least : (int, int)
        Smallest width and height.
    high_only : bool
        Whether it can say no matrix but that of ITU-R BT.709.
    group : int
        Pictures from one that rests on none before it to the next such one; 0:
        the encoder looks back and ahead as it likes. A clip can be cut there.
    """

    purpose: str
    encoder: str
    layout: str
    suffixes: tuple[str, ...]
    sampling: Sampling | None
    bits: int
    alpha: bool = False
    square_only: bool = False
    options: Mapping[str, str] = field(default_factory=dict)
    deep: str = ""
    fields: bool = False
    least: tuple[int, int] = (1, 1)
    high_only: bool = False
    group: int = 1


_FFV1_GROUP = 12
"""Of FFV1: the states of its coder begin anew at each key frame (RFC 9043, 4.4)."""

_FFV1 = {"level": "3", "slices": "4", "slicecrc": "1", "g": str(_FFV1_GROUP)}

CODECS: dict[CodecName, Codec] = {
    "h264": Codec(
        "for viewing anywhere: H.264, 4:2:0, 8 bit",
        "libx264",
        "yuv420p",
        (".mp4", ".mov", ".mkv"),
        "420",
        8,
        options={"preset": "veryfast", "crf": "18"},
        group=0,
    ),
    "ffv1": Codec(
        "without loss, R'G'B', 8 or 16 bit: FFV1 (RFC 9043)",
        "ffv1",
        "bgr0",
        (".mkv",),
        None,
        8,
        square_only=True,
        options=_FFV1,
        group=_FFV1_GROUP,
        deep="gbrp16le",
    ),
    "ffv1-yuv": Codec(
        "for the edit: FFV1 (RFC 9043), 4:2:2, 10 bit",
        "ffv1",
        "yuv422p10le",
        (".mkv",),
        "422",
        10,
        square_only=True,
        options=_FFV1,
        group=_FFV1_GROUP,
    ),
    "ffv1-alpha": Codec(
        "without loss, with alpha: FFV1 (RFC 9043), 4:4:4, 10 bit",
        "ffv1",
        "yuva444p10le",
        (".mkv",),
        "444",
        10,
        alpha=True,
        square_only=True,
        options=_FFV1,
        group=_FFV1_GROUP,
    ),
    "prores-hq": Codec(
        "for the edit: ProRes 422 HQ (SMPTE RDD 36), 10 bit",
        "prores_ks",
        "yuv422p10le",
        (".mov",),
        "422",
        10,
        options={"profile": "hq", "vendor": "apl0"},
        fields=True,
    ),
    "prores-4444": Codec(
        "for the edit, with alpha: ProRes 4444 (SMPTE RDD 36)",
        "prores_ks",
        "yuva444p10le",
        (".mov",),
        "444",
        10,
        alpha=True,
        options={"profile": "4444", "vendor": "apl0", "alpha_bits": "16"},
    ),
    "png": Codec(
        "without loss, R'G'B', 8 or 16 bit: a PNG for each frame",
        "png",
        "rgb24",
        (".mov",),
        None,
        8,
        deep="rgb48be",
    ),
    "vc3": Codec(
        "for delivery: VC-3 (SMPTE ST 2019-1), 4:2:2, 10 bit, in MXF OP1a (SMPTE ST 378)",
        "dnxhd",
        "yuv422p10le",
        (".mxf",),
        "422",
        10,
        options={"profile": "dnxhr_hqx"},
        fields=True,
        least=(256, 120),
        high_only=True,
    ),
}

_VC3_FIELDS = {Fraction(25): "185M", Fraction(30000, 1001): "220M"}
"""Bit rate of interlaced VC-3 of ten bits, 1920 x 1080, by rate (ST 2019-1, from memory)."""


def fields_options(
    name: str, width: int, height: int, rate: Fraction, order: str
) -> dict[str, str]:
    """Give the options of an encoder for frames of two fields, in place of its usual ones.

    Parameters
    ----------
    name : str
        A key of `CODECS`.
    width, height : int
    rate : Fraction
        Frames a second.
    order : {"top", "bottom"}

    Raises
    ------
    SettingError
        If the codec holds no such fields.
    """
    codec = next((codec for known, codec in CODECS.items() if known == name), None)
    if codec is None or not codec.fields:
        names = " or ".join(known for known, one in CODECS.items() if one.fields)
        demand = f"needs a codec that holds fields, {names}, got {name}."
        raise SettingError(demand, "interlace")
    options = dict(encoder_options(codec))
    if name == "vc3":
        if (width, height) != (1920, 1080) or rate not in _VC3_FIELDS:
            demand = (
                f"of vc3 needs 1920 x 1080 at 25 or 29.97, got {width} x {height} at "
                f"{rate_name(rate)}. Write a .mov of prores-hq."
            )
            raise SettingError(demand, "interlace")
        options = {"b": _VC3_FIELDS[rate]}
    first = "tt" if order == "top" else "bb"
    return {**options, "flags": "+ildct+ilme", "field_order": first}


def encoder_options(codec: Codec) -> dict[str, str]:
    """Give the options of a codec's encoder, such that it writes the same bytes each time.

    Returns
    -------
    dict
        libx264 is kept to the instructions that every x86-64 processor has: with those of
        AVX-512 what it sees as it looks ahead is not the same from one run to the next (found
        by trial, one run in three), and with others it depends on the processor. They cost no
        time that can be measured beside the drawing of the pictures.
    """
    import platform

    options = dict(codec.options)
    if codec.encoder == "libx264" and platform.machine().lower() in {"x86_64", "amd64"}:
        options["x264-params"] = "asm=MMX2,SSE2Fast"
    return options


def choose_codec(name: str, path: Path, width: int, height: int, pixel_aspect: Fraction) -> Codec:
    """Look a way of coding up, and check that it can do what is wanted.

    Parameters
    ----------
    name : str
        A key of `CODECS`.
    path : Path
        The clip to be written.
    width, height : int
    pixel_aspect : Fraction

    Raises
    ------
    SettingError
        If it is unknown, does not go into such a file or size, or is not part
        of this installation.
    """
    import av

    codec = next((codec for known, codec in CODECS.items() if known == name), None)
    if codec is None:
        msg = f"codec must be one of {', '.join(CODECS)}, got {name!r}."
        raise SettingError(msg)
    if path.suffix.lower() not in codec.suffixes:
        msg = f"{path} must end in {' or '.join(codec.suffixes)} to hold {name}."
        raise SettingError(msg)
    if (codec.sampling == "420" and height % 2) or (codec.sampling in {"420", "422"} and width % 2):
        msg = f"{name} needs an even size, got {width} x {height}. Choose another codec or size."
        raise SettingError(msg)
    if width < codec.least[0] or height < codec.least[1]:
        least = f"{codec.least[0]} x {codec.least[1]}"
        msg = f"{name} needs at least {least}, got {width} x {height}. Choose prores-hq."
        raise SettingError(msg)
    if codec.square_only and pixel_aspect != 1:
        msg = f"{name} cannot say a pixel aspect of {pixel_aspect}. Choose png or prores-hq."
        raise SettingError(msg)
    try:
        layouts = av.codec.Codec(codec.encoder, "w").video_formats or []
    except av.codec.codec.UnknownCodecError:
        layouts = []
    if codec.layout not in {layout.name for layout in layouts}:
        msg = f"{name} cannot be written: this installation of PyAV lacks {codec.encoder}."
        raise SettingError(msg)
    return codec
