"""Everything that is drawn of the demo, written anew: its media, and the logo of its titles."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing.emblem import emblem
from examples.drawing.plates import eight_bit, key_plate
from examples.drawing.png import png
from examples.drawing.scenery import SCENES, draw
from examples.drawing.sound import RATE as SOUND_RATE
from examples.drawing.sound import guide_track
from keyer.media.clip_write import ClipWriter
from keyer.media.write import write_grey, write_still
from keyer.pixel.colour.load import from_array
from keyer.pixel.compose.generate import colour

Bytes = NDArray[np.uint8]

SIZE = (1920, 1080)
RATE = Fraction(25)

PLATES = ("presenter", "presenter-blue", "bicycle")
"""The stills to key: codes and mattes are exactly what was drawn."""

NEAR = 1
"""Codes by which scenery may be off, for smaller files; its grain has a spread of 1.3."""

CLIP_DETAIL = 2
"""The moving plate is drawn at half size and enlarged, as through a soft lens."""

CLIP_FRAMES = 50
CLIP_STEP = 2.0
"""Movement a frame: the subject's movement repeats after 100, so that the clip loops."""

HOT = 1.09
"""Level of the picture that is too bright: what 8 bits of narrow range can hold at most."""

LOGO = "quillmere.png"
"""As a title design of the demo calls it."""

STRIPES = 24
"""Pairs of light and dark stripes across the picture that is unsafe to show."""


def clip_frame(number: int) -> tuple[Bytes, Bytes]:
    """Draw a frame of the moving plate.

    Enlarging is linear, so the matte stays true: what holds of every drawn
    pixel holds of what lies between.

    Parameters
    ----------
    number : int

    Returns
    -------
    picture : (1080, 1920, 3) uint8
    matte : (1080, 1920) uint8
    """
    width, height = (side // CLIP_DETAIL for side in SIZE)
    plate = key_plate("presenter", width, height, frame=CLIP_STEP * number)
    picture, matte = (
        np.asarray(cv2.resize(part, SIZE, interpolation=cv2.INTER_LINEAR), np.float32)
        for part in (plate.picture, plate.matte)
    )
    return eight_bit(picture), eight_bit(matte)


def draw_demo(folder: Path) -> None:
    """Draw what the demo is made of into an empty folder.

    Parameters
    ----------
    folder : Path
        Gets `media` and `designs`, as the demo has them.
    """
    (folder / "designs").mkdir()
    write_still(folder / "designs" / LOGO, emblem())
    media = folder / "media"
    media.mkdir()
    with ProcessPoolExecutor() as pool:
        jobs = [pool.submit(_scene, media, name) for name in SCENES]
        jobs += [pool.submit(_plate, media, name) for name in PLATES]
        for job in jobs:
            job.result()
        _clips(media, pool.map(clip_frame, range(CLIP_FRAMES)))
    _sound(media / "guide.flac")
    _faulty(media)


def _scene(folder: Path, name: str) -> None:
    (folder / f"{name}.png").write_bytes(png(eight_bit(draw(name)), NEAR))


def _plate(folder: Path, name: str) -> None:
    plate = key_plate(name)
    (folder / f"{name}.png").write_bytes(png(eight_bit(plate.picture)))
    write_grey(folder / f"{name}-true-matte.png", plate.matte)


def _clips(folder: Path, frames: Iterable[tuple[Bytes, Bytes]]) -> None:
    """Write the moving plate as a camera would deliver it, and its true matte without loss."""
    with (
        ClipWriter(folder / "rider.mp4", *SIZE, RATE, codec="h264") as plate,
        av.open(folder / "rider-true-matte.mov", "w") as matte,
    ):
        stream = matte.add_stream("png", rate=RATE, options={"pred": "mixed"})
        stream.width, stream.height = SIZE
        stream.pix_fmt = "gray"
        for picture, cover in frames:
            plate.write(from_array(picture))
            matte.mux(stream.encode(av.VideoFrame.from_ndarray(cover, format="gray")))
        matte.mux(stream.encode())


def _sound(path: Path) -> None:
    """Write the guide track as FLAC (RFC 9639)."""
    with av.open(path, "w") as file:
        stream = file.add_stream("flac", rate=SOUND_RATE, options={"compression_level": "12"})
        stream.layout = "stereo"
        frame = av.AudioFrame.from_ndarray(guide_track().reshape(1, -1), "s16", "stereo")
        frame.rate = SOUND_RATE
        file.mux(stream.encode(frame))
        file.mux(stream.encode())


def _faulty(folder: Path) -> None:
    """Write the pictures that the check must find fault with."""
    width, height = SIZE
    with ClipWriter(folder / "hot.mov", width, height, RATE, codec="prores-hq") as clip:
        for _ in range(5):
            clip.write(colour(width, height, (HOT, HOT, HOT)))
    (folder / "dark.png").write_bytes(png(np.zeros((height, width, 3), np.uint8)))
    bright = np.arange(width) * 2 * STRIPES // width % 2 == 0
    row = np.where(bright, 235, 20).astype(np.uint8)
    (folder / "stripes.png").write_bytes(png(np.tile(row, (height, 1))))
