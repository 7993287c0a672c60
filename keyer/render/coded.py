"""A frame composed straight into the Y'CbCr planes that an encoder takes.

Bands go from the composer to the encoder's planes without a stop at 8 bits.
Where the base's picture has the planes that are wanted and no overlay touches
it, its codes are taken as they are.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keyer.kinds.picture import Picture, Plane, YccPicture
from keyer.pixel.bands import band_rows, default_threads, run_bands
from keyer.pixel.decode_ycc import chroma_steps
from keyer.pixel.encode_ycc import Sampling, empty_ycc, encode_band
from keyer.pixel.key_coded import key_coded, key_spans
from keyer.render.compose import compose_bands
from keyer.render.frame import Frame, Keyed
from keyer.render.touched import Box, cut, shown_alone, touched

_MARGIN = 4
"""Columns and rows about a box that are composed with it: chroma filters reach 3 far."""

_ALIGN = 16

_FAINT = 0.25
"""Part of a code that what is left of a backing may be worth and count as nothing."""

_SAMPLINGS: dict[tuple[int, int], Sampling] = {(1, 1): "444", (2, 1): "422", (2, 2): "420"}


def _alike(picture: Picture, out: YccPicture) -> bool:
    """Whether a picture has planes of the size and sampling of `out`."""
    return (
        isinstance(picture, YccPicture)
        and picture.luma.shape == out.luma.shape
        and chroma_steps(picture) == chroma_steps(out)
    )


def _like(picture: YccPicture, out: YccPicture) -> bool:
    """Whether a picture's codes mean what those of `out` shall mean."""
    return (
        _alike(picture, out)
        and picture.left_sited
        and picture.alpha is None
        and out.alpha is None
        and (picture.bits, picture.full_range, picture.matrix)
        == (out.bits, out.full_range, out.matrix)
    )


def _planes(picture: YccPicture) -> tuple[Plane, Plane, Plane]:
    return picture.luma, picture.cb, picture.cr


def _uncovering(frame: Frame) -> bool:
    return any(overlay.reveal is not None for overlay in frame.overlays)


def _key_apart(frame: Frame, out: YccPicture) -> tuple[Keyed | None, Frame]:
    """Take the one key out of a frame that can go from codes to codes, if it has such a one."""
    for place, overlay in enumerate(frame.overlays):
        if isinstance(overlay, Keyed) and _alike(overlay.picture, out) and frame.light == "video":
            others = frame.overlays[:place] + frame.overlays[place + 1 :]
            return overlay, replace(frame, overlays=others)
    return None, frame


def _key_codes(key: Keyed, under: YccPicture, out: YccPicture, faint: float, threads: int) -> None:
    over = key.picture
    if key.opacity <= 0 or not isinstance(over, YccPicture):
        return
    spans = key_spans(over, key.settings, faint)

    def work(top: int, bottom: int) -> None:
        key_coded(over, under, key.settings, key.opacity, out, spans, top, bottom)

    run_bands(len(spans), out.width, work, threads=threads)


def _aligned(box: Box, width: int) -> Box:
    """Widen a box to all columns whose chroma it can change, and to a round number of them."""
    left = max(box.left - 1, 0) // _ALIGN * _ALIGN
    right = min(-(-(box.right + 2) // _ALIGN) * _ALIGN, width)
    return Box(left, box.top, right, box.bottom)


def _grown(box: Box, width: int, height: int) -> Box:
    return Box(
        max(box.left - _MARGIN, 0),
        max(box.top - _MARGIN, 0),
        min(box.right + _MARGIN, width),
        min(box.bottom + _MARGIN, height),
    )


def _paste(small: YccPicture, outer: Box, box: Box, out: YccPicture) -> None:
    """Put the planes of a box, encoded with a margin, into those of the picture."""
    step_x, step_y = chroma_steps(out)
    steps = ((1, 1), (step_x, step_y), (step_x, step_y))
    for plane, into, (across, down) in zip(_planes(small), _planes(out), steps, strict=True):
        x, y = (box.left - outer.left) // across, (box.top - outer.top) // down
        columns = -(-box.right // across) - box.left // across
        rows = -(-box.bottom // down) - box.top // down
        left, top = box.left // across, box.top // down
        into[top : top + rows, left : left + columns] = plane[y : y + rows, x : x + columns]


def _compose_box(frame: Frame, box: Box, out: YccPicture) -> None:
    box = _aligned(box, out.width)
    outer = _grown(box, out.width, out.height)
    small = empty_ycc(
        outer.right - outer.left,
        outer.bottom - outer.top,
        sampling=_SAMPLINGS[chroma_steps(out)],
        bits=out.bits,
        matrix=out.matrix,
    )
    _compose_whole(cut(frame, outer), small, 1)
    _paste(small, outer, box, out)


def _compose_whole(frame: Frame, out: YccPicture, threads: int) -> None:
    even = -(-band_rows(out.height, out.width, threads) // 2) * 2
    compose_bands(frame, lambda band, top: encode_band(band, out, top), threads=threads, rows=even)


def compose_coded(frame: Frame, out: YccPicture, *, threads: int | None = None) -> None:
    """Compose a frame into Y'CbCr planes.

    Parameters
    ----------
    frame : Frame
    out : YccPicture
        From `keyer.pixel.encode_ycc.empty_ycc`, of the frame's size; its
        samples are set, but for alpha.
    threads : int, optional
        Default: every core. The result does not depend on it.
    """
    threads = threads or default_threads()
    picture = shown_alone(frame.base)
    if not isinstance(picture, YccPicture) or not _like(picture, out) or _uncovering(frame):
        _compose_whole(frame, out, threads)
        return
    for plane, into in zip(_planes(picture), _planes(out), strict=True):
        np.copyto(into, plane)
    faint = _FAINT / (1 << out.bits)
    key, others = _key_apart(frame, out)
    if key is not None:
        _key_codes(key, picture, out, faint, threads)
    boxes = touched(others, faint) or []

    def work(first: int, end: int) -> None:
        for box in boxes[first:end]:
            _compose_box(frame, box, out)

    run_bands(len(boxes), 1, work, threads=threads, rows=1)
