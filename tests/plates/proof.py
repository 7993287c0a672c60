"""The proof set: plates of every kind that a key must hold on, made anew from a seed."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from plates import making, shapes
from plates.making import Plate
from plates.textures import texture

GREEN = (0.16, 0.68, 0.22)
BLUE = (0.13, 0.27, 0.72)
OFF_GREEN = (0.33, 0.66, 0.30)
DULL_GREEN = (0.18, 0.46, 0.20)
SEA_GREEN = (0.10, 0.62, 0.42)


@dataclass(frozen=True)
class Kind:
    """How one plate of the set is made."""

    name: str
    subject: str
    backing: tuple[float, float, float] = GREEN
    shape: str = "body"
    strands: int = 0
    strand_width: tuple[float, float] = (0.4, 1.4)
    motion: float = 0.0
    through: float = 1.0
    stops: float = 0.2
    spill: float = 0.0
    spill_kind: str = "veil"
    spill_floor: float = 0.1
    noise: float = 0.006
    chroma420: bool = False
    bits_a_pixel: float = 0.0
    behind: str = "machine"


KINDS = (
    Kind("plain", "suit"),
    Kind("strands", "cat", strands=260),
    Kind("fine strands, blue", "cat", BLUE, strands=300, strand_width=(0.3, 0.8), behind="cup"),
    Kind("motion blur", "cup", shape="blob", motion=22),
    Kind("motion and strands, spill", "cat", strands=160, motion=12, spill=0.15),
    Kind("see-through", "machine", through=0.5),
    Kind("see-through, blue, spill", "cup", BLUE, through=0.4, spill=0.12, spill_kind="add"),
    Kind("a stop uneven", "suit", stops=1.0, strands=120),
    Kind("a stop uneven, dull green", "tissue", DULL_GREEN, shape="blob", stops=1.0, strands=80),
    Kind("noise", "cat", noise=0.025, strands=150),
    Kind("noise, blue", "suit", BLUE, noise=0.02),
    Kind("spill veil", "cat", spill=0.25, strands=120),
    Kind("spill add", "suit", spill=0.2, spill_kind="add", strands=120),
    Kind("spill cast", "tissue", spill=0.3, spill_kind="cast", shape="blob"),
    Kind("spill all over, blue", "cat", BLUE, spill=0.18, spill_floor=0.5, strands=80),
    Kind("4:2:0", "cat", strands=200, chroma420=True),
    Kind("4:2:0, spill, noise", "suit", spill=0.15, noise=0.012, strands=150, chroma420=True),
    Kind("off-green", "machine", OFF_GREEN, strands=120, stops=0.5),
    Kind("sea green, spill", "cup", SEA_GREEN, shape="blob", strands=120, spill=0.15),
    Kind("H.264, good", "cat", strands=120, bits_a_pixel=0.4),
    Kind("H.264, poor", "suit", strands=120, bits_a_pixel=0.08, noise=0.01),
    Kind("H.264, blue, spill", "machine", BLUE, bits_a_pixel=0.2, spill=0.12, strands=100),
    Kind("all at once", "cat", strands=200, motion=6, through=0.6, stops=0.8, spill=0.15,
         noise=0.015, chroma420=True),
)  # fmt: skip


def make(kind: Kind, height: int = 360, width: int = 480, seed: int = 1) -> Plate:
    """Make one plate; another seed gives another plate of the same kind."""
    rng = np.random.default_rng([seed, zlib.crc32(kind.name.encode())])
    canvas = getattr(shapes, kind.shape)(height, width, rng)
    if kind.strands:
        shapes.add_strands(canvas, kind.strands, kind.strand_width, rng)
    matte = shapes.coverage(canvas, height, width)
    if kind.motion:
        matte = shapes.motion_blur(matte, kind.motion, rng.uniform(0, 180))
    if kind.through < 1:
        matte = shapes.see_through(matte, kind.through, rng)
    subject = texture(kind.subject, height, width)
    backing = making.uneven(making.flat(kind.backing, height, width), kind.stops, rng)
    lit = subject
    if kind.spill:
        share = making.spill_share(matte, 0.06, kind.spill_floor)
        lit = making.spilled(subject, backing, share, kind.spill, kind.spill_kind)
    recorded = matte * lit + (1 - matte) * backing
    recorded = making.noisy(recorded, kind.noise, rng)
    if kind.bits_a_pixel:
        recorded = making.h264(recorded, kind.bits_a_pixel)
    elif kind.chroma420:
        recorded = making.subsampled(recorded)
    behind = cv2.GaussianBlur(texture(kind.behind, height, width).transpose(1, 2, 0), (0, 0), 2)
    return Plate(
        kind.name,
        making.rounded(recorded),
        matte,
        subject,
        backing,
        np.ascontiguousarray(behind.transpose(2, 0, 1)),
    )


def proof_set(height: int = 360, width: int = 480, seed: int = 1) -> Iterator[Plate]:
    """Make every plate of the set."""
    for kind in KINDS:
        yield make(kind, height, width, seed)
