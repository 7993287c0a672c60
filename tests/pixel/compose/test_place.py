import numpy as np
import pytest
from scipy import ndimage
from support import planes

from keyer.pixel.compose.place import UNMOVED, Placement, place

ROWS, COLUMNS = 60, 90


def _subject():
    matte = np.zeros((ROWS, COLUMNS), np.float32)
    matte[20:40, 30:60] = 1.0
    fill = planes(2, ROWS, COLUMNS) * matte
    return fill, matte


def test_unmoved_is_unchanged():
    fill, matte = _subject()
    placed_fill, placed_matte = place(fill, matte, UNMOVED)
    np.testing.assert_array_equal(placed_fill, fill)
    np.testing.assert_array_equal(placed_matte, matte)


def test_a_move_by_whole_pixels_is_a_shift():
    """10 % of 90 columns are 9 pixels, -5 % of 60 rows are 3 pixels up."""
    fill, matte = _subject()
    placed_fill, placed_matte = place(fill, matte, Placement(x=60, y=45))
    np.testing.assert_allclose(placed_matte, np.roll(matte, (-3, 9), (0, 1)), atol=1e-6)
    np.testing.assert_allclose(placed_fill, np.roll(fill, (-3, 9), (1, 2)), atol=1e-6)


@pytest.mark.parametrize("scale", [30.0, 50.0, 140.0])
def test_scale_keeps_the_middle_and_multiplies_the_area(scale):
    fill, matte = _subject()
    _, placed = place(fill, matte, Placement(scale=scale))
    share = (scale / 100) ** 2
    assert placed.sum() == pytest.approx(share * matte.sum(), rel=0.01)
    np.testing.assert_allclose(
        ndimage.center_of_mass(placed), ndimage.center_of_mass(matte) - np.array(0.0), atol=2.0
    )


def test_middle_of_a_centred_subject_stays_to_a_hundredth_of_a_pixel():
    matte = np.zeros((61, 91), np.float32)
    matte[20:41, 30:61] = 1.0
    _, placed = place(np.zeros((3, 61, 91), np.float32), matte, Placement(scale=37))
    np.testing.assert_allclose(ndimage.center_of_mass(placed), (30, 45), atol=0.01)


def test_flips_are_numpys():
    fill, matte = _subject()
    flipped, _ = place(fill, matte, Placement(left_right=True, up_down=True))
    np.testing.assert_array_equal(flipped, fill[:, ::-1, ::-1])


def test_crop_clears_what_is_cut_off():
    fill, matte = np.ones((3, ROWS, COLUMNS), np.float32), np.ones((ROWS, COLUMNS), np.float32)
    _, placed = place(fill, matte, Placement(crop=(10, 20, 30, 40)))
    expected = np.zeros_like(matte)
    expected[12:36, 9:63] = 1.0
    np.testing.assert_array_equal(placed, expected)


def test_no_size_is_not_seen():
    fill, matte = place(*_subject(), Placement(scale=0))
    assert not fill.any()
    assert not matte.any()


def test_a_fringe_does_not_appear():
    """White on clear stays white wherever it is seen: premultiplied colour equals the matte."""
    _, matte = _subject()
    fill, placed = place(np.stack([matte] * 3), matte, Placement(x=47.3, y=51.1, scale=61))
    np.testing.assert_allclose(fill, np.stack([placed] * 3), atol=1e-6)
