"""The part of a frame that its overlays can change, strip by strip, and that part as a frame.

What no overlay touches is the base's own picture; for an encoder that takes
planes as the base has them, its codes can pass through as they are.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple, TypeVar

import numpy as np

from keyer.kinds.picture import Picture, Plane, RgbPicture, YccPicture
from keyer.pixel.clear import unclear_spans
from keyer.pixel.decode_ycc import chroma_steps
from keyer.render.frame import Base, Frame, Keyed, Laid, Matted, Overlay

STRIP = 128
"""Rows of a strip; strips begin at row 0 of every picture, so that they are the same always."""

P = TypeVar("P", RgbPicture, YccPicture)


class Box(NamedTuple):
    """A part of a picture: columns `left` to `right` and rows `top` to `bottom`, ends excluded."""

    left: int
    top: int
    right: int
    bottom: int


def shown_alone(base: Base) -> Picture | None:
    """Return the one picture that a base shows; None while two are seen."""
    if base.second is None or base.reached <= 0.0:
        return base.first
    return base.second if base.reached >= 1.0 else None


def _strips(height: int) -> list[tuple[int, int]]:
    return [(top, min(top + STRIP, height)) for top in range(0, height, STRIP)]


def _keyed_spans(overlay: Keyed, height: int, faint: float) -> list[tuple[int, int]]:
    """Columns of each strip on which a keyed picture may be seen."""
    picture = overlay.picture
    if not isinstance(picture, YccPicture):
        return [(0, picture.width)] * len(_strips(height))
    rows = unclear_spans(picture, overlay.settings, faint)
    _, step = chroma_steps(picture)
    spans = []
    for top, bottom in _strips(height):
        near = rows[max(top // step - 1, 0) : -(-bottom // step) + 1]
        some = near[near[:, 0] < near[:, 1]]
        spans.append((int(some[:, 0].min()), int(some[:, 1].max())) if some.size else (0, 0))
    return spans


def _spans(overlay: Overlay, height: int, faint: float) -> list[tuple[int, int]]:
    """Columns of each strip that an overlay touches; empty where both are equal."""
    match overlay:
        case Keyed():
            return _keyed_spans(overlay, height, faint)
        case Laid():
            right, low = overlay.left + overlay.picture.width, overlay.top + overlay.picture.height
            return [
                (overlay.left, right) if top < low and overlay.top < bottom else (0, 0)
                for top, bottom in _strips(height)
            ]
        case Matted():
            strips = (slice(top, bottom) for top, bottom in _strips(height))
            seen = [(overlay.cover(rows) > faint).any(axis=0) for rows in strips]
            columns = [np.flatnonzero(strip) for strip in seen]
            return [(int(c[0]), int(c[-1]) + 1) if c.size else (0, 0) for c in columns]


def touched(frame: Frame, faint: float = 0.0) -> list[Box] | None:
    """Find the part of a frame that may differ from the picture of its base.

    Parameters
    ----------
    frame : Frame
    faint : float
        Matte up to which a key is taken as clear. It cannot change R'G'B' by
        more than that.

    Returns
    -------
    list of Box, or None
        At most one a strip of `STRIP` rows. None where the whole frame has to
        be composed: while two sources are seen, or a wipe uncovers an overlay.
    """
    picture = shown_alone(frame.base)
    if picture is None or any(overlay.reveal is not None for overlay in frame.overlays):
        return None
    height = picture.height
    seen = [overlay for overlay in frame.overlays if overlay.opacity > 0]
    every = [_spans(overlay, height, faint) for overlay in seen]
    boxes = []
    for number, (top, bottom) in enumerate(_strips(height)):
        some = [spans[number] for spans in every if spans[number][0] < spans[number][1]]
        if some:
            left, right = min(span[0] for span in some), max(span[1] for span in some)
            boxes.append(Box(left, top, right, bottom))
    return boxes


def _part(plane: Plane, box: Box, step_x: int = 1, step_y: int = 1) -> Plane:
    rows = slice(box.top // step_y, -(-box.bottom // step_y))
    columns = slice(box.left // step_x, -(-box.right // step_x))
    return np.ascontiguousarray(plane[..., rows, columns])


def _cut(picture: Picture, box: Box) -> Picture:
    """Cut a box out of a picture, at the picture's own depth."""
    alpha = None if picture.alpha is None else _part(picture.alpha, box)
    if isinstance(picture, RgbPicture):
        return replace(picture, planes=_part(picture.planes, box), alpha=alpha)
    step_x, step_y = chroma_steps(picture)
    cb, cr = (_part(plane, box, step_x, step_y) for plane in (picture.cb, picture.cr))
    return replace(picture, luma=_part(picture.luma, box), cb=cb, cr=cr, alpha=alpha)


def _cut_overlay(overlay: Overlay, box: Box) -> Overlay | None:
    """Cut a box out of an overlay; None if nothing of it is there."""
    match overlay:
        case Keyed():
            return replace(overlay, picture=_cut(overlay.picture, box))
        case Matted():
            shade = None if overlay.shade is None else _part(overlay.shade, box)
            fill, matte = _part(overlay.fill, box), _part(overlay.matte, box)
            return replace(overlay, fill=fill, matte=matte, shade=shade)
        case Laid(picture, left=left, top=top):
            seen = Box(
                max(box.left, left),
                max(box.top, top),
                min(box.right, left + picture.width),
                min(box.bottom, top + picture.height),
            )
            if seen.left >= seen.right or seen.top >= seen.bottom:
                return None
            own = Box(seen.left - left, seen.top - top, seen.right - left, seen.bottom - top)
            return replace(
                overlay,
                picture=_cut(picture, own),
                left=seen.left - box.left,
                top=seen.top - box.top,
            )


def cut(frame: Frame, box: Box) -> Frame:
    """Cut a box out of a frame that `touched` knows.

    Parameters
    ----------
    frame : Frame
        One source on its base, no overlay being uncovered.
    box : Box
        Begins on even rows and columns, where chroma samples may sit. Within
        two samples of a cut edge interpolated chroma is not that of the whole.

    Returns
    -------
    Frame
    """
    picture = shown_alone(frame.base)
    if picture is None:
        msg = "a frame that shows two sources is composed whole"
        raise AssertionError(msg)
    parts = (_cut_overlay(overlay, box) for overlay in frame.overlays if overlay.opacity > 0)
    return Frame(
        Base(_cut(picture, box)), tuple(part for part in parts if part is not None), frame.light
    )
