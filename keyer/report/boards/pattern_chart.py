"""Charts of the pattern library: every pattern part of the way, every background on its way."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.look import Look
from keyer.library.drawn import EDGE, FAMILY_TITLES, draw_pattern, to_codes
from keyer.library.patterns import Patterns
from keyer.paper.column import Column
from keyer.paper.grid import Area, Heading, draw_heading
from keyer.paper.page import Page
from keyer.paper.panels import Panel, draw_panel
from keyer.pixel.wipes.background import draw_background, lay_background
from keyer.render.recipe import program

ACROSS = 6
"""Pictures in a row; on a background's chart two backgrounds at three moments each."""

WIDTH = 318.0
"""Of a chart in mm: the longest name of the library fits under its picture."""

TILE = (352, 198)
"""Size of a picture in dots: that at which it is printed."""

_GAP, _BETWEEN, _AFTER = 5.0, 3.4, 4.0
_BELOW = 16.0
_MOMENTS = ((0.0, "start of its loop"), (1 / 3, "a third on"), (2 / 3, "two thirds on"))

Section = tuple[str, list[Panel]]
"""A heading, which may be empty, and the pictures under it."""


def pattern_chart(patterns: Sequence[Pattern] | Patterns) -> Page:
    """Lay out patterns by family, with their names and codes.

    Parameters
    ----------
    patterns : sequence of Pattern
        In the order of the chart.

    Returns
    -------
    Page
        `WIDTH` wide, and as tall as it takes.
    """
    edge = f"border {EDGE.border:g} % and softness {EDGE.soft:g} % of picture height"
    facts = (
        f"From A to B, part of the way; {edge}",
        "Names: W3C SMIL, the subtype over its type; codes: SMPTE 258M",
    )
    sections = [
        (FAMILY_TITLES.get(family, family), [_pattern_panel(one) for one in members])
        for family, members in groupby(patterns, key=lambda pattern: pattern.family)
    ]
    return _lay(Heading("Chart", "Wipe patterns", facts, program()), sections)


def look_chart(looks: Sequence[Look], patterns: Patterns) -> Page:
    """Lay out moving backgrounds, each at three moments of its loop.

    Parameters
    ----------
    looks : sequence of Look
    patterns : Patterns
        In which they find their patterns.
    """
    panels: list[Panel] = []
    for look in looks:
        ground = lay_background(look, patterns.find(look.pattern), Geometry(*TILE))
        for share, when in _MOMENTS:
            panels.append(Panel(look.name, to_codes(draw_background(ground, share)), when))
    return _lay(Heading("Chart", "Moving backgrounds", (), program()), [("", panels)])


def _pattern_panel(pattern: Pattern) -> Panel:
    code = "" if pattern.code is None else f"  ·  {pattern.code}"
    return Panel(pattern.subtype, to_codes(draw_pattern(pattern, *TILE)), f"{pattern.type}{code}")


def _lay(heading: Heading, sections: Sequence[Section]) -> Page:
    """Lay out sections below each other; drawn twice, as the page is as tall as they are."""
    tall = _draw(Page(WIDTH, 0.0), heading, sections)
    page = Page(WIDTH, tall + _BELOW)
    _draw(page, heading, sections)
    return page


def _draw(page: Page, heading: Heading, sections: Sequence[Section]) -> float:
    """Draw everything; returns where it ends."""
    area = draw_heading(page, heading)
    width = (area.width - (ACROSS - 1) * _GAP) / ACROSS
    height = width * TILE[1] / TILE[0]
    y = area.y - _AFTER
    for title, panels in sections:
        y += _AFTER
        if title:
            column = Column(page, area.x, y - _AFTER, area.width)
            column.heading(title)
            y = column.y + _BETWEEN
        for first in range(0, len(panels), ACROSS):
            ends = [
                draw_panel(page, panel, Area(area.x + n * (width + _GAP), y, width, height))
                for n, panel in enumerate(panels[first : first + ACROSS])
            ]
            y = max(ends) + _BETWEEN
    return y
