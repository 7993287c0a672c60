"""Light on drawn surfaces: from height to normal to a lit, coded colour.

Surfaces are shaded in linear light and come back as coded R'G'B'. The
direction to a light is (right, down, towards the camera).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Rgb = tuple[float, float, float]

WHITE_LIGHT = 3.2
"""Linear light that the film curve brings to full white."""


def linear(colour: Rgb | str) -> Floats:
    """Linear light of a coded colour, given as 0..1 parts or as `#RRGGBB` (gamma 2.2)."""
    if isinstance(colour, str):
        parts = tuple(byte / 255 for byte in bytes.fromhex(colour.removeprefix("#")))
    else:
        parts = colour
    return np.asarray(parts, np.float32) ** np.float32(2.2)


def gamma(bright: Floats) -> Floats:
    """Coded colour of linear light, without any curve of a film (gamma 1/2.2)."""
    return np.asarray(np.maximum(bright, 0) ** np.float32(1 / 2.2), np.float32)


def encode(light: Floats, white: float = WHITE_LIGHT) -> Floats:
    """Coded colour of linear light, with a film's soft shoulder.

    Reinhard, Stark, Shirley and Ferwerda 2002, "Photographic tone reproduction
    for digital images", equation 4, then gamma 1/2.2.

    Parameters
    ----------
    light : float32, 0 and up
    white : float
        Light that turns into full white.

    Returns
    -------
    float32 in [0, 1]
    """
    bright = np.maximum(light, 0)
    mapped = bright * (1 + bright / np.float32(white * white)) / (1 + bright)
    return np.asarray(np.minimum(mapped, 1) ** np.float32(1 / 2.2), np.float32)


@dataclass(frozen=True)
class Lamps:
    """The lights of a studio or of a day out.

    Attributes
    ----------
    key, rim : directions to the main light and to the light from behind
    key_colour, rim_colour, above, below : linear R, G, B
        `above` and `below` are what comes from all sides, from overhead and
        from the floor.
    """

    key: Rgb = (-0.52, -0.56, 0.65)
    key_colour: Rgb = (1.62, 1.52, 1.38)
    rim: Rgb = (0.86, -0.38, 0.10)
    rim_colour: Rgb = (0.85, 0.82, 0.80)
    above: Rgb = (0.34, 0.34, 0.36)
    below: Rgb = (0.15, 0.13, 0.115)


STUDIO = Lamps()


def inflate(cover: Floats, radius: float, soften: float = 0.35) -> Floats:
    """Height of a shape blown up like a cushion: round near its outline, flat inside.

    Parameters
    ----------
    cover : (H, W) float32
        Coverage of the shape.
    radius : float
        Radius of the rounding in pixels.
    soften : float
        Smoothing of the height, as part of the radius.

    Returns
    -------
    (H, W) float32, pixels
    """
    inside = (cover > 0.5).astype(np.uint8)
    padded = cv2.copyMakeBorder(inside, 1, 1, 1, 1, cv2.BORDER_REPLICATE)
    distance = cv2.distanceTransform(padded, cv2.DIST_L2, 5)[1:-1, 1:-1]
    away = 1 - np.minimum(distance / np.float32(radius), 1)
    height = np.float32(radius) * np.sqrt(np.maximum(1 - away * away, 0))
    return blurred(height, soften * radius)


def blurred(plane: Floats, sigma: float) -> Floats:
    """Gaussian blur; a wide one is done at a smaller size."""
    if sigma < 0.3:
        return plane
    factor = int(min(sigma / 3, 8))
    if factor < 2 or min(plane.shape[:2]) < 4 * factor:
        return np.asarray(cv2.GaussianBlur(plane, (0, 0), sigma), np.float32)
    size = (max(plane.shape[1] // factor, 1), max(plane.shape[0] // factor, 1))
    small = cv2.resize(plane, size, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), sigma / factor)
    whole = (plane.shape[1], plane.shape[0])
    large = cv2.resize(small, whole, interpolation=cv2.INTER_LINEAR)
    # The facets of the enlargement would show in the slopes.
    return np.asarray(cv2.GaussianBlur(large, (0, 0), 0.9 * factor), np.float32)


def slopes(height: Floats) -> tuple[Floats, Floats]:
    """Slope of a height map to the right and downwards."""
    right = cv2.Sobel(height, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    down = cv2.Sobel(height, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    return np.asarray(right, np.float32), np.asarray(down, np.float32)


def normals(height: Floats) -> tuple[Floats, Floats, Floats]:
    """Return unit normals (right, down, towards the camera) of a height map."""
    right, down = slopes(height)
    scale = 1 / np.sqrt(right * right + down * down + 1)
    return -right * scale, -down * scale, np.asarray(scale, np.float32)


def lit(
    normal: tuple[Floats, Floats, Floats],
    albedo: Floats,
    *,
    gloss: float = 0.0,
    sharp: float = 30.0,
    sheen: float = 0.0,
    metal: float = 0.0,
    coat: float = 0.0,
    shade: Floats | None = None,
    where: NDArray[np.bool_] | None = None,
    lamps: Lamps = STUDIO,
) -> Floats:
    """Colour of a surface under the lamps.

    Parameters
    ----------
    normal : three (H, W) float32
    albedo : (H, W, 3) or (3,) float32
        Linear reflectance.
    gloss : float
        Strength of the highlight.
    sharp : float
        Its exponent (Blinn 1977); larger is smaller and harder.
    sheen : float
        Light caught by fibres towards the outline.
    metal : float
        Share of mirror-like metal, 0..1: it shows the room tinted by its own colour.
    coat : float
        Strength of a clear varnish that shows the room towards the outline.
    shade : (H, W) float32, optional
        Factor on all light: creases and contact shadows.
    where : (H, W) bool, optional
        Only these pixels are wanted; the others come back black.
    lamps : Lamps

    Returns
    -------
    (H, W, 3) float32, coded, in [0, 1]
    """
    if where is not None:
        whole = np.zeros((*where.shape, 3), np.float32)
        whole[where] = lit(
            (normal[0][where], normal[1][where], normal[2][where]),
            albedo if albedo.ndim == 1 else np.broadcast_to(albedo, whole.shape)[where],
            gloss=gloss, sharp=sharp, sheen=sheen, metal=metal, coat=coat,
            shade=None if shade is None else shade[where], lamps=lamps,
        )  # fmt: skip
        return whole
    nx, ny, nz = normal
    kx, ky, kz = _unit(lamps.key)
    wrap = np.float32(0.22)
    key = np.maximum((nx * kx + ny * ky + nz * kz + wrap) / (1 + wrap), 0)
    key *= key * np.float32(0.35) + np.float32(0.65)
    rx, ry, rz = _unit(lamps.rim)
    outward = 1 - np.clip(nz, 0, 1)
    rim = np.maximum(nx * rx + ny * ry + nz * rz, 0) * outward
    overhead = np.float32(0.5) - np.float32(0.5) * ny
    hx, hy, hz = _unit((float(kx), float(ky), float(kz) + 1))
    facing = np.maximum(nx * hx + ny * hy + nz * hz, 0)
    shine = np.float32(gloss) * np.exp(np.float32(sharp) * (facing - 1) * 2) if gloss > 0 else None
    if shade is not None:
        key, rim = key * shade, rim * shade
        overhead = overhead * shade
    fibres = np.float32(sheen) * outward * outward if sheen > 0 else None
    around = room(normal) if metal > 0 or coat > 0 else None
    fresnel = np.float32(0.04) + np.float32(0.96) * outward**5 if coat > 0 else None
    flat = np.broadcast_to(albedo, (*nx.shape, 3))
    light = np.empty((*nx.shape, 3), np.float32)
    for channel in range(3):
        above, below = lamps.above[channel], lamps.below[channel]
        ambient = np.float32(below) + np.float32(above - below) * overhead
        total = ambient + np.float32(lamps.key_colour[channel]) * key
        total += np.float32(lamps.rim_colour[channel]) * rim
        if around is not None:
            seen = around * np.float32(lamps.above[channel] * 2.6)
        plane = flat[..., channel] * (total if metal <= 0 else total + metal * (seen - total))
        if fresnel is not None:
            plane += np.float32(coat) * fresnel * seen
        if fibres is not None:
            plane += fibres * (np.float32(0.3) + flat[..., channel]) * total
        if shine is not None:
            plane += shine * np.float32(lamps.key_colour[channel])
            plane += np.float32(gloss * 0.5 * lamps.rim_colour[channel]) * rim * outward
        light[..., channel] = plane
    return encode(light)


def room(normal: tuple[Floats, Floats, Floats]) -> Floats:
    """Return what a mirror turned this way shows of a studio.

    Lamps overhead, a dark horizon, a pale floor.

    Parameters
    ----------
    normal : three (H, W) float32

    Returns
    -------
    (H, W) float32
    """
    nx, ny, nz = normal
    up = np.float32(-2) * nz * ny
    side = np.float32(2) * nz * nx
    box = np.exp(-(((up - 0.62) / 0.20) ** 2) - ((side + 0.25) / 0.75) ** 2)
    wall = np.clip((up + np.float32(0.10)) / np.float32(0.22), 0, 1)
    floor = np.clip((-up - np.float32(0.10)) / np.float32(0.55), 0, 1)
    strip = np.exp(-(((side - 0.80) / 0.10) ** 2))
    total = np.float32(0.10) + np.float32(0.75) * wall + np.float32(1.9) * box
    return np.asarray(total + np.float32(0.55) * floor + np.float32(0.7) * strip, np.float32)


def _unit(direction: tuple[float, ...]) -> tuple[np.float32, np.float32, np.float32]:
    length = float(np.linalg.norm(direction))
    x, y, z = (np.float32(part / length) for part in direction)
    return x, y, z
