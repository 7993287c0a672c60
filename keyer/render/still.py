"""One frame of a sheet as a picture, or as one of the pictures behind it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.ranges import one_of
from keyer.pixel.colour.load import from_array, plane_at_depth, to_array
from keyer.render.finishing import opacity
from keyer.render.key_views import (
    signal_view,
    spill_picture,
    subject_on_grey,
    subject_with_spill,
)
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import picture, subject
from keyer.render.zones import refuse_no_zones, with_zones
from keyer.sheet.sheet import Overlay as SheetOverlay
from keyer.sheet.sheet import Sheet

SHOWS = ("picture", "matte", "key-signal", "subject", "spill", "source")
"""What can be looked at: the finished picture, or a step of its topmost key.

`key-signal` and `spill` are of the picture as recorded, where it was recorded;
`subject` is the processed subject over neutral grey, `spill` the spill on the
subject before suppression, in false colours; `source` is the topmost keyed
picture as it was recorded.
"""

ZONES = "zones"
"""The finished picture with what the station's rules keep free drawn into it."""

CUT_OUTS = {"alpha": "with straight alpha", "fill": "fill, premultiplied", "key": "key"}
"""A whole frame with what is clear in it kept so, and the two that make it again; in words."""


def _topmost_key(plan: Plan, index: int) -> SheetOverlay:
    for overlay in reversed(plan.sheet.overlays):
        if overlay.key is not None and overlay.seen(index):
            return overlay
    msg = (
        "show needs a keyed overlay on this frame, found none. Choose a time at which one is seen."
    )
    raise SettingError(msg)


def show_key(plan: Plan, index: int, show: str) -> RgbPicture | NDArray[np.float32]:
    """Show a step of the topmost key of a frame.

    Parameters
    ----------
    plan : Plan
    index : int
        Frame of the sheet.
    show : {"matte", "key-signal", "subject", "spill", "source"}

    Returns
    -------
    RgbPicture, or (H, W) float32 for `"matte"` and `"key-signal"`

    Raises
    ------
    SettingError
        If no key is seen, or it has no such step.
    """
    overlay = _topmost_key(plan, index)
    evaluator = plan.evaluator
    if show == "source":
        return picture(plan.recorded(overlay, index), evaluator, plan.depth)
    if show in ("matte", "subject"):
        layer = subject(plan.subject(overlay, index), evaluator)
        return opacity(layer) if show == "matte" else subject_on_grey(layer)
    if overlay.key is None or overlay.key.kind != "chroma":
        msg = f"show {show} needs a chroma key; a luminance or linear key has no backing."
        raise SettingError(msg)
    settings, matrix = plan.key_choice(overlay).settings, plan.matrix(overlay)
    recorded = plan.colour(plan.recorded(overlay, index))
    if show == "key-signal":
        return signal_view(recorded, settings, matrix)
    matte = opacity(subject(plan.keyed(overlay, index), evaluator))
    colour = subject_with_spill(recorded, matte, settings, matrix)
    return spill_picture(colour, matte, settings.hue_deg, matrix)


def _cut_out(plan: Plan, index: int, show: str) -> RgbPicture | NDArray[np.float32]:
    """Show a frame with its opacity, or one of the two pictures that make it again."""
    if plan.sheet.light == "linear":
        msg = (
            'a picture with alpha, or fill and key, need light = "video" in [sheet]: a mixer '
            "lays them over a picture in coded values, which looks different from light = "
            '"linear". Or render it whole.'
        )
        raise SettingError(msg)
    if show == "fill":
        return plan.picture(index, plan.deepest)
    node = plan.frame(index)
    found = picture(node, plan.evaluator, plan.deepest, alpha=True)
    alpha = found.alpha
    if alpha is None:
        white = {np.uint8: 255, np.uint16: 65535}[plan.deepest]
        alpha = np.full(found.planes.shape[1:], white, plan.deepest)
    if show == "key":
        return plane_at_depth(alpha, np.float32)
    return RgbPicture(found.planes, alpha)


def _zoned(plan: Plan, index: int) -> RgbPicture:
    """Show a frame with the zones of the station's rules."""
    rules, video = plan.sheet.title_rules, plan.sheet.format
    refuse_no_zones(rules)
    found = plan.picture(index)
    zoned = with_zones(to_array(found), rules, float(video.pixel_aspect))
    return replace(from_array(zoned), matrix=found.matrix)


def frame_picture(
    plan: Plan, index: int, show: str = "picture"
) -> RgbPicture | NDArray[np.float32]:
    """Compose a frame, or the step of its topmost key that is asked for.

    Parameters
    ----------
    plan : Plan
    index : int
        Frame of the sheet.
    show : str
        One of `SHOWS` or `CUT_OUTS`, or `ZONES`.

    Returns
    -------
    RgbPicture, or (H, W) float32 for a grey step

    Raises
    ------
    SettingError
    """
    one_of("show", show, (*SHOWS, *CUT_OUTS, ZONES))
    if show == ZONES:
        return _zoned(plan, index)
    if show in CUT_OUTS:
        return _cut_out(plan, index, show)
    if show == "picture":
        return plan.picture(index)
    return show_key(plan, index, show)


def render_still(sheet: Sheet, at: str | float = 0, *, show: str = "picture") -> NDArray[Any]:
    """Render one frame of a sheet.

    Parameters
    ----------
    sheet : Sheet
        From `load_sheet`.
    at : str, int or float
        Frames, seconds (`"2.4s"`) or timecode.
    show : {"picture", "matte", "key-signal", "subject", "spill", "source"}
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
        result = frame_picture(plan, index, show)
    return to_array(result) if isinstance(result, RgbPicture) else result
