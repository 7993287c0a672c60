"""Interlaced frames as whole pictures: the coding library's bwdif, one frame after another.

A picture depends on its frame and on the two beside it alone, so it is the same
whether a clip is read through or sought in. The order of fields is read off each
frame.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from av.filter import Graph
    from av.video.frame import VideoFrame


class Fields:
    """Deinterlaces the frames of a clip: gives one picture a frame, or one a field.

    Parameters
    ----------
    fetch : callable
        Gives the frame at a place of the clip, its samples planar.
    count : int
        Frames of the clip.
    """

    def __init__(self, fetch: Callable[[int], VideoFrame], count: int) -> None:
        self._fetch = fetch
        self._count = count
        self._graph: Graph | None = None
        self._reached = -1
        self._shown: tuple[int, list[VideoFrame]] = (-1, [])

    def picture(self, place: int, field: int) -> VideoFrame:
        """Return a frame's picture at the time of its first field, or of its second.

        Parameters
        ----------
        place : int
        field : int
            0 or 1.
        """
        if self._shown[0] != place:
            self._shown = (place, self._both(place))
        return self._shown[1][field]

    def _both(self, place: int) -> list[VideoFrame]:
        """Let the filter see the frames beside one, and take what it makes of it."""
        first = self._fetch(max(0, place - 1))  # before the others: decoding goes on from there
        if self._graph is None or self._reached != place:
            self._begin(first)
            if place > 0:
                self._push(self._fetch(place))
                self._pull()
        if place + 1 < self._count:
            self._push(self._fetch(place + 1))
            self._reached = place + 1
        else:
            self._push(None)
            self._graph, ended = None, self._graph
            return _pulled(ended)
        return self._pull()

    def _begin(self, frame: VideoFrame) -> None:
        from av.filter import Graph

        graph = Graph()
        source = graph.add_buffer(
            width=frame.width,
            height=frame.height,
            format=frame.format,
            time_base=frame.time_base,
        )
        filter_ = graph.add("bwdif", "mode=send_field:parity=auto:deint=all")
        sink = graph.add("buffersink")
        source.link_to(filter_)
        filter_.link_to(sink)
        graph.configure()
        self._graph = graph
        self._push(frame)

    def _push(self, frame: VideoFrame | None) -> None:
        if self._graph is not None:
            self._graph.vpush(frame)

    def _pull(self) -> list[VideoFrame]:
        return _pulled(self._graph)


def _pulled(graph: Graph | None) -> list[VideoFrame]:
    """Return the frames that a filter has ready."""
    import av

    frames: list[VideoFrame] = []
    while graph is not None:
        try:
            frames.append(graph.vpull())
        except (av.error.BlockingIOError, av.error.EOFError):
            break
    return frames
