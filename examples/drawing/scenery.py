"""Background pictures of the invented lakeside bicycle hire, by name."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from examples.drawing import bank, closeup, film, jetty, lake, shopfront, shore, water, workshop
from examples.drawing.moods import EVENING, MORNING, Mood
from examples.drawing.stage import check_size
from keyer.errors import SettingError

Floats = NDArray[np.float32]


def _morning(width: int, height: int, frame: float, seed: int) -> Floats:
    time, mood = frame / 25, MORNING
    sky, swell, surface = _water(width, height, mood, time)
    surface = jetty.jetty_mirrored(surface, width, height, mood, swell)
    whole = np.concatenate([sky, surface])[-height:]
    whole = shore.over(whole, jetty.jetty(width, height, mood))
    reeds = bank.reeds(width, height, mood, time, side=1.0, seed=21)
    whole = shore.over(whole, reeds)
    return film.develop(whole, seed + round(frame), exposure=mood.exposure)


def _evening(width: int, height: int, frame: float, seed: int) -> Floats:
    time, mood = frame / 25, EVENING
    sky, _, surface = _water(width, height, mood, time)
    whole = np.concatenate([sky, surface])[-height:]
    whole = shore.over(whole, bank.bank(width, height, mood))
    reeds = bank.reeds(width, height, mood, time, side=-1.0, seed=22)
    whole = shore.over(whole, reeds)
    return film.develop(whole, seed + round(frame), exposure=mood.exposure)


def _workshop(width: int, height: int, frame: float, seed: int) -> Floats:
    whole = workshop.light_of(width, height)
    return film.develop(whole, seed + round(frame), exposure=1.25, bloom=0.14, vignette=0.3)


def _shopfront(width: int, height: int, frame: float, seed: int) -> Floats:
    whole = shopfront.light_of(width, height, frame / 25)
    return film.develop(whole, seed + round(frame), exposure=1.35, bloom=0.10, vignette=0.3)


def _wheel(width: int, height: int, frame: float, seed: int) -> Floats:
    whole = closeup.light_of(width, height, frame / 25)
    return film.develop(whole, seed + round(frame), exposure=1.15, bloom=0.14, vignette=0.3)


def _water(width: int, height: int, mood: Mood, time: float) -> tuple[Floats, water.Waves, Floats]:
    sky = lake.above(width, height, mood, time)
    seen = lake.view(width, height, mood.horizon)
    swell = water.waves(seen, mood, time)
    return sky, swell, water.surface(sky, width, height, mood, swell, seen)


SCENES: dict[str, Callable[[int, int, float, int], Floats]] = {
    "morning": _morning,
    "evening": _evening,
    "workshop": _workshop,
    "shopfront": _shopfront,
    "wheel": _wheel,
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
        If there is no background of that name, or the picture is smaller than 2 x 2.
    """
    if name not in SCENES:
        msg = f"scene must be one of {', '.join(SCENES)}, got {name!r}."
        raise SettingError(msg)
    check_size(width, height)
    return SCENES[name](width, height, frame, seed)
