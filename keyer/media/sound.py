"""Guide track: stretches of sound files, decoded, levelled, faded and mixed as they are needed.

Everything is 48 kHz stereo float32, full scale at 1, and counted in samples
from frame 0 of the sheet. Nothing of a file is held but the block last
decoded, so that a long spot takes no more memory than a short one.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError
from keyer.kinds.plain_file import real_path, refuse_special
from keyer.media.containers import CLIPS, SOUNDS, opening
from keyer.media.contract import LONGEST_SECONDS
from keyer.media.decode_still import unreadable
from keyer.media.listening import STRICT, heard, listen
from keyer.media.stretch import Mixed, Stretch, gain

if TYPE_CHECKING:
    from av.audio.codeccontext import AudioCodecContext
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer

SAMPLE_RATE = 48_000
"""Samples a second (AES5 recommends 48 kHz; EBU R 85)."""

Block = NDArray[np.float32]

_GAP = SAMPLE_RATE // 20
"""Samples of silence beyond which a hole in a file's time stamps is taken as one."""

_REPORTED = "its decoder reports damage"

_ESTIMATED = {"mp3", "aac", "ac3", "eac3", "adts"}
"""Formats whose files do not say how long they are, but for an estimate."""


def to_samples(frame: int, rate: Fraction) -> int:
    """Sample that is due when a frame begins, rounded half up."""
    return int(Fraction(frame) / rate * SAMPLE_RATE + Fraction(1, 2))


def _open(path: Path) -> tuple[InputContainer, AudioStream]:
    import av

    try:
        refuse_special(path)
    except OSError as error:
        raise error if isinstance(error, InputFileError) else unreadable(path, error) from None
    try:
        container = av.open(f"file:{real_path(path)}", "r", options=opening(*CLIPS, *SOUNDS))
    except (av.error.FFmpegError, OSError, ValueError):
        msg = f"{path} cannot be opened as sound, or it is cut short. Copy or export it again."
        raise InputFileError(msg) from None
    if not container.streams.audio:
        container.close()
        msg = f"{path} holds no sound ({container.format.name}). Name a sound file."
        raise InputFileError(msg)
    stream = container.streams.audio[0]
    decoder: AudioCodecContext | None = stream.codec_context
    if decoder is None:
        container.close()
        msg = f"{path} is coded in a way that this installation cannot decode. Export it again."
        raise InputFileError(msg)
    return container, stream


def _said_length(container: InputContainer, stream: AudioStream) -> int | None:
    """Return the samples that a file says it has."""
    if stream.duration and stream.time_base:
        return int(stream.duration * stream.time_base * SAMPLE_RATE)
    return int(container.duration * SAMPLE_RATE / 1_000_000) if container.duration else None


def sound_length(path: Path) -> int:
    """Return how many samples a sound file has.

    Returns
    -------
    int
        Samples, as its header says; counted where it does not.

    Raises
    ------
    InputFileError
        If it cannot be opened or holds no sound.
    """
    container, stream = _open(path)
    try:
        said = _said_length(container, stream)
    finally:
        container.close()
    if said:
        return said
    reader = SoundReader(path)
    try:
        count = 0
        while block := reader.read(SAMPLE_RATE).shape[1]:
            count += block
    finally:
        reader.close()
    return count


class SoundReader:
    """The samples of a sound file, in order.

    Parameters
    ----------
    path : Path
        A sound file, or a clip with sound; then time counts from the clip's beginning.

    Raises
    ------
    InputFileError
        If it cannot be opened or holds no sound.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        listen()
        self._container, self._stream = _open(path)
        self._stream.codec_context.options = dict(STRICT)
        self._said = _said_length(self._container, self._stream)
        self._count = 0
        self._blocks = self._decode()
        self._left = np.empty((2, 0), np.float32)

    def _decode(self) -> Iterator[Block]:
        """Decode on, with silence where the file's time stamps leave a hole."""
        import av

        mono = self._stream.codec_context.layout.nb_channels == 1
        resampler = av.AudioResampler("fltp", "mono" if mono else "stereo", SAMPLE_RATE)
        begin: Fraction | None = None
        if self._container.streams.video and self._container.start_time is not None:
            begin = Fraction(self._container.start_time, 1_000_000)
        try:
            for frame in self._frames():
                if frame.pts is not None and frame.time_base:
                    begin = frame.pts * frame.time_base if begin is None else begin
                    due = int((frame.pts * frame.time_base - begin) * SAMPLE_RATE)
                    gap = due - self._count
                    hole = gap if gap > (_GAP if self._count else 0) else 0
                    self._refuse_endless(due)
                    self._count += hole
                    yield from _silence(hole)
                for made in resampler.resample(frame):
                    self._count += made.samples
                    yield _stereo(made.to_ndarray())
            for made in resampler.resample(None):
                self._count += made.samples
                yield _stereo(made.to_ndarray())
        except (av.error.FFmpegError, ValueError) as error:
            reason = getattr(error, "strerror", None) or error
            msg = (
                f"{self._path} cannot be decoded after {self._count / SAMPLE_RATE:.2f} s "
                f"({reason}). Copy or export it again."
            )
            raise InputFileError(msg) from None
        self._check_end(self._count)

    def _frames(self) -> Iterator[AudioFrame]:
        """Decode packet by packet, and refuse what the decoder reports.

        Of plain samples the last packet may be reported for half a sample at its
        end; whether the file breaks off there is told by its length.
        """
        plain = self._stream.codec_context.name.startswith("pcm_")
        packets = self._container.demux(self._stream)
        for packet in packets:
            with heard() as said:
                frames = packet.decode()
            if said and not (plain and not any(later.size for later in packets)):
                raise ValueError(_REPORTED)
            yield from frames

    def _refuse_endless(self, due: int) -> None:
        """Refuse a sound that one time stamp makes longer than any."""
        if due > LONGEST_SECONDS * SAMPLE_RATE:
            hours = due / SAMPLE_RATE / 3600
            msg = (
                f"{self._path} says that it sounds at {hours:.3g} hours; a sound may last 24. "
                "Is one of its time stamps wrong? Export it again."
            )
            raise InputFileError(msg)

    def _check_end(self, count: int) -> None:
        known = not set(self._container.format.name.split(",")) & _ESTIMATED
        if known and self._said and count < self._said - SAMPLE_RATE // 4:
            msg = (
                f"{self._path} is cut short: it ends at {count / SAMPLE_RATE:.2f} s of "
                f"{self._said / SAMPLE_RATE:.2f} s. Copy or export it again."
            )
            raise InputFileError(msg)

    def read(self, count: int) -> Block:
        """Return the next samples.

        Returns
        -------
        (2, n) float32
            n is `count`, or less where the file ends.

        Raises
        ------
        InputFileError
            If the file is damaged or ends before it says so.
        """
        parts, have = [self._left], self._left.shape[1]
        while have < count:
            block = next(self._blocks, None)
            if block is None:
                break
            parts.append(block)
            have += block.shape[1]
        joined = parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)
        self._left = joined[:, count:]
        return joined[:, :count]

    def skip(self, count: int) -> None:
        """Pass samples over."""
        while count > 0:
            passed = self.read(min(count, SAMPLE_RATE)).shape[1]
            if not passed:
                return
            count -= passed

    def close(self) -> None:
        """Let go of the file."""
        self._container.close()


def _silence(count: int) -> Iterator[Block]:
    """Yield silence, a second at a time."""
    while count > 0:
        yield np.zeros((2, min(count, SAMPLE_RATE)), np.float32)
        count -= SAMPLE_RATE


def _stereo(samples: NDArray[Any]) -> Block:
    """One channel is heard from both sides, each at its own level."""
    return samples if samples.shape[0] == 2 else np.repeat(samples, 2, axis=0)


class Mixer:
    """Mixes sounds into stereo, in order of time.

    Parameters
    ----------
    mixed : Mixed
    start : int
        First sample wanted.
    """

    def __init__(self, mixed: Mixed, start: int = 0) -> None:
        self._mixed, self._position = mixed, start
        self._waiting = sorted(mixed.stretches, key=lambda stretch: stretch.at)
        self._heard: list[tuple[Stretch, SoundReader | Mixer]] = []

    def read(self, count: int) -> Block:
        """Return the next samples.

        Returns
        -------
        (2, count) float32
            Not held to full scale.

        Raises
        ------
        InputFileError
            If a file cannot be read.
        """
        end = self._position + count
        while self._waiting and self._waiting[0].at < end:
            self._begin(self._waiting.pop(0))
        mix = np.zeros((2, count), np.float32)
        for stretch, reader in self._heard:
            first = max(stretch.at, self._position)
            last = min(stretch.at + stretch.length, end)
            block = reader.read(last - first)
            got = block.shape[1]
            into = first - self._position
            mix[:, into : into + got] += block * gain(stretch, first - stretch.at, got)
        over = [pair for pair in self._heard if pair[0].at + pair[0].length <= end]
        for pair in over:
            pair[1].close()
            self._heard.remove(pair)
        self._mixed.fade(mix, self._position)
        self._position = end
        return mix

    def _begin(self, stretch: Stretch) -> None:
        passed = max(self._position - stretch.at, 0)
        if passed >= stretch.length:
            return
        first = stretch.first + passed
        if isinstance(stretch.sound, Mixed):
            self._heard.append((stretch, Mixer(stretch.sound, first)))
            return
        reader = SoundReader(stretch.sound)
        self._heard.append((stretch, reader))
        reader.skip(first)

    def close(self) -> None:
        """Let go of all files."""
        for _, reader in self._heard:
            reader.close()
        self._heard.clear()
