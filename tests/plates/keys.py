"""The keys under test with nothing but their defaults: recorded plate in, matte and fill out."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from plates.textbook import colour_difference_key

from keyer.measure.auto_key import auto_settings
from keyer.measure.backing import survey_backing
from keyer.measure.plate import backing_surface
from keyer.pixel.keys.fast import clip_and_gain, key_signal, take_subject
from keyer.pixel.keys.fine import fine_key

Planes = NDArray[np.float32]
Keyed = tuple[NDArray[np.float32], Planes]


def textbook(recorded: Planes) -> Keyed:
    return colour_difference_key(recorded, survey_backing(recorded, "bt709").rgb)


def fast(recorded: Planes) -> Keyed:
    backing = survey_backing(recorded, "bt709")
    settings = auto_settings(recorded, backing, "bt709").settings
    matte = np.empty(recorded.shape[1:], np.float32)
    key_signal(recorded, settings, "bt709", matte)
    clip_and_gain(matte, settings.clip_percent, settings.gain)
    fill = recorded.copy()
    take_subject(fill, matte, settings, "bt709")
    return matte, fill


def fine(recorded: Planes) -> Keyed:
    backing = survey_backing(recorded, "bt709")
    surface = backing_surface(recorded, backing.rgb, "bt709")
    noise = backing.noise_percent / 100
    key = fine_key(recorded, surface.planes, backing.hue_deg, noise, "bt709")
    return key.matte, key.fill


KEYS: dict[str, Callable[[Planes], Keyed]] = {"textbook": textbook, "fast": fast, "fine": fine}
