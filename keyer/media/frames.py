"""A decoded frame as a picture, at its own depth, with what its tags say.

Only layouts are changed here (packed to planar, byte order); levels and colours
are left to `keyer.pixel.colour.load`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.kinds.picture import Matrix, Picture, RgbPicture, YccPicture
from keyer.media.decode_still import raw_refused

if TYPE_CHECKING:
    from av.video.codeccontext import VideoCodecContext
    from av.video.format import VideoFormat
    from av.video.frame import VideoFrame

    from keyer.pixel.colour.hdr import Transfer

_MATRICES: dict[int, Matrix] = {1: "bt709", 5: "bt601", 6: "bt601"}
"""Matrix coefficients of ITU-T H.273 table 4: 1 is BT.709; 5 and 6 are BT.601."""

_MATRIX_2020 = 9
"""BT.2020 with non-constant luminance, which BT.2100 has as well."""

_MATRIX_NAMES = {
    4: "FCC 73.682",
    7: "SMPTE ST 240",
    8: "YCgCo",
    10: "BT.2020 with constant luminance",
    14: "ICtCp of BT.2100",
}
_TRANSFERS: dict[int, Transfer] = {16: "pq", 18: "hlg"}
"""Transfer characteristics of ITU-T H.273 table 3; others of television are standard range."""

_LOG = {9: "logarithmic (100:1)", 10: "logarithmic (316:1)"}
_CURVE = re.compile(r"gamma|transfer|curve", re.IGNORECASE)
_LOG_NAMED = re.compile(r"(?<![a-z])[a-z]{0,2}[- ]?log[- ]?[a-z]?\d*(?![a-z])", re.IGNORECASE)
"""Keys under which files name their curve, and how logarithmic ones are called: a letter or two,
"log", a letter or a number (common practice)."""
_PRIMARIES_2020 = 9
_SILENT = 2
_NARROW_RANGE, _FULL_RANGE = 1, 2  # as libavutil numbers them
_SD_ROWS = 576

_DIRECT = re.compile(r"yuva?j?4(20|22|44)p(\d+le)?")
_SAMPLINGS = {(1, 1): "444", (2, 1): "422", (2, 2): "420"}


class Tags(NamedTuple):
    """Matrix, chroma siting and range of a clip's frames, with what had to be assumed.

    Attributes
    ----------
    matrix : {"bt601", "bt709"}
    left_sited : bool
    notice : str
        What had to be assumed, or is done, or empty.
    range : Range or None
        How its signals are brought to standard range and BT.709; None where they have both.
    """

    matrix: Matrix
    left_sited: bool
    notice: str
    range: Range | None = None


class Range(NamedTuple):
    """Transfer and primaries of a clip in high dynamic range or wide colours.

    Attributes
    ----------
    transfer : {"hlg", "pq", "sdr"}
    wide : bool
        Whether its colours are BT.2020's.
    matrix_2020 : bool
        Whether its Y'CbCr has the matrix of BT.2020.
    """

    transfer: Transfer
    wide: bool
    matrix_2020: bool

    @property
    def said(self) -> str:
        """Say which range a clip has and how it is brought to standard range."""
        colours = (
            " in BT.2020 colours, brought to BT.709 by Report ITU-R BT.2407 and cut off where that"
            " ends"
            if self.wide
            else ""
        )
        if self.transfer == "sdr":
            return f"is{colours}"
        return (
            f"is {self.transfer.upper()} of ITU-R BT.2100{colours}; its light is brought to"
            " standard range by method C of Report ITU-R BT.2446 (reference white, 203 cd/m2,"
            " becomes 96 %)"
        )


def read_tags(
    name: str,
    context: VideoCodecContext,
    frame: VideoFrame,
    notes: Mapping[str, str] | None = None,
) -> Tags:
    """Read the tags of a clip off its first frame.

    Parameters
    ----------
    name : str
        The clip, for messages.
    context : VideoCodecContext
        Its decoder, which knows what the container says.
    frame : VideoFrame
    notes : mapping, optional
        What the file says of itself in words; cameras name their curve there.

    Returns
    -------
    Tags
        A silent stream is taken as BT.601 up to 576 rows and as BT.709 above
        (common practice). Motion JPEG and MPEG-1 site chroma between columns
        (JFIF; ISO/IEC 11172-2), the others on the even ones.

    Raises
    ------
    InputFileError
        If the stream says it has another matrix, is logarithmic, or is sensor data.
    """
    _refuse_log(name, frame, notes or {})
    _refuse_raw(name, frame)
    left_sited = context.name not in {"mjpeg", "mpeg1video"}
    if frame.format.is_rgb or len(frame.format.components) < 3:
        plain = _range_of(frame, matrix_2020=False)
        return Tags("bt709", left_sited, f"{name} {plain.said}." if plain else "", plain)
    code = int(frame.colorspace)
    if code == _SILENT:
        code = int(context.colorspace)
    if code == _SILENT:
        matrix: Matrix = "bt601" if frame.height <= _SD_ROWS else "bt709"
        assumed = f"BT.{matrix[2:]}, as usual for {frame.height} rows"
        return Tags(
            matrix, left_sited, f"{name} does not say its colour matrix; taken as {assumed}."
        )
    ranged = _range_of(frame, matrix_2020=code == _MATRIX_2020)
    if ranged and code in {_MATRIX_2020, *_MATRICES}:
        matrix = _MATRICES.get(code, "bt709")
        return Tags(matrix, left_sited, f"{name} {ranged.said}.", ranged)
    if code not in _MATRICES:
        found = _MATRIX_NAMES.get(code, f"number {code} of ITU-T H.273")
        msg = f"{name} is coded with the matrix of {found}; convert it to BT.709 or BT.601 first."
        raise InputFileError(msg)
    return Tags(_MATRICES[code], left_sited, "")


def _range_of(frame: VideoFrame, *, matrix_2020: bool) -> Range | None:
    return range_of(int(frame.color_trc), int(frame.color_primaries), matrix_2020=matrix_2020)


def range_of(transfer: int, primaries: int, *, matrix_2020: bool = False) -> Range | None:
    """Tell high dynamic range and wide colours by their tags.

    Parameters
    ----------
    transfer, primaries : int
        As ITU-T H.273 tables 3 and 2 number them.
    matrix_2020 : bool
        Whether the matrix of Y'CbCr is BT.2020's.

    Returns
    -------
    Range or None
        None for standard range in usual colours. High range that says nothing of its colours has
        BT.2020's, as BT.2100 has it.
    """
    curve = _TRANSFERS.get(transfer, "sdr")
    silent = primaries == _SILENT and (matrix_2020 or curve != "sdr")
    wide = primaries == _PRIMARIES_2020 or silent
    return Range(curve, wide, matrix_2020) if wide or matrix_2020 or curve != "sdr" else None


def _refuse_log(name: str, frame: VideoFrame, notes: Mapping[str, str]) -> None:
    log = _LOG.get(int(frame.color_trc))
    named = (text for key, text in notes.items() if _CURVE.search(key) and _LOG_NAMED.search(text))
    log = log or next((f"logarithmic ({text})" for text in named), None)
    if log:
        msg = (
            f"{name} is {log}, as cameras record for grading; keyed like that every number would be"
            " wrong. Export it for BT.709 (standard range), or as HLG or PQ of BT.2100."
        )
        raise InputFileError(msg)


def _refuse_raw(name: str, frame: VideoFrame) -> None:
    if frame.format.name.startswith("bayer"):
        raise raw_refused(Path(name))


def has_alpha(layout: VideoFormat) -> bool:
    """Whether frames of a layout carry opacity."""
    return layout.has_palette or any(part.is_alpha for part in layout.components)


def _planes(frame: VideoFrame) -> list[NDArray[Any]]:
    """Planes of a planar frame, without the padding at the end of lines."""
    planes = []
    for plane in frame.planes:
        depth = np.uint16 if frame.format.components[0].bits > 8 else np.uint8
        rows = np.frombuffer(memoryview(plane), depth).reshape(
            -1, plane.line_size // np.dtype(depth).itemsize
        )
        planes.append(np.ascontiguousarray(rows[: plane.height, : plane.width]))
    return planes


def _rgb_picture(frame: VideoFrame) -> RgbPicture:
    layout = frame.format
    bits = max(part.bits for part in layout.components)
    wanted = "gbrap" if has_alpha(layout) else "gbrp"
    if not layout.name.startswith("gbr") or layout.is_big_endian:
        frame = frame.reformat(format=wanted if bits <= 8 else f"{wanted}16le")
    bits = frame.format.components[0].bits
    green, blue, red, *rest = (_full_scale(plane, bits) for plane in _planes(frame))
    return RgbPicture(np.stack([red, green, blue]), rest[0] if rest else None)


def _full_scale(plane: NDArray[Any], bits: int) -> NDArray[Any]:
    """Spread 9- to 14-bit codes over 16 bits, rounded half up."""
    if bits in {8, 16}:
        return plane
    top = (1 << bits) - 1
    spread: NDArray[np.uint16] = (
        (np.arange(top + 1, dtype=np.uint32) * 65535 * 2 + top) // (2 * top)
    ).astype(np.uint16)
    return np.asarray(spread[np.minimum(plane, top)])


def _grey_picture(frame: VideoFrame) -> Picture:
    """Take a frame without chroma: full range, unless its tag says narrow."""
    layout = frame.format
    bits = layout.components[0].bits
    if has_alpha(layout):
        return _rgb_picture(frame)
    if layout.is_big_endian or not layout.name.startswith("gray") or bits > 16:
        frame = frame.reformat(format="gray" if bits <= 8 else "gray16le")
        bits = frame.format.components[0].bits
    (luma,) = _planes(frame)
    if frame.color_range == _NARROW_RANGE:
        shape = (-(-frame.height // 2), -(-frame.width // 2))
        neutral = np.full(shape, 1 << (bits - 1), luma.dtype)
        return YccPicture(luma, neutral, neutral, bits, full_range=False, matrix="bt709")
    return RgbPicture(np.stack([_full_scale(luma, bits)] * 3))


def planar(frame: VideoFrame) -> VideoFrame:
    """Rearrange a Y'CbCr frame so that its planes can be taken as they are.

    Returns
    -------
    VideoFrame
        The frame itself where it is planar, or no Y'CbCr.
    """
    layout = frame.format
    if layout.is_rgb or layout.has_palette or len(layout.components) < 3:
        return frame
    if _DIRECT.fullmatch(layout.name):
        return frame
    luma, chroma = layout.components[0], layout.components[1]
    steps = (-(-luma.width // chroma.width), -(-luma.height // chroma.height))
    sampling = _SAMPLINGS.get(steps, "444")
    deep = f"{luma.bits}le" if luma.bits > 8 else ""
    alpha = "a" if has_alpha(layout) else ""
    return frame.reformat(format=f"yuv{alpha}{sampling}p{deep}")


def picture_of(frame: VideoFrame, tags: Tags) -> Picture:
    """Take a decoded frame as a picture.

    Returns
    -------
    RgbPicture or YccPicture
        The frame's own samples, not converted; of high range or wide colours as R'G'B' of
        standard range, float32.
    """
    picture = _samples_of(frame, tags)
    return picture if tags.range is None else _in_standard_range(picture, tags.range)


def _in_standard_range(picture: Picture, found: Range) -> RgbPicture:
    from keyer.pixel.colour.hdr import matrix_of_2020, to_standard
    from keyer.pixel.colour.load import load, load_alpha

    planes = load(picture)
    if found.matrix_2020:
        planes = matrix_of_2020(planes)
    alpha = None if picture.alpha is None else load_alpha(picture)
    return RgbPicture(to_standard(planes, found.transfer, wide=found.wide), alpha)


def _samples_of(frame: VideoFrame, tags: Tags) -> Picture:
    layout = frame.format
    if layout.is_rgb or layout.has_palette:
        return _rgb_picture(frame)
    if len(layout.components) < 3:
        return _grey_picture(frame)
    full = frame.color_range == _FULL_RANGE or layout.name.startswith("yuvj")
    plain = planar(frame)
    luma, cb, cr, *rest = _planes(plain)
    return YccPicture(
        luma,
        cb,
        cr,
        bits=plain.format.components[0].bits,
        full_range=full,
        matrix=tags.matrix,
        left_sited=tags.left_sited,
        alpha=rest[0] if rest else None,
    )


def upright(picture: Picture, degrees: int) -> RgbPicture:
    """Return a picture turned by quarters, as its file asks to be shown.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
    degrees : int
        90, 180 or 270, counter-clockwise.

    Returns
    -------
    RgbPicture
        Y'CbCr becomes float32, since its chroma samples would no longer sit
        where those of a picture sit.
    """
    from keyer.pixel.colour.load import load, load_alpha

    if isinstance(picture, YccPicture):
        alpha = None if picture.alpha is None else load_alpha(picture)
        picture = RgbPicture(load(picture), alpha, picture.matrix)
    turns = degrees // 90
    planes = np.ascontiguousarray(np.rot90(picture.planes, turns, axes=(1, 2)))
    if picture.alpha is None:
        return RgbPicture(planes, None, picture.matrix)
    return RgbPicture(planes, np.ascontiguousarray(np.rot90(picture.alpha, turns)), picture.matrix)
