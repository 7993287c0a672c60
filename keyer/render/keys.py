"""What a key leaves open, settled from the picture; and keyed subjects placed."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Picture
from keyer.kinds.settings import KeySettings
from keyer.measure.auto_key import auto_settings
from keyer.measure.backing import Backing, Sample, survey_backing
from keyer.measure.plate import backing_surface
from keyer.pixel.backing import clean_plate
from keyer.pixel.fine import FineKey, FineModel, fine_key
from keyer.pixel.key import clip_and_gain
from keyer.pixel.level_key import level_matte, luma_band
from keyer.pixel.load import load, load_alpha
from keyer.pixel.over import premultiply, straighten
from keyer.pixel.place import Placement, place
from keyer.render.compose import compose_matte
from keyer.render.frame import Keyed, Laid, Matted
from keyer.sheet.effect import Key
from keyer.sheet.sheet import Overlay

Plates = tuple[Picture, Picture | None]
"""A picture and the clean plate that goes with it."""

FINE_SETTLED = (0.04, 0.06)
"""Fine matte below and short of full which counts as clear and as solid: the grain of the backing
beside the subject and the spill at its rim, which no pixel tells from a thin edge (ours, from
trials)."""


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


def choose_key(picture: Picture, key: Key) -> KeyChoice:
    """Survey a picture's backing and settle every setting that the key leaves open.

    Parameters
    ----------
    picture : Picture
    key : Key
        A chroma key.

    Returns
    -------
    KeyChoice

    Raises
    ------
    NoBackingError
        If the picture shows no backing of the hue asked for.
    SettingError
        If a setting is out of range.
    """
    given: dict[str, Any] = {
        "acceptance_deg": key.acceptance_deg,
        "clip_percent": key.clip_percent,
        "gain": key.gain,
    }
    given = {name: value for name, value in given.items() if value is not None}
    replace(_NEUTRAL, spill_percent=key.spill_percent, **given)  # refuses what is out of range
    planes = load(picture)
    backing = survey_backing(planes, picture.matrix, key.hue, _picked(picture, key))
    hue = None if isinstance(key.hue, str) else key.hue % 360
    chosen = auto_settings(
        planes,
        backing,
        picture.matrix,
        hue_deg=hue,
        spill_percent=key.spill_percent,
        acceptance_deg=key.acceptance_deg,
    )
    by_hand = tuple(f"{_WORDS[name]} {value:g} as asked." for name, value in given.items())
    settings = replace(chosen.settings, **given)
    if key.quality == "fine":
        reasons = (*backing.reasons, FINE, *by_hand)
        return KeyChoice(backing, settings, _used_finely(settings, key), reasons)
    automatic = dict(zip(_WORDS, chosen.reasons, strict=True))
    if key.clip_percent is not None and key.gain is None:
        settings = _solid_as_before(settings, chosen.settings)
        automatic["gain"] = (
            f"Gain {settings.gain:g}: with the clip that was asked for, the matte is solid from"
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


def _picked(picture: Picture, key: Key) -> Sample | None:
    """Area of a picture that is backing for certain, to whole pixels."""
    if key.sample is None:
        return None
    left, top, width, height = key.sample
    across, down = picture.width / 100, picture.height / 100
    x, y = (
        min(round(left * across), picture.width - 1),
        min(round(top * down), picture.height - 1),
    )
    right = max(round((left + width) * across), x + 1)
    bottom = max(round((top + height) * down), y + 1)
    return x, y, right - x, bottom - y


_NEUTRAL = KeySettings(0.0, 90.0, 0.0, 1.0, 100.0, (0.0, 1.0, 0.0))
_USED = ("hue_deg", "acceptance_deg", "clip_percent", "gain", "spill_percent")
_WORDS = {"acceptance_deg": "Acceptance", "clip_percent": "Clip", "gain": "Gain"}


def settled(matte: NDArray[np.float32], clear: float, solid: float) -> NDArray[np.float32]:
    """Let the ends of a matte settle at 0 and 1, and leave its middle as it is.

    Parameters
    ----------
    matte : (H, W) float32
    clear : float
        Up to here it becomes clear; from twice that on it stays.
    solid : float
        This far short of 1 it becomes solid.

    Returns
    -------
    (H, W) float32
        A new matte; the shoulders are straight lines of slope 2.
    """
    low = 2 * (matte - np.float32(clear))
    np.clip(low, 0, matte, out=low)
    high = 2 * (matte + np.float32(solid)) - 1
    np.minimum(high, 1, out=high)
    return np.asarray(np.maximum(low, high, out=low), np.float32)


class FineKeyer:
    """Keys the pictures of one overlay finely, alike from frame to frame.

    What the first picture of the overlay was found to be like holds for all,
    whichever is keyed first; a picture that stands is keyed once.

    Parameters
    ----------
    choice : KeyChoice
    key : Key
        Its clip and gain, where they are set, are applied to the matte: (matte - clip) /
        (1 - clip) x gain. So what is solid stays so, as a fine key's gain is 1 at least.
    first : callable, optional
        Gives the overlay's first picture and its clean plate; default: the
        first that is keyed.
    """

    def __init__(
        self, choice: KeyChoice, key: Key, first: Callable[[], Plates] | None = None
    ) -> None:
        self.choice = choice
        self.key = key
        self._first = first
        self._model: FineModel | None = None
        self._held: tuple[Plates, Matted] | None = None

    def __call__(self, picture: Picture, clean: Picture | None = None) -> Matted:
        """Key a picture.

        Parameters
        ----------
        picture : Picture
        clean : Picture, optional
            The empty backing.

        Returns
        -------
        Matted
        """
        held = self._held
        if held is None or held[0][0] is not picture or held[0][1] is not clean:
            held = self._held = ((picture, clean), self._keyed(picture, clean))
        return held[1]

    def _found(self, picture: Picture, clean: Picture | None) -> FineKey:
        planes, backing = load(picture), self.choice.backing
        surface = backing_surface(planes, backing.rgb, picture.matrix)
        behind = surface.planes
        if clean is not None:
            behind = clean_plate(load(clean), picture.height, picture.width)
        return fine_key(
            planes,
            behind,
            surface.sure,
            self.choice.settings.hue_deg,
            backing.noise_percent / 100,
            picture.matrix,
            spill_percent=self.key.spill_percent,
            model=self._model,
        )

    def _keyed(self, picture: Picture, clean: Picture | None) -> Matted:
        if self._model is None and self._first is not None:
            first = self._first()
            if first[0] is not picture:
                self._model = self._found(*first).model
        found = self._found(picture, clean)
        self._model = found.model
        matte, fill = settled(found.matte, *FINE_SETTLED), found.fill
        clip = 0.0 if self.key.clip_percent is None else self.key.clip_percent
        gain = 1.0 if self.key.gain is None else self.key.gain
        clip_and_gain(matte, clip, gain / (1 - clip / 100))
        straighten(fill, found.matte)
        premultiply(fill, matte)
        return Matted(fill, matte)


def level_keyed(picture: Picture, signal: Picture, key: Key) -> Matted:
    """Key a picture by how bright, or how opaque, the key source is.

    Parameters
    ----------
    picture : Picture
        The fill.
    signal : Picture
        The key source; may be the fill itself.
    key : Key
        A luminance or linear key.

    Returns
    -------
    Matted
    """
    if key.kind == "linear" and key.channel == "alpha":
        matte = load_alpha(signal)
    else:
        matte = np.empty((signal.height, signal.width), np.float32)
        luma_band(load(signal), signal.matrix, matte)
    clip = 0.0 if key.clip_percent is None else key.clip_percent
    gain = 1.0 if key.gain is None else key.gain
    level_matte(matte, clip, gain, invert=key.invert)
    fill = load(picture)
    premultiply(fill, matte)
    return Matted(fill, matte)


def placement_of(overlay: Overlay, frame: int) -> Placement:
    """Where an overlay stands at a frame of the sheet.

    Parameters
    ----------
    overlay : Overlay
    frame : int

    Returns
    -------
    Placement
    """
    pose = overlay.pose(frame)
    return Placement(
        pose.x,
        pose.y,
        pose.scale,
        overlay.crop,
        left_right=overlay.flip in {"left-right", "both"},
        up_down=overlay.flip in {"up-down", "both"},
    )


def placed(layer: Keyed | Laid | Matted, placement: Placement) -> Matted:
    """Place a planned overlay of the frame's size.

    Parameters
    ----------
    layer : Keyed, Laid or Matted
    placement : Placement

    Returns
    -------
    Matted
    """
    if isinstance(layer, Laid):
        fill, matte = load(layer.picture), load_alpha(layer.picture)
        premultiply(fill, matte)
    else:
        fill, matte = compose_matte(layer)
    shade = None
    if isinstance(layer, Matted) and layer.shade is not None:
        shade = place(np.zeros_like(fill), layer.shade, placement)[1]
    fill, matte = place(fill, matte, placement)
    return Matted(np.ascontiguousarray(fill), matte, layer.opacity, layer.reveal, shade)
