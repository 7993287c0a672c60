"""A clip as a source: frame-exact by time stamp, sequential reading without seeking."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from keyer.errors import InputFileError, TimeError
from keyer.kinds.picture import Picture
from keyer.media.contract import MAX_SIDE, SourceProps
from keyer.media.frames import has_alpha, picture_of, read_tags, upright
from keyer.media.timeline import Timeline, read_timeline

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

_REFUSED_FORMATS = {"tty", "hls", "concat", "dash", "image2", "image2pipe", "lavfi", "sdp", "rtsp"}
"""Readers that take text for pictures, or follow a file to other files and hosts."""

_NEAR = 8
"""Pictures ahead up to which decoding on is taken to be quicker than seeking."""

_STEPS_BACK = (0, 300, 1 << 60)
"""Pictures before the wanted one at which to look for a place to decode from; at last, all."""

_SD_SIZES = {(columns, rows) for columns in (704, 720) for rows in (480, 486, 576)}
"""Sizes of 4:3 and 16:9 pictures alike (ITU-R BT.601), whose pixels are never square."""


def _open(path: Path) -> tuple[InputContainer, VideoStream]:
    """Open a clip and choose its picture stream."""
    import av

    try:
        container = av.open(f"file:{path.resolve()}", "r", options={"protocol_whitelist": "file"})
    except (av.error.FFmpegError, OSError, ValueError):
        msg = (
            f"{path} cannot be opened: it is neither a picture nor a clip, or it is cut short. "
            "Copy or export it again."
        )
        raise InputFileError(msg) from None
    streams = [s for s in container.streams.video if not s.disposition & _attached()]
    if set(container.format.name.split(",")) & _REFUSED_FORMATS or not streams:
        container.close()
        msg = f"{path} holds no moving picture ({container.format.name}). Name a clip or a still."
        raise InputFileError(msg)
    stream = streams[0]
    if stream.codec_context is None or not stream.codec_context.is_decoder:
        container.close()
        msg = f"{path} is coded in a way that this installation cannot decode. Export it again."
        raise InputFileError(msg)
    return container, stream


def _attached() -> int:
    from av.stream import Disposition

    return Disposition.attached_pic


class Clip:
    """A clip. Nothing of it is held but the picture last read."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._container, self._stream = _open(path)
        try:
            self._timeline: Timeline = read_timeline(path, self._container, self._stream)
            self._begin()
        except BaseException:
            self._container.close()
            raise

    def _begin(self) -> None:
        self._wanted = 0
        self._restart()
        first = next(self._decoded, None)
        if first is None:
            msg = f"{self._path} has frames, but not one can be decoded. Export it again."
            raise InputFileError(msg)
        place, frame = first
        if max(frame.width, frame.height) > MAX_SIDE:
            msg = (
                f"{self._path} is {frame.width} x {frame.height}; a picture must have at most "
                f"{MAX_SIDE} columns and rows. Scale it down first."
            )
            raise InputFileError(msg)
        self._tags = read_tags(str(self._path), self._stream.codec_context, frame)
        self._size = (frame.width, frame.height)
        self._rotation = 90 * round(frame.rotation / 90) % 360
        self._props = self._describe(frame)
        self._place, self._picture = place, self._taken(place, frame)

    @property
    def props(self) -> SourceProps:
        """What is known of it."""
        return self._props

    def _describe(self, frame: VideoFrame) -> SourceProps:
        aspect = self._stream.sample_aspect_ratio or Fraction(1)
        notices = [self._tags.notice, *self._timeline.notices]
        if not self._stream.sample_aspect_ratio and self._size in _SD_SIZES:
            notices.append(f"{self._path} does not say its pixel aspect; taken as square.")
        if frame.interlaced_frame:
            notices.append(f"{self._path} is interlaced; its two fields are shown as one picture.")
        width, height = frame.width, frame.height
        if self._rotation % 180:
            width, height, aspect = height, width, 1 / aspect
        rate, frames = self._timeline.rate, len(self._timeline.places)
        codec = self._stream.codec_context.name
        return SourceProps(
            description=(
                f"clip, {codec} {frame.format.name}, {width} x {height}, "
                f"{float(rate):.5g} frames a second, {frames} frames"
            ),
            width=width,
            height=height,
            rate=rate,
            frames=frames,
            pixel_aspect=aspect,
            matrix=self._tags.matrix,
            has_alpha=has_alpha(frame.format),
            bits=max(part.bits for part in frame.format.components),
            notices=tuple(notice for notice in notices if notice),
        )

    def _taken(self, place: int, frame: VideoFrame) -> Picture:
        """Take a frame as a picture, upright."""
        if (frame.width, frame.height) != self._size:
            width, height = self._size
            msg = (
                f"{self._path} changes size: picture {place} is {frame.width} x {frame.height}, "
                f"the first is {width} x {height}. Export it at one size."
            )
            raise InputFileError(msg)
        if frame.is_corrupt:
            msg = f"{self._path} is damaged at picture {place}. Copy or export it again."
            raise InputFileError(msg)
        picture = picture_of(frame, self._tags)
        return upright(picture, self._rotation) if self._rotation else picture

    def _restart(self) -> None:
        """Decode from the very first picture."""
        self._container.close()
        self._container, self._stream = _open(self._path)
        self._stream.thread_type = "AUTO"
        self._decoded = self._decode()

    def _decode(self) -> Iterator[tuple[int, VideoFrame]]:
        """Decode on from where the file stands, each picture with its place."""
        import av

        count = -1
        try:
            for frame in self._container.decode(self._stream):
                place = self._timeline.place_of(frame.pts, count + 1)
                if place is not None:
                    count = place
                    yield place, frame
        except av.error.FFmpegError as error:
            msg = (
                f"{self._path} cannot be decoded up to picture {self._wanted} ({error.strerror}). "
                "Copy or export it again."
            )
            raise InputFileError(msg) from None

    def _seek(self, place: int) -> None:
        """Go to where decoding can start for a picture, or before it."""
        import av

        stamps = self._timeline.stamps
        if stamps is None or place <= 0:
            self._restart()
            return
        try:
            self._container.seek(int(stamps[place]), stream=self._stream, backward=True)
        except av.error.FFmpegError:
            self._restart()
            return
        self._decoded = self._decode()

    def _find(self, place: int) -> VideoFrame | None:
        """Decode on until a picture; None if it is not among those ahead."""
        for at, frame in self._decoded:
            if at == place:
                return frame
            if at > place:
                return None
        return None

    def _fetch(self, place: int) -> VideoFrame:
        """Decode one picture, seeking only where that saves decoding."""
        near = self._place < place and self._timeline.key_before(place) <= self._place + _NEAR
        self._place = len(self._timeline.places)  # forgotten, should decoding fail
        self._wanted = place
        starts = [place - back for back in _STEPS_BACK]
        for start in [None, *starts] if near else starts:
            if start is not None:
                self._seek(start)
            try:
                frame = self._find(place)
            except InputFileError:
                if start is not None:
                    raise
                continue  # what is damaged may lie before the picture wanted
            if frame is not None:
                return frame
        msg = (
            f"{self._path} has no picture {place}, though it says that it has "
            f"{len(self._timeline.places)}. Copy or export it again."
        )
        raise InputFileError(msg)

    def read(self, index: int) -> Picture:
        """Return picture `index`, counted from 0."""
        frames = len(self._timeline.places)
        if not 0 <= index < frames:
            msg = f"frame must be 0 to {frames - 1}, got {index}: {self._path} ends there."
            raise TimeError(msg)
        place = int(self._timeline.places[index])
        if place != self._place:
            self._picture = self._taken(place, self._fetch(place))
            self._place = place
        return self._picture

    def close(self) -> None:
        """Let go of the file."""
        self._container.close()
