"""Lines laid out: kerning, ligatures, spacing, direction, styles side by side."""

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from titles.system_fonts import square_font

from keyer.titles.fonts import SHIPPED_FAMILY, find_face
from keyer.titles.lines import clean, lay_line
from keyer.titles.model import TextStyle
from keyer.titles.open_font import capital_height, font_at, letter_height

UNIT = 10.8  # display pixels in a percent of 1080 rows
PLAIN = TextStyle(size=10)
FACE = find_face(SHIPPED_FAMILY, 400, italic=False)


def width(text, style=PLAIN, **options):
    return lay_line([(text, style)], UNIT, **options).width


def test_metrics_of_the_shipped_face():
    """Against the outlines themselves, read by fontTools."""
    with TTFont(FACE.path) as font:
        glyphs, bounds = font.getGlyphSet(), {}
        for name in "Hdp":
            pen = BoundsPen(glyphs)
            glyphs[name].draw(pen)
            bounds[name] = pen.bounds
        units = font["head"].unitsPerEm
    assert capital_height(FACE, 400) == pytest.approx(bounds["H"][3] / units, abs=0.002)
    height = (bounds["d"][3] - bounds["p"][1]) / units
    assert letter_height(FACE, 400) == pytest.approx(height, abs=0.002)


def test_pairs_are_kerned():
    assert width("AVAV") < 2 * width("A") + 2 * width("V") - 1


def test_width_grows_with_size_and_scale():
    assert width("Hamburg", TextStyle(size=20)) == pytest.approx(2 * width("Hamburg"), rel=0.005)
    assert width("Hamburg", scale=0.5) == pytest.approx(width("Hamburg") / 2, rel=0.005)


def test_ligatures_can_be_had_or_not():
    with_them = width("ffi", TextStyle(size=10))
    without = width("ffi", TextStyle(size=10, ligatures=False))
    assert with_them != without


def test_letter_spacing_adds_between_letters_only():
    spread = TextStyle(size=10, letter_spacing=10)
    plain = TextStyle(size=10, ligatures=False)
    # by hand: three gaps of a tenth of the font size of 108 pixels
    assert width("AVAT", spread) == pytest.approx(width("AVAT", plain) + 3 * 10.8, abs=0.3)
    assert width("A", spread) == pytest.approx(width("A", plain))


def test_letters_of_right_to_left_lines_are_spread_from_the_right(tmp_path):
    square_font(tmp_path / "hebrew.ttf", "Hebrew", "\u05d0\u05d1\u05d2")
    spread = TextStyle(font="hebrew.ttf", letter_spacing=5)
    line = lay_line([("\u05d0\u05d1\u05d2", spread)], UNIT, folder=tmp_path)
    assert [piece.text for piece in line.pieces] == ["\u05d2", "\u05d1", "\u05d0"]
    assert line.rtl


def test_two_styles_stand_side_by_side():
    bold = TextStyle(size=10, weight=700)
    line = lay_line([("one ", PLAIN), ("two", bold)], UNIT)
    first, second = line.pieces
    assert second.x == pytest.approx(first.advance)
    assert line.width == pytest.approx(width("one ") + width("two", bold))
    assert line.size == 108


def test_italic_without_a_face_of_its_own_is_leaned(tmp_path):
    line = lay_line([("\u0411", TextStyle(italic=True))], UNIT)  # no Cyrillic in the italics
    assert line.pieces[0].face.family == SHIPPED_FAMILY
    assert line.pieces[0].slant == 12
    assert lay_line([("B", TextStyle(italic=True))], UNIT).pieces[0].slant == 0


def test_clean_composes_and_capitalises():
    assert clean("e\u0301\tx", PLAIN) == "\u00e9 x"
    assert clean("straße", TextStyle(capitals=True)) == "STRASSE"


def test_weights_by_name_and_number():
    assert TextStyle(weight="extra-light").weight == 200
    assert TextStyle(weight="Bold").weight == 700
    with pytest.raises(ValueError, match="weight must be 100 to 900 or one of"):
        TextStyle(weight="heavyish")


def test_fonts_are_opened_once():
    assert font_at(FACE, 40.0, 400) is font_at(FACE, 40.0, 400)


@pytest.mark.parametrize("sign", "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
def test_characters_that_turn_text_round_are_left_out(sign):
    """UAX #9, 2.1 to 2.5: with an override, "reversed" would be drawn from right to left."""
    assert clean(f"ab {sign}reversed", TextStyle()) == "ab reversed"
