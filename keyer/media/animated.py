"""Animated pictures for mail: GIF and WebP, written whole or not at all.

Square pixels, 8 bits, no sound, played in a loop. GIF (GIF89a) has 256 colours
a picture, chosen for each anew and dithered in a fixed pattern, and counts time in
hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Literal, Self

from keyer.errors import OutputError, SettingError
from keyer.kinds.picture import Picture, RgbPicture
from keyer.media.files import Files, PathLike, unwritable
from keyer.media.write import atomic_path

if TYPE_CHECKING:
    from av.container import OutputContainer
    from av.filter import Graph
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

AnimatedName = Literal["gif", "webp"]

ANIMATED: dict[AnimatedName, str] = {
    "gif": "for mail: animated GIF, 256 colours",
    "webp": "for mail: animated WebP, small and in full colour",
}
"""Kinds of animated picture, each with its purpose; the suffix is the name."""

FASTEST = Fraction(50)
"""Pictures a second that GIF can time: viewers slow down what is shown for less than 0.02 s."""

_WEBP = {"quality": "80"}
_THREADS = 6


class AnimatedWriter:
    """Writes pictures to an animated picture, one after the other.

    Use as a context manager: the file appears when the block ends, and only if
    it ends well.

    Parameters
    ----------
    path : path
        Ends in .gif or .webp.
    width, height : int
    rate : Fraction
        Pictures a second; at most `FASTEST` for GIF.
    files : Files, optional
        Of the command; none: nothing is replaced.

    Raises
    ------
    SettingError
        If the suffix is another or the rate too high.
    OutputError
        If the file cannot or must not be written, or no picture was.
    """

    def __init__(
        self,
        path: PathLike,
        width: int,
        height: int,
        rate: Fraction,
        files: Files | None = None,
    ) -> None:
        self._path = Path(path)
        self._kind = self._path.suffix.lower().lstrip(".")
        if self._kind not in ANIMATED:
            msg = f"{path} must end in .gif or .webp to be an animated picture."
            raise SettingError(msg)
        if self._kind == "gif" and rate > FASTEST:
            msg = f"rate of a GIF must be at most {FASTEST} pictures a second, got {float(rate):g}."
            raise SettingError(msg)
        self._size, self._rate = (width, height), Fraction(rate)
        self._target = atomic_path(path, files)
        self._stack = ExitStack()
        self._container: OutputContainer
        self._stream: VideoStream
        self._graph: Graph | None = None
        self._count = 0

    def __enter__(self) -> Self:
        """Begin the file."""
        import av

        with ExitStack() as stack:
            temporary = stack.enter_context(self._target)
            options = {"loop": "0", "fflags": "+bitexact"}
            self._container = av.open(f"file:{temporary.resolve()}", "w", options=options)
            stack.push(self._close)
            encoder, layout = ("gif", "pal8") if self._kind == "gif" else ("libwebp_anim", "bgra")
            settings = {} if self._kind == "gif" else dict(_WEBP)
            self._stream = self._container.add_stream(  # type: ignore[assignment]
                encoder, rate=self._rate, options=settings
            )
            self._stream.width, self._stream.height = self._size
            self._stream.pix_fmt = layout
            self._stream.codec_context.time_base = 1 / self._rate
            self._stream.codec_context.thread_count = _THREADS
            if self._kind == "gif":
                self._graph = self._to_palette()
            self._stack = stack.pop_all()
        return self

    def _to_palette(self) -> Graph:
        """Choose 256 colours for each picture and dither it to them."""
        import av.filter

        graph = av.filter.Graph()
        width, height = self._size
        enter = graph.add_buffer(
            width=width,
            height=height,
            format=av.VideoFormat("bgra", width, height),
            time_base=1 / self._rate,
        )
        split = graph.add("split")
        choose = graph.add("palettegen", "stats_mode=single:reserve_transparent=0")
        use = graph.add("paletteuse", "new=1:dither=bayer:bayer_scale=3")
        leave = graph.add("buffersink")
        enter.link_to(split)
        split.link_to(use, 0, 0)
        split.link_to(choose, 1, 0)
        choose.link_to(use, 0, 1)
        use.link_to(leave)
        graph.configure()
        return graph

    def write(self, picture: Picture) -> None:
        """Append a picture.

        Parameters
        ----------
        picture : RgbPicture or YccPicture
            Of the file's size.

        Raises
        ------
        OutputError
            If it cannot be coded or the disk is full.
        """
        import av

        from keyer.pixel.colour.load import at_depth, load, to_array

        flat = picture if isinstance(picture, RgbPicture) else RgbPicture(load(picture))
        array = to_array(at_depth(RgbPicture(flat.planes), "uint8"))
        frame = av.VideoFrame.from_ndarray(array, format="rgb24").reformat(format="bgra")
        frame.pts, frame.time_base = self._count, 1 / self._rate
        self._code(frame)
        self._count += 1

    def _prepared(self, frame: VideoFrame | None) -> Iterator[VideoFrame | None]:
        """Pass a frame, or the end, through what chooses its colours."""
        import av

        if self._graph is None:
            yield frame
            return
        self._graph.push(frame)
        while True:
            try:
                made = self._graph.pull()
            except (av.error.BlockingIOError, av.error.EOFError):
                break
            made.time_base = 1 / self._rate
            yield made  # type: ignore[misc]
        if frame is None:
            yield None

    def _code(self, frame: VideoFrame | None) -> None:
        import av

        try:
            for made in self._prepared(frame):
                for packet in self._stream.encode(made):
                    self._container.mux(packet)
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
        if kind is not None:
            return
        if self._count == 0:
            msg = f"{self._path} would be without a picture. Write at least one."
            raise OutputError(msg)
        self._code(None)

    def _close(self, kind: type[BaseException] | None, *_: object) -> None:
        import av

        try:
            self._container.close()
        except (av.error.FFmpegError, OSError) as error:
            if kind is None:
                raise unwritable(self._path, error, " at its end") from None
