"""A title drawn at rest, from its design and values."""

from collections.abc import Mapping
from pathlib import Path

from keyer.titles.design import Design
from keyer.titles.draw import draw_layout
from keyer.titles.ink import Canvas
from keyer.titles.inside import laid_out
from keyer.titles.layers import Drawn


def draw_title(
    design: Design, given: Mapping[str, str], canvas: Canvas, *, folder: Path | None = None
) -> Drawn:
    """Lay a title out and draw it; defaults of the design fill fields that are not given."""
    values = design.values(given)
    return draw_layout(laid_out(design, values, canvas, folder), values, canvas, folder=folder)
