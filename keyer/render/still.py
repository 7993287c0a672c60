"""One frame of a sheet as a picture, or as one of the pictures behind it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import DTypeLike, NDArray

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import one_of
from keyer.pixel.colour import FULL_CHROMA
from keyer.pixel.key import key_signal
from keyer.pixel.load import load, store, to_array
from keyer.pixel.over import straighten
from keyer.pixel.spill import spill_of
from keyer.render.compose import compose, compose_matte
from keyer.render.frame import Frame, Keyed, Matted
from keyer.render.plan import Plan
from keyer.sheet.sheet import Sheet

SHOWS = ("picture", "matte", "key-signal", "subject", "spill")
"""What can be looked at: the finished picture, or a step of its topmost key.

`subject` is the processed subject over neutral grey, `spill` the spill on the
recorded picture, white at full chroma.
"""

GREY = 0.5


def _topmost_key(frame: Frame) -> Keyed | Matted:
    for overlay in reversed(frame.overlays):
        if isinstance(overlay, Keyed | Matted):
            return overlay
    msg = (
        "show needs a keyed overlay on this frame, found none. Choose a time at which one is seen."
    )
    raise SettingError(msg)


def show_plane(overlay: Keyed | Matted, show: str) -> NDArray[np.float32]:
    """Compute one grey step of a key.

    Parameters
    ----------
    overlay : Keyed or Matted
    show : {"matte", "key-signal", "spill"}

    Returns
    -------
    (H, W) float32 in [0, 1]

    Raises
    ------
    SettingError
        If the key has no such step.
    """
    if show == "matte":
        return compose_matte(overlay)[1]
    if isinstance(overlay, Matted):
        msg = f"show {show} needs a fast key; a key with its matte at hand has none."
        raise SettingError(msg)
    planes = load(overlay.picture)
    if show == "spill":
        spill = spill_of(planes, overlay.settings.hue_deg, overlay.picture.matrix)
        return np.asarray(np.minimum(spill / FULL_CHROMA, 1), np.float32)
    signal = np.empty(planes.shape[1:], np.float32)
    key_signal(planes, overlay.settings, overlay.picture.matrix, signal)
    np.clip(signal, 0, 1, out=signal)
    return signal


def subject_on_grey(overlay: Keyed | Matted) -> RgbPicture:
    """Lay the processed subject over neutral grey.

    Parameters
    ----------
    overlay : Keyed or Matted

    Returns
    -------
    RgbPicture
        uint8.
    """
    fill, matte = compose_matte(overlay)
    return RgbPicture(store(fill + (1 - matte) * np.float32(GREY), np.uint8))


def straight_subject(overlay: Keyed | Matted) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Straight colour and matte of a keyed subject, for measures.

    Parameters
    ----------
    overlay : Keyed or Matted

    Returns
    -------
    colour : (3, H, W) float32
    matte : (H, W) float32
    """
    fill, matte = compose_matte(overlay)
    colour = fill.copy()
    straighten(colour, matte)
    return colour, matte


def frame_picture(
    frame: Frame, show: str = "picture", depth: DTypeLike | None = None
) -> RgbPicture | NDArray[np.float32]:
    """Compose a frame, or the step of its topmost key that is asked for.

    Parameters
    ----------
    frame : Frame
    show : str
        One of `SHOWS`.
    depth : dtype, optional
        Of the picture; default: what `depth_of` says.

    Returns
    -------
    RgbPicture, or (H, W) float32 for a grey step

    Raises
    ------
    SettingError
    """
    one_of("show", show, SHOWS)
    if show == "picture":
        return compose(frame, depth or depth_of(frame))
    if show == "subject":
        return subject_on_grey(_topmost_key(frame))
    return show_plane(_topmost_key(frame), show)


def depth_of(frame: Frame) -> type[np.uint8 | np.uint16]:
    """Depth in which a frame is stored: 16 bits where its base has more than 8."""
    pictures = [frame.base.first, frame.base.second]
    planes = [
        picture.planes if isinstance(picture, RgbPicture) else picture.luma
        for picture in pictures
        if picture is not None
    ]
    return np.uint16 if any(plane.dtype == np.uint16 for plane in planes) else np.uint8


def render_still(sheet: Sheet, at: str | float = 0, *, show: str = "picture") -> NDArray[Any]:
    """Render one frame of a sheet.

    Parameters
    ----------
    sheet : Sheet
        From `load_sheet`.
    at : str, int or float
        Frames, seconds (`"2.4s"`) or timecode.
    show : {"picture", "matte", "key-signal", "subject", "spill"}
        The finished picture, or a step of the topmost key.

    Returns
    -------
    (H, W, 3) uint8 or uint16, or (H, W) float32 for a grey step

    Raises
    ------
    SheetError, InputFileError, TimeError, SettingError, NoBackingError
    """
    index = sheet.frame(at)
    with Plan(sheet) as plan:
        result = frame_picture(plan.frame(index), show, plan.depth)
    return to_array(result) if isinstance(result, RgbPicture) else result
