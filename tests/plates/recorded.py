"""Plates in a folder, each with its matte and true composite, and how well one could do on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from plates.keys import Keyed

from keyer.measure.backing import survey_backing
from keyer.pixel.keys.backing import smooth_backing
from keyer.pixel.keys.edge_light import code_of, light_of

Planes = NDArray[np.float32]


@dataclass(frozen=True)
class Recorded:
    """A plate as it was recorded, and what is known of it.

    Attributes
    ----------
    name : str
    recorded, behind, composite : (3, H, W) float32
    matte : (H, W) float32
    """

    name: str
    recorded: Planes
    matte: NDArray[np.float32]
    behind: Planes
    composite: Planes


def _planes(path: Path) -> Planes:
    picture = cv2.imread(str(path), cv2.IMREAD_COLOR)
    return np.ascontiguousarray(picture[..., ::-1].transpose(2, 0, 1)).astype(np.float32) / 255


def plates_in(folder: Path) -> Iterator[Recorded]:
    """Read fg.png or fg.jpg, bg.png, matte.png and truth.png (mixed in codes) of each folder."""
    for matte in sorted(folder.glob("*/matte.png")):
        here = matte.parent
        plate = next(here / name for name in ("fg.png", "fg.jpg") if (here / name).exists())
        true = cv2.imread(str(matte), cv2.IMREAD_UNCHANGED)
        yield Recorded(
            here.name,
            _planes(plate),
            true.astype(np.float32) / np.iinfo(true.dtype).max,
            _planes(here / "bg.png"),
            _planes(here / "truth.png"),
        )


def ceiling(plate: Recorded) -> Keyed:
    """Key with the true matte, and the backing as it is where that is clear.

    The colour has the plate's own chroma, grain and spill; light or coded values are taken out,
    whichever comes nearer to the truth.
    """
    matte, seen = plate.matte, plate.recorded
    _, height, width = seen.shape
    size = -(-width // 2), -(-height // 2)
    clear = cv2.resize((matte == 0).astype(np.float32), size, interpolation=cv2.INTER_AREA) == 1
    small = np.stack([cv2.resize(plane, size, interpolation=cv2.INTER_AREA) for plane in seen])
    colour = survey_backing(seen, "bt709").rgb
    backing = smooth_backing(small, clear, colour, height, width)
    some = np.maximum(matte, np.float32(1e-3))
    in_light = code_of((light_of(seen) - (1 - matte) * light_of(backing)) / some) * matte
    in_codes = seen - (1 - matte) * backing
    fills = [fill.clip(0, matte) for fill in (in_light, in_codes)]

    def off(fill: Planes) -> float:
        return float(((fill + (1 - matte) * plate.behind - plate.composite) ** 2).mean())

    return matte, min(fills, key=off)
