"""Where the words of a title stand on the picture, so that they can be typed there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import Any

from keyer.render.lettering import title_parts
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Title
from keyer.titles.design import Text
from keyer.titles.ink import Canvas, Placed
from keyer.titles.inside import laid_out
from keyer.titles.lines import clean
from keyer.titles.markup import parse
from keyer.titles.read import DesignFile

Stop = tuple[float, float, float]
"""A caret: its distance from the left, its top and its bottom, in display pixels."""

_ASCENT, _DESCENT = 1.15, 0.32
"""How far a caret reaches, in heights of a capital."""


def title_words(sheet: Sheet, source: str) -> list[dict[str, Any]]:
    """Find the words of a title that its fields say, as it stands when all of it is there.

    Parameters
    ----------
    sheet : Sheet
    source : str
        Name of a source; one that is no title has no words.

    Returns
    -------
    list of dict
        For each field that is seen: `field`; `box`, left, top, width and height; `stops`, where a
        caret stands before each character and after the last (left, top, bottom), empty where that
        cannot be told, as in writing from right to left. Percent of picture width and height.

    Raises
    ------
    KeyerError
        If the title cannot be laid out.
    """
    content = sheet.sources[source].content if source in sheet.sources else None
    if not isinstance(content, Title):
        return []
    file, fields, _ = title_parts(content)
    video = sheet.format
    canvas = Canvas(video.width, video.height, float(video.pixel_aspect))
    values = file.design.values(fields)
    layout = laid_out(file.design, values, canvas, file.folder)
    still = set() if file.design.move is None else _moving(file)
    found = []
    for laid in layout.boxes:
        if laid.box.id in still:
            continue
        lines = zip(laid.texts, laid.lines, strict=True)
        for _, group in groupby(lines, key=lambda one: id(one[0])):
            pairs = list(group)
            text, placed = pairs[0][0], [line for _, line in pairs]
            found += list(_of_text(file, text, placed, values))
    across = canvas.width * canvas.pixel_aspect / 100
    down = canvas.height / 100
    return [_percent(one, across, down) for one in found]


def _moving(file: DesignFile) -> set[str]:
    """Boxes that crawl or roll, whose words stand nowhere."""
    move = file.design.move
    boxes = {box.id for box in file.design.boxes if box.texts}
    return set(move.boxes) or boxes if move else set()


def _of_text(
    file: DesignFile, text: Text, lines: list[Placed], values: Mapping[str, str]
) -> Iterator[tuple[str, list[Stop], bool]]:
    """Give each field of a text its stops, and whether they are those of its letters."""
    styles = file.design.styles
    whole = ""
    spans: list[tuple[str, int, int, bool]] = []
    for span in parse(text.text, text.style):
        said = values.get(span.field, "") if span.field else span.text
        shown = clean(said, styles[span.style])
        if span.field:
            plain = len(shown) == len(said) and all(ord(letter) < 0x10000 for letter in said)
            spans.append((span.field, len(whole), len(whole) + len(shown), plain))
        whole += shown
    stops = _stops(whole, lines)
    for field, first, last, plain in spans:
        if first < last:
            exact = plain and stops is not None
            yield field, stops[first : last + 1] if stops else _ends(lines), exact


def _stops(whole: str, lines: list[Placed]) -> list[Stop] | None:
    """Find a stop for every character of a text that was broken into lines; None if it has none."""
    found: list[Stop] = []
    end = _stop(lines[0], 0.0)
    for placed in lines:
        line = placed.line
        start = whole.find(line.text, len(found))
        if not line.stops or start < 0 or whole[len(found) : start].strip():
            return None
        found += [end] * (start - len(found))  # blanks at which it was broken
        found += [_stop(placed, x) for x in line.stops[:-1]]
        end = _stop(placed, line.stops[-1])
    return found + [end] * (len(whole) + 1 - len(found))


def _stop(placed: Placed, x: float) -> Stop:
    high = placed.line.capitals
    return placed.x + x, placed.baseline - _ASCENT * high, placed.baseline + _DESCENT * high


def _ends(lines: list[Placed]) -> list[Stop]:
    return [_stop(one, x) for one in lines for x in (0.0, one.line.width)]


def _percent(one: tuple[str, list[Stop], bool], across: float, down: float) -> dict[str, Any]:
    field, stops, exact = one
    left, right = min(x for x, *_ in stops), max(x for x, *_ in stops)
    top, bottom = min(t for _, t, _ in stops), max(b for *_, b in stops)
    box = [left / across, top / down, (right - left) / across, (bottom - top) / down]
    told = [[round(x / across, 3), round(t / down, 3), round(b / down, 3)] for x, t, b in stops]
    return {
        "field": field,
        "box": [round(number, 3) for number in box],
        "stops": told if exact else [],
    }
