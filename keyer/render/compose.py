"""The one renderer: a frame's plan in, a picture out.

Works a band of rows at a time, so that a band's planes stay in the processor's
cache from the moment they are loaded until they are stored.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from keyer.kinds.picture import Plane, Planes, RgbPicture
from keyer.kinds.settings import Light
from keyer.pixel.bands import run_bands
from keyer.pixel.blocks import TILE
from keyer.pixel.load import store_band
from keyer.pixel.mix import mix_band, toward_colour
from keyer.pixel.move import moved_parts
from keyer.pixel.playback import key_over_codes
from keyer.pixel.scratch import buffer, exchange
from keyer.pixel.transfer import decode_signal, to_signal
from keyer.pixel.wipe import Moment, wipe_band
from keyer.pixel.wipe_codes import wipe_codes
from keyer.render.frame import Base, Fade, Frame, Keyed, Matted, Mix, Move, Wipe
from keyer.render.overlay_rows import keyed_rows, lay_rows, reveal_moment, wipe_moment
from keyer.render.rows import ground


def _fade(first: Planes, second: Planes, effect: Fade, progress: float, light: Light) -> None:
    """Go to the colour, leave it, or both one after the other, in `first`."""
    if effect.part == "from" or (effect.part == "through" and progress > 0.5):
        np.copyto(first, second)
    share = {"to": progress, "from": 1.0 - progress}.get(
        effect.part, 1.0 - abs(1.0 - 2.0 * progress)
    )
    colour = effect.colour
    if light == "linear":
        red, green, blue = decode_signal(np.asarray(colour)).tolist()
        colour = (red, green, blue)
    toward_colour(first, colour, share)


def _moved(base: Base, effect: Move, top: int, bottom: int, light: Light) -> Planes:
    """Put the rows together from the parts of two pictures that move."""
    width, height = base.first.width, base.first.height
    out = buffer("first", 3, bottom - top, width)
    parts = moved_parts(effect.kind, effect.side, base.progress, width, height, (top, bottom))
    for part in parts:
        picture = base.second if part.of_b and base.second is not None else base.first
        rows = part.from_rows
        band = ground(picture, "second", rows.start, rows.stop, light)
        out[:, part.rows, part.columns] = band[:, :, part.from_columns]
    return out


def _base(base: Base, now: Moment | None, top: int, bottom: int, light: Light) -> Planes:
    """Compose the rows of a base, in the light asked for."""
    if base.second is None or base.reached <= 0.0:
        return ground(base.first, "first", top, bottom, light)
    if base.reached >= 1.0:
        return ground(base.second, "first", top, bottom, light)
    if isinstance(base.effect, Move):
        return _moved(base, base.effect, top, bottom, light)
    first = ground(base.first, "first", top, bottom, light)
    second = ground(base.second, "second", top, bottom, light)
    match base.effect:
        case Mix(kind):
            mix_band(first, second, base.progress, kind)
        case Fade():
            _fade(first, second, base.effect, base.progress, light)
        case Wipe() as wipe if now is not None:
            third = None
            if wipe.border is not None:
                third = ground(wipe.border, "third", top, bottom, light)
            wipe_band(first, second, now, top, third)
    return first


def compose_bands(
    frame: Frame,
    take: Callable[[Planes, int], None],
    *,
    window: tuple[int, int] | None = None,
    threads: int | None = None,
    rows: int | None = None,
) -> None:
    """Compose one frame, or some rows of it, and hand each band on as it is done.

    Parameters
    ----------
    frame : Frame
        All its pictures have one size.
    take : callable
        Given a band, (3, rows, W) float32, and its first row counted from the
        window's. The band is used again afterwards, and may be changed.
    window : (top, bottom), optional
        Rows to compose, `bottom` excluded.
    threads, rows : int, optional
        What is handed on does not depend on them, but for where bands begin.
    """
    first = frame.base.first
    start, end = window or (0, first.height)
    base = frame.base
    now = None
    if base.second is not None and isinstance(base.effect, Wipe):
        now = wipe_moment(base.effect, base.progress, frame.light)
    overlays = [(overlay, reveal_moment(overlay.reveal)) for overlay in frame.overlays]

    def work(into: int, until: int) -> None:
        top, bottom = start + into, start + until
        band = _base(base, now, top, bottom, frame.light)
        for overlay, reveal in overlays:
            band = lay_rows(overlay, reveal, band, (top, bottom), first.height, frame.light)
            exchange("first", "second", band)  # the result is the next one's `first`
        if frame.light == "linear":
            to_signal(band)
        take(band, into)

    run_bands(end - start, first.width, work, threads=threads, rows=rows, multiple=TILE)


def _playback(frame: Frame, depth: DTypeLike, out: Plane) -> Callable[[int, int], None] | None:
    """Find the one-pass work for a frame of 8-bit planes throughout; None for other frames."""
    match frame:
        case Frame(
            Base(RgbPicture(planes=under), None),
            (Keyed(RgbPicture(planes=recorded, matrix=matrix), settings, opacity, None),),
            "video",
        ) if under.dtype == recorded.dtype == np.dtype(depth) == np.uint8:
            return lambda top, bottom: key_over_codes(
                recorded, under, settings, matrix, opacity, top, bottom, out
            )
        case Frame(
            Base(RgbPicture(planes=a), RgbPicture(planes=b), Wipe(border=None) as wipe, progress),
            (),
            "video",
        ) if a.dtype == b.dtype == np.dtype(depth) == np.uint8:
            now = wipe_moment(wipe, progress, "video")
            return lambda top, bottom: wipe_codes(a, b, now, top, bottom, out)
    return None


def compose(
    frame: Frame,
    depth: DTypeLike = np.uint8,
    *,
    window: tuple[int, int] | None = None,
    threads: int | None = None,
    rows: int | None = None,
) -> RgbPicture:
    """Compose one frame, or some rows of it.

    Parameters
    ----------
    frame : Frame
        All its pictures have one size.
    depth : dtype
        uint8, uint16 or float32.
    window : (top, bottom), optional
        Rows to compose, `bottom` excluded; the picture returned has these alone.
    threads, rows : int, optional
        The result does not depend on them.

    Returns
    -------
    RgbPicture
    """
    first = frame.base.first
    start, end = window or (0, first.height)
    planes: NDArray[Any] = np.empty((3, end - start, first.width), depth)

    work = _playback(frame, depth, planes) if window is None else None
    if work is not None:
        run_bands(end, first.width, work, threads=threads, rows=rows, multiple=TILE)
        return RgbPicture(planes, matrix=first.matrix)

    def take(band: Planes, into: int) -> None:
        store_band(band, planes, into)

    compose_bands(frame, take, window=window, threads=threads, rows=rows)
    return RgbPicture(planes, matrix=first.matrix)


def compose_matte(
    overlay: Keyed | Matted, *, threads: int | None = None
) -> tuple[Planes, NDArray[np.float32]]:
    """Compute a keyed overlay alone, whole: what the shows and the measures look at.

    Parameters
    ----------
    overlay : Keyed or Matted
    threads : int, optional

    Returns
    -------
    fill : (3, H, W) float32
        Premultiplied, spill taken out.
    matte : (H, W) float32
    """
    if isinstance(overlay, Matted):
        return overlay.fill, overlay.matte
    height, width = overlay.picture.height, overlay.picture.width
    fill = np.empty((3, height, width), np.float32)
    matte = np.empty((height, width), np.float32)

    def work(top: int, bottom: int) -> None:
        fill[:, top:bottom], matte[top:bottom] = keyed_rows(overlay, top, bottom)

    run_bands(height, width, work, threads=threads)
    return fill, matte
