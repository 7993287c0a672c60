"""Background pictures of the invented lakeside bicycle hire, by name."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from keyer.demo import lake
from keyer.errors import SettingError

Floats = NDArray[np.float32]


def _lake(width: int, height: int, mood: lake.Mood, frame: float, seed: int) -> Floats:
    time = frame / 25
    sky = lake.above(width, height, mood, time)
    seen = lake.view(width, height, mood.horizon)
    swell = lake.waves(seen, mood, time)
    surface = lake.water(sky, width, height, mood, swell, seen)
    whole = np.concatenate([sky[round(lake.HEADROOM * height) :], surface])[-height:]
    return lake.film(whole, mood, seed + round(frame))


def _morning(width: int, height: int, frame: float, seed: int) -> Floats:
    return _lake(width, height, lake.MORNING, frame, seed)


def _evening(width: int, height: int, frame: float, seed: int) -> Floats:
    return _lake(width, height, lake.EVENING, frame, seed)


SCENES: dict[str, Callable[[int, int, float, int], Floats]] = {
    "morning": _morning,
    "evening": _evening,
}
"""What draws each background: width, height, frame, seed."""


def draw(
    name: str, width: int = 1920, height: int = 1080, frame: float = 0, seed: int = 7
) -> Floats:
    """Draw a background.

    Parameters
    ----------
    name : a key of `SCENES`
    width, height : int
        Pixels.
    frame : float
        Moment at 25 frames a second: water, mist and clouds move.
    seed : int
        Of the film grain.

    Returns
    -------
    (H, W, 3) float32, coded R'G'B' in [0, 1]

    Raises
    ------
    SettingError
        If there is no background of that name.
    """
    if name not in SCENES:
        msg = f"scene must be one of {', '.join(SCENES)}, got {name!r}."
        raise SettingError(msg)
    return SCENES[name](width, height, frame, seed)
