"""Pictures of a clip as the coding library decodes them, and which of them it doubts.

With threads a decoder is fast, but its reports (`keyer.media.listening`) cannot
be told to belong to one picture. So it is asked again, in one thread and packet by
packet, once anything has been reported, and never before.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from keyer.errors import InputFileError
from keyer.kinds.formats import MOST_PIXELS
from keyer.kinds.plain_file import real_path, refuse_special
from keyer.media.containers import CLIPS, SOUNDS, opening
from keyer.media.contract import MAX_SIDE
from keyer.media.listening import STRICT, heard, listen, reports

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.packet import Packet
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream


def refuse_large(path: Path, width: int, height: int) -> None:
    """Refuse pictures of a clip that are larger than any frame.

    Raises
    ------
    InputFileError
    """
    if max(width, height) > MAX_SIDE:
        msg = (
            f"{path} is {width} x {height}; a picture must have at most {MAX_SIDE} columns and "
            "rows. Scale it down first."
        )
        raise InputFileError(msg)
    if width * height > MOST_PIXELS:
        msg = (
            f"{path} is {width} x {height}; a clip's pictures must have at most {MOST_PIXELS} "
            "pixels (8192 x 8192). Scale it down first."
        )
        raise InputFileError(msg)


def _attached() -> int:
    from av.stream import Disposition

    return Disposition.attached_pic


def _open(path: Path) -> tuple[InputContainer, VideoStream]:
    """Open a clip and choose its picture stream."""
    import av

    try:
        refuse_special(path)
        container = av.open(f"file:{real_path(path)}", "r", options=opening(*CLIPS, *SOUNDS))
    except InputFileError:
        raise
    except (av.error.FFmpegError, OSError, ValueError):
        msg = (
            f"{path} cannot be opened: it is neither a picture nor a clip, or it is cut short. "
            "Copy or export it again."
        )
        raise InputFileError(msg) from None
    streams = [s for s in container.streams.video if not s.disposition & _attached()]
    if not streams:
        container.close()
        msg = f"{path} holds no moving picture ({container.format.name}). Name a clip or a still."
        raise InputFileError(msg)
    stream = streams[0]
    if stream.codec_context is None or not stream.codec_context.is_decoder:
        container.close()
        msg = f"{path} is coded in a way that this installation cannot decode. Export it again."
        raise InputFileError(msg)
    try:
        refuse_large(path, stream.codec_context.width, stream.codec_context.height)
    except InputFileError:
        container.close()
        raise
    return container, stream


class Decoder:
    """A clip's file opened, and the pictures decoded from where it stands.

    Parameters
    ----------
    path : Path
    careful : bool
        In one thread, each picture with what was reported of it.

    Raises
    ------
    InputFileError
        If it is no clip that can be decoded.
    """

    def __init__(self, path: Path, *, careful: bool = False) -> None:
        listen()
        self.container, self.stream = _open(path)
        self.careful = careful
        self.stream.codec_context.options = dict(STRICT)
        self.stream.thread_type = "NONE" if careful else "AUTO"
        self._reports = reports()
        self._marked = False
        self.pictures = self._decoded()

    @property
    def suspect(self) -> bool:
        """Whether anything was reported since it was opened, be it by another decoder."""
        return self._marked or reports() != self._reports

    def seek(self, stamp: int) -> bool:
        """Go to where decoding can start for the picture of a time stamp, or before it.

        Returns
        -------
        bool
            False if the file cannot be sought in; it must be opened anew then.
        """
        import av

        try:
            self.container.seek(stamp, stream=self.stream, backward=True)
        except av.error.FFmpegError:
            return False
        self.pictures = self._decoded()
        return True

    def _decoded(self) -> Iterator[tuple[VideoFrame, bool]]:
        """Decode on; each picture, and whether it rests on damage that was reported."""
        return self._heard() if self.careful else self._quick()

    def _quick(self) -> Iterator[tuple[VideoFrame, bool]]:
        for frame in self.container.decode(self.stream):
            self._marked |= frame.is_corrupt
            yield frame, frame.is_corrupt

    def _heard(self) -> Iterator[tuple[VideoFrame, bool]]:
        """Yield the frames of the clip, decoded packet by packet.

        What is damaged is the packet of which something is reported, and those after it
        up to one that can be decoded alone; pictures shown before that one, though
        they come after it in the file, may still rest on what was before it, too.
        """
        doubt, shaken = _Doubt(), False
        packets = self.container.demux(self.stream)
        while True:
            with heard() as said:
                packet = next(packets, None)
                if packet is None:
                    return
                frames = packet.decode()
            doubt.take(packet, reported=bool(said))
            for frame in frames:
                shaken = frame.is_corrupt or (shaken and not frame.key_frame)
                yield frame, shaken or doubt.covers(frame.pts)

    def close(self) -> None:
        """Let go of the file.

        The decoder's threads are brought to rest first: what they report needs the
        interpreter, which would wait for them as the decoder is taken down.
        """
        self.stream.codec_context.flush_buffers()
        self.container.close()

    def __del__(self) -> None:
        if hasattr(self, "pictures"):
            self.close()


class _Doubt:
    """Which time stamps rest on damage, as packets come in the order of the file."""

    def __init__(self) -> None:
        self._before = self._now = False
        self._alone: int | None = None
        self._stamps: set[int | None] = set()

    def take(self, packet: Packet[VideoStream], *, reported: bool) -> None:
        """Note a packet, and whether anything was reported of it."""
        stamp = packet.pts
        if packet.is_keyframe:
            self._before, self._now, self._alone = self._now, False, stamp
        early = self._alone is not None and stamp is not None and stamp < self._alone
        if early:
            self._before |= reported
        else:
            self._now |= reported
        if self._now or (early and self._before):
            self._stamps.add(stamp)

    def covers(self, stamp: int | None) -> bool:
        """Whether the picture of a time stamp rests on damage."""
        return self._now if stamp is None else stamp in self._stamps
