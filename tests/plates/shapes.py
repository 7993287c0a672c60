"""True mattes: shapes drawn four times too large and averaged down, so that coverage is known."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Matte = NDArray[np.float32]
OVER = 4


def _canvas(height: int, width: int) -> NDArray[np.uint8]:
    return np.zeros((height * OVER, width * OVER), np.uint8)


def _down(canvas: NDArray[np.uint8], height: int, width: int) -> Matte:
    return (
        cv2.resize(canvas, (width, height), interpolation=cv2.INTER_AREA).astype(np.float32) / 255
    )


def body(height: int, width: int, rng: np.random.Generator) -> NDArray[np.uint8]:
    """A head and shoulders of random proportions on the large canvas."""
    canvas = _canvas(height, width)
    scale = height * OVER
    middle = int(width * OVER * rng.uniform(0.42, 0.58))
    head = (int(scale * rng.uniform(0.14, 0.19)), int(scale * rng.uniform(0.18, 0.24)))
    top = int(scale * rng.uniform(0.3, 0.38))
    cv2.ellipse(canvas, (middle, top), head, rng.uniform(-8, 8), 0, 360, 255, -1)
    neck = int(head[0] * 0.55)
    cv2.rectangle(canvas, (middle - neck, top), (middle + neck, int(scale * 0.7)), 255, -1)
    span = (int(scale * rng.uniform(0.36, 0.5)), int(scale * rng.uniform(0.35, 0.42)))
    cv2.ellipse(canvas, (middle, int(scale * 1.0)), span, 0, 180, 360, 255, -1)
    return canvas


def blob(height: int, width: int, rng: np.random.Generator) -> NDArray[np.uint8]:
    """A closed curve of a few random harmonics."""
    canvas = _canvas(height, width)
    angle = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    radius = np.full_like(angle, rng.uniform(0.25, 0.33))
    for order in range(2, 6):
        radius += rng.uniform(0, 0.08 / order) * np.cos(order * angle + rng.uniform(0, 6.28))
    scale = height * OVER
    x = width * OVER * rng.uniform(0.45, 0.55) + scale * 1.25 * radius * np.cos(angle)
    y = scale * rng.uniform(0.48, 0.54) + scale * radius * np.sin(angle)
    cv2.fillPoly(canvas, [np.stack([x, y], 1).astype(np.int32)], 255)
    return canvas


def add_strands(
    canvas: NDArray[np.uint8], count: int, thick: tuple[float, float], rng: np.random.Generator
) -> None:
    """Draw curved hairs that start inside the shape and end on the backing, in place."""
    edge = cv2.morphologyEx(canvas, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    rows, cols = np.nonzero(edge[: int(canvas.shape[0] * 0.6)])
    if rows.size == 0:
        return
    scale = canvas.shape[0]
    centre = np.array([cols.mean(), rows.mean() + 0.1 * scale])
    steps = np.linspace(0, 1, 24)[:, None]
    for pick in rng.integers(0, rows.size, count):
        root = np.array([cols[pick], rows[pick]], float)
        outward = root - centre
        outward /= np.hypot(*outward) + 1e-6
        sideways = np.array([-outward[1], outward[0]])
        length = scale * rng.uniform(0.04, 0.16)
        bend = rng.normal(0, 0.5)
        path = root - 0.02 * scale * outward + steps * length * outward
        path = path + steps**2 * bend * length * sideways
        width = max(1, round(OVER * rng.uniform(*thick)))
        cv2.polylines(canvas, [path.astype(np.int32)], False, 255, width, cv2.LINE_AA)


def coverage(canvas: NDArray[np.uint8], height: int, width: int, lens: float = 0.5) -> Matte:
    """Average the canvas down; `lens` is the blur of the optics in pixels (sigma)."""
    if lens > 0:
        canvas = cv2.GaussianBlur(canvas, (0, 0), lens * OVER)
    return np.clip(_down(canvas, height, width), 0, 1)


def motion_blur(matte: Matte, length: float, angle_deg: float) -> Matte:
    """Smear along a straight line, as a moving subject during the exposure."""
    size = int(length) | 1
    kernel = np.zeros((size, size), np.float32)
    centre = size // 2
    direction = np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    ends = [tuple(np.rint(centre + sign * direction * centre).astype(int)) for sign in (-1, 1)]
    cv2.line(kernel, ends[0], ends[1], 1.0, 1)
    return cv2.filter2D(matte, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE)


def see_through(matte: Matte, level: float, rng: np.random.Generator) -> Matte:
    """Make a patch at the side of the subject let `1 - level` of the backing through."""
    height, width = matte.shape
    rows, cols = np.mgrid[0:height, 0:width].astype(np.float32)
    inside_rows, inside_cols = np.nonzero(matte > 0.99)
    right = np.quantile(inside_cols, rng.choice([0.15, 0.85]))
    middle = np.quantile(inside_rows, 0.5)
    radius = height * 0.13
    distance = np.hypot((rows - middle) / 1.2, cols - right)
    patch = np.clip((radius - distance) / 2 + 0.5, 0, 1)
    return matte * (1 - patch * (1 - level))
