"""A picture as the frame that an encoder takes, with tags that say how it is meant."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import AnyPlane
from keyer.kinds.picture import Matrix, Picture, RgbPicture, YccPicture

if TYPE_CHECKING:
    from av.filter.graph import Graph
    from av.video.codeccontext import VideoCodecContext
    from av.video.frame import VideoFrame

    from keyer.media.codecs import Codec
    from keyer.pixel.compose.weave import FieldOrder

_BT709, _BT470BG, _SMPTE170M, _RGB = 1, 5, 6, 0
_NARROW, _FULL = 1, 2
"""Code points of ITU-T H.273 (tables 2 to 4) and libavutil's numbers of the ranges."""


def tag(target: VideoCodecContext | VideoFrame, codec: Codec, matrix: Matrix) -> None:
    """Say matrix, primaries, transfer and range: some encoders ask the frame, some the stream.

    525- and 625-line pictures differ in primaries (H.273 table 2: 6 and 5).

    Parameters
    ----------
    target : VideoCodecContext or VideoFrame
    codec : Codec
    matrix : {"bt601", "bt709"}
    """
    if matrix == "bt709":
        target.color_primaries = target.color_trc = target.colorspace = _BT709
    else:
        lines_625 = target.height == 576
        target.color_primaries = _BT470BG if lines_625 else _SMPTE170M
        target.color_trc = _SMPTE170M
        target.colorspace = _BT470BG if lines_625 else _SMPTE170M
    target.color_range = _NARROW
    if codec.sampling is None:
        target.colorspace, target.color_range = _RGB, _FULL


def _rows(frame: VideoFrame, index: int, depth: type[np.uint8 | np.uint16]) -> NDArray[Any]:
    """Rows of one plane of a frame, with the padding at their ends."""
    plane = frame.planes[index]
    return np.frombuffer(memoryview(plane), depth).reshape(
        -1, plane.line_size // np.dtype(depth).itemsize
    )


def _fill_planes(frame: VideoFrame, planes: Iterable[AnyPlane]) -> None:
    for index, plane in enumerate(planes):
        height, width = plane.shape
        _rows(frame, index, plane.dtype.type)[:height, :width] = plane


def _fill_rgb(frame: VideoFrame, picture: RgbPicture) -> None:
    """Fill a frame of R'G'B', packed or in planes, of 8 or 16 bits."""
    import cv2

    from keyer.pixel.colour.load import at_depth

    layout = frame.format.name
    deep = frame.format.components[0].bits == 16
    red, green, blue = at_depth(picture, np.uint16 if deep else np.uint8).planes
    if layout.startswith("gbrp"):
        _fill_planes(frame, (green, blue, red))
        return
    channels = [red, green, blue]
    if layout == "bgr0":
        channels = [blue, green, red, np.full_like(red, 255)]
    packed = cv2.merge(channels).reshape(picture.height, -1)
    rows = _rows(frame, 0, np.uint16 if deep else np.uint8)
    rows[: picture.height, : packed.shape[1]] = packed.byteswap() if deep else packed


def _is_coded(picture: Picture, codec: Codec, matrix: Matrix) -> bool:
    """Whether a picture's planes can go to an encoder as they are."""
    from keyer.pixel.colour.decode_ycc import chroma_steps

    if not isinstance(picture, YccPicture) or codec.sampling is None:
        return False
    steps = {"420": (2, 2), "422": (2, 1), "444": (1, 1)}[codec.sampling]
    return (
        (picture.bits, picture.full_range, picture.matrix) == (codec.bits, False, matrix)
        and picture.left_sited
        and (picture.alpha is not None) == codec.alpha
        and chroma_steps(picture) == steps
    )


def frame_of(picture: Picture, codec: Codec, layout: str, matrix: Matrix) -> VideoFrame:
    """Make the frame that an encoder takes.

    Parameters
    ----------
    picture : RgbPicture or YccPicture
        Y'CbCr planes of the codec's own sampling, depth and matrix are taken
        as they are; everything else is converted.
    codec : Codec
    layout : str
        Pixel format of the codec.
    matrix : {"bt601", "bt709"}
        Luma coefficients to code with.

    Returns
    -------
    VideoFrame
        Tagged, without a time.
    """
    import av

    from keyer.pixel.colour.encode_ycc import encode
    from keyer.pixel.colour.load import load, store

    frame = av.VideoFrame(picture.width, picture.height, layout)
    if codec.sampling is None:
        if isinstance(picture, YccPicture):
            deep = frame.format.components[0].bits == 16
            picture = RgbPicture(store(load(picture), np.uint16 if deep else np.uint8))
        _fill_rgb(frame, picture)
    else:
        coded = picture
        if not isinstance(coded, YccPicture) or not _is_coded(coded, codec, matrix):
            coded = encode(
                picture,
                sampling=codec.sampling,
                bits=codec.bits,
                matrix=matrix,
                alpha=codec.alpha,
            )
        planes = (coded.luma, coded.cb, coded.cr, coded.alpha)
        _fill_planes(frame, (plane for plane in planes if plane is not None))
    tag(frame, codec, matrix)
    return frame


class FieldMarker:
    """Says of frames that they are interlaced, and which field comes first.

    Parameters
    ----------
    order : {"top", "bottom"}
    """

    def __init__(self, order: FieldOrder) -> None:
        self._mode = "tff" if order == "top" else "bff"
        self._graph: Graph | None = None

    def mark(self, frame: VideoFrame, rate: Fraction) -> VideoFrame:
        """Mark a frame; its pixels and its tags stay as they are.

        Parameters
        ----------
        frame : VideoFrame
        rate : Fraction
            Frames a second.

        Returns
        -------
        VideoFrame
            Without a time.
        """
        import av.filter

        if self._graph is None:
            graph = av.filter.Graph()
            enter = graph.add_buffer(
                width=frame.width, height=frame.height, format=frame.format, time_base=1 / rate
            )
            marker = graph.add("setfield", f"mode={self._mode}")
            leave = graph.add("buffersink")
            enter.link_to(marker)
            marker.link_to(leave)
            graph.configure()
            self._graph = graph
        frame.pts, frame.time_base = 0, 1 / rate
        self._graph.push(frame)
        marked: VideoFrame = self._graph.pull()  # type: ignore[assignment]
        return marked
