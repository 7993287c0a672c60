"""The one renderer: a frame's plan in, a picture out.

Works a band of rows at a time, so that a band's planes stay in the processor's
cache from the moment they are loaded until they are stored.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from keyer.kinds.picture import Picture, Plane, Planes, RgbPicture
from keyer.kinds.settings import Edge, Light
from keyer.pixel.bands import run_bands
from keyer.pixel.key import key_matte, take_subject
from keyer.pixel.load import load_alpha_band, load_band, store_band
from keyer.pixel.mix import mix_band, toward_colour
from keyer.pixel.over import over_band, premultiply, scale_band, straighten
from keyer.pixel.playback import key_over_codes
from keyer.pixel.transfer import to_light, to_signal
from keyer.pixel.wipe import Moment, moment, weigh_band, wipe_band
from keyer.pixel.wipe_codes import wipe_codes
from keyer.render.frame import Base, Fade, Frame, Keyed, Laid, Matted, Mix, Overlay, Wipe

_kept = threading.local()


def _buffer(name: str, channels: int, rows: int, width: int) -> NDArray[np.float32]:
    """Return this thread's planes for a purpose, made once and used again."""
    size = channels * rows * width
    flat: NDArray[np.float32] | None = getattr(_kept, name, None)
    if flat is None or flat.size < size:
        flat = np.empty(size, np.float32)
        setattr(_kept, name, flat)
    return flat[:size].reshape(channels, rows, width)


def _load(picture: Picture, name: str, top: int, bottom: int, light: Light) -> Planes:
    band = _buffer(name, 3, bottom - top, picture.width)
    load_band(picture, top, bottom, band)
    if light == "linear":
        to_light(band)
    return band


def _ground(picture: Picture, name: str, top: int, bottom: int, light: Light) -> Planes:
    """Load the rows of a picture that nothing lies under: black where it is clear."""
    band = _load(picture, name, top, bottom, light)
    if picture.alpha is not None:
        cover = _buffer("matte", 1, bottom - top, picture.width)[0]
        load_alpha_band(picture, top, bottom, cover)
        premultiply(band, cover)
    return band


def _fade(first: Planes, second: Planes, effect: Fade, progress: float) -> None:
    """Go to the colour in the first half and leave it in the second, in `first`."""
    if progress > 0.5:
        np.copyto(first, second)
    toward_colour(first, effect.colour, 1.0 - abs(1.0 - 2.0 * progress))


def _moment(wipe: Wipe, progress: float) -> Moment:
    """Find a wipe's boundary, once a frame."""
    return moment(wipe.field, wipe.edge, progress, wipe.seconds)


def _base(base: Base, now: Moment | None, top: int, bottom: int, light: Light) -> Planes:
    """Compose the rows of a base, in the light asked for."""
    if base.second is None or base.reached <= 0.0:
        return _ground(base.first, "first", top, bottom, light)
    if base.reached >= 1.0:
        return _ground(base.second, "first", top, bottom, light)
    first = _ground(base.first, "first", top, bottom, light)
    second = _ground(base.second, "second", top, bottom, light)
    match base.effect:
        case Mix(kind):
            mix_band(first, second, base.progress, kind)
        case Fade():
            _fade(first, second, base.effect, base.progress)
        case Wipe() if now is not None:
            wipe_band(first, second, now, top)
    return first


def _keyed(overlay: Keyed, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Key the rows of a picture: premultiplied subject and matte."""
    picture, settings = overlay.picture, overlay.settings
    fill = _load(picture, "second", top, bottom, "video")
    matte = _buffer("matte", 1, bottom - top, picture.width)[0]
    key_matte(fill, settings, picture.matrix, matte)
    take_subject(fill, matte, settings, picture.matrix)
    return fill, matte


def _laid(overlay: Laid, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Load the rows of a picture and its alpha: premultiplied."""
    fill = _load(overlay.picture, "second", top, bottom, "video")
    matte = _buffer("matte", 1, bottom - top, overlay.picture.width)[0]
    load_alpha_band(overlay.picture, top, bottom, matte)
    premultiply(fill, matte)
    return fill, matte


def _small(overlay: Laid, top: int, bottom: int, width: int) -> tuple[Planes, NDArray[np.float32]]:
    """Load the rows of a picture that is smaller than the frame, clear all round."""
    fill = _buffer("second", 3, bottom - top, width)
    matte = _buffer("matte", 1, bottom - top, width)[0]
    fill[:], matte[:] = 0, 0
    picture = overlay.picture
    first = max(top - overlay.top, 0)
    last = min(bottom - overlay.top, picture.height)
    rows = last - first
    part = _buffer("part", 3, rows, picture.width)
    cover = _buffer("cover", 1, rows, picture.width)[0]
    load_band(picture, first, last, part)
    load_alpha_band(picture, first, last, cover)
    premultiply(part, cover)
    down = overlay.top + first - top
    here = (slice(down, down + rows), slice(overlay.left, overlay.left + picture.width))
    fill[:, *here], matte[here] = part, cover
    return fill, matte


def _matted(overlay: Matted, top: int, bottom: int) -> tuple[Planes, NDArray[np.float32]]:
    """Take the rows of a subject whose matte is at hand."""
    rows, width = bottom - top, overlay.matte.shape[1]
    fill, matte = _buffer("second", 3, rows, width), _buffer("matte", 1, rows, width)[0]
    np.copyto(fill, overlay.fill[:, top:bottom])
    np.copyto(matte, overlay.matte[top:bottom])
    return fill, matte


def _reveal(fill: Planes, matte: NDArray[np.float32], edge: Edge, now: Moment, top: int) -> None:
    """Uncover a subject by a wipe, in place; a border is drawn where the subject is."""
    rows, width = matte.shape
    hidden, shown = _buffer("weights", 2, rows, width)
    weigh_band(now, top, hidden, shown)
    border = matte * (1 - hidden - shown)
    fill *= shown
    fill += border * np.array(edge.border_colour, np.float32)[:, np.newaxis, np.newaxis]
    matte *= 1 - hidden


def _beyond(overlay: Laid, top: int, bottom: int) -> bool:
    """Whether a picture does not cover all of these rows."""
    return top < overlay.top or overlay.top + overlay.picture.height < bottom


def _lay(
    overlay: Overlay, now: Moment | None, under: Planes, top: int, bottom: int, light: Light
) -> Planes:
    """Lay the rows of one overlay over `under`; returns the planes that hold the result."""
    width = under.shape[2]
    match overlay:
        case Keyed():
            fill, matte = _keyed(overlay, top, bottom)
        case Laid() if (overlay.picture.width, overlay.left) != (width, 0) or _beyond(
            overlay, top, bottom
        ):
            if bottom <= overlay.top or overlay.top + overlay.picture.height <= top:
                return under
            fill, matte = _small(overlay, top, bottom, width)
        case Laid():
            fill, matte = _laid(overlay, top, bottom)
        case Matted():
            fill, matte = _matted(overlay, top, bottom)
    if overlay.reveal is not None and now is not None:
        _reveal(fill, matte, overlay.reveal.wipe.edge, now, top)
    if overlay.opacity < 1.0:
        scale_band(fill, overlay.opacity)
        scale_band(matte[np.newaxis], overlay.opacity)
    if light == "linear":
        straighten(fill, matte)
        to_light(fill)
        premultiply(fill, matte)
    over_band(fill, matte, under)
    return fill


def _swap(result: Planes) -> None:
    """Let the buffer that holds the result be the next overlay's `first`."""
    second = getattr(_kept, "second", None)
    if second is not None and np.shares_memory(result, second):
        _kept.first, _kept.second = _kept.second, _kept.first


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
        now = _moment(base.effect, base.progress)
    overlays = [
        (overlay, _moment(overlay.reveal.wipe, overlay.reveal.progress) if overlay.reveal else None)
        for overlay in frame.overlays
    ]

    def work(into: int, until: int) -> None:
        top, bottom = start + into, start + until
        band = _base(base, now, top, bottom, frame.light)
        for overlay, reveal in overlays:
            band = _lay(overlay, reveal, band, top, bottom, frame.light)
            _swap(band)
        if frame.light == "linear":
            to_signal(band)
        take(band, into)

    run_bands(end - start, first.width, work, threads=threads, rows=rows)


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
            Base(RgbPicture(planes=a), RgbPicture(planes=b), Wipe() as wipe, progress), (), "video"
        ) if a.dtype == b.dtype == np.dtype(depth) == np.uint8:
            now = _moment(wipe, progress)
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
        run_bands(end, first.width, work, threads=threads, rows=rows)
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
        fill[:, top:bottom], matte[top:bottom] = _keyed(overlay, top, bottom)

    run_bands(height, width, work, threads=threads)
    return fill, matte
