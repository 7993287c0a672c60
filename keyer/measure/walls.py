"""Which area of a picture can be a wall to key, and why another cannot.

A wall is one paint in one piece of the set: neither its purity nor its hue
changes by degrees, no texture breaks it up, and it stands behind, not below.
What is refused is named as what it is likely to be.
"""

from __future__ import annotations

from keyer.measure.areas import Area

LEAST_SHARE = 0.05
"""Share of the picture below which an area is no wall."""

PALE = 0.15
"""Purity below which an area is grey with a tint."""

LIMITS = {"paling": 0.3, "fading": 0.14, "texture": 0.16, "shades": 0.09}
"""What betrays that an area is not one paint. Each is taken as a share of its limit, and the
squares are added up: walls come to 0.5, landscapes to 1.2 at least (ours, from trials)."""

WORDS = {
    "paling": "the best hue grows paler by degrees, as a sky's does",
    "texture": "what has the best hue is broken up by texture, as foliage is",
    "fading": "the best hue fades into others, as in a landscape out of focus",
    "shades": "what has the best hue is of many shades, as foliage is",
}

FLAT = 0.3
"""Sum of the same up to which an area is as even as a bar or a patch of a chart."""

BARS = 4
"""Flat hues of a like size that make colour bars."""

GRASS, GRASS_PURITY = (190.0, 225.0), 0.36
"""Hue of grass, in degrees, and the purity that it stays below (ours, from photographs)."""

SKY, SKY_PURITY = (290.0, 324.0), 0.30
"""The same for a sky."""

HIGH = 0.3
"""How far down from the top a wall begins at the latest, if it reaches one side."""

LOW = 0.5
"""The same if it reaches both: what begins lower is a floor or somebody's shoulders."""

WIDE = 0.15
"""Share of the picture from which an area that reaches no side is a screen in a room."""

TOUCHES = 0.04
"""Share of a side of the picture from which an area reaches that side."""


def why_no_wall(area: Area, others: list[Area], *, named: bool = False) -> str:
    """Say why an area can be no wall to key.

    Parameters
    ----------
    area : Area
    others : list of Area
        All of the picture.
    named : bool
        Whether its hue was asked for: then it may lie where no wall stands.

    Returns
    -------
    str
        A clause; empty when it can be one.
    """
    covers = f"{100 * area.share:.1f} %"
    strain = _strain(area)
    bars = sum(other.share >= 0.4 * area.share and _flat(other) for other in others)
    if area.share < LEAST_SHARE:
        fault = f"the largest area of one saturated hue covers {covers}"
    elif area.purity < PALE:
        fault = "the best hue is only a tint of grey"
    elif sum(strain.values()) > 1:
        fault = WORDS[max(strain, key=lambda name: strain[name])]
    elif bars >= BARS:
        fault = f"{bars} even hues share the picture, as in colour bars"
    elif not named and _lies(area):
        fault = f"the {covers} of the best hue lie where a lawn or a sky would, and have its colour"
    elif not named and not _stands(area, others):
        fault = f"the {covers} of the best hue reach neither the top nor both sides"
    else:
        fault = ""
    return fault


def _strain(area: Area) -> dict[str, float]:
    return {name: (getattr(area, name) / limit) ** 2 for name, limit in LIMITS.items()}


def _flat(area: Area) -> bool:
    return sum(_strain(area).values()) < FLAT


def _lies(area: Area) -> bool:
    """Whether an area ends at the top and has the colour of grass, or below and of a sky."""
    top, bottom, *_ = area.sides
    grass = GRASS[0] < area.hue_deg < GRASS[1] and area.purity < GRASS_PURITY
    sky = SKY[0] < area.hue_deg < SKY[1] and area.purity < SKY_PURITY
    return (grass and top < TOUCHES) or (sky and bottom < TOUCHES)


def _stands(area: Area, others: list[Area]) -> bool:
    """Whether an area stands behind: a thing or a jacket begins lower, and ends on all sides."""
    top, _, left, right = (side > TOUCHES for side in area.sides)
    if top:
        return True
    if left and right:
        return area.top < LOW
    before = any(_flat(other) and other.share > area.share for other in others)
    screen = area.share > WIDE and not before
    return area.top < HIGH and (left or right or screen)
