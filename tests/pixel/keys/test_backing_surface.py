"""The backing at every pixel, from a part of it."""

import numpy as np
import pytest
from plates import making
from plates.proof import GREEN

from keyer.errors import FrameShapeError
from keyer.pixel.keys.backing import clean_plate, flat_backing, smooth_backing


def lit(stops, seed=3, height=90, width=160):
    return making.uneven(making.flat(GREEN, height, width), stops, np.random.default_rng(seed))


def around(height=90, width=160):
    rows, cols = np.mgrid[0:height, 0:width]
    return np.hypot((rows - 50) / 40, (cols - 80) / 45) > 1


@pytest.mark.parametrize("stops", [0.0, 0.5, 1.0])
def test_an_unevenly_lit_backing_is_known_to_a_code_where_it_is_seen(stops):
    backing, sure = lit(stops), around()
    found = smooth_backing(np.where(sure, backing, 0.7), sure, GREEN, 90, 160)
    assert np.abs(found - backing)[:, sure].max() < 3 / 255
    # behind the subject nothing is seen: half of the unevenness of a stop is 0.12 of 0.68
    assert np.abs(found - backing).max() < 0.035


def test_a_few_wrong_pixels_hardly_count():
    backing, sure = lit(0.5), around()
    spoilt = backing.copy()
    spoilt[:, 5:12, 20:30] = 0.9
    found = smooth_backing(spoilt, sure, GREEN, 90, 160)
    far = sure.copy()
    far[:30, :60] = False
    assert np.abs(found - backing)[:, far].max() < 4 / 255


def test_it_is_enlarged_to_the_plate():
    backing, sure = lit(0.5), around()
    found = smooth_backing(backing, sure, GREEN, 270, 480)
    assert found.shape == (3, 270, 480)
    assert found.dtype == np.float32
    assert np.abs(found[:, 1::3, 1::3] - backing).max() < 4 / 255


def test_next_to_nothing_seen_is_one_colour():
    sure = np.zeros((9, 16), bool)
    sure[0, :3] = True
    found = smooth_backing(np.zeros((3, 9, 16), np.float32), sure, GREEN, 18, 32)
    assert np.array_equal(found, flat_backing(GREEN, 18, 32))


def test_a_clean_plate_loses_its_grain():
    backing = lit(0.5)
    noise = np.random.default_rng(1).normal(0, 0.02, backing.shape).astype(np.float32)
    found = clean_plate(backing + noise, 90, 160)
    assert np.abs(found - backing)[:, 9:-9, 9:-9].std() < 0.004


def test_a_clean_plate_of_another_size_is_refused():
    with pytest.raises(FrameShapeError, match="160 x 90"):
        clean_plate(lit(0.5), 180, 320)
