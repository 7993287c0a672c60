"""Media files for the tests, written by the codec library itself.

In one thread: how a picture is cut into slices, and so every byte of it, depends on the number
of threads, and that on the machine.
"""

from fractions import Fraction

import av
import numpy as np

WIDTH, HEIGHT = 160, 96
BIT = 20
"""Columns of one bit of a frame number."""


def numbered(number, width=WIDTH, height=HEIGHT):
    """A picture that shows its number as eight stripes, light for 1: (H, W, 3) uint8."""
    picture = np.full((height, width, 3), 40, np.uint8)
    for bit in range(8):
        if number >> bit & 1:
            picture[:, bit * BIT : (bit + 1) * BIT] = 220
    return picture


def noise(number, width, height):
    """A picture that no codec can foretell: (H, W, 3) uint8."""
    return np.random.default_rng(number).integers(0, 256, (height, width, 3)).astype(np.uint8)


def number_of(planes):
    """Read the number off R'G'B' planes."""
    row = planes[1, planes.shape[1] // 2]
    return sum(1 << bit for bit in range(8) if row[bit * BIT + BIT // 2] > 0.5)


def write_clip(
    path,
    *,
    codec="libx264",
    layout="yuv420p",
    frames=40,
    rate=Fraction(25),
    stamps=None,
    time_base=None,
    size=(WIDTH, HEIGHT),
    rotation=None,
    options=None,
    draw=numbered,
    **tags,
):
    """Write a clip of numbered frames through the encoder as it comes."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate, options=options or {"bf": "2"})
        stream.width, stream.height, stream.pix_fmt = *size, layout
        stream.gop_size, stream.codec_context.thread_count = 12, 1
        if time_base:
            stream.codec_context.time_base = time_base
        if rotation is not None:
            stream.set_display_rotation(rotation)
        for name, value in tags.items():
            setattr(stream.codec_context, name, value)
        for number in range(frames):
            frame = av.VideoFrame.from_ndarray(draw(number, *size), format="rgb24")
            frame = frame.reformat(format=layout)
            frame.pts = stamps[number] if stamps else number
            frame.time_base = time_base or 1 / rate
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


def write_planes(
    path, planes, *, codec="ffv1", layout="yuv420p", options=None, frames=2, width=None, **tags
):
    """Write given planes without loss and without conversion; `width` where they are packed."""
    height, width = planes[0].shape[0], width or planes[0].shape[1]
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=25, options=options or {})
        stream.width, stream.height, stream.pix_fmt = width, height, layout
        stream.codec_context.thread_count = 1
        for name, value in tags.items():
            setattr(stream.codec_context, name, value)
        for number in range(frames):
            frame = av.VideoFrame(width, height, layout)
            for index, plane in enumerate(planes):
                rows = np.frombuffer(memoryview(frame.planes[index]), plane.dtype)
                rows = rows.reshape(-1, frame.planes[index].line_size // plane.itemsize)
                rows[: plane.shape[0], : plane.shape[1]] = plane
            for name, value in tags.items():
                setattr(frame, name, value)
            frame.pts = number
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path
