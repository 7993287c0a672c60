import io
from itertools import pairwise

import numpy as np
import pytest
from pypdf import PdfReader

from keyer.errors import SettingError
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Area, Heading, choose_grid, lay_board
from keyer.paper.page import (
    Block,
    Page,
    Photo,
    Stroke,
    Words,
    line_of,
    lines_of,
    paper_size,
    style,
    width_of,
)
from keyer.paper.pdf import pages_pdf
from keyer.paper.raster import page_picture
from keyer.pixel.colour.load import to_array

HOW = style(10, "#000000")


def _pdf(*pages):
    return pages_pdf(pages, title="Trial", subject="digest", program="keyer")


def test_paper_is_landscape_of_iso_216():
    assert paper_size("A3") == (420, 297)
    assert paper_size("A4") == (297, 210)
    with pytest.raises(SettingError, match="A3, A4"):
        paper_size("A5")


def test_a_line_is_cut_to_its_width():
    whole = line_of("The quick brown fox jumps over the lazy dog", HOW)
    cut = line_of("The quick brown fox jumps over the lazy dog", HOW, 30)
    assert width_of(whole) > 30 >= width_of(cut)
    assert cut.text.endswith("…")
    assert cut.text.startswith("The quick")


def test_lines_are_broken_and_the_last_one_cut():
    text = "One hand pivoted at the frame centre starts at twelve and sweeps clockwise"
    lines = lines_of(text, HOW, 40, 2)
    assert len(lines) == 2
    assert all(width_of(line) <= 40 for line in lines)
    assert lines[1].text.endswith("…")
    assert [line.text.strip() for line in lines_of("Short", HOW, 40, 2)] == ["Short"]


def test_no_line_ends_between_a_number_and_its_sign():
    text = "the largest area of one hue, 70 % of the picture and 92 % of its border, at 232 °"
    for width in range(14, 90):
        lines = [line.text.strip() for line in lines_of(text, HOW, width, 20)]
        assert not any(line.startswith(("%", "°")) for line in lines)


def test_characters_in_no_font_show_as_a_box():
    assert line_of("Rain \U000f0000 sun", HOW).text == "Rain ▯ sun"
    assert line_of("Tone\x07", HOW).text == "Tone▯"


def test_sizes_of_type_are_points():
    """Capitals of the shipped face are 0.66 of its size: 72 points are 25.4 mm of size."""
    line = line_of("H", style(72, "#000000"))
    page = Page(60, 40, [Words(5, 35, line)])
    rows = np.flatnonzero(to_array(page_picture(page)).min(axis=(1, 2)) < 128)
    height_mm = (rows[-1] - rows[0] + 1) * 25.4 / 200
    assert height_mm == pytest.approx(0.66 * 25.4, abs=0.3)


def test_blocks_cover_shares_of_pixels():
    """200 dpi: 0.127 mm a dot; a block of one and a half dots from dot 10 on."""
    dot = 0.127
    pixels = to_array(page_picture(Page(5, 5, [Block(10 * dot, 10 * dot, 1.5 * dot, dot, "#000")])))
    assert pixels[10, 9:13, 0].tolist() == [255, 0, 128, 255]
    assert pixels[9, 10, 0] == pixels[11, 10, 0] == 255


def test_a_photo_fills_its_rectangle():
    page = Page(20, 20, [Photo(5, 5, 10, 10, np.full((8, 8, 3), 77, np.uint8))])
    pixels = to_array(page_picture(page))
    inside = pixels[:, :, 0] == 77
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    assert (rows[0], rows[-1] + 1) == (round(5 / 0.127), round(15 / 0.127))
    assert (columns[0], columns[-1] + 1) == (round(5 / 0.127), round(15 / 0.127))


def test_a_pdf_has_the_size_of_its_paper_and_text_that_can_be_searched():
    page = Page(420, 297, [Words(20, 30, line_of("Fernwater office", HOW))])
    reader = PdfReader(io.BytesIO(_pdf(page, page)))
    assert len(reader.pages) == 2
    box = reader.pages[0].mediabox
    assert float(box.width) * 25.4 / 72 == pytest.approx(420, abs=0.01)
    assert float(box.height) * 25.4 / 72 == pytest.approx(297, abs=0.01)
    assert "Fernwater office" in reader.pages[0].extract_text()
    assert reader.metadata.title == "Trial"


def test_text_stands_where_it_is_put():
    places = []
    page = Page(420, 297, [Words(20, 30, line_of("Here", HOW))])

    def visit(text, _matrix, place, _font, size):
        if text.strip():
            places.append((place[4] * 25.4 / 72, 297 - place[5] * 25.4 / 72, size))

    PdfReader(io.BytesIO(_pdf(page))).pages[0].extract_text(visitor_text=visit)
    ((x, y, size),) = places
    assert (x, y, size) == pytest.approx((20, 30, 10), abs=0.05)


def test_the_same_pages_are_the_same_bytes():
    page = Page(100, 100, [Words(9, 9, line_of("Twice", HOW)), Block(1, 1, 5, 5, "#123456")])
    assert _pdf(page) == _pdf(page)


def test_leaned_letters_go_in_as_a_picture():
    leaned = line_of("Lean", style(10, "#B3261E", slant=15))
    reader = PdfReader(io.BytesIO(_pdf(Page(100, 100, [Words(9, 20, leaned)]))))
    assert len(reader.pages[0].images) == 1
    assert reader.pages[0].extract_text().strip() == ""


def _cells(count, captions=2):
    pixels = np.full((9, 16, 3), 90, np.uint8)
    words = tuple(Caption(f"Words {n}") for n in range(captions))
    return [Cell(n, pixels, words) for n in range(1, count + 1)]


def test_pictures_are_as_large_as_one_page_allows():
    area = Area(16, 50, 388, 220)
    for count in range(1, 15):
        grid = choose_grid(_cells(count), area, 16 / 9, 60)
        assert len(grid.pages) == 1
        assert grid.width >= 60
        used = sum(grid.pages[0]) + len(grid.pages[0]) * grid.width * 9 / 16
        assert used <= area.height
        assert grid.columns * (grid.width + 7) - 7 <= area.width + 1e-6


def test_more_pictures_than_a_page_holds_go_on_further_pages():
    pages = lay_board(_cells(40), Heading("Board", "Trial", (), "foot"), (420, 297), 16 / 9)
    counts = [sum(isinstance(item, Photo) for item in page.items) for page in pages]
    assert sum(counts) == 40
    assert len(pages) > 1
    for page in pages:
        for item in page.items:
            if isinstance(item, Photo):
                assert item.width >= 0.142 * 420
                assert item.y + item.height < page.height - 11
                assert item.width / item.height == pytest.approx(16 / 9)


def test_rows_keep_what_belongs_together():
    area = Area(16, 50, 388, 220)
    assert choose_grid(_cells(16), area, 16 / 9, 60, 2).columns in (2, 4, 6)
    assert choose_grid(_cells(16), area, 16 / 9, 60, 4).columns == 4
    assert choose_grid(_cells(3), area, 16 / 9, 60, 3).columns == 3
    assert choose_grid(_cells(8), area, 16 / 9, 60, 8).columns <= 6


@pytest.mark.parametrize("together", [1, 2, 4, 8])
@pytest.mark.parametrize("captions", [1, 3, 6])
def test_sixteen_pictures_need_one_or_two_sheets(together, captions):
    heading = Heading("Board", "Trial", ("one", "two", "three"), "foot")
    for size in ((420, 297), (297, 210)):
        pages = lay_board(_cells(16, captions), heading, size, 16 / 9, together)
        assert len(pages) <= 2


@pytest.mark.parametrize("aspect", [9 / 16, 1.0, 16 / 9, 2.39])
@pytest.mark.parametrize("together", [1, 2, 4])
@pytest.mark.parametrize("count", [2, 5, 8, 16])
def test_nothing_on_a_board_lies_on_anything_else(count, together, aspect):
    """Captions longer than tall pictures are wide: words keep off pictures and other words."""
    pixels = np.full((9, 16, 3), 90, np.uint8)
    said = (Caption("One hand pivoted at the frame centre sweeps clockwise"), Caption("Border 4 %"))
    cells = [Cell(n, pixels, said * 2, "00:00:01:00", "now") for n in range(1, count + 1)]
    for page in lay_board(cells, Heading("B", "T", (), "f"), (420, 297), aspect, together):
        boxes = [
            (one.x, one.y, one.x + one.width, one.y + one.height)
            for one in page.items
            if isinstance(one, Photo)
        ]
        boxes += [
            (one.x, one.baseline - 2, one.x + width_of(one.line), one.baseline)
            for one in page.items
            if isinstance(one, Words)
        ]
        for n, (left, top, right, bottom) in enumerate(boxes):
            assert right <= 420
            for other in boxes[n + 1 :]:
                apart = (
                    right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top
                )
                assert apart


def test_what_belongs_together_stands_together():
    """In pairs, four to a row: the gap between the pairs is three times that within them."""
    cells = _cells(8)
    (page,) = lay_board(cells, Heading("B", "T", (), "f"), (420, 297), 16 / 9, 2)
    photos = [item for item in page.items if isinstance(item, Photo)]
    row = [one for one in photos if one.y == photos[0].y]
    gaps = [b.x - a.x - a.width for a, b in pairwise(row)]
    assert len(gaps) == 3
    assert gaps[1] == pytest.approx(3 * gaps[0])
    assert gaps[2] == pytest.approx(gaps[0])


@pytest.mark.parametrize("together", [1, 3])
def test_six_pictures_fill_a_sheet_of_a4(together):
    """Three to a row: (274 - 2 x 7) / 3 mm is 87 mm; the foot begins at 194 mm."""
    (page,) = lay_board(_cells(6), Heading("Board", "Trial", (), "f"), (297, 210), 16 / 9, together)
    photos = [item for item in page.items if isinstance(item, Photo)]
    assert max(one.x + one.width for one in photos) == pytest.approx(297 * 0.962, abs=0.1)
    assert all(one.width > 85 for one in photos)
    assert max(one.y + one.height for one in photos) > 0.7 * 194


@pytest.mark.parametrize("aspect", [9 / 16, 4 / 3, 2.39])
def test_pictures_of_any_shape_stay_on_the_page(aspect):
    for page in lay_board(_cells(7), Heading("B", "T", (), "f"), (297, 210), aspect):
        for item in page.items:
            if isinstance(item, Photo):
                assert item.x + item.width <= 297 - 0.038 * 297 + 0.2
                assert item.y + item.height <= 210


def test_a_stroke_has_its_thickness_and_place_in_both_forms():
    page = Page(60, 40)
    page.items.append(Stroke(((10, 20), (50, 20)), 2.0, "#000000"))
    pixels = to_array(page_picture(page)).astype(float)
    across = (255 - pixels[:, pixels.shape[1] // 2, 0]) / 255
    assert across.sum() * 25.4 / 200 == pytest.approx(2.0, abs=0.05)  # mm at 200 dpi
    middle = (across * np.arange(across.size)).sum() / across.sum()
    assert (middle + 0.5) * 25.4 / 200 == pytest.approx(20, abs=0.1)
    (form,) = PdfReader(io.BytesIO(_pdf(page))).pages
    drawn = form.get_contents().get_data()
    # 2 mm are 5.67 points; 10, 50 and 20 mm from below are 28.35, 141.73 and 56.69
    assert b"5.67 w\n28.35 56.69 m\n141.73 56.69 l" in drawn


def test_a_stroke_may_leave_the_page():
    page = Page(20, 20)
    page.items.append(Stroke(((-30, 10), (10, 10), (10, 60)), 1.0, "#000000"))
    assert to_array(page_picture(page)).min() == 0


def test_tall_pictures_may_be_narrower_so_that_a_page_holds_more():
    """By hand: 24 of 4:5 on A3: six in a row are 59 mm wide and 73 high, two rows a page."""
    heading = Heading("Trial", "Tall", (), "foot")
    assert len(lay_board(_cells(24), heading, (420, 297), 0.8, 2)) == 2
