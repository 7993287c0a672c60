"""What all tests share: reference values, tolerances, pictures from a fixed seed."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

TWIN = 1e-6
"""A kernel and its numpy twin agree to this, for values of about 1."""

HERE = Path(__file__).parent


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
