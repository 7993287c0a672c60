"""Key plates: a subject before a lit backing, as a camera sees it, with the truth kept.

    picture = matte * spilled + (1 - matte) * backing + noise      (coded values)

The backing is unevenly lit, creased and noisy; its light spills on the edges of
the subject and on what is turned to it. Everything is invented and seeded.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import light, subject, tiles
from keyer.errors import SettingError
from keyer.pixel.colour.transfer import decode_signal, encode_light

Floats = NDArray[np.float32]
Bytes = NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Plate:
    """A key plate and the truth behind it, coded R'G'B' in [0, 1].

    Attributes
    ----------
    picture : (H, W, 3) float32
        What the camera delivers, with noise.
    matte : (H, W) float32
        True coverage; 1 = subject.
    foreground : (H, W, 3) float32
        The subject without spill, not premultiplied; 0 where there is none.
    spilled : (H, W, 3) float32
        The subject with the spill of the backing.
    backing : (H, W, 3) float32
        The backing without the subject; read-only.
    """

    picture: Floats
    matte: Floats
    foreground: Floats
    spilled: Floats
    backing: Floats


@dataclass(frozen=True)
class Setup:
    """How a plate is lit and shot.

    Attributes
    ----------
    subject : a key of `subject.SUBJECTS`
    backing : coded R'G'B' where the backing is brightest
    fall : float
        Stops of light from the brightest to the darkest part of the backing.
    spill : float
        Share of the backing's light that falls on the very edge of the subject.
    noise : float
        Spread of the camera's noise at mid grey, 0..1.
    """

    subject: str
    backing: tuple[float, float, float]
    fall: float
    spill: float
    noise: float


PLATES: dict[str, Setup] = {
    "presenter": Setup("presenter", (0.175, 0.645, 0.205), 0.62, 0.30, 0.011),
    "bicycle": Setup("bicycle", (0.115, 0.225, 0.665), 0.55, 0.24, 0.010),
    "presenter-blue": Setup("presenter", (0.115, 0.225, 0.665), 0.45, 0.26, 0.012),
}
"""The key plates of the demo."""


def key_plate(
    name: str, width: int = 1920, height: int = 1080, frame: float = 0, seed: int = 7
) -> Plate:
    """Shoot a key plate.

    Parameters
    ----------
    name : a key of `PLATES`
    width, height : int
        Pixels.
    frame : float
        Moment of the movement, in frames; the noise differs from frame to frame.
    seed : int

    Returns
    -------
    Plate

    Raises
    ------
    SettingError
        If there is no plate of that name, or the picture is smaller than 2 x 2.
    """
    if name not in PLATES:
        msg = f"plate must be one of {', '.join(PLATES)}, got {name!r}."
        raise SettingError(msg)
    setup = PLATES[name]
    shown = subject.draw(setup.subject, width, height, frame, seed)
    backing = _backing(setup, (height, width), seed)
    spilled = _spill(setup, shown.foreground, shown.matte)
    matte = shown.matte[..., None]
    clean = matte * spilled + (1 - matte) * backing
    picture = np.clip(clean + _camera_noise(setup, clean, seed + 1 + round(frame * 16)), 0, 1)
    return Plate(np.asarray(picture, np.float32), shown.matte, shown.foreground, spilled, backing)


def eight_bit(picture: Floats) -> Bytes:
    """Round a picture in [0, 1] to 8 bits."""
    return np.asarray(np.clip(picture, 0, 1) * 255 + 0.5, np.uint8)


@lru_cache(maxsize=2)
def _backing(setup: Setup, shape: tuple[int, int], seed: int) -> Floats:
    """Light a cloth with two lamps that do not quite meet; it falls off to the corners."""
    height, width = shape
    aspect = width / height
    x = ((np.arange(width, dtype=np.float32) + 0.5) / height - aspect / 2)[None, :]
    y = ((np.arange(height, dtype=np.float32) + 0.5) / height)[:, None]
    left = np.exp(-(((x + 0.42) / 1.05) ** 2) - ((y - 0.42) / 0.95) ** 2)
    right = 0.78 * np.exp(-(((x - 0.62) / 0.80) ** 2) - ((y - 0.50) / 0.90) ** 2)
    lamps = left + right
    lamps = (lamps - lamps.min()) / max(float(lamps.max() - lamps.min()), 1e-6)
    folds = tiles.sample(
        tiles.tile(seed + 31, 2.0, 2), (x * 85).astype(np.float32), (y * 22).astype(np.float32)
    )
    crease = np.exp(-(((x - 0.74 + 0.05 * y) / 0.012) ** 2)) - np.exp(
        -(((x - 0.752 + 0.05 * y) / 0.012) ** 2)
    )
    level = lamps + np.float32(0.035) * folds * (0.4 + y) + np.float32(0.09) * crease
    stops = np.float32(setup.fall) * (np.clip(level, 0, 1) - 1)
    brightest = decode_signal(np.array(setup.backing))
    backing = encode_light(np.exp2(stops)[..., None] * brightest).astype(np.float32)
    backing.setflags(write=False)
    return backing


def _spill(setup: Setup, foreground: Floats, matte: Floats) -> Floats:
    """Light of the backing on the subject: a little all over, much towards the outline."""
    height = matte.shape[0]
    open_ = 1 - matte
    near = light.blurred(open_, 0.008 * height)
    wide = light.blurred(open_, 0.035 * height)
    weight = np.float32(setup.spill) * (
        np.float32(0.06) + np.float32(0.62) * near + np.float32(0.45) * wide
    )
    weight = np.clip(weight, 0, 0.6)[..., None] * (matte > 0)[..., None]
    cast = np.array(setup.backing, np.float32) * (np.float32(0.30) + np.float32(0.70) * foreground)
    # The lamp's own light loses a little where the backing lights the edge.
    return np.asarray(np.clip(foreground * (1 - 0.25 * weight) + weight * cast, 0, 1), np.float32)


def _camera_noise(setup: Setup, clean: Floats, seed: int) -> Floats:
    """Photon and read noise: more where it is bright, strongest in blue, softened by the sensor."""
    height, width = clean.shape[:2]
    soften = 0.55
    rough = np.random.default_rng(seed).standard_normal((height, width, 3), np.float32)
    rough = np.asarray(cv2.GaussianBlur(rough, (0, 0), soften), np.float32)
    rough *= np.float32(1 / 0.5593)  # what that blur leaves of a unit spread
    shared = rough.mean(axis=2, keepdims=True)
    spread = np.float32(setup.noise) * (np.float32(0.55) + np.float32(0.75) * np.sqrt(clean))
    channels = np.array([1.0, 0.85, 1.25], np.float32)
    return np.asarray(
        spread * channels * (np.float32(0.75) * rough + np.float32(0.6) * shared), np.float32
    )
