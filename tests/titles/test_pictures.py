"""Pictures in a title: size, margins, shape of pixels, files that are not there."""

import numpy as np
import pytest
from media.made import write_clip
from PIL import Image
from support import DEMO
from titles.drawing import draw_title

from keyer.errors import InputFileError, SettingError, SheetError
from keyer.pixel.compose.place import Placement
from keyer.titles.checks import check_safe_area, check_title
from keyer.titles.ink import Canvas
from keyer.titles.pages import Page, page_files
from keyer.titles.placed import placed_title
from keyer.titles.read import load_design, parse_design

DESIGNS = DEMO / "designs"

BOX = """
name = "Trial"
[styles.s]
[[boxes]]
id = "logo"
place = "top left"
picture = { file = "logo.png" }
"""
CANVAS = Canvas(400, 200)


def logo(folder, size=(40, 20), colour=(255, 0, 0), alpha=255):
    pixels = np.zeros((size[1], size[0], 4), np.uint8)
    pixels[..., :3], pixels[..., 3] = colour, alpha
    Image.fromarray(pixels, "RGBA").save(folder / "logo.png")


def layer(folder, keys, canvas=CANVAS):
    drawn = draw_title(parse_design(BOX + keys, folder=folder).design, {}, canvas, folder=folder)
    (found,) = (one for one in drawn.layers if one.role == "picture")
    return found, drawn


def box_of(mark):
    rows, columns = mark.coverage.shape
    return mark.left, mark.top, columns, rows


def test_its_box_takes_the_other_side_from_its_shape(tmp_path):
    logo(tmp_path)
    found, _ = layer(tmp_path, "height = 20\npadding = [5, 3]")
    # by hand, 2 pixels a percent: title-safe begins at 20, 10; margins of 6 and 10
    assert box_of(found.mark) == (26, 20, 40, 20)
    found, _ = layer(tmp_path, "width = 20\npadding = [5, 3]")
    assert box_of(found.mark) == (26, 20, 28, 14)


@pytest.mark.parametrize(("align", "left"), [("start", 20), ("centre", 40), ("right", 60)])
def test_it_is_shown_whole_where_both_sides_are_given(tmp_path, align, left):
    logo(tmp_path)
    found, _ = layer(tmp_path, f'width = 40\nheight = 20\nalign = "{align}"\n')
    assert box_of(found.mark) == (left, 10, 80, 40) if align == "start" else True
    logo(tmp_path, (20, 20))
    found, _ = layer(tmp_path, f'width = 40\nheight = 20\nalign = "{align}"\n')
    assert box_of(found.mark) == (left, 10, 40, 40)


def test_a_circle_stays_one_where_pixels_are_not_square(tmp_path):
    logo(tmp_path, (40, 40))
    canvas = Canvas(720, 576, 64 / 45)  # 16:9 in 720 x 576
    found, _ = layer(tmp_path, "height = 20", canvas)
    columns, rows = box_of(found.mark)[2:]
    assert rows == 115  # by hand: 20 % of 576 is 115.2
    assert columns * 64 / 45 == pytest.approx(115.2, abs=64 / 45)


def test_colours_and_opacity_are_its_own(tmp_path):
    logo(tmp_path, colour=(255, 128, 0), alpha=51)
    found, drawn = layer(tmp_path, "height = 20\n", CANVAS)
    assert found.planes is not None
    assert found.planes[:, 5, 5] == pytest.approx([1, 128 / 255, 0], abs=0.003)
    assert found.mark.coverage[5, 5] == pytest.approx(0.2, abs=0.003)
    picture = drawn.picture
    assert picture.planes[:, 5, 5] == pytest.approx([1, 128 / 255, 0], abs=0.003)


def test_a_file_that_was_replaced_is_read_anew(tmp_path):
    logo(tmp_path)
    layer(tmp_path, "height = 20")
    (tmp_path / "logo.png").unlink()
    logo(tmp_path, (20, 20), (0, 0, 255))
    found, _ = layer(tmp_path, "height = 20")
    assert found.planes is not None
    assert found.planes[2, 5, 5] == pytest.approx(1)
    assert box_of(found.mark)[2:] == (40, 40)


def test_what_cannot_stand_in_a_design(tmp_path):
    with pytest.raises(InputFileError, match=r"logo\.png"):
        layer(tmp_path, "height = 20")
    (tmp_path / "logo.png").mkdir()
    with pytest.raises(InputFileError, match="must be a still"):
        layer(tmp_path, "height = 20")
    write_clip(tmp_path / "logo.mov", frames=3)
    design = parse_design(BOX.replace("logo.png", "logo.mov") + "height = 20").design
    with pytest.raises(InputFileError, match="must be a still"):
        draw_title(design, {}, CANVAS, folder=tmp_path)


def test_a_name_that_no_file_can_have():
    with pytest.raises(SheetError, match="a name that a file can have"):
        parse_design(BOX.replace("logo.png", "lo\\u0000go.png") + "height = 20")


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ("", "width or height"),
        ('height = 9\ntexts = [{ text = "A", style = "s" }]', "picture or texts"),
        ('height = 9\nrules = [{ start = "top", end = "top" }]', "two places"),
        ('height = 9\nwidth = "logo"', "depend on itself"),
    ],
)
def test_boxes_that_hold_no_picture(keys, says):
    with pytest.raises(SheetError, match=says):
        parse_design(BOX + keys)


@pytest.mark.parametrize(
    ("x", "verdict"), [(0, "holds"), (-2, "watch"), (-8, "fails"), (-10, None)]
)
def test_it_must_lie_in_the_safe_area_unless_it_is_a_ground(tmp_path, x, verdict):
    """By hand: title-safe begins 20 pixels in, action-safe 14; 2 pixels a percent."""
    logo(tmp_path)
    _, drawn = layer(tmp_path, f"height = 20\nx = {x}")
    found = check_safe_area(drawn, "st2046-1")
    assert (found and found.verdict) == verdict


def test_a_picture_that_a_sheet_moves_keeps_its_colours(tmp_path):
    logo(tmp_path, (40, 40), (255, 128, 0))
    found, drawn = layer(tmp_path, "height = 20")
    (put,) = placed_title(drawn, Placement(scale=50.0, x=50.0, y=50.0)).layers
    assert put.planes is not None
    rows, columns = put.mark.coverage.shape
    assert put.planes.shape == (3, rows, columns)
    middle = put.planes[:, rows // 2, columns // 2]
    assert middle == pytest.approx([1, 128 / 255, 0], abs=0.01)
    assert put.mark.coverage.sum() == pytest.approx(found.mark.coverage.sum() / 4, rel=0.05)


def test_the_logo_of_the_demo_stands_in_its_design():
    design = load_design(DESIGNS / "quay.toml")
    assert [file.name for file in design.picture_files()] == ["quillmere.png"]
    values = design.design.examples() | {"accent": "#FFC83D"}
    drawn = draw_title(design.design, values, Canvas(640, 360), folder=DESIGNS)
    (found,) = (one for one in drawn.layers if one.role == "picture")
    assert 0.1 < found.mark.coverage.mean() < 0.5


def test_a_sliver_of_a_picture_is_refused_before_it_is_drawn(tmp_path):
    logo(tmp_path, (2000, 1))
    with pytest.raises(SettingError, match="would be 40000 % of the picture height"):
        layer(tmp_path, "height = 20")
    found, _ = layer(tmp_path, "height = 20\nwidth = 100")
    assert box_of(found.mark)[2:] == (200, 1)


def test_a_logo_alone_is_held_to_the_safe_area(tmp_path):
    logo(tmp_path)
    _, drawn = layer(tmp_path, "height = 20\nx = -8")
    (verdict,) = check_title(drawn, None, safe="st2046-1", text="", on_screen=1)
    assert (verdict.measure, verdict.verdict) == ("title.safe_area", "fails")


FIELD = """
name = "Trial"
[fields.who]
kind = "picture"
default = ""
[fields.word]
default = "A"
[styles.s]
[[boxes]]
id = "face"
place = "bottom right"
height = 20
width = 30
picture = { file = "${who}", fit = "cover" }
[[boxes]]
id = "word"
left_of = "face"
gap = 2
[[boxes.texts]]
text = "${word}"
style = "s"
"""


def test_a_field_names_it_and_cover_fills_its_box(tmp_path):
    """By hand: of 40 x 20 at 3 : 2 the middle 30 columns stay; red at both sides is cut off."""
    pixels = np.zeros((20, 40, 3), np.uint8)
    pixels[:, :5] = pixels[:, 35:] = (255, 0, 0)
    Image.fromarray(pixels).save(tmp_path / "logo.png")
    design = parse_design(FIELD, folder=tmp_path).design
    drawn = draw_title(design, {"who": "logo.png"}, CANVAS, folder=tmp_path)
    (found,) = (one for one in drawn.layers if one.role == "picture")
    assert box_of(found.mark) == (320, 150, 60, 40)
    assert found.planes.max() < 0.01


def test_without_a_file_its_box_is_left_out_and_its_neighbour_takes_the_place():
    """The word then ends where the picture did: at title-safe, 380 of 400."""
    drawn = draw_title(parse_design(FIELD).design, {}, CANVAS)
    (word,) = (one for one in drawn.layers if one.role == "letters")
    assert not [one for one in drawn.layers if one.role == "picture"]
    left, top, columns, rows = box_of(word.mark)
    assert 375 < left + columns <= 383  # the letter and its soft edge
    assert 185 < top + rows <= 193


@pytest.mark.parametrize(
    ("was", "now", "words"),
    [
        ("${who}", "${whom}", "field 'whom' is not in this design. Is it 'who'"),
        ("${who}", "${word}", "field 'word' must have kind = \"picture\""),
        ("height = 20\n", "", "width and height must be given for a picture with fit"),
    ],
)
def test_a_field_that_is_no_picture_is_told(was, now, words):
    with pytest.raises(SheetError, match=words.replace("?", ".")):
        parse_design(FIELD.replace(was, now, 1))


def test_a_page_keeps_no_picture_of_a_field(tmp_path):
    logo(tmp_path)
    file = parse_design(FIELD, folder=tmp_path)
    with pytest.raises(SettingError, match="field who names a picture, and a page keeps texts"):
        page_files(Page(1, file, {"who": "logo.png"}))
    assert page_files(Page(1, file, {}))
