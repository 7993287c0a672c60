"""Overlays: the rows of a keyed, laid or matted picture, on its way in or out, laid over a base."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.picture import Planes
from keyer.kinds.settings import Light
from keyer.pixel.key import key_matte, take_subject
from keyer.pixel.load import load_alpha_band, load_band
from keyer.pixel.move import moved_parts
from keyer.pixel.over import over_band, premultiply, scale_band, straighten
from keyer.pixel.scratch import buffer
from keyer.pixel.transfer import to_light
from keyer.pixel.wipe import Moment, border_fill, moment, weigh_band
from keyer.render.frame import Keyed, Laid, Matted, Move, Overlay, Reveal, Wipe
from keyer.render.rows import ground, loaded


def wipe_moment(wipe: Wipe, progress: float, light: Light) -> Moment:
    """Find a wipe's boundary, once a frame.

    Parameters
    ----------
    wipe : Wipe
    progress : float
    light : {"video", "linear"}
        What the rows that are wiped hold.

    Returns
    -------
    Moment
    """
    return moment(wipe.field, wipe.edge, progress, wipe.seconds, light=light)


def reveal_moment(reveal: Reveal | None) -> Moment | None:
    """Find the boundary of the wipe that uncovers an overlay; overlays are wiped as signal."""
    if reveal is None or not isinstance(reveal.effect, Wipe):
        return None
    return wipe_moment(reveal.effect, reveal.progress, "video")


def keyed_rows(overlay: Keyed, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Key the rows of a picture.

    Parameters
    ----------
    overlay : Keyed
    top, bottom : int

    Returns
    -------
    fill : (3, rows, W) float32
        Premultiplied, spill taken out.
    matte : (rows, W) float32
    """
    picture, settings = overlay.picture, overlay.settings
    fill = loaded(picture, "second", top, bottom, "video")
    matte = buffer("matte", 1, bottom - top, picture.width)[0]
    key_matte(fill, settings, picture.matrix, matte)
    take_subject(fill, matte, settings, picture.matrix)
    return fill, matte


def _laid(overlay: Laid, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Load rows that a picture covers from side to side, and its alpha: premultiplied."""
    top, bottom = top - overlay.top, bottom - overlay.top
    fill = loaded(overlay.picture, "second", top, bottom, "video")
    matte = buffer("matte", 1, bottom - top, overlay.picture.width)[0]
    load_alpha_band(overlay.picture, top, bottom, matte)
    premultiply(fill, matte)
    return fill, matte


def _small(overlay: Laid, top: int, bottom: int, width: int) -> tuple[Planes, NDArray[np.float32]]:
    """Load the rows of a picture that is smaller than the frame, clear all round."""
    fill = buffer("second", 3, bottom - top, width)
    matte = buffer("matte", 1, bottom - top, width)[0]
    fill[:], matte[:] = 0, 0
    picture = overlay.picture
    first = max(top - overlay.top, 0)
    last = min(bottom - overlay.top, picture.height)
    rows = last - first
    part = buffer("part", 3, rows, picture.width)
    cover = buffer("cover", 1, rows, picture.width)[0]
    load_band(picture, first, last, part)
    load_alpha_band(picture, first, last, cover)
    premultiply(part, cover)
    down = overlay.top + first - top
    here = (slice(down, down + rows), slice(overlay.left, overlay.left + picture.width))
    fill[:, *here], matte[here] = part, cover
    return fill, matte


def _matted(overlay: Matted, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Take the rows of a subject whose matte is at hand, its shadow in the matte."""
    rows, width = bottom - top, overlay.matte.shape[1]
    fill, matte = buffer("second", 3, rows, width), buffer("matte", 1, rows, width)[0]
    np.copyto(fill, overlay.fill[:, top:bottom])
    np.copyto(matte, overlay.cover(slice(top, bottom)))
    return fill, matte


def _reveal(fill: Planes, matte: NDArray[np.float32], wipe: Wipe, now: Moment, top: int) -> None:
    """Uncover a subject by a wipe, in place; a border is drawn where the subject is."""
    rows, width = matte.shape
    hidden, shown = buffer("weights", 2, rows, width)
    ramp = weigh_band(now, top, hidden, shown)
    fill *= shown
    if now.border > 0:
        border = border_fill(now, ramp)
        if wipe.border is not None:
            border = ground(wipe.border, "third", top, top + rows, "video")
        fill += matte * (1 - hidden - shown) * border
    matte *= 1 - hidden


def _beyond(overlay: Laid, top: int, bottom: int) -> bool:
    """Whether a picture does not cover all of these rows."""
    return top < overlay.top or overlay.top + overlay.picture.height < bottom


def _subject(
    overlay: Overlay, top: int, bottom: int, width: int
) -> tuple[Planes, NDArray[np.float32]] | None:
    """Find the rows of one overlay, premultiplied, and its matte; None where it is not."""
    match overlay:
        case Keyed():
            return keyed_rows(overlay, top, bottom)
        case Laid() if (overlay.picture.width, overlay.left) != (width, 0) or _beyond(
            overlay, top, bottom
        ):
            if bottom <= overlay.top or overlay.top + overlay.picture.height <= top:
                return None
            return _small(overlay, top, bottom, width)
        case Laid():
            return _laid(overlay, top, bottom)
        case Matted():
            return _matted(overlay, top, bottom)


def _slid(
    overlay: Overlay, reveal: Reveal, effect: Move, rows: tuple[int, int], size: tuple[int, int]
) -> tuple[Planes, NDArray[np.float32]] | None:
    """Find the rows of one overlay on its way in from a side, or out to it."""
    (top, bottom), (width, height) = rows, size
    parts = moved_parts("slide", effect.side, reveal.progress, width, height, rows)
    part = next((part for part in parts if part.of_b), None)
    found = part and _subject(overlay, part.from_rows.start, part.from_rows.stop, width)
    if not part or not found:
        return None
    fill = np.zeros((3, bottom - top, width), np.float32)
    matte = np.zeros((bottom - top, width), np.float32)
    fill[:, part.rows, part.columns] = found[0][:, :, part.from_columns]
    matte[part.rows, part.columns] = found[1][:, part.from_columns]
    return fill, matte


def lay_rows(
    overlay: Overlay,
    now: Moment | None,
    under: Planes,
    rows: tuple[int, int],
    height: int,
    light: Light,
) -> Planes:
    """Lay the rows of one overlay over others.

    Parameters
    ----------
    overlay : Overlay
    now : Moment or None
        From `reveal_moment`.
    under : (3, rows, W) float32
        In the light asked for.
    rows : (top, bottom)
        Of the frame.
    height : int
        Of the frame.
    light : {"video", "linear"}

    Returns
    -------
    (3, rows, W) float32
        The planes that hold the result; `under` itself where nothing lies over it.
    """
    (top, bottom), width = rows, under.shape[2]
    effect = overlay.reveal.effect if overlay.reveal else None
    if overlay.reveal and isinstance(effect, Move):
        found = _slid(overlay, overlay.reveal, effect, rows, (width, height))
    else:
        found = _subject(overlay, top, bottom, width)
    if found is None:
        return under
    fill, matte = found
    if isinstance(effect, Wipe) and now is not None:
        _reveal(fill, matte, effect, now, top)
    if overlay.opacity < 1.0:
        scale_band(fill, overlay.opacity)
        scale_band(matte[np.newaxis], overlay.opacity)
    if light == "linear":
        straighten(fill, matte)
        to_light(fill)
        premultiply(fill, matte)
    over_band(fill, matte, under)
    return fill
