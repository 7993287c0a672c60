"""Write a clip: whole or not at all, with tags that say how it is meant."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError, OutputError
from keyer.kinds.picture import Matrix, Picture, Plane, RgbPicture, YccPicture
from keyer.media.codecs import Codec, CodecName, choose_codec
from keyer.media.write import PathLike, atomic_path

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.video.codeccontext import VideoCodecContext
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

_BT709, _BT470BG, _SMPTE170M, _RGB = 1, 5, 6, 0
_NARROW, _FULL = 1, 2
"""Code points of ITU-T H.273 (tables 2 to 4) and libavutil's numbers of the ranges."""


def _tag(target: VideoCodecContext | VideoFrame, codec: Codec, matrix: Matrix) -> None:
    """Say matrix, primaries, transfer and range: some encoders ask the frame, some the stream.

    525- and 625-line pictures differ in primaries (H.273 table 2: 6 and 5).
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


def _fill_planes(frame: VideoFrame, planes: Iterable[Plane]) -> None:
    for index, plane in enumerate(planes):
        height, width = plane.shape
        _rows(frame, index, plane.dtype.type)[:height, :width] = plane


def _fill_packed(frame: VideoFrame, picture: RgbPicture) -> None:
    import cv2

    from keyer.pixel.load import at_depth

    red, green, blue = at_depth(picture, np.uint8).planes
    if frame.format.name == "bgr0":
        channels = [blue, green, red, np.full_like(red, 255)]
    else:
        channels = [red, green, blue]
    width = picture.width * len(channels)
    rows = _rows(frame, 0, np.uint8)
    rows[: picture.height, :width] = cv2.merge(channels).reshape(picture.height, width)


class ClipWriter:
    """Writes pictures to a clip, one after the other.

    Use as a context manager: the file appears when the block ends, and only if
    it ends well.

    Parameters
    ----------
    path : path
    width, height : int
    rate : Fraction
        Frames a second.
    codec : {"h264", "ffv1", "ffv1-yuv", "prores-hq", "prores-4444", "png"}
    pixel_aspect : Fraction
        Width of a pixel over its height.
    matrix : {"bt601", "bt709"}
        Luma coefficients to code with.
    force : bool
        Whether an existing file may be replaced.
    inputs : iterable of paths
        Files that must never be replaced.

    Raises
    ------
    SettingError
        If the codec cannot hold what is wanted.
    OutputError
        If the file cannot or must not be written, or no picture was.
    """

    def __init__(
        self,
        path: PathLike,
        width: int,
        height: int,
        rate: Fraction,
        *,
        codec: CodecName = "h264",
        pixel_aspect: Fraction = Fraction(1),
        matrix: Matrix = "bt709",
        force: bool = False,
        inputs: Iterable[PathLike] = (),
    ) -> None:
        self._path = Path(path)
        self._rate, self._aspect = Fraction(rate), Fraction(pixel_aspect)
        self._codec = choose_codec(codec, self._path, width, height, self._aspect)
        self._size = (width, height)
        self._matrix: Matrix = matrix
        self._target = atomic_path(path, force=force, inputs=inputs)
        self._stack = ExitStack()
        self._container: OutputContainer
        self._stream: VideoStream
        self._count = 0

    def __enter__(self) -> Self:
        """Begin the file."""
        import av

        with ExitStack() as stack:
            temporary = stack.enter_context(self._target)
            options = {"fflags": "+bitexact"}
            if temporary.suffix.lower() != ".mkv":
                options["movflags"] = "+faststart+write_colr"
            self._container = av.open(f"file:{temporary.resolve()}", "w", options=options)
            stack.push(self._close)
            self._stream = self._add_stream(self._container)
            self._stack = stack.pop_all()
        return self

    def _add_stream(self, container: OutputContainer) -> VideoStream:
        codec = self._codec
        stream: VideoStream = container.add_stream(  # type: ignore[assignment]
            codec.encoder, rate=self._rate, options=dict(codec.options)
        )
        stream.width, stream.height = self._size
        stream.pix_fmt = codec.layout
        stream.codec_context.time_base = 1 / self._rate
        stream.codec_context.sample_aspect_ratio = self._aspect
        stream.codec_context.thread_type = "AUTO"
        _tag(stream.codec_context, codec, self._matrix)
        return stream

    def _frame(self, picture: Picture) -> VideoFrame:
        import av

        from keyer.pixel.encode_ycc import encode
        from keyer.pixel.load import load, store

        codec = self._codec
        frame = av.VideoFrame(*self._size, codec.layout)
        if codec.sampling is None:
            if isinstance(picture, YccPicture):
                picture = RgbPicture(store(load(picture), np.uint8))
            _fill_packed(frame, picture)
        else:
            coded = encode(
                picture,
                sampling=codec.sampling,
                bits=codec.bits,
                matrix=self._matrix,
                alpha=codec.alpha,
            )
            planes = (coded.luma, coded.cb, coded.cr, coded.alpha)
            _fill_planes(frame, (plane for plane in planes if plane is not None))
        _tag(frame, codec, self._matrix)
        frame.pts, frame.time_base = self._count, 1 / self._rate
        return frame

    def write(self, picture: Picture) -> None:
        """Append a picture.

        Parameters
        ----------
        picture : RgbPicture or YccPicture
            Of the clip's size.

        Raises
        ------
        FrameShapeError
            If it has another size.
        OutputError
            If it cannot be coded or the disk is full.
        """
        if (picture.width, picture.height) != self._size:
            width, height = self._size
            msg = (
                f"a picture of the clip must be {width} x {height}, "
                f"got {picture.width} x {picture.height}. Fit it first."
            )
            raise FrameShapeError(msg)
        self._code(self._frame(picture))
        self._count += 1

    def _code(self, frame: VideoFrame | None) -> None:
        import av

        try:
            for packet in self._stream.encode(frame):
                self._container.mux(packet)
        except (av.error.FFmpegError, OSError) as error:
            reason = getattr(error, "strerror", None) or error
            msg = f"{self._path} cannot be written at picture {self._count} ({reason})."
            raise OutputError(msg) from None

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> bool | None:
        """End the file, or leave nothing if the block failed."""
        self._stack.push(self._finish)
        return self._stack.__exit__(kind, error, trace)

    def _finish(self, kind: type[BaseException] | None, *_: object) -> None:
        """Code what the encoder still holds back."""
        if kind is not None:
            return
        if self._count == 0:
            msg = f"{self._path} would be a clip without a picture. Write at least one."
            raise OutputError(msg)
        self._code(None)

    def _close(self, kind: type[BaseException] | None, *_: object) -> None:
        """Close the file; after a failure, whatever closing it says does not matter."""
        import av

        try:
            self._container.close()
        except (av.error.FFmpegError, OSError) as error:
            if kind is None:
                reason = getattr(error, "strerror", None) or error
                msg = f"{self._path} cannot be ended ({reason})."
                raise OutputError(msg) from None
