"""The coded pictures of a clip as they are, without decoding: to join clips of one kind."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from keyer.errors import InputFileError

if TYPE_CHECKING:
    from av.packet import Packet
    from av.video.stream import VideoStream


def coded_pictures(path: Path) -> Iterator[Packet[VideoStream]]:
    """Yield the coded pictures of a clip in their order.

    Raises
    ------
    InputFileError
        If it cannot be read.
    """
    import av

    try:
        with av.open(f"file:{path}") as container:
            for packet in container.demux(container.streams.video[0]):
                if packet.size:
                    yield packet
    except (av.error.FFmpegError, OSError, IndexError) as error:
        msg = f"{path} cannot be read: {error}. Delete it, and run the same command again."
        raise InputFileError(msg) from error
