"""Following a boundary, against scikit-image's marching squares."""

import numpy as np
import pytest
from skimage.measure import find_contours

from keyer.pixel.wipes.blocks import OUTSIDE, block_extremes, gather
from keyer.pixel.wipes.trace import trace


def lines(values: np.ndarray, level: float, **options: float) -> list[np.ndarray]:
    """The boundaries of a field, each an (N, 2) array of x, y."""
    values = np.ascontiguousarray(values, np.float32)
    blocks = gather(values, *block_extremes(values), level)
    points, ends = trace(blocks, values.shape, level, **options)
    return np.split(points, ends[:-1]) if ends.size else []


def waves(rows: int, columns: int) -> np.ndarray:
    """Boundaries that reach the rim, and some that close on themselves."""
    y, x = np.mgrid[:rows, :columns]
    return 0.5 + np.sin(x / 5.3 + 0.2) * np.cos(y / 4.1 + 0.1) / 2


@pytest.mark.parametrize("shape", [(40, 57), (64, 64), (9, 9), (2, 30), (31, 2)])
@pytest.mark.parametrize("level", [0.31, 0.45, 0.77])
def test_lines_are_those_of_marching_squares(shape, level):
    """As many lines with the same points, but for saddles, which these fields have none of."""
    values = waves(*shape).astype(np.float32)
    expected = find_contours(values, np.float32(level))
    found = lines(values, level)
    assert len(found) == len(expected)
    points = np.concatenate([line[:, ::-1] for line in expected]) if expected else np.empty((0, 2))
    for line in found:
        for point in line:
            assert np.hypot(*(points - point).T).min() < 1e-3
    assert sum(map(len, found)) == len(points)


def test_open_lines_end_at_the_rim_and_closed_ones_where_they_began():
    values = waves(60, 80)
    found = lines(values, 0.4)
    closed = [np.array_equal(line[0], line[-1]) for line in found]
    assert any(closed)
    assert not all(closed)
    for line, whole in zip(found, closed, strict=True):
        for x, y in () if whole else line[[0, -1]]:
            assert x in (0, 79) or y in (0, 59)


def test_many_lines_do_not_run_out_of_room():
    """Noise: thousands of lines, each pair of parted neighbours in a row passed once."""
    values = np.random.default_rng(3).random((400, 400), dtype=np.float32)
    inside = values < np.float32(0.5)
    found = lines(values, 0.5)
    assert len(found) > 4096
    assert sum(map(len, found)) > 1 << 15
    points = np.concatenate([line[:-1] if (line[0] == line[-1]).all() else line for line in found])
    between_columns = points[points[:, 1] == np.rint(points[:, 1])]
    between_columns = between_columns[between_columns[:, 0] != np.rint(between_columns[:, 0])]
    assert len(between_columns) == (inside[:, 1:] != inside[:, :-1]).sum()


def test_columns_may_be_wider_than_rows():
    square, wide = lines(waves(30, 30), 0.5), lines(waves(30, 30), 0.5, aspect=1.5)
    for one, other in zip(square, wide, strict=True):
        np.testing.assert_allclose(one * (1.5, 1), other, rtol=1e-6)


def test_a_line_that_leaves_the_blocks_ends():
    """Blocks that a wave displaced are copied by bounds: a rounding may not make a line endless."""
    values = np.tile(np.arange(40, dtype=np.float32)[:, np.newaxis], (1, 40))
    blocks = gather(values, *block_extremes(values), 20.5)
    number = blocks.number.copy()
    number[:, 2] = OUTSIDE
    points, ends = trace(blocks._replace(number=number), values.shape, 20.5)
    assert len(ends) == 2
    assert points[:, 0].tolist() == [*range(17), *range(39, 23, -1)]


@pytest.mark.parametrize("shape", [(1, 20), (20, 1), (1, 1)])
def test_a_single_row_or_column_has_no_boundary(shape):
    assert lines(np.random.default_rng(1).random(shape), 0.5) == []
