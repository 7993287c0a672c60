"""A frame with its opacity: clear where its base is clear and nothing lies over it.

Opacity is composed like a picture, from the opacities of the sources: each
transition, key and border does to it what it does to a picture that is white
where it is opaque.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Picture, RgbPicture
from keyer.pixel.load import load_alpha
from keyer.pixel.over import straighten
from keyer.pixel.transfer import to_light, to_signal
from keyer.render.compose import compose, compose_matte
from keyer.render.frame import (
    Base,
    Effect,
    Fade,
    Frame,
    Keyed,
    Laid,
    Matted,
    Overlay,
    Reveal,
    Wipe,
)

_WHITE = (1.0, 1.0, 1.0)


def _grey(plane: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.ascontiguousarray(np.broadcast_to(plane, (3, *plane.shape)))


def _opacity(picture: Picture) -> RgbPicture:
    """Opacity of a picture, as a grey picture."""
    return RgbPicture(_grey(load_alpha(picture)))


def _white_border(wipe: Wipe) -> Wipe:
    edge = replace(wipe.edge, border_colour=_WHITE, border_ramp=None)
    border = None if wipe.border is None else _opacity(wipe.border)
    return replace(wipe, edge=edge, border=border)


def _effect(effect: Effect) -> Effect:
    match effect:
        case Fade():
            return replace(effect, colour=_WHITE)
        case Wipe():
            return _white_border(effect)
    return effect


def _reveal(reveal: Reveal | None) -> Reveal | None:
    if reveal is None or not isinstance(reveal.effect, Wipe):
        return reveal
    return replace(reveal, effect=_white_border(reveal.effect))


def _overlay(overlay: Overlay) -> Overlay:
    """Make an overlay white all over."""
    reveal = _reveal(overlay.reveal)
    match overlay:
        case Laid(picture):
            shape = (3, picture.height, picture.width)
            cover = load_alpha(picture)
            white = RgbPicture(np.ones(shape, np.float32), cover)
            return replace(overlay, picture=white, reveal=reveal)
        case Keyed() | Matted():
            matte = overlay.cover() if isinstance(overlay, Matted) else compose_matte(overlay)[1]
            return Matted(_grey(matte), matte, overlay.opacity, reveal)


def compose_clear(frame: Frame, *, threads: int | None = None) -> RgbPicture:
    """Compose a frame with its opacity.

    Parameters
    ----------
    frame : Frame
    threads : int, optional
        Default: every core. The result does not depend on it.

    Returns
    -------
    RgbPicture
        float32, straight colour; without alpha where the base is opaque.
    """
    planes = compose(frame, np.float32, threads=threads).planes
    base = frame.base
    shown = [picture for picture in (base.first, base.second) if picture is not None]
    if all(picture.alpha is None for picture in shown):
        return RgbPicture(planes, matrix=base.first.matrix)
    second = None if base.second is None else _opacity(base.second)
    whites = Base(_opacity(base.first), second, _effect(base.effect), base.progress)
    overlays = tuple(_overlay(overlay) for overlay in frame.overlays)
    alpha = compose(Frame(whites, overlays), np.float32, threads=threads).planes[0]
    alpha = np.clip(alpha, 0, 1)
    if frame.light == "linear":
        to_light(planes)
    straighten(planes, alpha)
    if frame.light == "linear":
        to_signal(planes)
    return RgbPicture(planes, alpha, base.first.matrix)
