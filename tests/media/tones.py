"""Sound files for the tests, written by the codec library itself."""

from fractions import Fraction

import av
import numpy as np

RATE = 48_000


def sine(seconds, *, frequency=1000.0, level=0.5, rate=RATE, phase=0.0):
    """One channel of a sine: (n,) float32."""
    time = np.arange(round(seconds * rate)) / rate
    return (level * np.sin(2 * np.pi * frequency * time + phase)).astype(np.float32)


def counted(samples, *, start=0):
    """Samples that tell their own number: exact in float32, -1..1."""
    return ((np.arange(start, start + samples) % 60_000 - 30_000) / 32_768).astype(np.float32)


def write_sound(path, channels, *, rate=RATE, codec="pcm_f32le", layout=None, gap=None):
    """Write (n,) or (c, n) float32; `gap` leaves that many samples out of the time stamps."""
    block = np.atleast_2d(np.asarray(channels, np.float32))
    layout = layout or {1: "mono", 2: "stereo", 6: "5.1"}[block.shape[0]]
    sample = {"pcm_f32le": "flt", "pcm_s16le": "s16", "flac": "s32"}.get(codec, "fltp")
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate)
        stream.codec_context.layout = layout
        stream.codec_context.format = sample
        step = 1024
        for first in range(0, block.shape[1], step):
            part = block[:, first : first + step]
            if sample == "s16":
                part = np.round(part * 32_767).astype(np.int16)
            if sample == "s32":
                part = (np.round(part * (1 << 23)).astype(np.int32)) << 8
            if sample != "fltp":
                part = part.T.reshape(1, -1)
            frame = av.AudioFrame.from_ndarray(
                np.ascontiguousarray(part), format=sample, layout=layout
            )
            frame.sample_rate = rate
            late = gap if gap and first >= block.shape[1] // 2 else 0
            frame.pts, frame.time_base = first + late, Fraction(1, rate)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path
