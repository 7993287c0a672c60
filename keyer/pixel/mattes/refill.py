"""The subject's colour where a matte was changed by hand.

A premultiplied subject fits the matte that it was taken with. Where masks and
finishing raise the matte, colour is needed that was not there; where they lower
it, there is too much.
"""

from __future__ import annotations

import numpy as np

from keyer.kinds.arrays import Plane, Planes
from keyer.pixel.mattes.push_pull import push_pull

LEAST = np.float32(1e-3)
"""Matte from which a pixel has a colour of its own."""


def refill(
    fill: Planes,
    before: Plane,
    after: Plane,
    seen: Planes,
    recorded: Planes,
    hold: Plane | None = None,
) -> Planes:
    """Fit a subject to a changed matte, out of the picture itself.

    Parameters
    ----------
    fill : (3, H, W) float32
        Premultiplied by `before`.
    before, after : (H, W) float32
    seen : (3, H, W) float32
        Colour of what was clear and is solid: the picture without its spill.
    recorded : (3, H, W) float32
        Colour under a hold-in matte: the picture as it is, with all its hues.
    hold : (H, W) float32, optional

    Returns
    -------
    (3, H, W) float32
        Premultiplied by `after`; where both mattes agree and nothing is held, as it was.
    """
    kept = np.minimum(before, after)
    share = kept / np.maximum(before, np.float32(1e-9))
    done = fill * share + (after - kept) * seen
    if hold is not None:
        done = (1 - hold) * done + hold * after * recorded
    return np.asarray(done, np.float32)


def carry_fill(fill: Planes, before: Plane, after: Plane) -> Planes:
    """Fit a subject to a matte whose edge was moved or softened.

    Parameters
    ----------
    fill : (3, H, W) float32
        Premultiplied by `before`.
    before, after : (H, W) float32

    Returns
    -------
    (3, H, W) float32
        The subject's own colour, carried outwards where it had none, premultiplied by `after`.
    """
    # What is nearly clear has hardly a colour of its own: its share falls with the square.
    straight = np.asarray(fill / np.maximum(before, LEAST), np.float32)
    return np.asarray(push_pull(straight, before**2) * after, np.float32)
