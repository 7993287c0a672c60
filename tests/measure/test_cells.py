from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measured import fine_light
from support import TWIN, planes, reference

from keyer.measure.cells import (
    FIELD_HEIGHT,
    FIELD_WIDTH,
    FINE,
    LightMeter,
    Place,
    coarse_light,
    light_of,
    luminance,
    make_grid,
    place_of,
)

FLASH = reference("flash")["wcag"]


def twin(picture, grid):
    """Mean light of each fine cell, pixel by pixel."""
    light = light_of(picture)
    rows, columns = FINE * grid.rows, FINE * grid.columns
    height, width = picture.shape[1:]
    out = np.empty((3, rows, columns))
    for i in range(rows):
        top = i * height // rows
        bottom = max((i + 1) * height // rows, top + 1)
        for j in range(columns):
            left = j * width // columns
            right = max((j + 1) * width // columns, left + 1)
            out[:, i, j] = light[:, top:bottom, left:right].mean(axis=(1, 2))
    return out


@pytest.mark.parametrize("size", [(96, 54), (100, 41), (500, 31), (7, 5), (2, 2), (1, 9)])
def test_cells_are_the_mean_light_of_their_pixels(size):
    grid = make_grid(*size)
    picture = planes(2, size[1], size[0]) * 1.4 - 0.2  # beyond black and white as well
    np.testing.assert_allclose(fine_light(picture, grid), twin(picture, grid), atol=TWIN)


def test_threads_do_not_matter():
    picture, grid = planes(3, 90, 160), make_grid(160, 90)
    one = fine_light(picture, grid, threads=1)
    np.testing.assert_array_equal(one, fine_light(picture, grid, threads=3))


def test_coarse_cells_are_nine_fine_ones():
    light = planes(4, 12, 18)
    expected = light.reshape(3, 4, 3, 6, 3).mean(axis=(2, 4))
    np.testing.assert_allclose(coarse_light(light), expected, atol=TWIN)


def test_light_follows_the_worked_transitions():
    for row in reference("flash")["transition"]:
        for colour, expected in ((row["a"], row["luminance_a"]), (row["b"], row["luminance_b"])):
            light = light_of(np.array(colour) / 255).astype(np.float32).reshape(3, 1, 1)
            assert luminance(light)[0, 0] == pytest.approx(expected, abs=1e-6), row["source"]


def test_field_is_wcags():
    """341 x 256 pixels of a picture 1024 wide; a quarter of it is 21824 pixels."""
    area = FLASH["area_pixels"]
    grid = make_grid(area["at_width"], area["at_height"])
    assert area["field_width"] / area["at_width"] == FIELD_WIDTH
    assert area["field_height"] / area["at_width"] == FIELD_HEIGHT
    share = grid.field_columns * grid.field_rows / (grid.rows * grid.columns) / 4
    assert share == pytest.approx(area["max_pixels"] / (1024 * 768), rel=1e-9)
    assert share == pytest.approx(FLASH["area_scaled"]["fraction_of_4_3_frame"], abs=1e-6)
    geometry = FLASH["area_geometry"]
    assert grid.field_columns / grid.columns * 30 == pytest.approx(
        geometry["field_width_deg"], rel=2e-3
    )  # 1024 pixels are 30 degrees wide


def test_a_coarse_cell_is_a_fifth_of_a_degree():
    """So that two squares of 0.1 degree, which WCAG excepts, even out in it."""
    grid = make_grid(1920, 1080)
    assert FLASH["area_geometry"]["field_width_deg"] / grid.field_columns == pytest.approx(
        2 * FLASH["exception"]["square_below_deg"], rel=2e-3
    )


def test_pixels_may_be_wide():
    """576-line pictures of 16:9 have cells as square on the screen as others."""
    wide = make_grid(720, 576, 16 / 11)
    assert (wide.columns, wide.rows) == (150, 82)  # by hand: 150 * 576 / (720 * 16 / 11) = 82.5
    assert wide.field_columns / wide.field_rows == pytest.approx(341 / 256, rel=0.01)


@given(st.integers(1, 5000), st.integers(1, 5000))
def test_any_picture_has_a_grid(width, height):
    grid = make_grid(width, height)
    assert 1 <= grid.columns <= 150
    assert grid.rows >= 1
    assert 0 < grid.field_columns * grid.field_rows <= grid.rows * grid.columns


def test_places_are_in_percent():
    assert place_of(0.1, 0.25, 0.5, 1.0) == Place(10.0, 25.0, 40.0, 75.0)


@given(st.integers(1, 400), st.integers(1, 300), st.integers(0, 2**32 - 1))
def test_a_part_that_changes_is_looked_at_alone(width, height, seed):
    """The light is that of the whole picture, to the bit, wherever the part lies."""
    random = np.random.default_rng(seed)
    picture, grid = random.random((3, height, width), np.float32), make_grid(width, height)
    meter = LightMeter(picture, grid)
    edges = meter.edges(40)
    assert edges[0] == 0
    assert edges[-1] == height
    strips = list(pairwise(edges))
    for top, bottom in strips:
        meter.take(top, bottom, 0, width)
    np.testing.assert_array_equal(meter.light, fine_light(picture, grid))
    top, bottom = strips[random.integers(len(strips))]
    left = int(random.integers(0, width, endpoint=False)) // 64 * 64
    right = min(left + 64 * int(random.integers(1, 4)), width)
    picture[:, top:bottom, left:right] = random.random((3, bottom - top, right - left))
    meter.take(top, bottom, left, right)
    np.testing.assert_array_equal(meter.light, fine_light(picture, grid))
