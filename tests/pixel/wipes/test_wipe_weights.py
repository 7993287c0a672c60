"""Weights of the tiles near a boundary, as they lie in memory; what they are is `test_wipe`'s."""

import numpy as np
import pytest
from wiping import plain

from keyer.kinds.settings import Edge
from keyer.pixel.wipes.blocks import INSIDE, OUTSIDE, TILE
from keyer.pixel.wipes.wipe_state import wipe_state
from keyer.pixel.wipes.wipe_weights import band_weights

ROWS, COLUMNS = 90, 160


@pytest.mark.parametrize(("top", "bottom"), [(0, 90), (16, 64), (23, 61)])
def test_tiles_without_weights_lie_wholly_on_their_side(top, bottom):
    """A bar half way, by hand: B to the left of column 79.5, its border 9 rows wide."""
    found = band_weights(
        wipe_state(plain("barWipe", COLUMNS, ROWS), Edge(border=10), 0.5), top, bottom
    )
    expected = [INSIDE] * 4 + [0, 0] + [OUTSIDE] * 4
    rows = -(-bottom // TILE) - top // TILE
    assert np.minimum(found.number, 0).tolist() == [expected] * rows
    assert found.number[found.number >= 0].tolist() == list(range(2 * rows))
    assert found.number.ravel()[found.places].tolist() == list(range(2 * rows))


def test_a_tile_begins_with_its_first_row_in_the_band():
    """A bar that runs down: the same weights, wherever a band cuts its tiles."""
    now = wipe_state(plain("barWipe/topToBottom", COLUMNS, ROWS), Edge(soft=20), 0.5)
    whole = band_weights(now, 0, ROWS)
    column = [whole.of_b[n].reshape(TILE, TILE)[:, 3].copy() for n in whole.number[2:4, 0]]
    expected = np.concatenate(column)
    cut = band_weights(now, 37, 60)
    first, second = (cut.of_b[n].reshape(TILE, TILE)[:, 3] for n in cut.number[:2, 0])
    np.testing.assert_array_equal(first[:11], expected[5:16])
    np.testing.assert_array_equal(second[:12], expected[16:28])
    assert np.unique(expected).size > 10


@pytest.mark.parametrize("ramped", [False, True])
def test_a_ramp_is_worked_out_only_where_the_sides_of_the_border_differ(ramped):
    edge = Edge(border=10, border_ramp=(0.0, 0.0, 1.0) if ramped else None)
    found = band_weights(wipe_state(plain("barWipe", COLUMNS, ROWS), edge, 0.5), 0, ROWS)
    assert found.ramp.shape == ((found.places.size if ramped else 0), TILE * TILE)
