"""The steps of a key as pictures: key signal, matte, subject on grey, spill in false colours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.kinds.limits import LIMITS
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.settings import KeySettings
from keyer.measure.against_plate import CLEAR
from keyer.measure.spill import spill_of
from keyer.pixel.colour.false_colour import FROM_NOTHING, in_colours
from keyer.pixel.colour.load import store
from keyer.pixel.compose.over import unpremultiply
from keyer.pixel.keys.fast import key_signal, take_subject
from keyer.render.evaluate import Whole
from keyer.render.finishing import opacity

GREY = 0.5

MOST_SPILL = LIMITS["spill.after_p95"].fails
"""Spill in percent of white at the end of the scale of false colours."""

SPILL_COLOURS = "violet 2.5, red 5, orange 7.5, cream 10 % of white or more"
"""The scale in words."""


def signal_view(recorded: Planes, settings: KeySettings, matrix: Matrix) -> Plane:
    """Compute the key signal of a plate.

    Parameters
    ----------
    recorded : (3, H, W) float32
    settings : KeySettings
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (H, W) float32 in [0, 1]
    """
    signal = np.empty(recorded.shape[1:], np.float32)
    key_signal(recorded, settings, matrix, signal)
    return np.clip(signal, 0, 1, out=signal)


def subject_on_grey(subject: Whole) -> RgbPicture:
    """Lay the processed subject over neutral grey.

    Returns
    -------
    RgbPicture
        uint8.
    """
    matte = opacity(subject)
    return RgbPicture(store(subject.planes + (1 - matte) * np.float32(GREY), np.uint8))


def straight_subject(subject: Whole) -> tuple[Planes, Plane]:
    """Straight colour and matte of a keyed subject, for measures.

    Returns
    -------
    colour : (3, H, W) float32
    matte : (H, W) float32
    """
    colour, matte = subject.planes.copy(), opacity(subject)
    unpremultiply(colour, matte)
    return colour, matte


def subject_with_spill(
    recorded: Planes, matte: Plane, settings: KeySettings, matrix: Matrix
) -> Planes:
    """Straight colour of a subject with nothing but the backing taken off.

    Parameters
    ----------
    recorded : (3, H, W) float32
        The plate.
    matte : (H, W) float32
    settings : KeySettings
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (3, H, W) float32
    """
    fill = recorded.copy()
    take_subject(fill, matte, replace(settings, spill_percent=0.0), matrix)
    unpremultiply(fill, matte)
    return fill


def spill_picture(colour: Planes, matte: Plane, hue_deg: float, matrix: Matrix) -> RgbPicture:
    """Draw the spill on a subject in false colours, as it shows over neutral grey.

    Parameters
    ----------
    colour : (3, H, W) float32
        Straight R'G'B' of the subject.
    matte : (H, W) float32
    hue_deg : float
        Key hue.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    RgbPicture
        uint8, from nothing to `MOST_SPILL`; dark grey where there is no subject.
    """
    percent = np.float32(100) * matte * spill_of(colour, hue_deg, matrix)
    seen = np.where(matte > CLEAR, percent, np.float32(np.nan))
    return RgbPicture(store(in_colours(seen, 0.0, MOST_SPILL, FROM_NOTHING), np.uint8))
