"""What a station keeps free, drawn into a picture that is to be looked at and never to be aired."""

from __future__ import annotations

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from keyer.errors import SettingError
from keyer.measure.safe_areas import inset
from keyer.measure.title_rules import TitleRules
from keyer.titles.ink import Canvas, Placed, draw_ink
from keyer.titles.lines import lay_line
from keyer.titles.model import TextStyle

_HAZE, _PLATE, _LINE, _AREA = 0.3, 0.65, 0.003, 0.0015
"""How much white lies over a zone, and how much its name's plate covers; widths of the outlines
of zones and of safe areas, in picture heights."""

_LETTERS = 2.4
"""Font size of names, in percent of the picture height."""

_STYLE = TextStyle(size=1.0, weight=600, colour="#FFFFFF")
_PAD = 0.5

Depth = TypeVar("Depth", np.uint8, np.uint16)
_Box = tuple[int, int, int, int]


def refuse_no_zones(rules: TitleRules) -> None:
    """Refuse to draw zones where nobody keeps any free.

    Raises
    ------
    SettingError
    """
    if not rules.zones and rules.safe is None:
        demand = (
            "needs a station's rules with zones or safe areas in the sheet, found none. Name them: "
            'rules = "station.toml" in [sheet].'
        )
        raise SettingError(demand, "zones")


def with_zones(
    pixels: NDArray[Depth], rules: TitleRules, pixel_aspect: float = 1.0
) -> NDArray[Depth]:
    """Draw the zones of a station's rules, and its safe areas, into a picture.

    Parameters
    ----------
    pixels : (H, W, 3) uint8 or uint16
        Is not changed.
    rules : TitleRules
    pixel_aspect : float

    Returns
    -------
    (H, W, 3) of the same depth
        Each zone under a haze, outlined in black and white, and named; safe areas outlined.
    """
    white = float(np.iinfo(pixels.dtype).max)
    found = pixels.astype(np.float32) / np.float32(white)
    height, width = found.shape[:2]
    canvas = Canvas(width, height, pixel_aspect)
    for area in ("action", "title") if rules.safe is not None else ():
        edge = inset(rules.safe, area, width, height)  # type: ignore[arg-type]  # of the two
        box = (round(edge.x), round(edge.y), round(width - edge.x), round(height - edge.y))
        _outline(found, box, max(round(_AREA * height), 1))
    for zone in rules.zones:
        place = zone.place
        left, right = (round(x * width / 100) for x in (place.left, place.left + place.width))
        top, bottom = (round(y * height / 100) for y in (place.top, place.top + place.height))
        under = found[top:bottom, left:right]
        under += np.float32(_HAZE) * (1 - under)
        _outline(found, (left, top, right, bottom), max(round(_LINE * height), 1))
        _name(found, zone.name, (left, top, right, bottom), canvas)
    zoned: NDArray[Depth] = np.rint(found * white).astype(pixels.dtype)
    return zoned


def _outline(picture: NDArray[np.float32], box: _Box, thickness: int) -> None:
    """Draw a white line inside a box and a black one inside that, to be seen on any picture."""
    for shade in (1.0, 0.0):
        left, top, right, bottom = box
        if right - left <= 2 * thickness or bottom - top <= 2 * thickness:
            return
        picture[top : top + thickness, left:right] = shade
        picture[bottom - thickness : bottom, left:right] = shade
        picture[top:bottom, left : left + thickness] = shade
        picture[top:bottom, right - thickness : right] = shade
        box = (left + thickness, top + thickness, right - thickness, bottom - thickness)


def _can_write(letter: str) -> bool:
    """Whether a font here has a letter: of the others a name is as good as a gap."""
    try:
        lay_line([(letter, _STYLE)], 1.0)
    except SettingError:
        return False
    return True


def _name(picture: NDArray[np.float32], name: str, box: _Box, canvas: Canvas) -> None:
    """Write a zone's name on a dark plate, if it has room: at the lower right, off most titles."""
    left, top, right, bottom = box
    inner = 2 * max(round(_LINE * canvas.height), 1)
    size = _LETTERS * canvas.unit
    line = lay_line([("".join(filter(_can_write, name)), _STYLE)], size)
    x1, y1 = right - inner, bottom - inner
    x0 = x1 - round((line.width + 2 * _PAD * size) / canvas.pixel_aspect)
    y0 = y1 - round(size * (1 + _PAD))
    if x0 < left + inner or y0 < top + inner:
        return
    picture[y0:y1, x0:x1] *= np.float32(1 - _PLATE)
    across = x0 * canvas.pixel_aspect + _PAD * size
    baseline = (y0 + y1) / 2 + line.capitals / 2
    for ink in draw_ink([Placed(line, across, baseline)], canvas):
        mark = ink.letters
        rows, columns = mark.coverage.shape
        under = picture[mark.top : mark.top + rows, mark.left : mark.left + columns]
        under += mark.coverage[..., np.newaxis] * (1 - under)
