"""Key plates with a known matte: C = a F + (1 - a) B, then light, spill, noise and codec.

The matting equation is that of Porter and Duff 1984 on the coded values, as a
mixer in a control room works. Everything that a camera and a recorder do to a
plate comes after it and is a switch here.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from fractions import Fraction

import av
import cv2
import numpy as np
from numpy.typing import NDArray
from signals.curves import relit

Planes = NDArray[np.float32]
Matte = NDArray[np.float32]

KR, KG, KB = 0.2126, 0.7152, 0.0722  # ITU-R BT.709-6 item 3.2


@dataclass(frozen=True)
class Plate:
    """One plate and everything that is known about it.

    Attributes
    ----------
    name : str
    recorded : (3, H, W) float32
        What the key gets.
    matte : (H, W) float32
        True coverage, 1 = subject.
    subject : (3, H, W) float32
        The subject's own colour without spill, not premultiplied.
    backing : (3, H, W) float32
        The lit backing without noise.
    behind : (3, H, W) float32
        New background.
    """

    name: str
    recorded: Planes
    matte: Matte
    subject: Planes
    backing: Planes
    behind: Planes

    @property
    def composite(self) -> Planes:
        """The true picture over the new background."""
        return self.matte * self.subject + (1 - self.matte) * self.behind


def flat(colour: tuple[float, float, float], height: int, width: int) -> Planes:
    """A backing of one colour."""
    return np.broadcast_to(np.array(colour, np.float32)[:, None, None], (3, height, width)).copy()


def uneven(backing: Planes, stops: float, rng: np.random.Generator) -> Planes:
    """Light a backing unevenly by `stops` from its brightest to its darkest point.

    A stop is a factor 2 of light, which a camera codes by BT.709-6 item 1.2.
    """
    _, height, width = backing.shape
    rows, cols = np.mgrid[0 : 1 : height * 1j, 0 : 1 : width * 1j]
    centre = rng.uniform(0.2, 0.8, 2)
    pool = np.hypot(rows - centre[0], (cols - centre[1]) * 1.3)
    slope = rng.uniform(-0.5, 0.5, 2)
    light = -pool + slope[0] * rows + slope[1] * cols
    light = (light - light.min()) / (light.max() - light.min()) - 0.5
    return np.clip(relit(backing, stops * light), 0, 1).astype(np.float32)


def spill_share(matte: Matte, depth: float, floor: float) -> Matte:
    """How strongly each point of the subject is lit by the backing.

    1 at the edge, falling with the distance from it to `floor` over `depth` of the height.
    """
    distance = cv2.distanceTransform((matte > 0.5).astype(np.uint8), cv2.DIST_L2, 5)
    fall = np.exp(-distance / (depth * matte.shape[0]))
    share = floor + (1 - floor) * fall
    return cv2.GaussianBlur(share.astype(np.float32), (0, 0), 1.5)


def spilled(subject: Planes, backing: Planes, share: Matte, strength: float, kind: str) -> Planes:
    """Tint the subject with the backing's light.

    `kind` "veil": a film of backing colour, F + k (B - F); "add": backing light on top,
    F + k B; "cast": light reflected by the subject's own colour, F (1 + k B / max B).
    """
    weight = strength * share
    if kind == "veil":
        return subject + weight * (backing - subject)
    if kind == "add":
        return np.clip(subject + weight * backing, 0, 1)
    tint = backing / backing.max()
    return np.clip(subject * (1 + 2 * weight * (tint - 0.5)), 0, 1)


def noisy(plate: Planes, sigma: float, rng: np.random.Generator) -> Planes:
    """Independent noise in each channel, a little more in blue."""
    scale = np.array([1.0, 0.9, 1.3], np.float32)[:, None, None]
    noise = rng.standard_normal(plate.shape, np.float32) * (sigma * scale)
    return np.clip(plate + noise, 0, 1)


def to_ycc(rgb: Planes) -> Planes:
    """R'G'B' to Y'CbCr, BT.709-6 items 3.2 and 3.3."""
    luma = KR * rgb[0] + KG * rgb[1] + KB * rgb[2]
    cb = (rgb[2] - luma) / (2 - 2 * KB)
    cr = (rgb[0] - luma) / (2 - 2 * KR)
    return np.stack([luma, cb, cr]).astype(np.float32)


def to_rgb(ycc: Planes) -> Planes:
    """Y'CbCr to R'G'B'."""
    luma, cb, cr = ycc
    red = luma + (2 - 2 * KR) * cr
    blue = luma + (2 - 2 * KB) * cb
    green = (luma - KR * red - KB * blue) / KG
    return np.stack([red, green, blue]).astype(np.float32)


def subsampled(plate: Planes) -> Planes:
    """4:2:0 and back: chroma averaged over 2 x 2 pixels, then interpolated."""
    ycc = to_ycc(plate)
    height, width = plate.shape[1:]
    for part in (1, 2):
        small = cv2.resize(ycc[part], (width // 2, height // 2), interpolation=cv2.INTER_AREA)
        ycc[part] = cv2.resize(small, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.clip(to_rgb(ycc), 0, 1)


def rounded(plate: Planes) -> Planes:
    """To 8 bit and back."""
    return (np.rint(np.clip(plate, 0, 1) * 255) / 255).astype(np.float32)


def _narrow(plane: NDArray[np.float32], scale: float, offset: float) -> NDArray[np.uint8]:
    return np.clip(np.rint(plane * scale + offset), 0, 255).astype(np.uint8)


def h264(plate: Planes, bits_a_pixel: float, frames: int = 5) -> Planes:
    """Through H.264 4:2:0 at a bit rate and back; the last of a few frames."""
    ycc = to_ycc(plate)
    height, width = plate.shape[1:]
    luma = _narrow(ycc[0], 219, 16)
    chroma = [
        _narrow(
            cv2.resize(ycc[part], (width // 2, height // 2), interpolation=cv2.INTER_AREA), 224, 128
        )
        for part in (1, 2)
    ]
    store = io.BytesIO()
    with av.open(store, "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=25)
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.bit_rate = int(bits_a_pixel * width * height * 25)
        stream.time_base = Fraction(1, 25)
        packed = np.vstack([luma.reshape(-1, width), *(part.reshape(-1, width) for part in chroma)])
        for index in range(frames):
            frame = av.VideoFrame.from_ndarray(packed, format="yuv420p")
            frame.pts = index
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode():
            container.mux(packet)
    store.seek(0)
    with av.open(store) as container:
        last = list(container.decode(video=0))[-1].to_ndarray()
    planes = np.empty((3, height, width), np.float32)
    planes[0] = (last[:height].astype(np.float32) - 16) / 219
    small = last[height:].reshape(2, height // 2, width // 2)
    for part in (1, 2):
        signal = (small[part - 1].astype(np.float32) - 128) / 224
        planes[part] = cv2.resize(signal, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.clip(to_rgb(planes), 0, 1)
