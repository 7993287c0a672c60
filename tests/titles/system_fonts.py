"""Fonts of squares, and a system that has the fonts of one folder alone."""

from contextlib import contextmanager

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from keyer.titles import coverage, fonts

_CACHES = (
    fonts.system_files, fonts.family_faces,
    coverage._helpers, coverage.characters, coverage.has,
)  # fmt: skip


def square_font(path, family: str, characters: str, weight: int = 400, *, height=700) -> None:
    """Write a font whose every glyph is a filled square."""
    pen = TTGlyphPen(None)
    pen.moveTo((100, 0))
    for point in ((100, height), (800, height), (800, 0)):
        pen.lineTo(point)
    pen.closePath()
    square = pen.glyph()
    names = [".notdef", *(f"u{ord(c):04X}" for c in characters)]
    builder = FontBuilder(1000)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord(c): f"u{ord(c):04X}" for c in characters})
    builder.setupGlyf(dict.fromkeys(names, square))
    builder.setupHorizontalMetrics(dict.fromkeys(names, (900, 100)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": family, "styleName": "Regular"})
    builder.setupOS2(usWeightClass=weight)
    builder.setupPost()
    builder.save(path)


@contextmanager
def system_with(folder, monkeypatch):
    """Have a system that has the fonts of one folder and no others."""
    with monkeypatch.context() as patch:
        patch.setattr(fonts, "font_folders", lambda: [folder])
        forget_fonts()
        yield folder
    forget_fonts()


def forget_fonts() -> None:
    """Look for the fonts of the system anew."""
    for cache in _CACHES:
        cache.cache_clear()
