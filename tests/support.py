"""What all tests share: reference values, tolerances, pictures from a fixed seed."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

TWIN = 1e-6
"""A kernel and its numpy twin agree to this, for values of about 1."""

HERE = Path(__file__).parent

DEMO = HERE.parent / "examples" / "demo"


@cache
def reference(name: str) -> dict[str, Any]:
    """Published values of `tests/references/NAME.toml`, each with its source."""
    return tomllib.loads((HERE / "references" / f"{name}.toml").read_text(encoding="utf-8"))


def planes(seed: int = 1, rows: int = 7, columns: int = 33) -> NDArray[np.float32]:
    """Random R'G'B' planes, (3, rows, columns) float32 in 0..1."""
    return np.random.default_rng(seed).random((3, rows, columns), dtype=np.float32)


def solid(rgb: tuple[float, float, float], rows: int = 4, columns: int = 8) -> NDArray[np.float32]:
    """Planes of one colour, (3, rows, columns) float32."""
    colour = np.array(rgb, np.float32)[:, np.newaxis, np.newaxis]
    return np.ascontiguousarray(np.broadcast_to(colour, (3, rows, columns)))


@cache
def demo_picture(name: str, size: tuple[int, int] | None = None) -> NDArray[np.uint8]:
    """A picture of the demo, (H, W, 3) uint8 R'G'B', reduced to `size` if that is given."""
    whole = cv2.imread(str(DEMO / "media" / name), cv2.IMREAD_COLOR_RGB)
    small = whole if size is None else cv2.resize(whole, size, interpolation=cv2.INTER_AREA)
    picture = np.asarray(small, np.uint8)
    picture.setflags(write=False)
    return picture


@cache
def demo_matte(name: str, size: tuple[int, int] | None = None) -> NDArray[np.float32]:
    """A true matte of the demo, (H, W) float32 in 0..1, reduced to `size` if that is given."""
    whole = cv2.imread(str(DEMO / "media" / name), cv2.IMREAD_UNCHANGED).astype(np.float32) / 65535
    small = whole if size is None else cv2.resize(whole, size, interpolation=cv2.INTER_AREA)
    matte = np.asarray(small, np.float32)
    matte.setflags(write=False)
    return matte
