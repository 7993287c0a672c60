"""The sound of a clip: coded as its file usually has it, sample for sample beside the pictures."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.media.sound import SAMPLE_RATE

if TYPE_CHECKING:
    from av.audio.stream import AudioStream
    from av.container import OutputContainer


@dataclass(frozen=True)
class SoundCodec:
    """A sound codec with its encoder, sample format and bit rate.

    Attributes
    ----------
    purpose : str
        One line for people.
    encoder : str
        Its name in libavcodec.
    layout : str
        Sample format in libavutil's words: `fltp` or `s32`.
    bit_rate : int or None
        Bits a second.
    """

    purpose: str
    encoder: str
    layout: str
    bit_rate: int | None = None


_AAC = SoundCodec("AAC, 256 kbit/s", "aac", "fltp", 256_000)
_PCM = SoundCodec("PCM, 24 bit", "pcm_s24le", "s32")
_FLAC = SoundCodec("FLAC (RFC 9639), 24 bit", "flac", "s32")


def sound_codec(path: Path, codec: str) -> SoundCodec:
    """Choose how sound is coded beside pictures of a codec.

    Parameters
    ----------
    path : Path
        The clip.
    codec : str
        Of the pictures: a key of `keyer.media.codecs.CODECS`.

    Returns
    -------
    SoundCodec
        AAC in MP4 and beside H.264 in MOV, FLAC in MKV, PCM in other MOV and in MXF.
    """
    suffix = path.suffix.lower()
    if suffix == ".mkv":
        return _FLAC
    return _AAC if suffix == ".mp4" or codec == "h264" else _PCM


def add_sound(container: OutputContainer, codec: SoundCodec) -> AudioStream:
    """Add a stereo stream of 48 kHz to a clip that is being begun."""
    stream: AudioStream = container.add_stream(codec.encoder, rate=SAMPLE_RATE)  # type: ignore[assignment]
    stream.codec_context.layout = "stereo"
    stream.codec_context.format = codec.layout
    stream.codec_context.time_base = Fraction(1, SAMPLE_RATE)
    if codec.bit_rate:
        stream.codec_context.bit_rate = codec.bit_rate
    return stream


def code_sound(
    container: OutputContainer,
    stream: AudioStream,
    codec: SoundCodec,
    block: NDArray[np.float32] | None,
    position: int,
) -> None:
    """Code samples and put them into the clip.

    Parameters
    ----------
    container : OutputContainer
    stream : AudioStream
    codec : SoundCodec
    block : (2, n) float32 or None
        Full scale at 1; held to it for PCM and FLAC. None: code what the
        encoder still holds back.
    position : int
        Of the first sample, counted from the clip's beginning.
    """
    import av

    frame = None
    if block is not None:
        if codec.layout == "s32":  # 24 bits at the top of 32
            scaled = np.floor(block.astype(np.float64) * (1 << 23) + 0.5)
            whole = np.clip(scaled, -(1 << 23), (1 << 23) - 1).astype(np.int32) << 8
            samples = np.ascontiguousarray(whole.T).reshape(1, -1)
        else:
            samples = np.ascontiguousarray(block, np.float32)
        frame = av.AudioFrame.from_ndarray(samples, format=codec.layout, layout="stereo")
        frame.sample_rate = SAMPLE_RATE
        frame.pts, frame.time_base = position, Fraction(1, SAMPLE_RATE)
    for packet in stream.encode(frame):
        container.mux(packet)
