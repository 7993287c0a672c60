"""A title as the spot shows it: where it stands in the picture, and how long it can be read."""

from __future__ import annotations

from itertools import pairwise

from keyer.pixel.compose.place import UNMOVED, Placement
from keyer.render.levels import Level
from keyer.render.placing import placement_at, placement_of
from keyer.sheet.sheet import Overlay
from keyer.titles.checks import Reading
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn
from keyer.titles.placed import fitted_title, placed_title

Stand = tuple[Placement, float]
"""Where something stands, and its opacity."""


def poses_of(level: Level, overlay: Overlay | None, frame: int) -> list[Stand]:
    """Where an overlay stands in its level on a frame of the spot, that in the next, and so on.

    None of an overlay: the level's base.
    """
    found = [(UNMOVED, 1.0)]
    if overlay is not None:
        own = level.own(frame)
        found = [(placement_of(overlay, own), overlay.pose(own).opacity)]
    while level.outer is not None:
        standing, local = level.standing(frame)
        found.append((placement_at(standing, local), standing.pose(local).opacity))
        level = level.outer
    return found


def shown_title(level: Level, drawn: Drawn, poses: list[Stand]) -> Drawn:
    """Put a title where the spot shows it.

    Parameters
    ----------
    level : Level
        In which it is laid.
    drawn : Drawn
        For the level's own format.
    poses : list of placement and opacity
        As `poses_of` finds them.
    """
    drawn = placed_title(drawn, *poses[0])
    for pose in poses[1:]:
        source, own = level.source, level.sheet.format
        if source is None or level.outer is None:
            break
        level = level.outer
        video = level.sheet.format
        canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
        aspect = own.pixel_aspect / video.pixel_aspect
        drawn = fitted_title(drawn, canvas, aspect, source.fit, source.keep)
        drawn = placed_title(drawn, *pose)
    return drawn


def on_air(level: Level, own: Reading, start: int) -> Reading | None:
    """Find on which frames of the spot there is something to read, the first time round.

    Parameters
    ----------
    level : Level
    own : Reading
        In frames of the title.
    start : int
        The level's frame on which the title comes on air.

    Returns
    -------
    Reading or None
        In frames of the spot; None if it never is.
    """
    frames = level.frames(start + own.first, start + own.last, whole=True)
    if not frames:
        return None
    last = next((a for a, b in pairwise(frames) if b > a + 1), frames[-1])
    return Reading(own.words, frames[0], last)
