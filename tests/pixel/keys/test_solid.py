"""Parts within a subject that look see-through and are solid."""

import cv2
import numpy as np
import pytest

from keyer.pixel.keys.solid import dense_made_full, solid_within


def disc(radius=90.0, size=(360, 480)):
    rows, cols = np.mgrid[0 : size[0], 0 : size[1]]
    away = np.hypot(rows - size[0] / 2, cols - size[1] / 2)
    return np.clip((radius - away) / 2 + 0.5, 0, 1).astype(np.float32), away


def texture(shape, level):
    rng = np.random.default_rng(2)
    grain = cv2.GaussianBlur(rng.random(shape, dtype=np.float32), (0, 0), 1.5)
    return level + 2.5 * (grain - grain.mean())


def found(matte):
    return solid_within(matte > 0.97, matte)


def test_a_textured_patch_of_the_backings_hue_is_solid():
    matte, away = disc()
    patch = away < 30
    matte[patch] = texture(matte.shape, 0.55)[patch].clip(0.25, 1)
    assert found(matte)[patch].mean() > 0.95


def test_an_even_pane_is_glass():
    matte, away = disc()
    matte[away < 30] = 0.5
    assert not found(matte).any()


def test_a_film_of_light_is_solid():
    matte, away = disc()
    matte[away < 30] = 0.8
    assert found(matte)[away < 28].all()


def test_where_the_backing_is_seen_nothing_is_solid():
    matte, away = disc()
    patch = away < 30
    matte[patch] = texture(matte.shape, 0.4)[patch].clip(0, 1)
    matte[patch & (np.arange(480) % 12 < 3)] = 0
    assert not found(matte).any()


def test_what_is_open_to_the_outside_is_not_within():
    matte, away = disc()
    patch = np.abs(np.arange(480) - 240)[None, :] < 20
    patch = patch & (away < 120)
    matte[patch] = texture(matte.shape, 0.55)[patch].clip(0.25, 1)
    assert not found(matte).any()


@pytest.mark.parametrize("size", [(1, 1), (2, 5), (9, 9)])
def test_small_pictures(size):
    assert not found(np.ones(size, np.float32)).any()


def test_what_is_dense_and_broad_becomes_full_and_strands_stay():
    matte = np.zeros((20, 30), np.float32)
    matte[:, 4:10] = 0.9  # a tube that the backing lights
    matte[:, 14] = 0.9  # a hair
    matte[5:15, 20:28] = 0.6  # glass
    found = dense_made_full(matte)
    assert (found[:, 5:9] == 1).all()
    np.testing.assert_array_equal(found[:, 10:], matte[:, 10:])


def test_nothing_becomes_less_dense():
    matte = np.random.default_rng(5).random((40, 50), np.float32)
    assert (dense_made_full(matte) >= matte).all()
