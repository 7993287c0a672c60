"""A clip as a source: frame-exact by time stamp, sequential reading without seeking."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from keyer.errors import InputFileError, TimeError
from keyer.kinds.picture import Picture
from keyer.media.contract import SourceProps
from keyer.media.decoder import Decoder, refuse_large
from keyer.media.fields import Fields
from keyer.media.frames import has_alpha, picture_of, planar, read_tags, upright
from keyer.media.timeline import Timeline, read_timeline

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

_NEAR = 8
"""Pictures ahead up to which decoding on is taken to be quicker than seeking."""

_STEPS_BACK = (0, 300, 1 << 60)
"""Pictures before the wanted one at which to look for a place to decode from; at last, all."""

_CONCLUSIVE = 300
"""Pictures before the wanted one from which on a doubt about it is no longer the start's fault:
a picture shown before the one that decoding starts with may rest on one that was never read."""

_SD_SIZES = {(columns, rows) for columns in (704, 720) for rows in (480, 486, 576)}
"""Sizes of 4:3 and 16:9 pictures alike (ITU-R BT.601), whose pixels are never square."""


class Clip:
    """A clip. Nothing of it is held but the picture last read; of an interlaced one three frames.

    Parameters
    ----------
    path : Path
    at : Fraction, optional
        Pictures a second that it will be shown at. An interlaced clip gives both fields of each
        frame where its own rate is much lower, else one picture a frame.
    """

    def __init__(self, path: Path, at: Fraction | None = None) -> None:
        self._path = path
        self._at = at
        self._decoder = Decoder(path)
        try:
            self._timeline: Timeline = read_timeline(
                path, self._decoder.container, self._decoder.stream
            )
            self._begin()
        except BaseException:
            self._decoder.close()
            raise

    def _begin(self) -> None:
        self._wanted = 0
        self._restart()
        first = next(self._decoded, None)
        if first is not None and self._decoder.suspect:
            self._restart(careful=True)
            first = next(self._decoded, None)
        if first is None:
            msg = f"{self._path} has frames, but not one can be decoded. Export it again."
            raise InputFileError(msg)
        place, frame, doubtful = first
        if doubtful:
            raise self._damaged(place)
        refuse_large(self._path, frame.width, frame.height)  # known only now, of some streams
        stream = self._decoder.stream
        notes = {**self._decoder.container.metadata, **stream.metadata}
        self._tags = read_tags(str(self._path), stream.codec_context, frame, notes)
        self._size = (frame.width, frame.height)
        self._rotation = 90 * round(frame.rotation / 90) % 360
        self._interlaced = bool(frame.interlaced_frame)
        rate = self._timeline.rate
        self._each = 2 if self._interlaced and self._at and self._at > 1.5 * rate else 1
        self._props = self._describe(frame)
        self._place, self._raw = place, {place: frame}
        self._fields = Fields(self._beside, int(self._timeline.places[-1]) + 1)
        self._shown = (place, 0)
        self._picture = self._taken(self._whole(place, 0))

    @property
    def props(self) -> SourceProps:
        """Size, rate, length, depth and matrix of the clip, known when it was opened."""
        return self._props

    def _describe(self, frame: VideoFrame) -> SourceProps:
        stream = self._decoder.stream
        aspect = stream.sample_aspect_ratio or Fraction(1)
        notices = [self._tags.notice, *self._timeline.notices]
        if not stream.sample_aspect_ratio and self._size in _SD_SIZES:
            notices.append(f"{self._path} does not say its pixel aspect; taken as square.")
        if frame.interlaced_frame:
            how = "a picture for each field" if self._each == 2 else "one picture a frame"
            notices.append(f"{self._path} is interlaced; it is deinterlaced to {how}.")
        width, height = frame.width, frame.height
        if self._rotation % 180:
            width, height, aspect = height, width, 1 / aspect
        rate, frames = self._timeline.rate * self._each, len(self._timeline.places) * self._each
        codec = stream.codec_context.name
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
            fields=self._each,
        )

    def _whole(self, place: int, field: int) -> VideoFrame:
        """Get a frame, deinterlaced if it is interlaced."""
        frame = self._sized(place)
        if not frame.interlaced_frame:
            return frame
        whole = self._fields.picture(place, field)
        whole.color_range = frame.color_range
        return whole

    def _beside(self, place: int) -> VideoFrame:
        return planar(self._sized(place))

    def _sized(self, place: int) -> VideoFrame:
        """Get a frame as decoded; of an interlaced clip the last three are held."""
        frame = self._raw.get(place)
        if frame is None:
            frame = self._fetch(place)
            self._place = place
            near = {at: held for at, held in self._raw.items() if abs(at - place) <= 2}
            self._raw = {**(near if self._interlaced else {}), place: frame}
        self._check_size(place, frame)
        return frame

    def _check_size(self, place: int, frame: VideoFrame) -> None:
        if (frame.width, frame.height) != self._size:
            width, height = self._size
            msg = (
                f"{self._path} changes size: picture {place} is {frame.width} x {frame.height}, "
                f"the first is {width} x {height}. Export it at one size."
            )
            raise InputFileError(msg)

    def _taken(self, frame: VideoFrame) -> Picture:
        """Make a picture of a decoded frame, turned upright."""
        picture = picture_of(frame, self._tags)
        return upright(picture, self._rotation) if self._rotation else picture

    def _damaged(self, place: int) -> InputFileError:
        return InputFileError(
            f"{self._path} is damaged at picture {place}. Copy or export it again."
        )

    def _restart(self, *, careful: bool | None = None) -> None:
        """Start decoding anew from the very first picture."""
        careful = self._decoder.careful if careful is None else careful
        self._decoder.close()
        self._decoder = Decoder(self._path, careful=careful)
        self._decoded = self._decode()

    def _decode(self) -> Iterator[tuple[int, VideoFrame, bool]]:
        """Decode on from where the file stands, each picture with its place, and if in doubt."""
        import av

        count = -1
        try:
            for frame, doubtful in self._decoder.pictures:
                place = self._timeline.place_of(frame.pts, count + 1)
                if place is not None:
                    count = place
                    yield place, frame, doubtful
        except av.error.FFmpegError as error:
            msg = (
                f"{self._path} cannot be decoded up to picture {self._wanted} ({error.strerror}). "
                "Copy or export it again."
            )
            raise InputFileError(msg) from None

    def _seek(self, place: int) -> None:
        """Go to where decoding can start for a picture, or before it."""
        stamps = self._timeline.stamps
        if stamps is None or place <= 0 or not self._decoder.seek(int(stamps[place])):
            self._restart()
        else:
            self._decoded = self._decode()

    def _find(self, place: int) -> tuple[VideoFrame, bool] | None:
        """Decode on until a picture; None if it is not among those ahead."""
        for at, frame, doubtful in self._decoded:
            if at == place:
                return frame, doubtful
            if at > place:
                return None
        return None

    def _fetch(self, place: int) -> VideoFrame:
        """Decode one picture; if anything was reported meanwhile, once more with care."""
        near = self._place < place and self._timeline.key_before(place) <= self._place + _NEAR
        self._place = len(self._timeline.places)  # forgotten, should decoding fail
        frame = self._sought(place, near=near)
        if self._decoder.suspect and not self._decoder.careful:
            self._restart(careful=True)
            frame = self._sought(place, near=False)
        return frame

    def _sought(self, place: int, *, near: bool) -> VideoFrame:
        """Decode one picture, seeking only where that saves decoding."""
        self._wanted = place
        starts = [place - back for back in _STEPS_BACK]
        for start in [None, *starts] if near else starts:
            if start is not None:
                self._seek(start)
            try:
                found = self._find(place)
            except InputFileError:
                if start is not None:
                    raise
                continue  # what is damaged may lie before the picture wanted
            if found is None:
                continue
            frame, doubtful = found
            if not doubtful:
                return frame
            if start is not None and start <= max(0, place - _CONCLUSIVE):
                raise self._damaged(place)
        msg = (
            f"{self._path} has no picture {place}, though it says that it has "
            f"{len(self._timeline.places)}. Copy or export it again."
        )
        raise InputFileError(msg)

    def read(self, index: int) -> Picture:
        """Return picture `index`, counted from 0."""
        frames = len(self._timeline.places) * self._each
        if not 0 <= index < frames:
            msg = f"frame must be 0 to {frames - 1}, got {index}: {self._path} ends there."
            raise TimeError(msg)
        shown = int(self._timeline.places[index // self._each]), index % self._each
        if shown != self._shown:
            self._picture = self._taken(self._whole(*shown))
            self._shown = shown
        return self._picture

    def close(self) -> None:
        """Let go of the file."""
        self._decoder.close()
