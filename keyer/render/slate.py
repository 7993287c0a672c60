"""A slate with a clock before the spot: what it is, and how long until it begins.

The layout is our own. That a clock counts down to the first frame and gives way to black a few
seconds before it is common practice; ten seconds, three of them black, are from memory.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import RgbPicture
from keyer.kinds.timing import count_rate, rate_name, timecode
from keyer.sheet.sheet import Sheet
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn
from keyer.titles.moving import time_title
from keyer.titles.read import parse_design

SECONDS, BLACK_SECONDS = 10, 3
"""Of the whole slate, and of the black at its end."""

_GROUND = (0.11, 0.13, 0.15)
_DIAL, _TICK, _HAND = (0.19, 0.22, 0.25), (0.62, 0.66, 0.70), (0.96, 0.72, 0.22)
_MARGIN = 4.0
"""Between the facts, the dial and the safe area, in percent of picture height."""

_TITLE_LETTERS, _TITLE_LINES = 22, 2

_WIDE = 1.2
"""Width over height from which the dial stands beside the facts."""

_FINE = 8
"""Steps of a pixel in which the dial is drawn, as powers of two."""

_FACTS = """name = "Slate"
[styles.name]
size = {name:.3f}
weight = "semibold"
[styles.label]
size = {label:.3f}
colour = "#9AA5AE"
[styles.fact]
size = {fact:.3f}
"""

_BOX = """[[boxes]]
id = "{id}"
{place}
max_width = {room:.3f}
"""

_TEXT = """[fields.{id}]
[[boxes.texts]]
text = "${{{id}}}"
style = "{style}"
fit = "shrink"
smallest = 0.6
"""

_NUMERAL = """name = "Numeral"
safe = "none"
[fields.seconds]
[styles.numeral]
size = {size:.3f}
weight = "semibold"
[[boxes]]
id = "numeral"
place = "centre"
[[boxes.texts]]
text = "${{seconds}}"
style = "numeral"
"""


@dataclass(frozen=True)
class Slate:
    """Length and texts of the slate before a spot.

    Attributes
    ----------
    video : VideoFormat
    frames : int
        In all.
    black : int
        Of these at the end.
    title : str
    facts : tuple of (label, text)
    """

    video: VideoFormat
    frames: int
    black: int
    title: str
    facts: tuple[tuple[str, str], ...]


def slate_of(sheet: Sheet, first: int, last: int, *, textless: bool = False) -> Slate:
    """Say what the slate of a sheet, or of a part of it, says.

    Parameters
    ----------
    sheet : Sheet
    first, last : int
        Frames that are rendered, `last` excluded.
    textless : bool
        Whether the titles are left out.
    """
    rate, video = sheet.format.rate, sheet.format
    count = count_rate(rate)
    length = timecode(last - first, rate, drop=False)
    facts = [
        ("Length", f"{length} ({last - first} frames)"),
        ("Starts at", sheet.label(first)),
        ("Picture", f"{video.width} x {video.height}, {rate_name(rate)} frames a second"),
        ("Sound", "guide track, stereo" if sheet.sounds else "none"),
        ("Version", f"{sheet.digest[:12]}{', textless' if textless else ''}"),
    ]
    if sheet.station is not None:
        facts.insert(0, ("For", sheet.station.name))
    name = sheet.title or sheet.name
    return Slate(video, SECONDS * count, BLACK_SECONDS * count, name, tuple(facts))


def slate_pictures(slate: Slate) -> Iterator[RgbPicture]:
    """Draw every frame of a slate.

    Yields
    ------
    RgbPicture
        Opaque, float32, of the format's size. The hand goes round once a
        minute and stands upright on the spot's first frame; the black ones at
        the end are one and the same picture.
    """
    video = slate.video
    dial = _dial(video)
    ground = _ground(slate, dial)
    count = count_rate(video.rate)
    for left in range(slate.frames, slate.black, -1):
        yield RgbPicture(_clock(ground, video, dial, left, count))
    black = RgbPicture(np.zeros((3, video.height, video.width), np.float32))
    for _ in range(slate.black):
        yield black


def _canvas(video: VideoFormat) -> Canvas:
    return Canvas(video.width, video.height, float(video.pixel_aspect))


def _drawn(text: str, values: dict[str, str], video: VideoFormat) -> Drawn:
    design = parse_design(text, "slate")
    return time_title(design, values, _canvas(video), video.rate, matrix=video.matrix).at(0)


@dataclass(frozen=True)
class _Dial:
    """Where the clock stands: its middle and its radius, in picture heights, and who is beside it.

    `room` is what the facts have of the width, in percent of the picture height.
    """

    x: float
    y: float
    radius: float
    room: float


def _dial(video: VideoFormat) -> _Dial:
    """Put the dial beside the facts where the picture is wide, and below them where it is not."""
    wide = float(video.display_aspect)
    if wide >= _WIDE:
        x = 0.74 * wide
        return _Dial(x, 0.46, 0.27, 100 * (x - 0.27 - 0.05 * wide) - 2 * _MARGIN)
    return _Dial(wide / 2, 0.76, min(0.16, 0.4 * wide), 90 * wide - 2 * _MARGIN)


def _ground(slate: Slate, dial: _Dial) -> Planes:
    """Draw what stands still: the facts, and the dial with its marks."""
    video = slate.video
    planes = np.empty((3, video.height, video.width), np.float32)
    planes[:] = np.array(_GROUND, np.float32)[:, np.newaxis, np.newaxis]
    small = 1.0 if float(video.display_aspect) >= _WIDE else 0.5
    text = _FACTS.format(name=7 * small, label=4 * small, fact=4.6 * small)
    lines = textwrap.wrap(slate.title, _TITLE_LETTERS, max_lines=_TITLE_LINES) or ["?"]
    rows: list[tuple[float, tuple[tuple[str, str], ...]]] = [
        (2.6 * small, (("name", line),)) for line in lines
    ]
    rows += [(2.4 * small, (("label", label), ("fact", said))) for label, said in slate.facts]
    values: dict[str, str] = {}
    for number, (gap, said) in enumerate(rows):
        more = 3.6 * small if number == len(lines) else 0.0
        place = f'below = "box{number - 1}"\ngap = {gap + more:.3f}'
        if number == 0:
            place = f'place = "top left"\nx = {_MARGIN}\ny = {2 * _MARGIN}'
        text += _BOX.format(id=f"box{number}", place=place, room=dial.room)
        for style, words in said:
            values[f"{style}{number}"] = words
            text += _TEXT.format(id=f"{style}{number}", style=style)
    _lay(planes, _drawn(text, values, video))
    _fill(planes, [_point(video, dial, n / 360, 1.0) for n in range(360)], _DIAL)
    for minute in range(60):
        long = 0.86 if minute % 5 == 0 else 0.93
        width = 0.022 if minute % 5 == 0 else 0.011
        _fill(planes, _spoke(video, dial, minute / 60, (long, 0.98), width), _TICK)
    return planes


def _clock(ground: Planes, video: VideoFormat, dial: _Dial, left: int, count: int) -> Planes:
    """Draw one frame: the hand, and the seconds that are left."""
    planes = ground.copy()
    share = -left / count / 60
    _fill(planes, _spoke(video, dial, share, (0.46, 0.98), 0.037), _HAND)
    numeral = _numeral(video, dial.radius, math.ceil(left / count))
    x, y = _point(video, dial, 0.0, 0.0)
    place = round(x - video.width / 2), round(y - video.height / 2)
    _lay(planes, numeral, place)
    return planes


@lru_cache(maxsize=16)
def _numeral(video: VideoFormat, radius: float, seconds: int) -> Drawn:
    text = _NUMERAL.format(size=63 * radius)
    return _drawn(text, {"seconds": str(seconds)}, video)


def _lay(planes: Planes, drawn: Drawn, place: tuple[int, int] = (0, 0)) -> None:
    """Lay a title over planes, moved by so many pixels."""
    picture = drawn.picture
    height, width = picture.planes.shape[1:]
    top, left = drawn.top + place[1], drawn.left + place[0]
    under = planes[:, top : top + height, left : left + width]
    alpha = np.float32(1) if picture.alpha is None else picture.alpha
    under += alpha * (picture.planes - under)


def _fill(
    planes: Planes, points: Sequence[tuple[float, float]], colour: tuple[float, float, float]
) -> None:
    """Fill a polygon, its edges smooth; nothing beside it is touched."""
    corners = np.array(points)
    left, top = np.floor(corners.min(axis=0)).astype(int) - 1
    right, bottom = np.ceil(corners.max(axis=0)).astype(int) + 2
    fine = np.round((corners - (left, top)) * (1 << _FINE)).astype(np.int32)
    cover = np.zeros((bottom - top, right - left), np.uint8)
    cv2.fillPoly(cover, [fine], 255, lineType=cv2.LINE_AA, shift=_FINE)
    under = planes[:, top:bottom, left:right]
    tint = np.array(colour, np.float32)[:, np.newaxis, np.newaxis]
    under += cover.astype(np.float32) / np.float32(255) * (tint - under)


def _point(video: VideoFormat, dial: _Dial, turn: float, share: float) -> tuple[float, float]:
    """Find a place on the dial: turned from the top, clockwise; shares of the radius."""
    angle, radius = 2 * math.pi * turn, dial.radius * share
    x, y = dial.x + radius * math.sin(angle), dial.y - radius * math.cos(angle)
    return x * video.height / float(video.pixel_aspect), y * video.height


def _spoke(
    video: VideoFormat, dial: _Dial, turn: float, span: tuple[float, float], width: float
) -> list[tuple[float, float]]:
    """Give the corners of a straight mark from one share of the radius to another."""
    angle = 2 * math.pi * turn
    wide = width * dial.radius * video.height / 2
    x, y = wide * math.cos(angle) / float(video.pixel_aspect), wide * math.sin(angle)
    (x0, y0), (x1, y1) = (_point(video, dial, turn, share) for share in span)
    return [(x0 - x, y0 - y), (x0 + x, y0 + y), (x1 + x, y1 + y), (x1 - x, y1 - y)]
