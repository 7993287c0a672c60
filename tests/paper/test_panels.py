"""Pictures with labels, scales and columns of text on a board."""

import numpy as np
import pytest

from keyer.paper.column import VERDICT_COLOURS, Column
from keyer.paper.grid import Area
from keyer.paper.page import Block, Page, Photo, Words
from keyer.paper.panels import Panel, brought_down, draw_panel, draw_scale, fitted
from keyer.pixel.colour.false_colour import ABOUT_A_MIDDLE


def words(page):
    return [item.line.text for item in page.items if isinstance(item, Words)]


def test_a_picture_fits_its_area_and_keeps_its_aspect():
    wide, tall = fitted(Area(5, 5, 100, 80), 16 / 9), fitted(Area(5, 5, 100, 80), 0.5)
    assert (wide.width, wide.height) == (100, 56.25)
    assert (tall.width, tall.height) == (40, 80)
    assert (wide.x, tall.y) == (5, 5)


def test_a_panel_is_labelled_under_its_area():
    page = Page(200, 100)
    grey = np.full((9, 16), 80, np.uint8)
    end = draw_panel(page, Panel("Matte", grey, "White is subject"), Area(5, 5, 160, 90))
    (photo,) = (item for item in page.items if isinstance(item, Photo))
    assert (photo.width, photo.height) == (160, 90)
    assert photo.pixels.shape == (9, 16, 3)
    assert words(page) == ["Matte", "White is subject"]
    assert end == pytest.approx(95 + 4.6 + 3.75 + 1)


def test_a_scale_has_its_ends_and_its_numbers_in_place():
    page = Page(200, 100)
    draw_scale(page, ABOUT_A_MIDDLE, (-1, 1), [(-1, "low"), (0.5, "more")], (10, 20, 80))
    (photo,) = (item for item in page.items if isinstance(item, Photo))
    ends = [tuple(round(255 * part) for part in ABOUT_A_MIDDLE[side]) for side in (0, -1)]
    assert [tuple(photo.pixels[0, side].tolist()) for side in (0, -1)] == ends
    ticks = [item.x + item.width / 2 for item in page.items if isinstance(item, Block)]
    assert ticks == pytest.approx([10, 70])
    assert words(page) == ["low", "more"]


def test_planes_are_averaged_down_and_never_up():
    planes = np.random.default_rng(1).random((3, 20, 40), np.float32)
    small = brought_down(planes, 20)
    np.testing.assert_allclose(small, planes.reshape(3, 10, 2, 20, 2).mean((2, 4)), atol=1e-6)
    assert brought_down(planes[0], 20).shape == (10, 20)
    assert brought_down(planes, 40) is planes


def test_a_column_runs_down_and_marks_verdicts():
    page = Page(100, 200)
    column = Column(page, 10, 5, 70)
    column.heading("Backing")
    tops = [column.y]
    column.row("Hue", "232°")
    column.row("Noise", "7 %", "fails")
    column.verdict("Noise of the backing", "7 %", "fails", "Lower the camera's gain. " * 4)
    column.text("A sentence.")
    tops.append(column.y)
    assert tops[0] < tops[1]
    lines = [item.baseline for item in page.items if isinstance(item, Words)]
    assert min(lines) > 5
    assert max(lines) < column.y
    tags = [i for i in page.items if isinstance(i, Block) and i.colour == VERDICT_COLOURS["fails"]]
    assert len(tags) == 2
    assert all(tag.x + tag.width == pytest.approx(80) for tag in tags)
    assert words(page).count("FAILS") == 2
