"""Regions of a mask, against scikit-image and by hand."""

import numpy as np
import pytest
from skimage import morphology

from keyer.pixel.mattes import regions


@pytest.mark.parametrize("reach", [1, 2, 4])
def test_in_and_out_against_scikit_image(reach):
    mask = np.zeros((60, 80), bool)
    mask[15:45, 20:60] = True
    mask[25:30, 30:40] = False
    disc = regions.disc(reach).astype(bool)
    assert np.array_equal(regions.erode(mask, reach), morphology.erosion(mask, disc))
    assert np.array_equal(regions.dilate(mask, reach), morphology.dilation(mask, disc))
    closed = morphology.closing(np.pad(mask, 9), disc)[9:-9, 9:-9]
    assert np.array_equal(regions.closing(mask, reach), closed)
    opened = morphology.opening(np.pad(mask, 9), disc)[9:-9, 9:-9]
    assert np.array_equal(regions.opening(mask, reach), opened)


def test_the_pictures_border_is_no_edge():
    assert regions.erode(np.ones((9, 9), bool), 3).all()


def test_small_parts_are_dropped():
    mask = np.zeros((20, 30), bool)
    mask[2:4, 2:4] = True
    mask[10:15, 10:20] = True
    kept = regions.drop_small(mask, 5)
    assert kept.sum() == 50
    assert not kept[3, 3]


def test_parts_that_touch_at_a_corner_are_one():
    mask = np.zeros((9, 9), bool)
    mask[1:3, 1:3] = True
    mask[3:5, 3:5] = True
    assert np.array_equal(regions.drop_small(mask, 8), mask)


def test_what_is_enclosed():
    mask = np.zeros((20, 30), bool)
    mask[5:15, 5:15] = True
    mask[8:10, 8:10] = False
    mask[0:4, 20:30] = True
    mask[0:2, 24:26] = False
    found = regions.enclosed(mask)
    assert found.sum() == 4
    assert found[8, 8]


def test_nothing_and_everything():
    assert not regions.enclosed(np.zeros((5, 6), bool)).any()
    assert not regions.enclosed(np.ones((5, 6), bool)).any()
    assert not regions.drop_small(np.zeros((5, 6), bool), 1).any()
