"""Whether light was mixed at the edges of a plate, as a camera does it, or coded values.

A lens and a sensor mix light: an edge pixel lies on the straight line between
subject and backing in light, and on a bent one in coded values. A plate that
was laid together by a mixer, or drawn, has them on a straight line in coded
values. The edges themselves tell which of the two lines is nearer.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.arrays import Mask, Planes
from keyer.pixel.colour.transfer import decode_signal, encode_light

Colours = NDArray[np.float32]

KNEE_SIGNAL, KNEE_LIGHT = 4.5 * 0.018, 0.018
"""Below here the curve of ITU-R BT.709-6 item 1.2 is a straight line."""

APART = 0.02
"""How far the two lines must lie apart to be told from each other, and more with grain."""

FEW = 100
"""Pixels that tell too little."""

DOUBT = -0.03
"""Nearness up to which coded values were mixed: in doubt it was a camera."""

SURE = 0.12
"""Nearness from which it is sure."""


def light_of(planes: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give the light of coded values, ITU-R BT.709-6 item 1.2 inverted.

    Parameters
    ----------
    planes : (..., H, W) float32

    Returns
    -------
    (..., H, W) float32
        Not below 0.
    """
    flat = planes.reshape(-1, planes.shape[-1])
    power = cv2.pow(np.maximum(flat, KNEE_SIGNAL) * (1 / 1.099) + 0.099 / 1.099, 1 / 0.45)
    low = np.maximum(flat, 0) * np.float32(1 / 4.5)
    return np.asarray(np.where(flat < KNEE_SIGNAL, low, power), np.float32).reshape(planes.shape)


def code_of(light: NDArray[np.float32]) -> NDArray[np.float32]:
    """Give the coded values of light, ITU-R BT.709-6 item 1.2.

    Parameters
    ----------
    light : (..., H, W) float32

    Returns
    -------
    (..., H, W) float32
        Not below 0.
    """
    flat = light.reshape(-1, light.shape[-1])
    power = cv2.pow(np.maximum(flat, KNEE_LIGHT), 0.45) * 1.099 - 0.099
    low = np.maximum(flat, 0) * np.float32(4.5)
    return np.asarray(np.where(flat < KNEE_LIGHT, low, power), np.float32).reshape(light.shape)


def mixed_in_light(
    planes: Planes, subject: Planes, backing: Planes, edge: Mask, noise: float
) -> float:
    """Tell how much nearer the edges are to mixtures of light than to mixtures of coded values.

    Parameters
    ----------
    planes, subject, backing : (3, H, W) float32
        The picture, the subject's colour carried outwards, the backing, in coded values.
    edge : (H, W) bool
        Where the colour carried is to be trusted.
    noise : float
        Standard deviation of the grain.

    Returns
    -------
    float
        Mean difference of the distances to the two lines, over how far these lie apart; 0 where
        too little tells.
    """
    rows, columns = np.nonzero(edge)
    if rows.size < FEW:
        return 0.0
    seen, own, behind = (
        stack[:, rows, columns].astype(np.float64) for stack in (planes, subject, backing)
    )
    straight, part = _distance(seen, own, behind)
    bent, _ = _distance(seen, own, behind, light=True)
    middle = encode_light((decode_signal(own) + decode_signal(behind)) / 2)
    apart, _ = _distance(middle, own, behind)
    told = (part > 0.15) & (part < 0.85) & (apart > max(APART, 1.2 * noise))
    told &= ((own - behind) ** 2).sum(0) > 0.25**2
    if int(told.sum()) < FEW:
        return 0.0
    return float((straight[told] - bent[told]).mean() / apart[told].mean())


def _distance(
    seen: NDArray[np.float64],
    own: NDArray[np.float64],
    behind: NDArray[np.float64],
    *,
    light: bool = False,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distance of colours from the line of mixtures, and the part of the subject there."""

    def there(colours: NDArray[np.float64]) -> NDArray[np.float64]:
        return decode_signal(colours) if light else colours

    start, way = there(behind), there(own) - there(behind)
    length = np.maximum((way**2).sum(0), 1e-3)
    part = (((there(seen) - start) * way).sum(0) / length).clip(0, 1)
    nearest = np.full(part.shape, np.inf)
    for step in np.linspace(-0.15, 0.15, 13):
        mixture = start + (part + step).clip(0, 1) * way
        coded = encode_light(mixture) if light else mixture
        np.minimum(nearest, ((coded - seen) ** 2).sum(0), out=nearest)
    return np.sqrt(nearest), part
