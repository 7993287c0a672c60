"""When each frame of a clip is on show, read from its packets without decoding.

Frame n of a clip of even rate is its n-th picture in order of showing. A clip of
uneven rate is played at the usual one nearest its own: frame n is the picture on show at
n / rate, and the caller is told.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.media.contract import LONGEST_SECONDS
from keyer.media.decode_still import read_bytes
from keyer.media.listening import heard
from keyer.media.whole import gif_is_whole

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.packet import Packet
    from av.stream import Stream
    from av.video.stream import VideoStream

Stamps = NDArray[np.int64]

_REORDERED = 34
"""Packets among which the first picture is: codecs reorder at most 16, or 32 fields."""

_MOST_FRAMES = LONGEST_SECONDS * 120
"""Frames of a clip: a day at the fastest rate that cameras for television have."""

_RATES = tuple(
    Fraction(rate)
    for rate in ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60")
)
"""Rates of television and film (SMPTE ST 2036-1, EBU Tech 3299), for clips of uneven rate."""


@dataclass(frozen=True)
class Timeline:
    """Times of a clip's frames in the order in which they are shown.

    Attributes
    ----------
    stamps : (n,) int64 or None
        Time stamp of each decoded picture, ascending; None where the file has
        none and pictures can only be counted.
    places : (frames,) int64
        For each frame, which picture is on show.
    keys : (k,) int64
        Pictures at which decoding can start, ascending, to within the few that
        a codec reorders.
    rate : Fraction
        Frames a second.
    slack : int
        Ticks by which a decoded picture's stamp may differ from its entry.
    notices : tuple of str
    """

    stamps: Stamps | None
    places: Stamps
    keys: Stamps
    rate: Fraction
    slack: int = 0
    notices: tuple[str, ...] = ()

    def place_of(self, stamp: int | None, counted: int) -> int | None:
        """Return the number of a decoded picture in order of showing; None if it is not shown.

        Parameters
        ----------
        stamp : int or None
            Its time stamp.
        counted : int
            Its number by counting on from the one before, for want of a stamp.

        Returns
        -------
        int or None
            None for one that is on show before the clip begins, or twice.
        """
        if self.stamps is None or stamp is None:
            return counted
        after = int(np.searchsorted(self.stamps, stamp))
        near = [place for place in (after - 1, after) if 0 <= place < self.stamps.size]
        place = min(near, key=lambda k: abs(int(self.stamps[k]) - stamp))  # type: ignore[index]
        return place if abs(int(self.stamps[place]) - stamp) <= self.slack else None

    def key_before(self, place: int) -> int:
        """Return the last picture up to `place` at which decoding can start."""
        return int(self.keys[max(0, int(np.searchsorted(self.keys, place, side="right")) - 1)])


def _truncated(path: Path, why: str) -> InputFileError:
    return InputFileError(f"{path} is truncated: {why}. Copy or export it again.")


def _from_index(path: Path, stream: VideoStream) -> tuple[list[int], list[int]] | None:
    """Return decoding stamps and key frames where the file's own index is complete."""
    entries = list(stream.index_entries)
    if not entries or len(entries) != stream.frames:
        return None
    end = max(entry.pos + entry.size for entry in entries)
    size = path.stat().st_size
    if end > size:
        raise _truncated(path, f"its index reaches to byte {end}, the file has {size}")
    if any(entry.is_discard for entry in entries) or not entries[0].is_keyframe:
        return None
    keys = [place for place, entry in enumerate(entries) if entry.is_keyframe]
    return [entry.timestamp for entry in entries], keys


def _first_stamp(container: InputContainer, stream: VideoStream) -> int:
    """Return when the first picture is on show, which may not be the first in the file."""
    packets = islice(container.demux(stream), _REORDERED)
    return min(packet.pts for packet in packets if packet.pts is not None)


def _slack(rate: Fraction, time_base: Fraction) -> int:
    """Two ticks of rounding, but less than half a frame."""
    return min(2, max(0, (int(1 / (rate * time_base)) - 1) // 2))


def _rate_of(stream: VideoStream, stamps: Stamps, time_base: Fraction) -> Fraction | None:
    """Return the even rate that stamps follow to within one tick of their clock, or None.

    A file's clock may be too coarse to tell its rate exactly, so a rate in use
    goes before one that is not.
    """
    said = [stream.average_rate, stream.guessed_rate, stream.base_rate]
    stated = [rate for rate in said if rate and rate > 0]
    near = [known for known in _RATES for rate in stated[:1] if abs(known / rate - 1) < 0.001]
    for rate in [rate for rate in stated if rate in _RATES] + near + stated:
        due = stamps[0] + np.arange(stamps.size, dtype=np.float64) / float(rate * time_base)
        if np.abs(stamps - due).max() <= 1.0:
            return rate
    return None


class _Packets(NamedTuple):
    """What the packets of a clip say: stamps (None where missing) and key frames."""

    stamps: list[int | None]
    keys: list[int | None]


def _listened(
    path: Path, container: InputContainer, stamps: list[int | None]
) -> Iterator[Packet[Stream]]:
    """Read packets until the reader reports that something is lost."""
    waiting = container.demux()
    while True:
        with heard() as said:
            packet = next(waiting, None)
        if said:
            msg = f"{path} is damaged or cut short at frame {len(stamps)}. Copy it again."
            raise InputFileError(msg)
        if packet is None:
            return
        yield packet


def _demuxed(path: Path, container: InputContainer, stream: VideoStream) -> _Packets:
    """Read the packets from the first key frame on, without decoding them."""
    packets = _Packets([], [])
    if "gif" in container.format.name and not gif_is_whole(read_bytes(path)):
        raise _truncated(path, "the end of its last picture is missing")
    end = 0.0
    for packet in _listened(path, container, packets.stamps):
        if packet.pts is not None and packet.time_base:
            end = max(end, float((packet.pts + (packet.duration or 0)) * packet.time_base))
        if packet.stream_index != stream.index or packet.size == 0 or packet.is_discard:
            continue
        if packet.is_corrupt:
            msg = f"{path} is damaged or cut short at frame {len(packets.stamps)}. Copy it again."
            raise InputFileError(msg)
        if packet.is_keyframe:
            packets.keys.append(packet.pts)
        if packets.keys:
            packets.stamps.append(packet.pts)
    if stream.frames > len(packets.stamps) and "avi" in container.format.name:
        raise _truncated(path, f"it holds {len(packets.stamps)} of {stream.frames} frames")
    if "matroska" in container.format.name and container.duration:
        said = container.duration / 1e6  # exact in the header of this format
        if end < said - 0.25:
            raise _truncated(path, f"it ends at {end:.2f} s of {said:.2f} s")
    return packets


def _refuse_endless(path: Path, seconds: Fraction, frames: int) -> None:
    """Refuse a clip that one time stamp makes longer than any."""
    if seconds > LONGEST_SECONDS or frames > _MOST_FRAMES:
        msg = (
            f"{path} says that it lasts {float(seconds) / 3600:.3g} hours, {frames} frames; a clip "
            "may last 24 hours. Is one of its time stamps wrong? Export it again."
        )
        raise InputFileError(msg)


def _uneven(path: Path, stamps: Stamps, keys: Stamps, time_base: Fraction) -> Timeline:
    """Play a clip of uneven rate at the rate that its usual frame duration comes nearest to."""
    usual = int(np.median(np.diff(stamps)))
    length = int(stamps[-1] - stamps[0]) + usual
    middle = 1 / (usual * time_base)
    rate = min(_RATES, key=lambda known: abs(known / middle - 1))
    if abs(rate / middle - 1) > Fraction(1, 20):
        rate = middle.limit_denominator(1001)
    frames = max(1, round(length * time_base * rate))
    _refuse_endless(path, length * time_base, frames)
    due = stamps[0] + np.arange(frames, dtype=np.float64) / float(rate * time_base)
    places = np.searchsorted(stamps, due + 0.5, side="right") - 1
    notice = (
        f"{path} has a variable frame rate; it is played at {float(rate):.5g} frames a second, "
        "with pictures held or left out."
    )
    return Timeline(stamps, places.astype(np.int64), keys, rate, 0, (notice,))


def _of_packets(
    path: Path, stream: VideoStream, packets: _Packets, time_base: Fraction
) -> Timeline:
    """Order the packets of a clip by time of showing."""
    fallback = stream.guessed_rate or stream.average_rate or Fraction(25)
    known = [stamp for stamp in packets.stamps if stamp is not None]
    if len(known) < len(packets.stamps):
        count = np.arange(len(packets.stamps))
        return Timeline(None, count, count[:1], fallback)
    key_stamps = np.array([stamp for stamp in packets.keys if stamp is not None], np.int64)
    stamps = np.unique(np.array(known, np.int64))
    stamps = stamps[stamps >= key_stamps[0]]
    keys = np.searchsorted(stamps, np.sort(key_stamps))
    rate = _rate_of(stream, stamps, time_base)
    if rate is None and stamps.size > 1:
        return _uneven(path, stamps, keys, time_base)
    rate = rate or fallback
    return Timeline(stamps, np.arange(stamps.size), keys, rate, _slack(rate, time_base))


def read_timeline(path: Path, container: InputContainer, stream: VideoStream) -> Timeline:
    """Return when each frame of a clip is shown.

    Parameters
    ----------
    path : Path
    container : InputContainer
        Freshly opened; it may be at its end afterwards.
    stream : VideoStream

    Raises
    ------
    InputFileError
        If there are no frames, or the file ends before its header says so.
    """
    time_base = stream.time_base or Fraction(1, 90000)
    indexed = _from_index(path, stream)
    if indexed and stream.start_time is not None:
        stamps, keys = np.array(indexed[0], np.int64), np.array(indexed[1], np.int64)
        rate = _rate_of(stream, stamps, time_base)
        if rate:
            stamps += _first_stamp(container, stream) - stamps[0]
            return Timeline(stamps, np.arange(stamps.size), keys, rate, _slack(rate, time_base))
    packets = _demuxed(path, container, stream)
    if not packets.stamps:
        msg = f"{path} has a picture stream without a single frame. Export it again."
        raise InputFileError(msg)
    return _of_packets(path, stream, packets, time_base)
