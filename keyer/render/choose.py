"""What a chroma key leaves open, settled from a picture: a step of its own, beside planning."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix
from keyer.kinds.settings import KeySettings
from keyer.measure.auto_key import AutoKey, auto_settings
from keyer.measure.backing import Backing, Sample, survey_backing
from keyer.sheet.effect import Key

FINE = (
    "Fine key: the matte of an edge pixel is where its colour lies between the backing and the "
    "subject's own colour, carried outwards from its solid parts."
)


class KeyChoice:
    """What was surveyed and chosen for a chroma key, kept for the report.

    Attributes
    ----------
    backing : Backing
    settings : KeySettings
        Of a fast key; what a fine key has to do with is in `used`.
    used : mapping
        The settings that make this very key, by their names in `KeySettings`: said by hand, they
        make it again.
    reasons : tuple of str
        Sentences: what was found and what was chosen.
    """

    def __init__(
        self,
        backing: Backing,
        settings: KeySettings,
        used: Mapping[str, float],
        reasons: tuple[str, ...],
    ) -> None:
        self.backing = backing
        self.settings = settings
        self.used = used
        self.reasons = reasons


@dataclass(frozen=True)
class Surveyed:
    """A picture's backing, and the settings that go with it."""

    backing: Backing
    chosen: AutoKey


def asked_of_survey(key: Key) -> Hashable:
    """Name what of a key a survey depends on: keys for which it is the same are surveyed once."""
    return key.hue, key.sample, key.spill_percent, key.acceptance_deg


def survey_key(planes: Planes, matrix: Matrix, key: Key) -> Surveyed:
    """Survey a picture's backing, and choose what settings a key may leave open.

    Parameters
    ----------
    planes : (3, H, W) float32
    matrix : {"bt601", "bt709"}
    key : Key
        A chroma key.

    Raises
    ------
    NoBackingError
        If the picture shows no backing of the hue asked for.
    SettingError
        If a setting is out of range.
    """
    _given(key)
    height, width = planes.shape[1:]
    backing = survey_backing(planes, matrix, key.hue, _picked(width, height, key))
    chosen = auto_settings(
        planes,
        backing,
        matrix,
        hue_deg=None if isinstance(key.hue, str) else key.hue % 360,
        spill_percent=key.spill_percent,
        acceptance_deg=key.acceptance_deg,
    )
    return Surveyed(backing, chosen)


def _given(key: Key) -> dict[str, Any]:
    """Return the settings of a key that are set by hand.

    Raises
    ------
    SettingError
        If a setting is out of range.
    """
    given: dict[str, Any] = {
        "acceptance_deg": key.acceptance_deg,
        "clip_percent": key.clip_percent,
        "gain": key.gain,
    }
    given = {name: value for name, value in given.items() if value is not None}
    replace(_NEUTRAL, spill_percent=key.spill_percent, **given)
    return given


def choose_key(surveyed: Surveyed, key: Key) -> KeyChoice:
    """Settle every setting that a key leaves open.

    Parameters
    ----------
    surveyed : Surveyed
        From `survey_key`.
    key : Key

    Raises
    ------
    SettingError
        If a setting is out of range.
    """
    given, backing, chosen = _given(key), surveyed.backing, surveyed.chosen
    by_hand = tuple(f"{_WORDS[name]} {value:g} as asked." for name, value in given.items())
    settings = replace(chosen.settings, **given)
    if key.quality == "fine":
        reasons = (*backing.reasons, FINE, *by_hand)
        return KeyChoice(backing, settings, _used_finely(settings, key), reasons)
    automatic = dict(zip(_WORDS, chosen.reasons, strict=True))
    if key.clip_percent is not None and key.gain is None:
        settings = _solid_as_before(settings, chosen.settings)
        automatic["gain"] = (
            f"Gain {settings.gain:g}: with the clip that was set, the matte is solid from"
            f" {settings.clip_percent + 100 / settings.gain:.0f} % of the key signal."
        )
    said = tuple(reason for name, reason in automatic.items() if name not in given)
    used = {name: getattr(settings, name) for name in _USED}
    return KeyChoice(backing, settings, used, backing.reasons + said + by_hand)


def _solid_as_before(settings: KeySettings, chosen: KeySettings) -> KeySettings:
    """Let a clip that was set by hand leave solid what is solid with the one that was chosen."""
    clip, solid = settings.clip_percent / 100, chosen.clip_percent / 100 + 1 / chosen.gain
    gain = 1 / max(min(solid, 1.0) - clip, 0.02)
    return replace(settings, gain=math.ceil(100 * gain) / 100)


def _used_finely(settings: KeySettings, key: Key) -> dict[str, float]:
    """List what makes a fine key: its clip and gain are done to the matte, if asked for."""
    return {
        "hue_deg": settings.hue_deg,
        "clip_percent": 0.0 if key.clip_percent is None else key.clip_percent,
        "gain": 1.0 if key.gain is None else key.gain,
        "spill_percent": settings.spill_percent,
    }


def _picked(columns: int, rows: int, key: Key) -> Sample | None:
    """Area of a picture that is backing for certain, to whole pixels."""
    if key.sample is None:
        return None
    left, top, width, height = key.sample
    across, down = columns / 100, rows / 100
    x, y = min(round(left * across), columns - 1), min(round(top * down), rows - 1)
    right = max(round((left + width) * across), x + 1)
    bottom = max(round((top + height) * down), y + 1)
    return x, y, right - x, bottom - y


_NEUTRAL = KeySettings(0.0, 90.0, 0.0, 1.0, 100.0, (0.0, 1.0, 0.0))
_USED = ("hue_deg", "acceptance_deg", "clip_percent", "gain", "spill_percent")
_WORDS = {"acceptance_deg": "Acceptance", "clip_percent": "Clip", "gain": "Gain"}
