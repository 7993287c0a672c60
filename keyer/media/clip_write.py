"""Write a clip: whole or not at all, with tags that say how it is meant."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np
from numpy.typing import NDArray

from keyer.errors import FrameShapeError, OutputError, SettingError
from keyer.kinds.picture import Matrix, Picture
from keyer.kinds.version import __version__
from keyer.media.codecs import CodecName, choose_codec, encoder_options, fields_options
from keyer.media.files import Files, PathLike, unwritable
from keyer.media.frame_write import FieldMarker, frame_of, tag
from keyer.media.sound_write import add_sound, code_sound, sound_codec
from keyer.media.write import atomic_path
from keyer.pixel.compose.weave import FieldOrder

if TYPE_CHECKING:
    from av.audio.stream import AudioStream
    from av.container import OutputContainer
    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

_THREADS = 6
"""Of the encoder. Fixed, because some encoders write other bytes with another number."""


def _muxing(suffix: str) -> dict[str, str]:
    """Options of a container; an MXF has an identity of its own each time (SMPTE ST 330)."""
    if suffix == ".mxf":
        return {}
    options = {"fflags": "+bitexact"}
    return options if suffix == ".mkv" else {**options, "movflags": "+faststart+write_colr"}


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
    codec : str
        One of `keyer.media.codecs.CODECS`.
    pixel_aspect : Fraction
        Width of a pixel over its height.
    matrix : {"bt601", "bt709"}
        Luma coefficients to code with.
    deep : bool
        Whether a codec without loss keeps 16 bits instead of 8.
    timecode : str
        Of the first picture, `HH:MM:SS:FF` or `HH:MM:SS;FF`; empty for none.
    sound : bool
        Whether there is sound (`write_sound`).
    fields : {"top", "bottom"} or None
        Which field of a frame comes first; None: frames are not interlaced.
    files : Files, optional
        Of the command; none: nothing is replaced.

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
        deep: bool = False,
        timecode: str = "",
        sound: bool = False,
        fields: FieldOrder | None = None,
        files: Files | None = None,
    ) -> None:
        self._path = Path(path)
        self._rate, self._aspect = Fraction(rate), Fraction(pixel_aspect)
        self._codec = choose_codec(codec, self._path, width, height, self._aspect)
        if self._codec.high_only and matrix != "bt709":
            msg = f"{codec} holds pictures of BT.709 alone. Write a .mov of prores-hq."
            raise SettingError(msg)
        self._options = encoder_options(self._codec)
        if fields is not None:
            self._options = fields_options(codec, width, height, self._rate, fields)
        self._marked = None if fields is None else FieldMarker(fields)
        self._layout = self._codec.deep if deep and self._codec.deep else self._codec.layout
        self._size = (width, height)
        self._matrix: Matrix = matrix
        self._timecode = timecode
        self._sound_codec = sound_codec(self._path, codec) if sound else None
        self._sound: AudioStream | None = None
        self._samples = 0
        self._target = atomic_path(path, files)
        self._stack = ExitStack()
        self._container: OutputContainer
        self._stream: VideoStream
        self._count = 0
        self._coded = False

    def __enter__(self) -> Self:
        """Begin the file."""
        import av

        with ExitStack() as stack:
            temporary = stack.enter_context(self._target)
            self._container = av.open(
                f"file:{temporary.resolve()}", "w", options=_muxing(temporary.suffix.lower())
            )
            if temporary.suffix.lower() == ".mxf":
                self._container.metadata.update(
                    company_name="keyer", product_name="keyer", product_version=__version__
                )
            stack.push(self._close)
            self._stream = self._add_stream(self._container)
            if self._sound_codec:
                self._sound = add_sound(self._container, self._sound_codec)
            self._stack = stack.pop_all()
        return self

    def _add_stream(self, container: OutputContainer) -> VideoStream:
        codec = self._codec
        stream: VideoStream = container.add_stream(  # type: ignore[assignment]
            codec.encoder, rate=self._rate, options=self._options
        )
        stream.width, stream.height = self._size
        stream.pix_fmt = self._layout
        stream.codec_context.time_base = 1 / self._rate
        stream.codec_context.sample_aspect_ratio = self._aspect
        stream.codec_context.thread_type = "AUTO"
        stream.codec_context.thread_count = _THREADS
        if self._timecode:
            stream.metadata["timecode"] = self._timecode
        tag(stream.codec_context, codec, self._matrix)
        return stream

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
        frame = frame_of(picture, self._codec, self._layout, self._matrix)
        if self._marked is not None:
            frame = self._marked.mark(frame, self._rate)
        frame.pts, frame.time_base = self._count, 1 / self._rate
        self._code(frame)
        self._count += 1

    def write_coded(self, packet: Packet[VideoStream]) -> None:
        """Append a picture that is coded already, as a clip of the same settings holds it.

        Parameters
        ----------
        packet : av.Packet
            From `keyer.media.coded.coded_pictures`.

        Raises
        ------
        OutputError
            If the disk is full.
        """
        packet.stream = self._stream
        packet.time_base = 1 / self._rate
        packet.pts = packet.dts = self._count
        packet.duration = 1
        with self._writing():
            self._container.mux(packet)
        self._coded = True
        self._count += 1

    def write_sound(self, block: NDArray[np.float32]) -> None:
        """Append samples; they may run ahead of the pictures or behind them by a little.

        Parameters
        ----------
        block : (2, n) float32
            Left and right at 48 kHz, full scale at 1.

        Raises
        ------
        OutputError
            If they cannot be coded or the disk is full.
        """
        self._code_sound(block)
        self._samples += block.shape[1]

    def _code_sound(self, block: NDArray[np.float32] | None) -> None:
        if self._sound is None or self._sound_codec is None:
            msg = "the clip was begun without sound"
            raise AssertionError(msg)
        with self._writing():
            code_sound(self._container, self._sound, self._sound_codec, block, self._samples)

    def _code(self, frame: VideoFrame | None) -> None:
        with self._writing():
            for packet in self._stream.encode(frame):
                self._container.mux(packet)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Turn the library's errors into one line."""
        import av

        try:
            yield
        except (av.error.FFmpegError, OSError) as error:
            raise unwritable(self._path, error, f" at picture {self._count}") from None

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
        if not self._coded:
            self._code(None)
        if self._sound is not None:
            self._code_sound(None)

    def _close(self, kind: type[BaseException] | None, *_: object) -> None:
        """Close the file; after a failure, whatever closing it says does not matter."""
        import av

        try:
            self._container.close()
        except (av.error.FFmpegError, OSError) as error:
            if kind is None:
                raise unwritable(self._path, error, " at its end") from None
