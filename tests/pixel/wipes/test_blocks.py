"""The blocks of a field in which a boundary lies."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiping import spread

from keyer.pixel.wipes.blocks import BLOCK, INSIDE, OUTSIDE, SIDE, block_extremes, gather


def noise(rows: int, columns: int) -> np.ndarray:
    """A smooth field whose boundaries wind about."""
    y, x = np.mgrid[:rows, :columns]
    return (0.5 + np.sin(x / 9) * np.cos(y / 7) / 2).astype(np.float32)


def test_block_extremes_include_the_next_row_and_column():
    values = np.arange(20 * 19, dtype=np.float32).reshape(20, 19)
    low, high = block_extremes(values)
    for i in range(low.shape[0]):
        for j in range(low.shape[1]):
            block = values[i * BLOCK : i * BLOCK + SIDE, j * BLOCK : j * BLOCK + SIDE]
            assert low[i, j] == block.min()
            assert high[i, j] == block.max()


@given(st.integers(2, 70), st.integers(2, 70), st.floats(0.05, 0.95))
def test_the_blocks_that_a_level_parts_are_copied_and_no_others(rows, columns, level):
    """Twin: each block cut out of the field, which is continued by its last row and column."""
    values = noise(rows, columns)
    blocks = gather(values, *block_extremes(values), level)
    padded = np.pad(values, ((0, SIDE), (0, SIDE)), mode="edge")
    found = []
    for (i, j), n in np.ndenumerate(blocks.number):
        block = padded[i * BLOCK : i * BLOCK + SIDE, j * BLOCK : j * BLOCK + SIDE]
        inside = block < np.float32(level)
        if inside.any() and not inside.all():
            found.append(i * blocks.number.shape[1] + j)
            np.testing.assert_array_equal(blocks.samples[n], block)
        else:
            assert n == (INSIDE if inside.all() else OUTSIDE)
    assert blocks.places.tolist() == found


@pytest.mark.parametrize("level", [0.2, 0.5])
def test_laid_out_again_they_tell_every_side(level):
    values = noise(53, 61)
    blocks = gather(values, *block_extremes(values), level)
    np.testing.assert_array_equal(
        spread(blocks, values.shape) < np.float32(level), values < np.float32(level)
    )
