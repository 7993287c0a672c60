"""A font opened at a size: the one place that asks FreeType, HarfBuzz and Raqm, through Pillow.

A font file may break at any letter; whatever is asked here fails with the file's name.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from PIL import ImageDraw, ImageFont, features

from keyer.errors import KeyerError
from keyer.titles.coverage import has
from keyer.titles.fonts import Face, sound_font


def check_layout_engine() -> None:
    """Make sure that this Pillow lays out text in full.

    Raises
    ------
    KeyerError
        If it was built without Raqm.
    """
    if not features.check("raqm"):
        msg = (
            "Pillow must have Raqm for kerning, ligatures and right-to-left text, got one without. "
            "Install Pillow from its wheels on PyPI."
        )
        raise KeyerError(msg)


class OpenFont:
    """A face at a size in pixels; a variable face at a weight as well.

    Raises
    ------
    InputFileError
        If the file is broken; so does every method.
    """

    def __init__(self, face: Face, size: float, weight: int) -> None:
        check_layout_engine()
        self._path = face.path
        with sound_font(face.path):
            self._font = ImageFont.truetype(
                face.path, size, face.index, layout_engine=ImageFont.Layout.RAQM
            )
            if face.variable:
                self._font.set_variation_by_axes(_axes(self._font, weight))

    def box(self, text: str, **options: Any) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of a text's ink from the start of its baseline."""
        with sound_font(self._path):
            return self._font.getbbox(text, anchor="ls", **options)

    def length(self, text: str, **options: Any) -> float:
        """Advance of a text."""
        with sound_font(self._path):
            return float(self._font.getlength(text, **options))

    def draw(
        self, draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str, **options: Any
    ) -> None:
        """Draw a text in white with the start of its baseline at a place."""
        with sound_font(self._path):
            draw.text(at, text, fill=255, font=self._font, anchor="ls", **options)


def _axes(font: ImageFont.FreeTypeFont, weight: int) -> list[float]:
    """Set the weight of a variable font, and leave its other axes as they are by default."""
    axes = font.get_variation_axes()
    places = [float(axis["default"] or 0) for axis in axes]
    for i, axis in enumerate(axes):
        if axis["name"] == b"Weight":
            low, high = float(axis["minimum"] or 0), float(axis["maximum"] or 0)
            places[i] = min(max(float(weight), low), high)
    return places


@lru_cache(maxsize=512)
def font_at(face: Face, size: float, weight: int) -> OpenFont:
    """Open a face, and keep it open."""
    return OpenFont(face, size, weight)


@lru_cache(maxsize=512)
def capital_height(face: Face, weight: int) -> float:
    """Height of a capital H, as a share of the font size."""
    return -font_at(face, 1000.0, weight).box("H")[1] / 1000


@lru_cache(maxsize=2048)
def letter_height(face: Face, weight: int, text: str = "") -> float:
    """Measure from the top of a "d" to the foot of a "p", as a share of the font size.

    Parameters
    ----------
    face : Face
    weight : int
    text : str
        Measured itself in a face without these letters.
    """
    sample = "dp" if has(face, "d") and has(face, "p") else text
    box = font_at(face, 1000.0, weight).box(sample)
    return float(box[3] - box[1]) / 1000
