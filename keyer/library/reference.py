"""The page of patterns in `docs/patterns.md`, made from the library, and its small pictures."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

import numpy as np

from keyer.kinds.field import NO_JUMP, Geometry, Pattern
from keyer.kinds.settings import Edge, Rgb
from keyer.library.drawn import FAMILY_TITLES, Picture, draw_pattern, to_codes
from keyer.library.load import load_patterns
from keyer.library.looks import load_looks
from keyer.pixel.wipes.background import draw_background, lay_background
from keyer.pixel.wipes.fields import FUNCTIONS, build
from keyer.pixel.wipes.fields.jumps import jump_planes
from keyer.pixel.wipes.fields.params import Choice, Flag, Number, Param

SMALL = (128, 72)
LARGER = (320, 180)

_A: Rgb = (0.71, 0.30, 0.24)
_B: Rgb = (0.13, 0.34, 0.49)
_EDGE = Edge(border=3.0, border_colour=(1.0, 0.9, 0.6))


def picture_name(pattern: Pattern) -> str:
    """File of a pattern's small picture."""
    return f"{pattern.type}-{pattern.subtype}.png"


def pattern_pictures() -> Iterator[tuple[str, Picture]]:
    """Draw the small picture of each pattern.

    Yields
    ------
    name : str
        Of the file.
    picture : (72, 128, 3) uint8
    """
    width, height = SMALL
    a, b = (
        np.ascontiguousarray(
            np.broadcast_to(
                np.asarray(rgb, np.float32)[:, np.newaxis, np.newaxis], (3, height, width)
            )
        )
        for rgb in (_A, _B)
    )
    for pattern in load_patterns():
        drawn = draw_pattern(pattern, width, height, edge=_EDGE, sources=(a, b))
        yield picture_name(pattern), to_codes(drawn)


def look_pictures() -> Iterator[tuple[str, Picture]]:
    """Draw the picture of each moving background.

    Yields
    ------
    name : str
        Of the file.
    picture : (180, 320, 3) uint8
    """
    patterns = load_patterns()
    for look in load_looks().values():
        ground = lay_background(look, patterns.find(look.pattern), Geometry(*LARGER))
        yield f"{look.name}.jpg", to_codes(draw_background(ground, 0.3))


def jumps(pattern: Pattern) -> bool:
    """Whether a pattern's field jumps somewhere in the picture."""
    field = build(pattern, Geometry(160, 90))
    top, left = field.margin_y, field.margin_x
    inside = slice(top + 1, top + 89), slice(left + 1, left + 159)
    planes = jump_planes(field.jumps, field.values.shape)
    return any((plane[inside] != NO_JUMP).any() for plane in planes)


def _row(pattern: Pattern) -> str:
    code = "" if pattern.code is None else str(pattern.code)
    name = f"`{pattern.type}/{pattern.subtype}`"
    if pattern.default:
        name = f"**{name}**"
    if pattern.effect == "wipe" and jumps(pattern):
        name += " †"
    picture = f"![{pattern.subtype}](pictures/patterns/{picture_name(pattern)})"
    return f"| {picture} | {name} | {code} | {pattern.summary} |"


def pattern_tables() -> str:
    """Write every pattern of the library with its picture, by family, in Markdown."""
    parts = []
    for family, members in groupby(load_patterns(), key=lambda pattern: pattern.family):
        parts += [
            f"### {FAMILY_TITLES[family]}",
            "",
            "| | pattern | code | what the eye sees |",
            "| --- | --- | --- | --- |",
            *(_row(pattern) for pattern in members),
            "",
        ]
    return "\n".join(parts)


def look_table() -> str:
    """Write every moving background with its picture, in Markdown."""
    rows = [
        f"| ![{look.name}](pictures/backgrounds/{look.name}.jpg) | `{look.name}` | {look.summary} |"
        for look in load_looks().values()
    ]
    return "\n".join(["| | background | what the eye sees |", "| --- | --- | --- |", *rows, ""])


def _range(param: Param) -> str:
    if isinstance(param, Flag):
        return "true or false"
    if isinstance(param, Choice):
        words = ", ".join(f'`"{word}"`' for word in param.words)
        return f"{words}, or left out" if param.optional else words
    kind = "" if isinstance(param, Number) else ", whole"
    return f"{param.low:g} to {param.high:g}{kind}"


def function_table() -> str:
    """Write every field function with its parameters and their ranges, in Markdown."""
    lines = ["| function | what it does | parameters |", "| --- | --- | --- |"]
    for name, entry in FUNCTIONS.items():
        if name == "picture":
            continue
        what = (entry.level.__doc__ or "").partition("\n")[0].replace("`", "")
        params = "; ".join(f"`{key}` {_range(param)}" for key, param in entry.params.items())
        lines.append(f"| `{name}` | {what} | {params or 'none'} |")
    return "\n".join([*lines, ""])
